"""Cars of the synthetic market with all that is true about them."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from valuation.synthetic.catalogue import Lines
from valuation.synthetic.effects import LEVELS, SETS, Array
from valuation.synthetic.world import MARQUES

__all__ = ["NOT_APPLICABLE", "State", "age_cars", "draw_cars", "take"]

State = dict[str, Array]
"""True state of cars: arrays by attribute name, and ``line``.

Numbers are floats, categories codes into ``LEVELS`` (or the names of the catalogue), sets bit
masks into ``SETS``.
"""

NOT_APPLICABLE = -1
"""Code of a category that can't be asked of this car."""

_GENUINE = (0.45, 0.27, 0.25, 0.03)
_ENGINES = (0.42, 0.12, 0.22, 0.05, 0.09, 0.1)
_RIGHT = {m.name: m.right_hand for m in MARQUES}


def take(state: Mapping[str, Array], rows: Array) -> State:
    """Return the state of the cars at `rows`."""
    return {name: values[rows] for name, values in state.items()}


def draw_cars(n: int, lines: Lines, year_of_sale: Array, rng: np.random.Generator) -> State:
    """Draw `n` cars as they were built and as they are found.

    Parameters
    ----------
    n : int
        Number of cars.
    lines : Lines
        Model lines.
    year_of_sale : numpy.ndarray of int, shape (n,)
        Year in which each car is first sold here; no car is younger than ten years then.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    State
        Complete: nothing is unknown about these cars.
    """
    state = _as_built(n, lines, year_of_sale, rng)
    state.update(_as_kept(n, lines, state, rng))
    state.update(_as_driven(n, state, year_of_sale, rng))
    state.update(_as_papered(n, lines, state, rng))
    return state


def _pick(shares: Array, rng: np.random.Generator) -> Array:
    """Draw one column a row, with the probabilities of that row."""
    cumulative = np.cumsum(shares, axis=1)
    drawn: Array = (rng.random(len(shares))[:, None] * cumulative[:, -1:] > cumulative).sum(axis=1)
    return drawn.astype(np.int16)


def _choose(n: int, shares: tuple[float, ...], rng: np.random.Generator) -> Array:
    cumulative = np.cumsum(shares) / np.sum(shares)
    codes = np.searchsorted(cumulative, rng.random(n), side="right")
    return np.minimum(codes, len(shares) - 1).astype(np.int16)


def _as_built(n: int, lines: Lines, year_of_sale: Array, rng: np.random.Generator) -> State:
    line = rng.choice(len(lines), size=n, p=lines.popularity)
    span = np.minimum(lines.last[line], year_of_sale - 10) - lines.first[line]
    year = lines.first[line] + np.floor(rng.beta(1.6, 1.8, n) * (span + 1))
    variant = _pick(lines.variant_share[line], rng)
    generation = (lines.generation_start[line] <= year[:, None]).sum(axis=1) - 1
    rare = lines.variant_rare[line, variant]
    genuineness = np.where(rare, _choose(n, _GENUINE, rng), NOT_APPLICABLE)
    pretended = genuineness >= LEVELS["genuineness"].index("tribute")
    size = np.array([s.size for s in lines.specs])[line]
    size = size * np.where(pretended, 1.0, lines.variant_size[line, variant])
    right = np.array([_RIGHT[s.make] for s in lines.specs])[line]
    return {
        "line": line,
        "year": year,
        "generation": generation.astype(np.int16),
        "variant": variant,
        "body": _pick(lines.body_share[line], rng),
        "genuineness": genuineness.astype(np.int16),
        "engine_size": np.round(size, 1),
        "steering_side": (rng.random(n) < right).astype(np.int16),
        "original_market": (rng.random(n) < 0.3).astype(np.int16),
        "colour": _choose(n, (9, 6, 6, 7, 6, 6, 3, 3, 2, 4, 3, 3), rng),
        "interior_colour": _choose(n, (9, 3, 4, 2, 1), rng),
        **_gearbox(n, lines, line, year, rng),
    }


def _gearbox(n: int, lines: Lines, line: Array, year: Array, rng: np.random.Generator) -> State:
    automatic = rng.random(n) < np.array([s.automatic for s in lines.specs])[line]
    semi = automatic & (year >= 1997) & (rng.random(n) < 0.4)
    works = np.array([s.gears for s in lines.specs])[line]
    converted = rng.random(n) < np.where(automatic, 0.02, 0.08)
    gears = np.where(semi, 6, np.where(automatic, np.where(year < 1985, 3, 4), works))
    return {
        "transmission": np.where(semi, 2, automatic).astype(np.int16),
        "gears": gears + (converted & ~automatic).astype(float),
        "transmission_origin": converted.astype(np.int16),
    }


def _as_kept(n: int, lines: Lines, state: State, rng: np.random.Generator) -> State:
    care = rng.standard_normal(n)
    dear = lines.intercept[state["line"]] - 10.3
    pretended = state["genuineness"] >= LEVELS["genuineness"].index("tribute")
    condition = 61 + 11 * care + 12 * rng.standard_normal(n) + 2 * dear
    originality = 62 + 7 * care + 15 * rng.standard_normal(n) + 2 * dear - 8 * pretended
    modifications = _changes(n, originality, rng)
    originality -= 4 * _count(modifications)
    engine = _choose(n, _ENGINES, rng)
    # An original car mostly has its own engine: the worse draw of two goes to the less original.
    other = _choose(n, _ENGINES, rng)
    engine = np.where(originality > 65, np.minimum(engine, other), engine)
    restoration = _choose(n, (8, 14, 17, 36, 15, 10), rng)
    # A restored car shows it.
    condition += np.array([2, -12, -7, 0, 10, 14])[restoration]
    restored = restoration >= LEVELS["restoration"].index("older restoration")
    named = restored & (rng.random(n) < 0.4)
    return {
        "condition_grade": np.round(np.clip(condition, 4, 99)),
        "originality_score": np.round(np.clip(originality, 3, 100)),
        "engine_originality": engine.astype(np.int16),
        "restoration": restoration,
        "restorer": np.where(named, _choose(n, (2, 3, 4, 4), rng), NOT_APPLICABLE).astype(np.int16),
        "modifications": modifications,
        "re_engineered": (rng.random(n) < 0.005).astype(np.int16),
        "care": care,
    }


def _changes(n: int, originality: Array, rng: np.random.Generator) -> Array:
    """Draw modifications: up to four, more on cars of low originality."""
    masks = np.zeros(n, dtype=np.int64)
    chance = 1 / (1 + np.exp((originality - 55) / 18))
    kinds = len(SETS["modifications"]) // 4
    for _ in range(4):
        kind = rng.integers(kinds, size=n)
        how = _choose(n, (30, 40, 8, 14), rng)
        bit = np.int64(1) << (4 * kind + how)
        masks |= np.where(rng.random(n) < chance, bit, 0)
    return masks


def _count(masks: Array) -> Array:
    return np.bitwise_count(masks).astype(float)


def _as_driven(n: int, state: State, year_of_sale: Array, rng: np.random.Generator) -> State:
    age = year_of_sale - state["year"]
    a_year = np.where(state["year"] >= 1980, 5200, 2600) * np.exp(0.55 * rng.standard_normal(n))
    # Cars are driven most when young; forty years of age add little to thirty.
    true_miles = a_year * 18 * (1 - np.exp(-age / 18)) * np.exp(-0.12 * state["care"])
    rolled = (true_miles > 99_999) & (state["year"] < 1985)
    shown = np.where(rolled, true_miles % 100_000, true_miles)
    status = _choose(n, (14, 62, 18, 6), rng)
    status = np.where(rolled & (status == 0), 2, status)
    return {"mileage": np.round(shown), "mileage_status": status.astype(np.int16)}


def _bits(chances: Array, rng: np.random.Generator) -> Array:
    """Draw a mask a row; `chances` has one column a bit."""
    masks = np.zeros(len(chances), dtype=np.int64)
    for bit in range(chances.shape[1]):
        masks |= (rng.random(len(chances)) < chances[:, bit]).astype(np.int64) << bit
    return masks


def _as_papered(n: int, lines: Lines, state: State, rng: np.random.Generator) -> State:
    dear = lines.intercept[state["line"]] - 10.3
    lift = 1 / (1 + np.exp(-(state["care"] + 0.5 * dear)))
    documents = np.outer(lift, (0.4, 0.3, 0.5, 0.35, 0.9))
    documented = state["genuineness"] == 0
    documents[documented, 0] = 0.95
    luck = np.array([0.06, 0.01, 0.015, 0.03, 0.015, 0.12, 0.35, 0.12, 0.15])
    equipment = np.outer(lift, (0.15, 0.55, 0.45, 0.2, 0.15, 0.25))
    return {
        "documents": _bits(documents, rng),
        "history": _bits(np.broadcast_to(luck, (n, len(luck))), rng),
        "equipment": _bits(equipment, rng),
        "colour_origin": _choose(n, (62, 32, 6), rng),
        "title_status": _choose(n, (900, 30, 15, 15, 15, 10, 12, 3), rng),
    }


def age_cars(state: State, years: Array, rng: np.random.Generator) -> State:
    """Return the cars `years` later: driven, worn a little, some put right.

    Parameters
    ----------
    state : State
        The cars before.
    years : numpy.ndarray, shape (n,)
        Years that pass.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    State
        A new state; the given one is left as it is.
    """
    n = len(years)
    put_right = rng.random(n) < 0.12
    fresh = LEVELS["restoration"].index("fresh restoration")
    condition = state["condition_grade"] - 0.8 * years + 2 * rng.standard_normal(n)
    condition = np.where(put_right, np.maximum(condition, 78), condition)
    return {
        **state,
        "condition_grade": np.round(np.clip(condition, 4, 99)),
        "restoration": np.where(put_right, fresh, state["restoration"]),
        "mileage": np.round(state["mileage"] + 900 * years * np.exp(-0.3 * state["care"])),
    }

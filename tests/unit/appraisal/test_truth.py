"""Fits of invented markets against the truth that made their prices.

Twelve markets in which every seller states everything and the truth is additive, so that what the
regression assumes is so; with eleven changes to two cars of each.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pytest

from valuation.appraisal.contrast import contrast
from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import Fitted, fit_market_data
from valuation.appraisal.settings import ModelSettings
from valuation.features.assumptions import default_assumptions
from valuation.features.table import day_number
from valuation.records import Car, Value
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

SEEDS = range(12)
DAY = date(2024, 6, 1)
PLACE = {"channel": "live auction", "venue": "Harbour Rooms", "region": "North Shore"}
SALE = {**PLACE, "basis": "hammer price", "outcome": "sold"}

Values = dict[str, Value]


@dataclass(frozen=True)
class Trial:
    """What one market gave: hits by kind of change, and errors on sales it had not seen."""

    hits: dict[str, list[bool]]
    z: list[float]
    error: float
    without_time: float
    noise: float


def heading(v: Mapping[str, Any]) -> str:
    """Write a truthful heading, as the makers of the market write them."""
    version = "" if v["variant"] == "Standard" else f" {v['variant']}"
    claim = f" {v['genuineness']}" if v.get("genuineness") in ("tribute", "replica") else ""
    shift = f"{v['gears']:.0f}-speed" if v["transmission"] == "manual" else v["transmission"]
    head = f"{v['year']:.0f} {v['make']} {v['model']}{version} {str(v['body']).title()}"
    return f"{head}{claim}, {shift}"


def changes(v: Mapping[str, Any]) -> dict[str, Values]:
    """Return single changes to a car, each by its name."""

    def other(name: str, one: str, two: str) -> Values:
        return {name: two if v[name] == one else one}

    def turned(name: str, word: str) -> Values:
        return {name: tuple(sorted({*v.get(name, ())} ^ {word}))}

    grade, score = v["condition_grade"], v["originality_score"]
    return {
        "better condition": {"condition_grade": min(grade + 15.0, 95.0)},
        "worse condition": {"condition_grade": max(grade - 20.0, 10.0)},
        "more original": {"originality_score": min(score + 20.0, 98.0)},
        "gearbox": other("transmission", "automatic", "manual"),
        "engine": other("engine_originality", "later replacement", "numbers-matching"),
        "colour": other("colour_origin", "changed", "as it left the works"),
        "restoration": other("restoration", "older restoration", "fresh restoration, documented"),
        "bills": turned("documents", "bills"),
        "accident": turned("history", "accident"),
        "title": other("title_status", "missing", "clear"),
    }


def _true(world: SyntheticMarket, values: Values) -> float:
    return world.true_log_price(values, day=DAY, basis="hammer price", **PLACE)


def _pairs(world: SyntheticMarket, as_car: Callable[..., Car]) -> list[tuple[str, Values, Values]]:
    """Return pairs of cars that differ in one thing."""
    pairs = []
    for row in (5, 405):
        base = {"history": (), **as_car(world.table.iloc[row]).values}
        pairs += [(name, base, {**base, **new}) for name, new in changes(base).items()]
    genuine = np.flatnonzero(world.table["genuineness"] == "genuine, documented")
    for row in genuine[:2].tolist():
        base = {"history": (), **as_car(world.table.iloc[row]).values}
        pairs.append(("tribute", base, {**base, "genuineness": "tribute"}))
    return pairs


def _contrasts(
    world: SyntheticMarket, fitted: Fitted, as_car: Callable[..., Car]
) -> tuple[dict[str, list[bool]], list[float]]:
    hits: dict[str, list[bool]] = {}
    z = []
    for name, first, second in _pairs(world, as_car):
        cars = [Car(v, title=heading(v), sale=SALE) for v in (first, second)]
        found = contrast(fitted, *cars, day=day_number(DAY))
        low, high = found.interval()
        true = _true(world, second) - _true(world, first)
        hits.setdefault(name, []).append(low <= true <= high)
        z.append((found.effect - true) / found.sd)
    return hits, z


def _trial(seed: int, as_car: Callable[..., Car]) -> Trial:
    asked = MarketSettings(sales=1000, openness=30, plain=True, line_spread=0)
    world = make_market(asked, seed=seed)
    data = market_data(world.book(), unsold="as bids")
    assert data.frame["sale_id"].tolist() == world.table["sale_id"].tolist()
    kept_out = np.arange(len(data)) % 5 == 0
    fitted = fit_market_data(
        data.take(~kept_out), settings=ModelSettings(), assumptions=default_assumptions()
    )
    table = data.table.take(kept_out)
    true = world.truth.expected[kept_out]
    design = fitted.spec.transform(table)
    effects = fitted.by_attribute(design.X)
    off = effects.sum(1) - true
    market = effects[:, fitted.spec.attributes.index("market")]
    blind = off - (market - market.mean())
    hits, z = _contrasts(world, fitted, as_car)
    noise = world.truth.residual()
    return Trial(hits, z, _rms(off), _rms(blind), _rms(noise))


def _rms(x: Any) -> float:
    return float(np.sqrt(np.mean(np.square(x))))


@pytest.fixture(scope="module")
def trials(as_car: Callable[..., Car]) -> list[Trial]:
    return [_trial(seed, as_car) for seed in SEEDS]


def test_true_effects_lie_inside_their_intervals(trials: list[Trial]) -> None:
    hits = [hit for t in trials for kind in t.hits.values() for hit in kind]
    assert len(hits) > 240
    assert 0.80 <= np.mean(hits) <= 0.98
    z = np.array([z for t in trials for z in t.z])
    assert abs(np.median(z)) < 0.3
    assert 0.7 < _rms(z) < 1.4


def test_no_kind_of_effect_is_mostly_missed(trials: list[Trial]) -> None:
    for kind in trials[0].hits:
        hits = [hit for t in trials for hit in t.hits.get(kind, ())]
        assert len(hits) >= 12
        assert np.mean(hits) >= 0.6, kind


def test_prices_of_cars_kept_out_come_near_the_truth(trials: list[Trial]) -> None:
    # The noise of a single sale is what no method can know; the fit must be well inside it.
    ratios = [t.error / t.noise for t in trials]
    assert np.median(ratios) < 0.85
    assert max(ratios) < 1.1


def test_the_market_level_earns_its_place(trials: list[Trial]) -> None:
    assert np.mean([t.error for t in trials]) < np.mean([t.without_time for t in trials])

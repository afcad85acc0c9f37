"""The true expectation of a log price, part by part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valuation.schema.sale import BASES
from valuation.synthetic.catalogue import FIRST_YEAR, Lines
from valuation.synthetic.effects import LEVELS, SETS, Array, Effects
from valuation.synthetic.levels import MarketLevels, as_days
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import VENUES

__all__ = ["PARTS", "World", "basis_part", "buyers_premium", "contributions"]

_BY_LEVEL = (
    "transmission_origin",
    "steering_side",
    "original_market",
    "interior_colour",
    "engine_originality",
    "restoration",
    "restorer",
    "re_engineered",
    "mileage_status",
    "colour_origin",
    "title_status",
)
_OF_SALE = ("channel", "venue", "region")

PARTS = (
    "model",
    "generation",
    "variant",
    "year",
    "age at sale",
    "body",
    "genuineness",
    "engine_size",
    "transmission",
    "gears",
    "colour",
    "originality_score",
    "condition_grade",
    "mileage",
    *_BY_LEVEL,
    *SETS,
    "market level",
    *_OF_SALE,
    "basis",
)
"""Names of the parts of which a true expected log price is the sum."""


@dataclass(frozen=True)
class World:
    """Everything that makes prices in one market.

    Parameters
    ----------
    settings : MarketSettings
        What was asked for.
    effects : Effects
        Effects that all lines share.
    lines : Lines
        Model lines with their own slopes.
    levels : MarketLevels
        Market level of each segment and day.
    """

    settings: MarketSettings
    effects: Effects
    lines: Lines
    levels: MarketLevels


def contributions(
    world: World, state: Mapping[str, Array], sale: Mapping[str, Array]
) -> dict[str, Array]:
    """Return each part of the true expected log price, before its basis.

    Parameters
    ----------
    world : World
        Effects, lines, levels.
    state : mapping of str to numpy.ndarray
        True cars, see :data:`valuation.synthetic.cars.State`.
    sale : mapping of str to numpy.ndarray
        ``day``, and codes of ``channel``, ``venue``, ``region``.

    Returns
    -------
    dict of str to numpy.ndarray
        One array a part of :data:`PARTS`, without "basis".
    """
    parts = {
        **_line_parts(world, state, sale),
        **_engine_parts(world, state),
        **_found_parts(world, state),
        **{name: world.effects.of_codes(name, state[name]) for name in _BY_LEVEL},
        **{name: world.effects.of_masks(name, state[name]) for name in SETS},
        "market level": world.levels.at(world.lines.segment[state["line"]], sale["day"]),
        **{name: world.effects.of_codes(name, sale[name]) for name in _OF_SALE},
    }
    moving = world.settings.drift_attribute
    if moving in parts:
        years = (sale["day"] - as_days(world.settings.start)) / 365.25
        parts[moving] = parts[moving] * (1 + world.settings.drift_rate * years)
    return parts


def _line_parts(
    world: World, state: Mapping[str, Array], sale: Mapping[str, Array]
) -> dict[str, Array]:
    lines, curves, line = world.lines, world.effects.curves, state["line"]
    year = state["year"]
    decades = (year - (lines.first[line] + lines.last[line]) / 2) / 10
    year_of_sale = 1970 + sale["day"] / 365.2425
    young = np.maximum(25 - (np.floor(year_of_sale) - year), 0)
    column = np.clip(year - FIRST_YEAR, 0, lines.year_level.shape[1] - 1).astype(int)
    body = state["body"]
    colour = state["colour"]
    return {
        "model": lines.intercept[line],
        "generation": lines.generation_effect[line, state["generation"]],
        "variant": lines.variant_effect[line, state["variant"]],
        "year": lines.year_slope[line] * decades + lines.year_level[line, column],
        "age at sale": curves["age under 25 years, straight"] * young
        + curves["age under 25 years, curve"] * young**2,
        "body": world.effects.of_codes("body", body) + lines.body_effect[line, body],
        "genuineness": _genuineness(world, state),
        "colour": world.effects.of_codes("colour", colour) + lines.colour_effect[line, colour],
    }


def _genuineness(world: World, state: Mapping[str, Array]) -> Array:
    codes = state["genuineness"]
    if world.settings.plain:
        return world.effects.of_codes("genuineness", codes)
    lost = [
        world.effects.curves[f"genuineness, share of the premium lost by a {word}"]
        for word in ("claim", "tribute", "replica")
    ]
    premium = world.lines.variant_effect[state["line"], state["variant"]]
    share: Array = np.array([0.0, *lost, 0.0])[codes]
    return -share * premium


def _engine_parts(world: World, state: Mapping[str, Array]) -> dict[str, Array]:
    curves = world.effects.curves
    size = np.log(state["engine_size"] / 2.5)
    own = world.lines.automatic[state["line"]] * (state["transmission"] > 0)
    return {
        "engine_size": curves["engine_size, straight"] * size
        + curves["engine_size, curve"] * size**2,
        "transmission": world.effects.of_codes("transmission", state["transmission"]) + own,
        "gears": curves["gears, each"] * (state["gears"] - 4),
    }


def _found_parts(world: World, state: Mapping[str, Array]) -> dict[str, Array]:
    lines, curves, line = world.lines, world.effects.curves, state["line"]
    grade = (state["condition_grade"] - 60) / 40
    score = state["originality_score"] - 60
    believed = state["mileage_status"] < LEVELS["mileage_status"].index("unknown")
    miles = (np.sqrt(state["mileage"]) - 245) / 100
    return {
        "condition_grade": lines.condition_slope[line]
        * (
            curves["condition_grade, straight"] * grade
            + curves["condition_grade, curve"] * grade**2
        ),
        "originality_score": lines.originality_slope[line]
        * (score + curves["originality_score, curve"] * score**2),
        # A mileage nobody believes moves nothing; its status has an effect of its own.
        "mileage": np.where(believed, -lines.mileage_slope[line] * miles, 0.0),
    }


def buyers_premium(hammer: Array, venue: Array) -> Array:
    """Return the buyer's premium, by slices of the hammer price.

    Parameters
    ----------
    hammer : numpy.ndarray, shape (n,)
        Hammer prices.
    venue : numpy.ndarray of int, shape (n,)
        Venue codes; dealers and private sellers charge none.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Amounts in the currency of the hammer price.
    """
    low = np.array([v.premium_low for v in VENUES])[venue]
    high = np.array([v.premium_high for v in VENUES])[venue]
    limit = np.array([v.limit for v in VENUES])[venue]
    amount: Array = low * np.minimum(hammer, limit) + high * np.maximum(hammer - limit, 0.0)
    return amount


def basis_part(world: World, log_price: Array, venue: Array, basis: Array) -> Array:
    """Return what the basis adds to a log hammer price or price paid.

    Parameters
    ----------
    world : World
        Holds the dealers' usual mark-up of an asking price.
    log_price : numpy.ndarray, shape (n,)
        Log hammer price or price paid.
    venue, basis : numpy.ndarray of int, shape (n,)
        Codes; the basis as a position in ``BASES``.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Additions to the log price.
    """
    hammer = np.exp(log_price)
    with_premium = np.log1p(buyers_premium(hammer, venue) / hammer)
    ask = world.effects.curves["asking price over price paid"]
    added = np.where(basis == BASES.index("hammer price plus buyer's premium"), with_premium, 0.0)
    result: Array = np.where(basis == BASES.index("asking price"), ask, added)
    return result

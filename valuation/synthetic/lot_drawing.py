"""The cars of an invented catalogue: most of them new to the market, a few sold there before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from valuation.synthetic.cars import State, age_cars, draw_cars, take
from valuation.synthetic.effects import Array
from valuation.synthetic.levels import as_days
from valuation.synthetic.market import SyntheticMarket
from valuation.synthetic.pricing import contributions
from valuation.synthetic.stating import draw_statements
from valuation.synthetic.tabling import build_table
from valuation.synthetic.trading import hold, round_bid, student
from valuation.synthetic.world import CHANNELS, REGIONS, VENUES

__all__ = ["SOLD_BEFORE", "DrawnLots", "draw_lots", "sale_days"]

SOLD_BEFORE = 5
"""Lots whose chassis was on the market before."""

_STREAM = 1017
_WEEKS_AHEAD = 10
_FRIDAY = 4


@dataclass(frozen=True)
class DrawnLots:
    """Cars of a catalogue as their sellers describe them, with the house's estimates.

    Parameters
    ----------
    table : pandas.DataFrame
        The contract's table, one row a lot; its prices are those the sale would bring.
    low, high : list of int
        The house's estimate.
    before : frozenset of int
        Positions of the cars that were on the market before.
    """

    table: pd.DataFrame
    low: list[int]
    high: list[int]
    before: frozenset[int]


def sale_days(end: date) -> tuple[date, date]:
    """Return the Friday and Saturday of the sale, some weeks after the last sale of a market.

    Examples
    --------
    >>> [day.isoformat() for day in sale_days(date(2024, 12, 31))]
    ['2025-03-14', '2025-03-15']
    """
    first = end + timedelta(weeks=_WEEKS_AHEAD)
    friday = first + timedelta(days=(_FRIDAY - first.weekday()) % 7)
    return friday, friday + timedelta(days=1)


def _sold_before(market: SyntheticMarket) -> Array:
    """Choose records of cars with a chassis number, each car's last one, of the last two years."""
    table = market.table
    told = table["chassis"].notna() & ~table["chassis"].duplicated(keep="last")
    recent = table["sale_date"] >= table["sale_date"].max() - pd.Timedelta(days=730)
    usual = (table["outcome"] == "sold") & table["genuineness"].isna()
    rows = np.flatnonzero((told & recent & usual).to_numpy())
    picks = np.linspace(0, max(len(rows) - 1, 0), min(SOLD_BEFORE, len(rows))).astype(int)
    chosen: Array = rows[picks]
    return chosen


def _occasions(market: SyntheticMarket, n: int, on_friday: int, car: Array) -> dict[str, Array]:
    friday, saturday = sale_days(market.settings.end)
    day = np.where(np.arange(n) < on_friday, as_days(friday), as_days(saturday))
    same = np.zeros(n, dtype=np.int64)
    return {
        "day": day,
        "channel": same + CHANNELS.index("live auction"),
        "venue": same + [v.name for v in VENUES].index("Harbour Rooms"),
        "region": same + REGIONS.index("Harbour Cities"),
        "car": car,
        "eager": np.zeros(n),
        "deal": same,
    }


def _joined(fresh: State, old: State, places: Array) -> State:
    """Return the states of all cars with the old ones at their places."""
    n = len(fresh["line"]) + len(places)
    rest = np.setdiff1d(np.arange(n), places)
    order = np.argsort(np.concatenate([rest, places]), kind="stable")
    return {name: np.concatenate([fresh[name], old[name]])[order] for name in fresh}


def draw_lots(market: SyntheticMarket, n: int, *, on_friday: int) -> DrawnLots:
    """Draw the cars of a sale some weeks after the last one of a market.

    Parameters
    ----------
    market : SyntheticMarket
        Its lines, its effects and its levels make the prices.
    n : int
        How many lots.
    on_friday : int
        How many of them are offered on the first of the two days.

    Returns
    -------
    DrawnLots
        The same market gives the same lots; drawing them changes nothing in it.
    """
    rng = np.random.default_rng(np.random.SeedSequence([market.seed, _STREAM]))
    world, settings = market.truth.world, market.settings
    rows = _sold_before(market)
    places = np.linspace(7, n - 8, len(rows)).astype(int)
    year = np.full(n - len(rows), sale_days(settings.end)[0].year)
    fresh = draw_cars(len(year), world.lines, year, rng)
    old = take(market.truth.state, rows)
    day = as_days(sale_days(settings.end)[0])
    aged = age_cars(old, (day - market.truth.sale["day"][rows]) / 365.25, rng)
    state = _joined(fresh, aged, places)
    car = int(market.truth.sale["car"].max()) + 1 + np.arange(n)
    car[places] = market.truth.sale["car"][rows]
    noise = np.sqrt(settings.car_share) * settings.noise_sd * student(n, world, rng)
    noise[places] = market.truth.of_car[rows]
    sale = _occasions(market, n, on_friday, car)
    parts = contributions(world, state, sale)
    said = draw_statements(settings, world.effects, state, parts, rng)
    total: Array = np.sum(np.array(list(parts.values())), axis=0)
    held = hold(world, total, noise, {**sale, "thinness": said.thinness}, rng)
    table = build_table(world.lines, state, held, said.stated, said.shown, settings.currency, rng)
    table.loc[places, "chassis"] = market.table["chassis"].to_numpy()[rows]
    opinion = np.exp(total - 0.05 + 0.12 * rng.standard_normal(n))
    low, high = (round_bid(f * opinion).astype(int).tolist() for f in (0.88, 1.15))
    return DrawnLots(table, low, high, frozenset(places.tolist()))

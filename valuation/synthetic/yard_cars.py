"""The cars an invented firm buys at a synthetic market, with all that is true about them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from valuation.records import Value
from valuation.synthetic.cars import take
from valuation.synthetic.effects import Array
from valuation.synthetic.market import SyntheticMarket
from valuation.synthetic.pricing import buyers_premium, contributions
from valuation.synthetic.world import CHANNELS, VENUES

__all__ = ["DAYS_KNOWN", "FIRM", "YardCar", "buy_cars"]

FIRM = "Gannet Wharf Cars"
"""The invented firm: a dealer that none of the market's records is from."""

DAYS_KNOWN = 560
"""For so many days from its purchase the true value of a car is worked out."""

_FIRST_STOCK = 1001
_IDEA_SD = 0.09
_AUCTION_SD = 0.13
_BEST_GRADE = 92
_COST_OF_POINT = 0.005
_DEAREST = 105_000
_CHEAPEST = 6_000
_LEAST_PROMISE = 0.03
_SPREAD_OF_CHOICE = 0.08
_WITH_PREMIUM = "hammer price plus buyer's premium"
_BASES = ("hammer price", _WITH_PREMIUM, "price paid")
_ONLINE_SHARE, _ONLINE_CAP = 0.005, 200
_Spent = tuple[tuple[int, str, int], ...]


@dataclass(frozen=True)
class YardCar:
    """One car of the firm, with the truth.

    Parameters
    ----------
    stock : str
        The firm's number of it.
    row : int
        Its purchase as a row of the market's table.
    segment : str
        Segment of its model line.
    values : mapping of str to Value
        Everything about the car as the firm shows it: its work raised the condition grade.
    bought, ready : datetime.date
        Days of the purchase and of the first listing.
    price : float
        What was paid for it, on the basis of the record.
    paid : float
        The same with premium and surcharge.
    spent : tuple of (int, str, int)
        What else was spent: days after the purchase, what on, how much.
    log_value : numpy.ndarray, shape (DAYS_KNOWN,)
        Log of what a buyer at the yard holds it to be worth, day by day from the purchase.
    log_idea : numpy.ndarray, shape (DAYS_KNOWN,)
        Log of what the firm holds it to be worth, day by day.
    log_hammer : numpy.ndarray, shape (DAYS_KNOWN,)
        Log of what the rooms would bid for it, its luck included.
    patience, eager, haggle, mood : float
        What chance holds for it under any asking price: see
        :func:`valuation.synthetic.yard_demand.days_to_sell` and :class:`Demand`; `mood` is how far
        the firm departs from its habit, in standard deviations.
    """

    stock: str
    row: int
    segment: str
    values: Mapping[str, Value]
    bought: date
    ready: date
    price: float
    paid: float
    spent: _Spent
    log_value: Array = field(repr=False)
    log_idea: Array = field(repr=False)
    log_hammer: Array = field(repr=False)
    patience: float
    eager: float
    haggle: float
    mood: float

    @property
    def outlay(self) -> float:
        """Purchase and all money spent until the car is ready."""
        return self.paid + sum(amount for _, _, amount in self.spent)

    @property
    def condition(self) -> float:
        """Condition grade, 0 to 100."""
        return float(self.values["condition_grade"])  # type: ignore[arg-type]

    def at(self, day: date) -> int:
        """Return the place of a day in the arrays of this car."""
        return (day - self.bought).days


def buy_cars(
    market: SyntheticMarket, *, since: date, months: int, a_month: int, eager_sd: float, seed: int
) -> tuple[YardCar, ...]:
    """Let the firm buy, month by month, those lots that look best to it.

    Parameters
    ----------
    market : SyntheticMarket
        The market; what a car is worth follows its truth.
    since : datetime.date
        First day of a month.
    months, a_month : int
        For how long, and how many cars a month where so many are to be had.
    eager_sd : float
        See :class:`valuation.synthetic.yard_demand.Demand`.
    seed : int
        Seed of everything that the market leaves to chance.

    Returns
    -------
    tuple of YardCar
        By day of purchase.
    """
    rng = np.random.default_rng([seed, 29])
    lots = _lots(market, since)
    error = _IDEA_SD * rng.standard_normal(len(lots))
    score = _log_values(market, lots, channel="dealer", days=1)[:, 0] + error
    score += _SPREAD_OF_CHOICE * rng.standard_normal(len(lots)) - np.log(_paid(lots))
    # What does not promise enough is left to others.
    score[score < _LEAST_PROMISE] = -np.inf
    rows = _chosen(lots["sale_date"], score, months, a_month, since)
    luck = _luck(len(rows), eager_sd, rng)
    luck["idea"] = error[rows]
    return _cars(market, lots.iloc[rows], luck)


def _cars(
    market: SyntheticMarket, lots: pd.DataFrame, luck: Mapping[str, Array]
) -> tuple[YardCar, ...]:
    """Return the cars behind lots, in their order."""
    truth, paid = market.truth, _paid(lots)
    found = truth.state["condition_grade"][lots.index]
    grade = np.maximum(found, np.minimum(found + luck["points"], _BEST_GRADE))
    long: dict[str, Any] = {"days": DAYS_KNOWN, "grade": grade}
    value = _log_values(market, lots, channel="dealer", **long)
    hammer = _log_values(market, lots, channel="live auction", **long)
    own = truth.of_car[lots.index]
    actual = truth.actual().loc[lots.index].assign(condition_grade=grade).to_dict("records")
    return tuple(
        YardCar(
            stock=f"Y-{_FIRST_STOCK + k}",
            row=int(row),
            segment=truth.world.lines.specs[int(truth.state["line"][row])].segment,
            # What does not apply to a car is None, or no number where all others are.
            values={str(n): v for n, v in actual[k].items() if v is not None and v == v},
            bought=(day := lots["sale_date"].iloc[k].date()),
            ready=day + timedelta(days=int(luck["work_days"][k])),
            price=float(lots["price"].iloc[k]),
            paid=float(paid[k]),
            spent=_spent(float(paid[k]), grade[k] - found[k], luck["work"][k]),
            log_value=value[k] + own[k],
            log_idea=value[k] + luck["idea"][k],
            log_hammer=hammer[k] + own[k] + luck["auction"][k],
            **{name: float(luck[name][k]) for name in ("patience", "eager", "haggle", "mood")},
        )
        for k, row in enumerate(lots.index)
    )


def _lots(market: SyntheticMarket, since: date) -> pd.DataFrame:
    """Return what the firm could have bought."""
    table = market.table
    lots = table[
        (table["sale_date"] >= pd.Timestamp(since))
        & table["basis"].isin(_BASES)
        & (table["outcome"] == "sold")
        & (table["channel"] != "dealer")
        & table["chassis"].notna()
        & table["price"].between(_CHEAPEST, _DEAREST)
    ].drop_duplicates("chassis")
    return pd.DataFrame(lots)


def _paid(lots: pd.DataFrame) -> Array:
    """Return what each lot cost with premium and surcharge, in whole units."""
    price = lots["price"].to_numpy()
    venue = np.array([_VENUE.get(v, len(VENUES) - 1) for v in lots["venue"]])
    hammer = lots["basis"].to_numpy() == "hammer price"
    online = lots["channel"].to_numpy() == "online auction"
    extra = np.where(hammer, buyers_premium(price, venue), 0.0)
    extra += np.where(online, np.minimum(_ONLINE_SHARE * price, _ONLINE_CAP), 0.0)
    paid: Array = price + np.round(extra)
    return paid


_VENUE = {v.name: i for i, v in enumerate(VENUES) if v.name}


def _log_values(
    market: SyntheticMarket,
    lots: pd.DataFrame,
    *,
    channel: str,
    days: int,
    grade: Array | None = None,
) -> Array:
    """Return true expected log prices day by day, without what is the car's own.

    Returns
    -------
    numpy.ndarray, shape (n_lots, days)
        From the day of the lot on.
    """
    first = lots["sale_date"].to_numpy().astype("datetime64[D]").astype(np.int64)
    day = (first[:, None] + np.arange(days)).ravel()
    state = take(market.truth.state, np.repeat(lots.index.to_numpy(), days))
    if grade is not None:
        state["condition_grade"] = np.repeat(grade, days)
    sale = {
        "day": day,
        "channel": np.full(len(day), CHANNELS.index(channel)),
        "venue": np.full(len(day), -1),
        "region": np.full(len(day), -1),
    }
    total = np.zeros(len(day))
    for part in contributions(market.truth.world, state, sale).values():
        total += part
    return total.reshape(len(lots), days)


def _chosen(days: pd.Series[Any], score: Array, months: int, a_month: int, since: date) -> Array:
    """Return the positions of the best lots of each month, in the order of their days."""
    month = (days.dt.year - since.year) * 12 + days.dt.month - since.month
    best: list[int] = []
    for m in range(months):
        of_month = np.flatnonzero((month == m).to_numpy() & np.isfinite(score))
        best += of_month[np.argsort(-score[of_month], kind="stable")][:a_month].tolist()
    rows = np.array(best, dtype=np.int64)
    ordered: Array = rows[np.argsort(days.to_numpy()[rows], kind="stable")]
    return ordered


def _luck(n: int, eager_sd: float, rng: np.random.Generator) -> dict[str, Array]:
    """Draw for each car what chance holds for it, whatever will be asked."""
    return {
        "patience": rng.exponential(1.0, n),
        "eager": eager_sd * rng.standard_normal(n),
        "haggle": rng.standard_normal(n),
        "mood": rng.standard_normal(n),
        "auction": _AUCTION_SD * rng.standard_normal(n),
        "points": rng.integers(4, 12, n),
        "work_days": rng.integers(14, 43, n),
        "work": rng.random((n, 3)),
    }


def _spent(paid: float, points: float, luck: Sequence[float]) -> _Spent:
    """Return transport, service and the work that raised the condition grade by some points."""
    transport, service, more = luck
    return (
        (4, "transport", round(250 + 350 * transport)),
        (9, "service", round(300 + 400 * service)),
        (12, "paint and trim", round(250 + paid * _COST_OF_POINT * points * (0.6 + 0.8 * more))),
    )

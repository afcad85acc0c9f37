"""Other asking prices for the same cars: how each policy does with the same luck."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np

from valuation.errors import SettingsError
from valuation.records import Value
from valuation.synthetic.effects import Array
from valuation.synthetic.levels import as_days
from valuation.synthetic.yard_cars import DAYS_KNOWN, YardCar
from valuation.synthetic.yard_costs import YardCosts
from valuation.synthetic.yard_demand import Demand, days_to_sell, sell_chance
from valuation.synthetic.yard_outcomes import Outcome, Played

__all__ = [
    "AUCTION",
    "KnownCar",
    "Policy",
    "chance_by",
    "estimate_plus",
    "play",
]

AUCTION: Literal["auction"] = "auction"
"""What a policy says of a car that it sends to auction."""

LONGEST = 450
"""After so many days on sale every policy's car goes to auction."""

_AGREED = 50.0


@dataclass(frozen=True, slots=True)
class KnownCar:
    """What the firm knows of a car on the day on which it decides what to ask.

    Parameters
    ----------
    stock, segment : str
        Number and segment.
    values : mapping of str to Value
        Everything the firm has found of it.
    day : datetime.date
        Day of the decision.
    bought : datetime.date
        Day of the purchase.
    listed_days : int
        Days since the first listing; 0 on the day of it.
    asks : tuple of (datetime.date, float)
        Every asking price so far; none on the first day.
    estimate : float
        What the firm holds the car to be worth on this day, without any model: an error of its
        own goes with the car.
    paid, outlay : float
        What it was bought for with premium and surcharge, and that with all work.
    """

    stock: str
    segment: str
    values: Mapping[str, Value]
    day: date
    bought: date
    listed_days: int
    asks: tuple[tuple[date, float], ...]
    estimate: float
    paid: float
    outlay: float

    @property
    def ask(self) -> float | None:
        """Asking price until now, None on the first day."""
        return self.asks[-1][1] if self.asks else None

    @property
    def condition(self) -> float:
        """Condition grade, 0 to 100."""
        return float(self.values["condition_grade"])  # type: ignore[arg-type]


Policy = Callable[[KnownCar], float | Literal["auction"]]
"""From what the firm knows of a car on a day to an asking price, or to :data:`AUCTION`."""


def play(
    cars: Iterable[YardCar], policy: Policy, *, demand: Demand, costs: YardCosts, every: int = 7
) -> Played:
    """Ask for cars what a policy says, and see what they earn.

    Parameters
    ----------
    cars : iterable of YardCar
        Cars of a yard, all or some.
    policy : Policy
        Asked on the day of the listing and every so many days after it.
    demand : Demand
        How buyers behave.
    costs : YardCosts
        What keeping and selling costs.
    every : int
        Days between two decisions.

    Returns
    -------
    Played
        Each car's luck is its own, so that two policies differ by what they ask alone.

    Raises
    ------
    SettingsError
        If the policy asks something that is no price.
    """
    return Played(tuple(_outcome(car, policy, demand, costs, every) for car in cars))


def estimate_plus(share: float, *, auction_after: int = LONGEST) -> Policy:
    """Return the plain rule: what the firm holds a car to be worth plus a share, never changed.

    Parameters
    ----------
    share : float
        Such as 0.1.
    auction_after : int
        Days on sale after which a car goes to auction.
    """

    def policy(known: KnownCar) -> float | Literal["auction"]:
        if known.listed_days >= auction_after:
            return AUCTION
        return known.estimate * (1 + share) if known.ask is None else known.ask

    return policy


def chance_by(car: YardCar, asks: Array, *, demand: Demand) -> Array:
    """Return the true chance that a car is sold by the end of each day on sale.

    Parameters
    ----------
    car : YardCar
        The car; what nobody can see of it counts.
    asks : numpy.ndarray, shape (n_days,)
        Asking price on each day from its first listing on.
    demand : Demand
        How buyers behave.
    """
    return sell_chance(_rates(car, np.asarray(asks, dtype=float), 0, demand))


def _rates(car: YardCar, asks: Array, after: int, demand: Demand) -> Array:
    """Return the sales a day for asking prices from so many days after the listing on."""
    start = car.at(car.ready) + after
    return demand.hazard(
        car.segment,
        np.log(asks) - car.log_value[start : start + len(asks)],
        day=as_days(car.ready) + after + np.arange(len(asks)),
        listed_days=after + np.arange(len(asks)),
        condition=car.condition,
        eager=car.eager,
    )


def _outcome(car: YardCar, policy: Policy, demand: Demand, costs: YardCosts, every: int) -> Outcome:
    asks: list[tuple[date, float]] = []
    patience = car.patience
    for after in range(0, LONGEST, every):
        said = _said(policy, _known(car, after, tuple(asks)))
        if said == AUCTION:
            return _auctioned(car, after, asks, costs)
        if not asks or asks[-1][1] != said:
            asks.append((car.ready + timedelta(days=after), float(said)))
        rates = _rates(car, np.full(min(every, LONGEST - after), float(said)), after, demand)
        waited = days_to_sell(rates, patience)
        if waited is not None:
            return _sold(car, after + waited, asks, demand, costs)
        patience -= float(rates.sum())
    return _auctioned(car, LONGEST, asks, costs)


def _known(car: YardCar, after: int, asks: tuple[tuple[date, float], ...]) -> KnownCar:
    day = car.ready + timedelta(days=after)
    return KnownCar(
        car.stock,
        car.segment,
        car.values,
        day,
        car.bought,
        after,
        asks,
        math.exp(float(car.log_idea[car.at(day)])),
        car.paid,
        car.outlay,
    )


def _said(policy: Policy, known: KnownCar) -> float | Literal["auction"]:
    said = policy(known)
    if said == AUCTION or (not isinstance(said, str) and math.isfinite(said) and said > 0):
        return said
    raise SettingsError(
        f"synthetic yard, {known.stock} on {known.day.isoformat()}",
        "the policy asks something that is no price",
        got=str(said),
        remedy=f'Return an amount above zero, or "{AUCTION}"',
    )


def _sold(
    car: YardCar, waited: int, asks: list[tuple[date, float]], demand: Demand, costs: YardCosts
) -> Outcome:
    on = car.ready + timedelta(days=waited)
    price = _whole(demand.paid(asks[-1][1], float(car.log_value[car.at(on)]), car.haggle))
    return _closed(car, on, price, costs.left_of_sale(price, car.paid), asks, waited, None, costs)


def _auctioned(
    car: YardCar, after: int, asks: list[tuple[date, float]], costs: YardCosts
) -> Outcome:
    given_up = car.ready + timedelta(days=after)
    on = given_up + timedelta(days=costs.auction_days)
    hammer = _whole(math.exp(float(car.log_hammer[min(car.at(on), DAYS_KNOWN - 1)])))
    left = costs.left_of_auction(hammer, car.paid)
    return _closed(car, on, hammer, left, asks, after, given_up, costs)


def _whole(amount: float) -> float:
    """Return an amount as two people agree on it."""
    return max(round(amount / _AGREED), 1) * _AGREED


def _closed(
    car: YardCar,
    on: date,
    price: float,
    left: float,
    asks: list[tuple[date, float]],
    listed_days: int,
    given_up: date | None,
    costs: YardCosts,
) -> Outcome:
    days = (on - car.bought).days
    holding = costs.holding(car.outlay, days)
    return Outcome(
        car.stock,
        car.segment,
        tuple(asks),
        given_up,
        on,
        price,
        listed_days,
        car.outlay,
        holding,
        left - car.outlay - holding,
        days,
    )

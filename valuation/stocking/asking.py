"""What to ask: for each price the chance to sell, the days, and the money that is left.

The price asked decides how soon a buyer comes; a day more costs what holding the car costs and what
its money would earn in another car.  Recommended is the price with the highest expected net after
both: over many cars that is the rule with the highest net a day for the money tied up, if money
earns elsewhere what it earned so far (the parametric form of a ratio; Dinkelbach 1967).  The ratio
of a single car is shown beside it but not taken: once money is lost it praises whatever waits
longest, and the cost of holding drops out of it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from valuation.bidding.costs import Costs
from valuation.cents import Cents
from valuation.results.stock_ask import MoneyElsewhere
from valuation.stocking.asking_money import (
    PaidBelow,
    auction_costs,
    holding_a_day,
    left_of_sales,
)
from valuation.stocking.settings import AskingSettings, AuctionSettings

__all__ = ["Asking", "OnOffer", "SoldBy", "Tried", "advertised", "days_on_offer", "try_asks"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_STEP = 7
"""Days between two days on which chances are worked out."""


class SoldBy(Protocol):
    """What tells chances; see :meth:`valuation.stocking.chance.ChanceToSell.sold_by`."""

    def sold_by(
        self,
        log_asks: Floats,
        days: Sequence[int],
        *,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
        asked: Sequence[tuple[int, float]] = (),
    ) -> Floats:
        """Return chances, shape (n_draws, n_asks, n_days)."""
        ...


@dataclass(frozen=True)
class OnOffer:
    """A car of the firm on the day on which its price is decided.

    Parameters
    ----------
    kind : str
        Kind of car.
    condition : float or None
        Condition grade.
    day : datetime.date
        First day of the price.
    listed_days, days_held : int
        Days since its first listing, and since it was bought.
    log_value : float
        Log of the central estimate.
    log_off : ndarray, shape (n_ranks,)
        How far the value may lie from it: equally likely log deviations, rising; a single 0 where
        nothing is known.
    log_hammer : ndarray, shape (n_ranks,)
        Log hammer price of each of these.
    paid, outlay : int
        Purchase, and all money in the car, in cents.
    asked : tuple of (int, float)
        What was asked until now: days, and log asking price over the estimate.
    """

    kind: str
    condition: float | None
    day: date
    listed_days: int
    days_held: int
    log_value: float
    log_off: Floats
    log_hammer: Floats
    paid: int
    outlay: int
    asked: tuple[tuple[int, float], ...] = ()


@dataclass(frozen=True)
class Asking:
    """What holds for every car of the firm.

    Parameters
    ----------
    chance : SoldBy
        Chance to sell.
    costs : Costs
        Cost settings.
    settings : AskingSettings
        Which prices are tried, and for how long.
    auction : AuctionSettings
        What becomes of what is not sold.
    below : PaidBelow
        What customers pay less than asked.
    elsewhere : MoneyElsewhere
        What money earns in other cars.
    """

    chance: SoldBy
    costs: Costs
    settings: AskingSettings
    auction: AuctionSettings
    below: PaidBelow
    elsewhere: MoneyElsewhere

    def horizon(self, car: OnOffer) -> int:
        """Return after how many more days on offer a car goes to auction.

        One that has been on offer for very long still gets the usual target of days.
        """
        s = self.settings
        return max(s.horizon_days - car.listed_days, s.target_days)


@dataclass(frozen=True)
class Tried:
    """What follows from each asking price, draw by draw of the chance to sell.

    Parameters
    ----------
    asks : ndarray of int, shape (n_asks,)
        In cents, rising.
    received : ndarray of int, shape (n_asks,)
        What customers pay, in cents.
    chance : ndarray, shape (n_draws, n_asks)
        To be sold within the target days.
    days : ndarray, shape (n_draws, n_asks)
        Mean days on offer.
    net : ndarray, shape (n_draws, n_asks)
        Mean net, in cents.
    tied : ndarray, shape (n_draws, n_asks)
        Mean days from the purchase to the money.
    auction : float
        What an auction leaves in the mean, in cents.
    """

    asks: Cents
    received: Cents
    chance: Floats
    days: Floats
    net: Floats
    tied: Floats
    auction: float


def advertised(amounts: Floats) -> Cents:
    """Return amounts as prices are written: to three figures, in cents.

    Examples
    --------
    >>> (advertised(np.array([34_649.0, 8_555.0])) // 100).tolist()
    [34600, 8560]
    """
    step = 10.0 ** np.maximum(np.floor(np.log10(amounts)) - 2, 0)
    whole = np.floor(amounts / step + 0.5) * step
    cents: Cents = np.asarray(100 * whole, dtype=np.int64)
    return cents


def asks_of(car: OnOffer, settings: AskingSettings) -> Cents:
    """Return the asking prices to try, in cents, rising."""
    n = math.floor((settings.highest_percent - settings.lowest_percent) / settings.step_percent)
    percent = settings.lowest_percent + settings.step_percent * np.arange(n + 1)
    asks: Cents = np.unique(advertised(math.exp(car.log_value) * (1 + percent / 100)))
    return asks


def days_on_offer(chances: Floats, days: Ints) -> Floats:
    """Return the mean days until the sale or the last day, from chances to be sold by some days.

    Parameters
    ----------
    chances : ndarray, shape (..., n_days)
        Chances by these days.
    days : ndarray of int, shape (n_days,)
        Rising; the first day counts from 0.

    Returns
    -------
    ndarray, shape (...)
        Exact where sales a day are even between two days.
    """
    left = np.concatenate([np.ones_like(chances[..., :1]), 1 - chances], axis=-1)
    left = np.maximum(left, 1e-300)
    fall = np.log(left[..., :-1] / left[..., 1:])
    even = np.maximum(fall, 1e-9)
    # The mean of an exponential between its ends; where nothing falls both ends are alike.
    share = np.where(fall > 1e-9, -np.expm1(-even) / even, 1.0)
    widths = np.diff(days, prepend=0)
    mean: Floats = (left[..., :-1] * share * widths).sum(axis=-1)
    return mean


def try_asks(car: OnOffer, firm: Asking, *, target_days: int, off: int | None = None) -> Tried:
    """Work out what follows from each asking price.

    Parameters
    ----------
    car : OnOffer
        The car.
    firm : Asking
        The firm.
    target_days : int
        Days for which the chance is given.
    off : int, optional
        Rank of how far the value lies from its estimate; on average over all by default.

    Returns
    -------
    Tried
        With `off` the asking price is held against that value instead of the estimate.
    """
    asks, horizon = asks_of(car, firm.settings), firm.horizon(car)
    log_asks = np.log(asks / 100) - car.log_value
    last = min(target_days, horizon)
    days = sorted({*range(_STEP, horizon, _STEP), last, horizon})
    drawn = firm.chance.sold_by(
        log_asks - (0.0 if off is None else float(car.log_off[off])),
        days,
        segment=car.kind,
        day=car.day,
        condition=car.condition,
        listed_days=car.listed_days,
        asked=car.asked,
    )
    sold, offered = drawn[:, :, -1], days_on_offer(drawn, np.array(days))
    hammers = car.log_hammer if off is None else car.log_hammer[off : off + 1]
    auction = left_of_auction(car, firm, hammers)
    received = np.floor(asks * (1 - firm.below.share(log_asks)) + 0.5).astype(np.int64)
    tied = car.days_held + offered + (1 - sold) * firm.auction.days
    left = sold * left_of_sales(received, car.paid, firm.costs) + (1 - sold) * auction
    net = left - car.outlay - holding_a_day(firm.costs, car.outlay) * tied
    return Tried(asks, received, drawn[:, :, days.index(last)], offered, net, tied, auction)


def left_of_auction(car: OnOffer, firm: Asking, log_hammers: Floats) -> float:
    """Return what an auction leaves in the mean, in cents."""
    prices = np.floor(100 * np.exp(log_hammers) + 0.5).astype(np.int64)
    return float(left_of_sales(prices, car.paid, auction_costs(firm.costs, firm.auction)).mean())

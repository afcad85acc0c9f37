"""Three ways out of a car that has stood long: hold, another asking price, or auction."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.brief import Brief
from valuation.models.ranges import GRID
from valuation.results.stock_parts import WayOut
from valuation.stocking.asking import Asking, OnOffer, Tried, left_of_auction, try_asks
from valuation.stocking.asking_choice import beyond_elsewhere
from valuation.stocking.asking_money import MoneyIn, holding_a_day
from valuation.stocking.chance import chance_of

__all__ = ["Offer", "ways_out"]

Floats = NDArray[np.float64]

_RANKS = (np.arange(9) + 0.5) / 9
"""Equally likely places of a car's value."""

_CUT = 0.03
"""By so much a new asking price is lower at least: less is no new offer to anybody."""


@dataclass(frozen=True)
class Offer:
    """A car on offer.

    Parameters
    ----------
    kind : str
        Kind of car.
    condition : float or None
        Condition grade.
    ask : int
        Asking price, in cents.
    listed_days, days_held : int
        Since its first listing and its purchase.
    money : MoneyIn
        Money in it.
    sold, hammer : Brief
        What it brings from the firm's yard, and at auction.
    asked : tuple of (int, float)
        What was asked until now; see :class:`valuation.stocking.asking.OnOffer`.
    """

    kind: str
    condition: float | None
    ask: int
    listed_days: int
    days_held: int
    money: MoneyIn
    sold: Brief
    hammer: Brief
    asked: tuple[tuple[int, float], ...] = ()

    def on(self, day: date) -> OnOffer:
        """Return the car on a day on which its price is decided."""
        off = self.sold.base - self.sold.central + _at(self.sold.offsets)
        return OnOffer(
            self.kind,
            self.condition,
            day,
            self.listed_days,
            self.days_held,
            self.sold.central,
            off,
            self.hammer.base + _at(self.hammer.offsets),
            self.money.paid,
            self.money.outlay,
            self.asked,
        )


def _at(offsets: Floats) -> Floats:
    return np.interp(_RANKS, GRID, offsets) if len(offsets) else np.zeros(1)


def ways_out(offer: Offer, firm: Asking, day: date) -> tuple[WayOut, ...]:
    """Return what follows from holding, from the best asking price, and from an auction today.

    Parameters
    ----------
    offer : Offer
        The car.
    firm : Asking
        The firm.
    day : datetime.date
        Day of the decision.

    Returns
    -------
    tuple of WayOut
        In this order.  The new asking price is the one clearly below the present one with the
        highest expected net after what the money would earn elsewhere; there is none where the
        present price is lower than all that are tried.

    Notes
    -----
    That nobody took the present price in so long a time speaks against the car as well as against
    the price, and the estimate does not know it: a higher price is not weighed here.
    """
    car = offer.on(day)
    target = firm.settings.target_days
    over = 100 * (offer.ask / 100 / math.exp(car.log_value) - 1)
    held = replace(firm.settings, lowest_percent=over, highest_percent=over)
    kept = try_asks(car, replace(firm, settings=held), target_days=target)
    tried = try_asks(car, firm, target_days=target)
    lower = beyond_elsewhere(tried, car.outlay, firm.elsewhere)[
        tried.asks <= (1 - _CUT) * offer.ask
    ]
    ways = [_way("hold", kept, 0, offer.ask, car, firm)]
    if len(lower):
        best = int(lower.argmax())
        ways.append(_way("new ask", tried, best, int(tried.asks[best]), car, firm))
    return (*ways, _auction(car, firm))


def _way(name: str, tried: Tried, at: int, ask: int, car: OnOffer, firm: Asking) -> WayOut:
    days = float(tried.tied[:, at].mean()) - car.days_held
    net = float(tried.net[:, at].mean())
    low, high = np.quantile(tried.net[:, at], [0.1, 0.9])
    return WayOut(
        name,
        round(ask / 100),
        chance_of(tried.chance[:, at]),
        days,
        days * holding_a_day(firm.costs, car.outlay) / 100,
        net / 100,
        min(float(low), net) / 100,
        max(float(high), net) / 100,
        float(beyond_elsewhere(tried, car.outlay, firm.elsewhere)[at]) / 100,
    )


def _auction(car: OnOffer, firm: Asking) -> WayOut:
    days = firm.auction.days
    a_day = holding_a_day(firm.costs, car.outlay)
    tied = car.days_held + days
    net = left_of_auction(car, firm, car.log_hammer) - car.outlay - a_day * tied
    elsewhere = (firm.elsewhere.a_day or 0.0) * car.outlay * tied
    cost = a_day * days / 100
    return WayOut("auction", None, None, days, cost, net / 100, None, None, (net - elsewhere) / 100)

"""What a car was held to be worth when it was bought, and how far its estimate has moved since."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from valuation.appraisal.brief import Brief
from valuation.appraisal.data import make_and_line
from valuation.appraisal.market import MarketModel
from valuation.features.columns import key
from valuation.features.table import day_number
from valuation.importing.repeats import chassis_key
from valuation.models.ranges import GRID
from valuation.reading.text import compact
from valuation.results.ledger import StockCar
from valuation.results.said import Said
from valuation.results.stock_parts import CarWorth, Drift
from valuation.results.words import day_words
from valuation.stocking.offered import SAID_DAYS

__all__ = ["MOVED_BACK", "Moves", "worth_of"]

MOVED_BACK = "today's model, moved back by the level of the market"
"""Where nothing that was said at the purchase is known."""

_TODAY = "today's model"
_LEVEL = 0.8
_KINDS = {"price": "valuation", "bid": "bid sheet", "lot": "run list"}


def worth_of(brief: Brief | None, on: date) -> CarWorth | None:
    """Return what a car is worth by a valuation; None if there is none."""
    if brief is None:
        return None
    low: float | None = None
    high: float | None = None
    if len(brief.offsets):
        tail = (1 - _LEVEL) / 2
        low, high = np.exp(brief.base + np.interp([tail, 1 - tail], GRID, brief.offsets)).tolist()
    level = None if low is None else _LEVEL
    return CarWorth(on, math.exp(brief.central), low, high, level, _TODAY)


@dataclass(frozen=True)
class Moves:
    """How estimates move from day to day.

    Parameters
    ----------
    market : MarketModel
        Today's model, dated.
    as_of : datetime.date
        Day of the review.
    since : datetime.date
        Day that drift is held against.
    said : sequence of Said
        What was said of cars.
    channel : str
        Channel of the estimates: what was said for another one is another amount.
    """

    market: MarketModel
    as_of: date
    since: date
    said: Sequence[Said]
    channel: str

    def level(self, brief: Brief, start: date) -> float:
        """Return the log change of the car's level of the market from a day to the review."""
        path = self.market.levels.of(*make_and_line(brief.car))
        now, then = path.at(np.array([day_number(self.as_of), day_number(start)]))
        return float(now - then)

    def then(self, car: StockCar, brief: Brief | None, now: CarWorth | None) -> CarWorth | None:
        """Return what the car was held to be worth at its purchase.

        Parameters
        ----------
        car : StockCar
            The car.
        brief, now
            Today's valuation; None if there is none.

        Returns
        -------
        CarWorth or None
            The last that was said of it by then, else today's estimate and range moved back by
            the level of the market; the source says which.  None without a day of purchase.
        """
        bought = car.bought.on if car.bought else None
        if bought is None:
            return None
        told = self._told(car, bought)
        if told is not None and told.central is not None:
            low, high = (None if x is None else float(x) for x in (told.lower, told.upper))
            source = f"{_KINDS[told.kind]} of {day_words(told.said_on)}"
            return CarWorth(bought, float(told.central), low, high, told.level, source)
        if brief is None or now is None:
            return None
        back = math.exp(-self.level(brief, bought))
        low, high = (None if x is None else back * x for x in (now.lower, now.upper))
        return CarWorth(bought, back * now.central, low, high, now.level, MOVED_BACK)

    def _told(self, car: StockCar, bought: date) -> Said | None:
        fitting = [
            s
            for s in self.said
            if s.central is not None
            and s.currency == self.market.currency
            and key(s.channel) == key(self.channel)
            and timedelta() <= bought - s.said_on <= timedelta(days=SAID_DAYS)
            and _same(s, car)
        ]
        return max(fitting, key=lambda s: s.said_at, default=None)

    def drift(self, brief: Brief | None, earlier: Brief | None) -> Drift | None:
        """Return how far the central estimate moved.

        Parameters
        ----------
        brief : Brief or None
            Today's valuation.
        earlier : Brief or None
            What an earlier model said for its own day, :attr:`since`.

        Returns
        -------
        Drift or None
            None without a valuation today.
        """
        if brief is None:
            return None
        level = self.level(brief, self.since)
        model = None if earlier is None else brief.central - level - earlier.central
        per_cent = None if model is None else 100 * math.expm1(model)
        return Drift(self.since, 100 * math.expm1(level), per_cent)


def _same(said: Said, car: StockCar) -> bool:
    mark = car.mark
    if said.car.stock and mark.stock:
        return compact(said.car.stock) == compact(mark.stock)
    chassis = chassis_key(mark.chassis, mark.make)
    return bool(chassis) and chassis_key(said.car.chassis, said.car.make) == chassis

"""Spells on offer: how long a car of the firm stood at which asking price, and whether it sold.

A spell is counting-process data as survival models take it (Andersen and Gill 1982): a car is at
risk of a sale from one day to another at one asking price, and the spell ends with a sale or
without one: at a new asking price, a withdrawal, or the day up to which the ledger is read.  Cars
still for sale count as much as sold ones: left out, they would make every price look quick.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from valuation.results.ledger import StockCar, StockEvent

__all__ = ["LogValue", "OfferedCar", "Spell", "Spells", "at_auction", "spells_of"]

LogValue = Callable[[date], float | None]
"""Log of what a car is estimated to bring on a day; None if nothing tells."""

_ONE = timedelta(days=1)


@dataclass(frozen=True)
class OfferedCar:
    """A car of the ledger with what its chance to sell depends on.

    Parameters
    ----------
    stock : StockCar
        The car.
    segment : str
        Kind of car.
    condition : float or None
        Condition grade, 0 to 100; None if nobody stated it.
    log_value : callable
        Log estimate by day, in the currency of the market.  It may rest on nothing that became
        known by the car's own sale.
    """

    stock: StockCar
    segment: str
    condition: float | None
    log_value: LogValue = field(repr=False)


@dataclass(frozen=True, slots=True)
class Spell:
    """Days of one car at one asking price, within one month.

    Parameters
    ----------
    car : int
        Place of the car in what was given.
    segment : str
        Kind of car.
    condition : float or None
        Condition grade, 0 to 100.
    first : datetime.date
        First day.
    days : int
        Number of days at risk, 1 or more; of a sale its day is the last one.
    listed_days : int
        Days from the first listing to `first`.
    offer : int
        Which asking price of the car it is, the first one 0.
    log_ask_over_value : float
        Log asking price less the log estimate of the first day.
    sold : bool
        Whether it ends with a sale.
    """

    car: int
    segment: str
    condition: float | None
    first: date
    days: int
    listed_days: int
    offer: int
    log_ask_over_value: float
    sold: bool


@dataclass(frozen=True)
class Spells:
    """All spells of a stock.

    Parameters
    ----------
    spells : tuple of Spell
        In the order of the cars.
    left_out : tuple of (str, int)
        Reasons why cars or parts of their time are left out, with the number of cars.
    """

    spells: tuple[Spell, ...]
    left_out: tuple[tuple[str, int], ...] = ()

    @property
    def cars(self) -> int:
        """Number of cars that were on offer."""
        return len({s.car for s in self.spells})

    @property
    def sales(self) -> int:
        """Number of cars that were sold."""
        return sum(s.sold for s in self.spells)

    @property
    def offers(self) -> int:
        """Number of asking prices."""
        return len({(s.car, s.offer) for s in self.spells})

    @property
    def days(self) -> int:
        """Days at risk of all cars together."""
        return sum(s.days for s in self.spells)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Days from `first` to before `end` at one asking price; None if that is not known."""

    first: date
    end: date
    ask: StockEvent | None
    sold: bool = False


_NO_ASK = "no asking price with its day is known for some of the time"
_CURRENCY = "asking prices are in another currency than the market"
_NO_VALUE = "nothing tells what the car was worth then"
_NEVER = "it was never on offer"


def spells_of(cars: Iterable[OfferedCar], *, currency: str, as_of: date) -> Spells:
    """Return the spells of a stock.

    Parameters
    ----------
    cars : iterable of OfferedCar
        Of the ledger.
    currency : str
        Currency of the estimates; asking prices in another one are left out.
    as_of : datetime.date
        Last day that is known: what happened later counts for nothing.

    Returns
    -------
    Spells
        Cut where the asking price or the month changes, as the estimate moves with the market.
        A sale at an auction ends a spell without a sale: no buyer took the asking price.  Time
        without a known asking price is left out.
    """
    spells: list[Spell] = []
    why: Counter[str] = Counter()
    for place, car in enumerate(cars):
        stretches = list(_stretches(car.stock, as_of))
        listed = min((s.first for s in stretches), default=as_of)
        faults = set() if stretches else {_NEVER}
        for offer, stretch in enumerate(stretches):
            faults |= _fault(stretch, currency)
            if not _fault(stretch, currency):
                cut, whole = _cut(stretch, car, (place, offer), listed)
                spells += cut
                faults |= set() if whole else {_NO_VALUE}
        why.update(faults)
    return Spells(tuple(spells), tuple(sorted(why.items())))


def asked_before(car: OfferedCar, *, currency: str, day: date) -> tuple[tuple[int, float], ...]:
    """Return what was asked for a car before a day, as chances of it take it.

    Parameters
    ----------
    car : OfferedCar
        The car.
    currency : str
        Currency of the estimates.
    day : datetime.date
        First day that does not count any more.

    Returns
    -------
    tuple of (int, float)
        Days, and log asking price over the estimate, in order; see
        :meth:`valuation.stocking.chance.ChanceToSell.sold_by`.
    """
    known = spells_of([car], currency=currency, as_of=day - _ONE)
    return tuple((s.days, s.log_ask_over_value) for s in known.spells)


def _fault(stretch: _Stretch, currency: str) -> set[str]:
    if stretch.ask is None or not stretch.ask.amount:
        return {_NO_ASK}
    return set() if stretch.ask.currency == currency else {_CURRENCY}


def _stretches(car: StockCar, as_of: date) -> Iterator[_Stretch]:
    """Yield the days of a car on offer, price by price."""
    ask: StockEvent | None = None
    since: date | None = None
    for e in car.of("listed", "asking price", "withdrawn", "sold"):
        if e.on is None:  # an asking price nobody dates: when the one before it ended is not known
            ask = None
            continue
        if e.on > as_of:
            break
        end = e.on + _ONE if e.event == "sold" else e.on
        if since is not None and (since < end):
            yield _Stretch(since, end, ask, e.event == "sold" and not at_auction(e))
        if e.event in ("withdrawn", "sold"):
            since = None
            if e.event == "sold":
                return
        else:
            ask = e if e.event == "asking price" else ask
            since = e.on
    if since is not None:
        yield _Stretch(since, as_of + _ONE, ask)


def at_auction(sold: StockEvent) -> bool:
    """Tell whether a car of the ledger was sold at an auction."""
    return "auction" in sold.channel or sold.party == "auction house" or bool(sold.lot)


def _cut(
    stretch: _Stretch, car: OfferedCar, place: tuple[int, int], listed: date
) -> tuple[list[Spell], bool]:
    """Return a stretch month by month, and whether all of it has an estimate."""
    spells, whole = [], True
    first = stretch.first
    while first < stretch.end:
        month_end = (first.replace(day=1) + timedelta(days=32)).replace(day=1)
        end = min(month_end, stretch.end)
        value = car.log_value(first)
        if value is None:
            whole = False
        else:
            spells.append(
                Spell(
                    place[0],
                    car.segment,
                    car.condition,
                    first,
                    (end - first).days,
                    (first - listed).days,
                    place[1],
                    _log_ask(stretch) - value,
                    stretch.sold and end == stretch.end,
                )
            )
        first = end
    return spells, whole


def _log_ask(stretch: _Stretch) -> float:
    if stretch.ask is None or stretch.ask.amount is None:
        raise ValueError("a stretch without an asking price has no spell")
    return float(np.log(float(stretch.ask.amount)))

"""What the stock ledger says of one car: every event with its day and its exact amount."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from valuation.results.bid_sheet import plain_value
from valuation.results.bid_text import bid_words

__all__ = ["EVENTS", "PARTIES", "PARTS", "CarMark", "Ledger", "StockCar", "StockEvent", "sums"]

FORMAT = 1
"""Version of the machine-readable form."""

EVENTS = ("bought", "spent", "listed", "asking price", "withdrawn", "sold")
"""What can happen to a car in stock."""

PARTIES = ("private", "trade", "auction house", "estate", "company", "collection")
"""Kinds of sellers and buyers.  A ledger holds the kind and never a name."""

PARTS = ("purchase", "work", "holding", "selling")
"""Parts of a bid's account that money spent belongs to; transport and inspection are work."""


@dataclass(frozen=True, slots=True)
class CarMark:
    """By what a car is known.

    Parameters
    ----------
    stock : str
        The firm's own number of it, as written; empty if none is stated.
    chassis, make, model, title : str
        As written, empty if not stated.
    year : int or None
        Model year.
    """

    stock: str = ""
    chassis: str = ""
    make: str = ""
    model: str = ""
    year: int | None = None
    title: str = ""

    @property
    def name(self) -> str:
        """Name of the car for people."""
        parts = (str(self.year or ""), self.make, self.model)
        stated = " ".join(p for p in parts if p)
        if self.make or self.model:
            return stated
        return self.title or stated or (f"stock {self.stock}" if self.stock else self.chassis)


@dataclass(frozen=True, slots=True)
class StockEvent:
    """One thing that happened to a car in stock.

    Parameters
    ----------
    event : str
        One of :data:`EVENTS`.
    on : datetime.date or None
        Its day; None for an asking price whose day nobody states.
    amount : Decimal or None
        Exact to the cent; None for a listing or a withdrawal.
    currency : str
        ISO 4217 code of the amount, empty without one.
    what : str
        What money was spent on, or a remark.
    part : str
        For money spent one of :data:`PARTS`, else empty.
    basis : str
        For a purchase what the amount is, such as ``hammer price``; ``unknown`` if nobody says.
    channel, venue, lot : str
        Where and as which lot, as stated.
    party : str
        One of :data:`PARTIES`: the kind of seller or buyer, empty if not stated.
    batch, row : str, int
        Where it was read: batch of the ledger and row of the file.
    """

    event: str
    on: date | None
    amount: Decimal | None = None
    currency: str = ""
    what: str = ""
    part: str = ""
    basis: str = ""
    channel: str = ""
    venue: str = ""
    lot: str = ""
    party: str = ""
    batch: str = ""
    row: int = 0

    def words(self) -> str:
        """Return the event as one line of text."""
        day = self.on.isoformat() if self.on else "day not stated"
        amount = "" if self.amount is None else bid_words(self.amount, self.currency)
        more = (self.what, self.channel, self.venue, f"lot {self.lot}" if self.lot else "")
        parts = (amount, *more, self.party)
        return (f"{day}  {self.event:<13}" + ", ".join(p for p in parts if p)).rstrip()


def sums(events: Iterable[StockEvent]) -> tuple[tuple[str, Decimal], ...]:
    """Return the sum of amounts for each currency, currencies in order."""
    out: dict[str, Decimal] = {}
    for e in events:
        if e.amount is not None:
            out[e.currency] = out.get(e.currency, Decimal(0)) + e.amount
    return tuple(sorted(out.items()))


@dataclass(frozen=True)
class StockCar:
    """One car of the firm from purchase to sale.

    Parameters
    ----------
    mark : CarMark
        By what it is known.
    events : tuple of StockEvent
        In the order of their days; an asking price without a day follows the one it replaces.
    as_of : datetime.date
        Day up to which days in stock are counted.
    remarks : tuple of str
        Where files disagree, in sentences.
    """

    mark: CarMark
    events: tuple[StockEvent, ...]
    as_of: date
    remarks: tuple[str, ...] = ()

    def of(self, *kinds: str) -> tuple[StockEvent, ...]:
        """Return the events of some kinds."""
        return tuple(e for e in self.events if e.event in kinds)

    @property
    def bought(self) -> StockEvent | None:
        """The purchase, None if the ledger has none."""
        return next(iter(self.of("bought")), None)

    @property
    def sold(self) -> StockEvent | None:
        """The sale, None while the car is not sold."""
        return next(iter(self.of("sold")), None)

    @property
    def first_listed(self) -> date | None:
        """Day of the first listing, or of the first dated asking price."""
        days = [e.on for e in self.of("listed", "asking price") if e.on]
        return min(days, default=None)

    @property
    def asking_prices(self) -> tuple[StockEvent, ...]:
        """Every asking price, the first one first."""
        return self.of("asking price")

    @property
    def state(self) -> str:
        """``sold``, ``withdrawn``, ``listed`` or ``in stock``."""
        if self.sold:
            return "sold"
        told = self.of("listed", "asking price", "withdrawn")
        if not told:
            return "in stock"
        return "withdrawn" if told[-1].event == "withdrawn" else "listed"

    @property
    def in_stock(self) -> bool:
        """True while the car is not sold; a car withdrawn from sale is still there."""
        return self.sold is None

    @property
    def days_in_stock(self) -> int | None:
        """Days from the purchase to the sale, or to `as_of`; None without a purchase."""
        start = self.bought.on if self.bought else None
        end = self.sold.on if self.sold else self.as_of
        return (end - start).days if start and end else None

    @property
    def days_to_sell(self) -> int | None:
        """Days from the first listing to the sale; None while one of them is missing."""
        listed, sold = self.first_listed, self.sold
        return (sold.on - listed).days if listed and sold and sold.on else None

    @property
    def costs(self) -> tuple[tuple[str, Decimal], ...]:
        """Purchase and all money spent so far, a sum for each currency."""
        return sums(self.of("bought", "spent"))

    @property
    def margin(self) -> Decimal | None:
        """Sale less purchase and money spent; None if one is missing or currencies differ."""
        if not (self.sold and self.bought and self.sold.amount is not None):
            return None
        costs = self.costs
        if [code for code, _ in costs] != [self.sold.currency]:
            return None
        return self.sold.amount - costs[0][1]

    def summary(self) -> str:
        """Return the car as plain text: name, state, days, costs, every event."""
        stock = f"{self.mark.stock}  " if self.mark.stock else ""
        lines = [f"{stock}{self.mark.name}: {self.state}"]
        if self.mark.chassis:
            lines.append(f"  chassis        {self.mark.chassis}")
        if self.days_in_stock is not None:
            lines.append(f"  days in stock  {self.days_in_stock}")
        if self.days_to_sell is not None:
            lines.append(f"  days to sell   {self.days_to_sell}")
        costs = "; ".join(bid_words(amount, code) for code, amount in self.costs)
        if costs:
            lines.append(f"  costs so far   {costs}")
        if self.margin is not None and self.sold:
            lines.append(f"  margin         {bid_words(self.margin, self.sold.currency)}")
        lines += ["", *(f"  {e.words()}" for e in self.events)]
        lines += [f"  note: {text}" for text in self.remarks]
        return "\n".join(lines)

    def line(self) -> str:
        """Return the car as one line of a list."""
        days = "" if self.days_in_stock is None else f"{self.days_in_stock} days"
        costs = "; ".join(bid_words(amount, code) for code, amount in self.costs)
        key = self.mark.stock or self.mark.chassis
        return f"  {key:<14}{self.mark.name[:38]:<40}{self.state:<11}{days:>10}  {costs}"

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``); amounts are exact decimal texts."""
        return {
            "format": FORMAT,
            **asdict(self.mark),
            "name": self.mark.name,
            "state": self.state,
            "in_stock": self.in_stock,
            "as_of": self.as_of.isoformat(),
            "days_in_stock": self.days_in_stock,
            "days_to_sell": self.days_to_sell,
            "costs": {code: str(amount) for code, amount in self.costs},
            "margin": None if self.margin is None else str(self.margin),
            "events": [_event_dict(e) for e in self.events],
            "remarks": list(self.remarks),
        }


def _event_dict(event: StockEvent) -> dict[str, Any]:
    out = {key: plain_value(value) for key, value in asdict(event).items()}
    out["amount"] = None if event.amount is None else str(event.amount)
    return out


@dataclass(frozen=True)
class Ledger:
    """The cars of a stock ledger.

    Parameters
    ----------
    cars : tuple of StockCar
        In the order of their purchase, then of their stock numbers.
    as_of : datetime.date
        Day up to which days in stock are counted.
    """

    cars: tuple[StockCar, ...]
    as_of: date

    def summary(self) -> str:
        """Return a line for each car."""
        held = sum(car.in_stock for car in self.cars)
        cars = "1 car" if len(self.cars) == 1 else f"{len(self.cars):,} cars"
        head = f"{cars}, {held:,} of them in stock, on {self.as_of.isoformat()}"
        return "\n".join([head, *(car.line() for car in self.cars)])

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "as_of": self.as_of.isoformat(),
            "cars": [car.to_dict() for car in self.cars],
        }

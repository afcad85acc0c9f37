"""Sales that may be the one that something was said of: those of the evidence and of the ledger."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from valuation.importing.repeats import chassis_key
from valuation.reading.text import compact
from valuation.records import SalesBook
from valuation.results.ledger import StockCar, StockEvent
from valuation.schema.sale import BASES

__all__ = ["KnownSale", "OwnSale", "firm_sales", "known_sales", "lot_key", "own_sales"]

SAME_DAYS = 7
"""A sale of one chassis that two lists date so many days apart at most is one sale."""

_CENT = Decimal("0.01")
_COLUMNS = ("sale_key", "sale_date", "price", "basis", "channel")


@dataclass(frozen=True, slots=True)
class KnownSale:
    """A sale with what it can be found by.

    Parameters
    ----------
    key : str
        The sale in the evidence, or batch and row of the ledger.
    source : {"sales", "ledger"}
        Where it stands.
    on : datetime.date
        Its day.
    price : Decimal
        What it brought.
    currency, basis, channel : str
        As recorded, empty if not stated.
    chassis, lot, stock : str
        Keys: of the chassis, of venue and lot number, of the firm's own number; empty if none.
    """

    key: str
    source: str
    on: date
    price: Decimal
    currency: str
    basis: str
    channel: str
    chassis: str = ""
    lot: str = ""
    stock: str = ""


@dataclass(frozen=True, slots=True)
class OwnSale:
    """A sale of the evidence in which the firm itself bought or sold.

    Parameters
    ----------
    sale_key : str
        The sale.
    event : {"bought", "sold"}
        What the firm did.
    stock : str
        Its number of the car, or the chassis number if it has none.
    """

    sale_key: str
    event: str
    stock: str


def lot_key(venue: str, lot: str) -> str:
    """Return what two records of one lot have in common, empty if one of both is not stated.

    Examples
    --------
    >>> lot_key("Harbour Rooms", "112") == lot_key("HARBOUR ROOMS", "112")
    True
    >>> lot_key("", "112")
    ''
    """
    return f"{compact(venue)}:{compact(lot)}" if compact(venue) and compact(lot) else ""


def known_sales(
    book: SalesBook, *, chassis: Iterable[str] = (), lots: Iterable[str] = ()
) -> tuple[KnownSale, ...]:
    """Return the sales of the evidence that have one of some keys.

    Parameters
    ----------
    book : SalesBook
        With ``sale_key``.
    chassis, lots : iterable of str
        Keys by which sales are looked for.

    Returns
    -------
    tuple of KnownSale
        Dated sales, in the order of the book; highest bids and offers are none.
    """
    wanted, wanted_lots = set(chassis) - {""}, set(lots) - {""}
    table = book.table
    if not (wanted or wanted_lots) or table.empty:
        return ()
    table = table[table["sale_date"].notna() & ~table["outcome"].isin(("not sold", "offered"))]
    keys = [chassis_key(c, m) for c, m in zip(table["chassis"], table["make"], strict=True)]
    lot_numbers = zip(table["venue"], table["sale_id"], strict=True)
    places = [lot_key(_text(venue), _text(number)) for venue, number in lot_numbers]
    both = enumerate(zip(keys, places, strict=True))
    found = [i for i, (key, place) in both if key in wanted or place in wanted_lots]
    columns = (table[name].iloc[found].tolist() for name in _COLUMNS)
    return tuple(
        KnownSale(
            str(key),
            "sales",
            on.date(),
            Decimal(str(price)).quantize(_CENT),
            book.currency,
            _text(basis),
            _text(channel),
            keys[i],
            places[i],
        )
        for i, key, on, price, basis, channel in zip(found, *columns, strict=True)
    )


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def firm_sales(cars: Sequence[StockCar]) -> tuple[KnownSale, ...]:
    """Return every purchase and every sale of the firm as a sale of its car."""
    return tuple(
        _of_event(car, event, event.on, event.amount)
        for car in cars
        for event in car.of("bought", "sold")
        if event.on is not None and event.amount is not None
    )


def _of_event(car: StockCar, event: StockEvent, on: date, amount: Decimal) -> KnownSale:
    paid = BASES[3] if event.event == "sold" else event.basis
    return KnownSale(
        f"{event.batch}:{event.row}:{event.event}",
        "ledger",
        on,
        amount,
        event.currency,
        paid,
        event.channel,
        chassis_key(car.mark.chassis, car.mark.make),
        lot_key(event.venue, event.lot),
        compact(car.mark.stock),
    )


def own_sales(book: SalesBook, cars: Sequence[StockCar]) -> tuple[OwnSale, ...]:
    """Return the sales of the evidence in which the firm itself bought or sold.

    A customer need not see what the firm paid, and a sale that stands in the ledger and in the
    evidence is one sale.

    Parameters
    ----------
    book : SalesBook
        With ``sale_key``.
    cars : sequence of StockCar
        Of the ledger.

    Returns
    -------
    tuple of OwnSale
        By chassis, else by venue and lot, and within :data:`SAME_DAYS` days; of several sales the
        nearest in time.  In the order of the cars.
    """
    ours = firm_sales(cars)
    found = known_sales(book, chassis=(s.chassis for s in ours), lots=(s.lot for s in ours))
    by_key: dict[str, list[KnownSale]] = {}
    for sale in found:
        for key in {sale.chassis, sale.lot} - {""}:
            by_key.setdefault(key, []).append(sale)
    names = {s.key: c.mark.stock or c.mark.chassis for c in cars for s in firm_sales([c])}
    out = []
    for own in ours:
        near = _nearest(own, by_key)
        if near is not None:
            out.append(OwnSale(near.key, own.key.rpartition(":")[2], names[own.key]))
    return tuple(out)


def _nearest(own: KnownSale, by_key: dict[str, list[KnownSale]]) -> KnownSale | None:
    for key in (own.chassis, own.lot):
        alike = [
            s
            for s in by_key.get(key, ())
            if abs(s.on - own.on) <= timedelta(days=SAME_DAYS)
            and (not (s.chassis and own.chassis) or s.chassis == own.chassis)
        ]
        if key and alike:
            return min(alike, key=lambda s: (abs(s.on - own.on), s.key))
    return None

"""From events of several files to cars: what belongs together, and what a later file replaces."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from valuation.importing.repeats import chassis_key
from valuation.reading.text import compact
from valuation.results.bid_text import bid_words
from valuation.results.ledger import EVENTS, CarMark, StockCar, StockEvent
from valuation.schema.sale import BASES

__all__ = ["Entry", "stock_cars"]

_RESTATED = ("bought", "spent", "sold")
"""Events that a later file states anew where it states the purchase again."""

_DETAILS = ("part", "basis", "channel", "venue", "lot", "party")
"""What one file may say of an event and another not."""

_NEVER = date(9999, 12, 31)


@dataclass(frozen=True, slots=True)
class Entry:
    """One event as a file states it.

    Parameters
    ----------
    mark : CarMark
        By what the file knows the car.
    event : StockEvent
        The event, with its batch and row.
    order : int
        Place of its file among all: a higher one was read later.
    """

    mark: CarMark
    event: StockEvent
    order: int


def stock_cars(entries: Iterable[Entry], *, as_of: date) -> tuple[StockCar, ...]:
    """Put the events of a ledger together to cars.

    Parameters
    ----------
    entries : iterable of Entry
        All events of the files in use.
    as_of : datetime.date
        Day up to which days in stock are counted; later events are left out.

    Returns
    -------
    tuple of StockCar
        By day of purchase, then by stock number.

    Notes
    -----
    A stock number is one car from one purchase to one sale.  An event without one goes to the car
    with its chassis that was bought last before it; without a chassis make, model and year tell.
    A file that states the purchase of a car again states purchase, money spent and sale anew;
    listings and asking prices of all files are kept, as a list of one row a car shows the last
    asking price only.
    """
    known = [e for e in entries if e.event.on is None or e.event.on <= as_of]
    cars = [
        _car(part, as_of)
        for group in _grouped(known)
        for part in ([group] if group[0].mark.stock else _stints(group))
    ]
    return tuple(sorted(cars, key=_place))


def _place(car: StockCar) -> tuple[date, str]:
    days = [e.on for e in car.events if e.on]
    bought = car.bought.on if car.bought else None
    return bought or min(days, default=_NEVER), car.mark.stock or car.mark.name


def _grouped(entries: Sequence[Entry]) -> list[list[Entry]]:
    """Return the entries of each car; those with a stock number come first in their group."""
    groups: dict[str, list[Entry]] = {}
    by_chassis: dict[str, list[str]] = {}
    for e in entries:
        if not e.mark.stock:
            continue
        key = f"stock {compact(e.mark.stock) or e.mark.stock}"
        groups.setdefault(key, []).append(e)
        chassis = chassis_key(e.mark.chassis, e.mark.make)
        if chassis and key not in by_chassis.setdefault(chassis, []):
            by_chassis[chassis].append(key)
    for e in entries:
        if e.mark.stock:
            continue
        chassis = chassis_key(e.mark.chassis, e.mark.make)
        key = _owner(e, [(k, groups[k]) for k in by_chassis.get(chassis, ())])
        groups.setdefault(key or f"car {chassis or _by_name(e.mark)}", []).append(e)
    return list(groups.values())


def _owner(entry: Entry, groups: Sequence[tuple[str, list[Entry]]]) -> str:
    """Return the stock number under which an event without one belongs."""
    on = entry.event.on
    best, found = date.min, ""
    for key, group in groups:
        start = min((e.event.on for e in group if e.event.on), default=date.min)
        if not found or (on is not None and best <= start <= on):
            best, found = start, key
    return found


def _by_name(mark: CarMark) -> str:
    return " ".join((compact(mark.make), compact(mark.model), str(mark.year), compact(mark.title)))


def _stints(group: Sequence[Entry]) -> list[list[Entry]]:
    """Part the events of a car without a stock number where it was bought again after a sale."""
    ordered = sorted(group, key=lambda e: (e.event.on or _NEVER, EVENTS.index(e.event.event)))
    parts: list[list[Entry]] = [[]]
    for e in ordered:
        sold = any(x.event.event == "sold" and x.event.on != e.event.on for x in parts[-1])
        if e.event.event == "bought" and sold:
            parts.append([])
        parts[-1].append(e)
    return parts


def _car(entries: Sequence[Entry], as_of: date) -> StockCar:
    ordered = sorted(entries, key=lambda e: (e.order, e.event.row))
    remarks: list[str] = []
    kept = _one_of_each(_without_restated(ordered, remarks), remarks)
    events = tuple(e.event for e in _in_time(_undated_where_unclear(kept)))
    return StockCar(_mark(ordered), events, as_of, tuple(dict.fromkeys(remarks)))


def _mark(ordered: Sequence[Entry]) -> CarMark:
    """Return what the files say of the car, the last file first."""
    marks = [e.mark for e in reversed(ordered)]

    def last(name: str) -> str:
        return next((m for m in (getattr(x, name) for x in marks) if m), "")

    year = next((m.year for m in marks if m.year), None)
    texts = {n: last(n) for n in ("stock", "chassis", "make", "model", "title")}
    return CarMark(**texts, year=year)


def _same(e: StockEvent) -> tuple[object, ...]:
    return (e.event, e.on, e.amount, e.currency, compact(e.what))


def _without_restated(ordered: Sequence[Entry], remarks: list[str]) -> list[Entry]:
    """Leave out what a later file states anew.

    Only a file that states the purchase itself is replaced so: one of costs alone stays.
    """
    whole = {e.order for e in ordered if e.event.event == "bought"}
    again = max(whole, default=-1)
    kept, stated = [], {_same(e.event) for e in ordered if e.order >= again}
    for e in ordered:
        replaced = e.order in whole - {again} and e.event.event in _RESTATED
        if replaced and _same(e.event) not in stated:
            remarks.append(f"Replaced by a later file: {_said(e.event)}.")
            continue
        kept.append(e)
    return kept


def _said(e: StockEvent) -> str:
    amount = "" if e.amount is None else f" {bid_words(e.amount, e.currency)}"
    what = f" for {e.what}" if e.what else ""
    day = f" on {e.on.isoformat()}" if e.on else ""
    return f"{e.event}{amount}{what}{day}"


def _one_of_each(ordered: Sequence[Entry], remarks: list[str]) -> list[Entry]:
    """Take every event once, and of purchases and sales the one stated last."""
    by_same: dict[tuple[object, ...], Entry] = {}
    for e in ordered:
        first = by_same.setdefault(_same(e.event), e)
        by_same[_same(e.event)] = replace(first, event=_filled(first.event, e.event))
    kept = list(by_same.values())
    for kind in ("bought", "sold"):
        of_kind = [e for e in kept if e.event.event == kind]
        for other in of_kind[:-1]:
            kept.remove(other)
            remarks.append(f"Stated twice, the last one counts; also: {_said(other.event)}.")
    return kept


def _filled(event: StockEvent, other: StockEvent) -> StockEvent:
    """Return an event with what another file says of it where it is silent."""
    silent = [n for n in _DETAILS if getattr(event, n) in ("", BASES[-1])]
    more = {n: getattr(other, n) for n in silent if getattr(other, n) not in ("", BASES[-1])}
    return replace(event, **more) if more else event


def _undated_where_unclear(entries: Sequence[Entry]) -> list[Entry]:
    """Take the day from an asking price that a later file puts on the day of an earlier one.

    A list of one row a car shows the asking price of today beside the day of the listing.
    """
    out: list[Entry] = []
    first: dict[date, int] = {}
    for e in entries:
        on = e.event.on
        asking = e.event.event == "asking price" and on is not None
        later = asking and on is not None and first.setdefault(on, e.order) < e.order
        out.append(replace(e, event=replace(e.event, on=None)) if later else e)
    return out


def _in_time(entries: Sequence[Entry]) -> list[Entry]:
    """Put events in the order of their days; one without a day follows what stood before it."""
    bought = next((e.event.on for e in entries if e.event.event == "bought"), None)
    last_asked = bought or date.min
    placed = []
    for i, e in enumerate(entries):
        on, asking = e.event.on, e.event.event == "asking price"
        at = on or (last_asked if asking else bought or date.min)
        last_asked = max(at, last_asked) if asking else last_asked
        placed.append((at, EVENTS.index(e.event.event), i, e))
    return [p[-1] for p in sorted(placed, key=lambda p: p[:3])]

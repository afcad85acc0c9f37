"""The cells of a stock ledger to events: days settled over the file, amounts exact, all faults."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from valuation.cents import LARGEST
from valuation.importing.ledger_columns import CAR_FIELDS, Place, Places
from valuation.importing.ledger_words import (
    cost_part,
    names_cost,
    read_channel,
    read_event,
    read_party,
)
from valuation.importing.names import basis_of_name
from valuation.importing.raw import RawTable
from valuation.importing.repeats import chassis_key
from valuation.reading.dates import read_dates
from valuation.reading.money import find_currency, read_money
from valuation.reading.numbers import settle_decimal
from valuation.reading.text import is_blank
from valuation.reading.vocabulary import read_level
from valuation.reading.years import read_year
from valuation.records import Fault
from valuation.results.ledger import CarMark, StockEvent
from valuation.schema.sale import BASES
from valuation.spreadsheets import unguarded

__all__ = ["REMEDIES", "Cells", "RowRead", "read_rows"]

REMEDIES = {
    "no car": "Fill in a stock number, a chassis number, or make, model and year",
    "no event": "Say what happened: bought, spent, listed, asking price, withdrawn or sold",
    "unknown event": "Write bought, spent, listed, asking price, withdrawn or sold",
    "no date": "Fill in the day",
    "unreadable date": "Write the day as 2025-06-14",
    "ambiguous date": "Write the day as 2025-06-14: day and month can't be told apart",
    "day to come": "Correct the day, or enter it once it has happened",
    "no amount": "Fill in the amount",
    "unreadable amount": "Write one amount in figures",
    "amount below zero": "Write what was paid or got without a sign",
    "not to the cent": "Write the amount with two decimals at most",
    "amount out of scale": "Look for digits too many",
    "two currencies": "Write one currency for the amount",
    "sold before bought": "Correct one of the two days",
    "listed after sold": "Correct one of the two days",
    "nothing happened": "Fill in what happened to the car, or leave the row out",
    "duplicate": "Nothing to do: the same row counts once; two equal costs need different words",
}
"""What to do, by code of the fault."""

DATED = ("bought", "spent", "listed", "withdrawn", "sold")
"""Events that are worth nothing without their day."""

PAID = ("bought", "spent", "asking price", "sold")
"""Events that have an amount."""


@dataclass
class RowRead:
    """What one row says, with every fault of it."""

    mark: CarMark
    events: list[StockEvent] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)

    def add(self, code: str, column: str = "", got: str = "") -> None:
        """Note a fault, once of each kind and column."""
        fault = Fault(code, column, got, REMEDIES[code])
        if all((f.code, f.column) != (code, column) for f in self.faults):
            self.faults.append(fault)


class Cells:
    """The cells of a ledger under what they hold, with days and amounts settled over the file.

    Parameters
    ----------
    raw : RawTable
        The file.
    places : Places
        What each column holds.
    currency : str
        Currency of amounts for which the file names none.
    """

    def __init__(self, raw: RawTable, places: Places, currency: str) -> None:
        self.raw, self.places, self.currency = raw, places, currency
        self._cells = {p.column: [str(c) for c in raw.cells[p.column]] for p in places.places}
        self._days = self._read_days()
        amounts = [c for p in places.places if p.field == "amount" for c in self._cells[p.column]]
        self._decimal = settle_decimal(amounts)
        self.outgoing = self._signs_outgoings()

    def _read_days(self) -> dict[str, list[tuple[date | None, str]]]:
        """Read all columns of days together: the order of day and month holds for the file."""
        columns = [p.column for p in self.places.places if p.field == "date"]
        cells = [c for name in columns for c in self._cells[name]]
        read = read_dates(cells)
        faults = [
            "ambiguous date" if a else "unreadable date" if u else ""
            for a, u in zip(read.ambiguous, read.unreadable, strict=True)
        ]
        n, pairs = len(self.raw.rows), list(zip(read.values, faults, strict=True))
        return {name: pairs[k * n : (k + 1) * n] for k, name in enumerate(columns)}

    def _signs_outgoings(self) -> bool:
        """Tell whether the file writes what goes out with a minus."""
        signs = []
        for i in range(len(self.raw.rows)):
            for p in self.places.places:
                kind = p.event or read_event(self.text(i, "event"))
                if p.field == "amount" and kind in ("bought", "spent"):
                    amount = read_money(self._cells[p.column][i], self._decimal).amount
                    signs += [] if not amount else [amount < 0]
        return bool(signs) and all(signs)

    def text(self, row: int, name: str, event: str = "", group: str = "") -> str:
        """Return a cell, empty if it states nothing or no column holds it."""
        column = self.places.column(name, event, group)
        cell = "" if column is None else unguarded(self._cells[column][row].strip())
        return "" if is_blank(cell) else cell

    def day(self, row: int, event: str = "", group: str = "") -> tuple[date | None, str, str]:
        """Return a day, the fault of its cell, and its column."""
        column = self.places.column("date", event, group)
        if column is None:
            return None, "", ""
        return (*self._days[column][row], column)

    def amount(self, row: int, column: str, said: RowRead) -> tuple[Decimal | None, str]:
        """Return an exact amount with the currency that its cell names; note its faults."""
        cell = self._cells[column][row]
        read = read_money(cell, self._decimal)
        if read.amount is None:
            if not is_blank(cell):
                said.add("unreadable amount", column, cell)
            return None, ""
        # The shortest text of a float of up to 15 digits is the text it was read from.
        exact = Decimal(str(read.amount)).normalize()
        if abs(exact) > LARGEST:
            said.add("amount out of scale", column, cell)
            return None, ""
        if exact != round(exact, 2):
            said.add("not to the cent", column, cell)
            return None, ""
        return exact.quantize(Decimal("0.01")), read.currency


def read_rows(cells: Cells, *, today: date) -> list[RowRead]:
    """Read every row of a ledger.

    Parameters
    ----------
    cells : Cells
        The file.
    today : datetime.date
        Day of reading: nothing in a ledger lies after it.

    Returns
    -------
    list of RowRead
        One a row; a row with any fault is not to be used.
    """
    reader = _row_of_event if cells.places.form == "event" else _row_of_car
    rows = []
    for i in range(len(cells.raw.rows)):
        row = RowRead(_mark(cells, i))
        m = row.mark
        if not (m.stock or chassis_key(m.chassis, m.make) or (m.make and m.model and m.year)):
            row.add("no car", got=m.name)
        reader(cells, i, row)
        _check_days(row, today)
        rows.append(row)
    _note_doubles(rows)
    return rows


def _mark(cells: Cells, row: int) -> CarMark:
    stock, chassis, make, model, year, title = (cells.text(row, name) for name in CAR_FIELDS)
    read = read_year(year) if year else None
    own = stock.removesuffix(".0")
    return CarMark(own, chassis, make, model, None if read is None else int(read), title)


def _row_of_event(cells: Cells, row: int, said: RowRead) -> None:
    text = cells.text(row, "event")
    event = read_event(text)
    if not event:
        said.add("unknown event" if text else "no event", cells.places.column("event") or "", text)
        return
    what = cells.text(row, "what")
    if event == "spent" and not what and names_cost(text):
        what = text
    _add(cells, row, said, _Slot(event, what=what))


@dataclass(frozen=True, slots=True)
class _Slot:
    """One event to be read: its kind, and under which names its columns stand."""

    event: str
    of: str = ""
    group: str = ""
    what: str = ""


def _row_of_car(cells: Cells, row: int, said: RowRead) -> None:
    before = len(said.faults)
    for slot in _slots(cells.places.places):
        stated = [
            cells.text(row, p.field, p.event, p.group)
            for p in cells.places.places
            if (p.event, p.group) == (slot.event, slot.group) and p.field in ("date", "amount")
        ]
        if any(stated):
            what = cells.text(row, "what", slot.of, slot.group)
            _add(cells, row, said, replace(slot, what=what or slot.group))
    if not said.events and len(said.faults) == before:
        said.add("nothing happened")
    said.events[:] = _with_first_day(said.events)


def _with_first_day(events: Sequence[StockEvent]) -> list[StockEvent]:
    """Give the first asking price the day of the listing where it has none of its own."""
    listed = next((e.on for e in events if e.event == "listed"), None)
    first = next((e for e in events if e.event == "asking price"), None)
    return [replace(e, on=listed) if e is first and e.on is None else e for e in events]


def _slots(places: Sequence[Place]) -> Iterator[_Slot]:
    seen = dict.fromkeys((p.event, p.group) for p in places if p.event)
    for event, group in seen:
        yield _Slot(event, event, group)


def _add(cells: Cells, row: int, said: RowRead, slot: _Slot) -> None:
    """Read one event of a row into what the row says."""
    event, before = slot.event, len(said.faults)
    day, fault, column = cells.day(row, slot.of, slot.group)
    if fault:
        said.add(fault, column, cells.text(row, "date", slot.of, slot.group))
    elif day is None and event in DATED and (column or (event, slot.of) != ("spent", "spent")):
        said.add("no date", column or event)
    amount, currency = _paid(cells, row, said, slot) if event in PAID else (None, "")
    if len(said.faults) > before:
        return
    spent = event == "spent"
    party = cells.text(row, "party", slot.of, slot.group)
    stated = cells.text(row, "part", slot.of, slot.group)
    said.events.append(
        StockEvent(
            event,
            day,
            amount,
            currency,
            # Remarks on a purchase or a sale may name a customer: they are not kept.
            what=slot.what if spent else "",
            part=cost_part(stated or slot.what) if spent else "",
            basis=_basis(cells, row, slot) if event == "bought" else "",
            channel=read_channel(cells.text(row, "channel", slot.of, slot.group)),
            venue=cells.text(row, "venue", slot.of, slot.group),
            lot=cells.text(row, "lot", slot.of, slot.group).removesuffix(".0"),
            party=read_party(party) if party else "",
            row=cells.raw.rows[row],
        )
    )


def _basis(cells: Cells, row: int, slot: _Slot) -> str:
    """Return what the amount of a purchase is: as its own cell says, else the name above it."""
    own = cells.text(row, "basis", slot.of, slot.group)
    stated = read_level("basis", own) if own else None
    if stated:
        return stated
    found = basis_of_name(cells.places.column("amount", slot.of, slot.group) or "")
    return BASES[-1] if found is None else BASES[found]


def _paid(cells: Cells, row: int, said: RowRead, slot: _Slot) -> tuple[Decimal | None, str]:
    """Return amount and currency of an event."""
    column = cells.places.column("amount", slot.of, slot.group)
    before = len(said.faults)
    amount, named = (None, "") if column is None else cells.amount(row, column, said)
    if amount is None:
        if len(said.faults) == before:
            said.add("no amount", column or slot.event)
        return None, ""
    if cells.outgoing and slot.event in ("bought", "spent"):
        amount = -amount
    # Money that came back, such as a part returned, is money spent below zero.
    if amount < 0 and slot.event != "spent":
        said.add("amount below zero", column or "", str(amount))
    return amount, _currency(cells, row, said, slot, (column or "", named))


def _currency(cells: Cells, row: int, said: RowRead, slot: _Slot, amount: tuple[str, str]) -> str:
    column, named = amount
    own = cells.text(row, "currency", slot.of, slot.group) or cells.text(row, "currency")
    stated = find_currency(own)
    if own and not stated:
        said.add("two currencies", column, own)
    if stated and named and stated != named:
        said.add("two currencies", column, f"{stated}, {named}")
    return named or stated or find_currency(column) or cells.currency


def _check_days(row: RowRead, today: date) -> None:
    """Note days that can't be: after the day of reading, or a sale before its purchase."""
    days: dict[str, date] = {}
    for e in row.events:
        if e.on and e.on > today:
            row.add("day to come", e.event, e.on.isoformat())
        if e.on and e.event in ("bought", "listed", "sold"):
            days[e.event] = e.on
    sold = days.get("sold")
    if sold and "bought" in days and sold < days["bought"]:
        row.add("sold before bought", got=f"bought {days['bought']}, sold {sold}")
    if sold and "listed" in days and sold < days["listed"]:
        row.add("listed after sold", got=f"listed {days['listed']}, sold {sold}")


def _note_doubles(rows: Sequence[RowRead]) -> None:
    """Note rows that say exactly what an earlier row says."""
    seen: set[object] = set()
    for row in rows:
        if row.faults:
            continue
        plain = (row.mark, *((e.event, e.on, e.amount, e.currency, e.what) for e in row.events))
        if plain in seen:
            row.add("duplicate")
        seen.add(plain)

"""A stock ledger: read from a spreadsheet in either form, and nothing in it lost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from valuation.errors import LedgerFileError, SaleFileError
from valuation.importing.files import raw_tables, unpacked
from valuation.importing.ledger_columns import CAR_FIELDS, Places, find_places
from valuation.importing.ledger_read import Cells, RowRead, read_rows
from valuation.importing.raw import RawTable
from valuation.importing.sales import NO_CURRENCY
from valuation.reading.money import CURRENCIES, find_currency
from valuation.records import Fault, SetAside
from valuation.results.ledger import PARTIES, CarMark, StockEvent

__all__ = ["LedgerFile", "read_ledger", "read_ledger_data"]

WHAT = "cars in stock"
_REMEDIES = {
    "subtotal row": "Nothing to do: it is no entry",
    "repeated header": "Nothing to do: it is no entry",
    "too many cells": "Put the cell that holds the separator between quotation marks",
}


@dataclass(frozen=True)
class LedgerFile:
    """What a file of a stock ledger says.

    Parameters
    ----------
    file : str
        Its name, without its folder.
    entries : tuple of (CarMark, StockEvent)
        Every event with the car it happened to.
    set_aside : tuple of SetAside
        Rows that can't be used, with all their reasons; cells that may hold a name of a person
        are left out.
    rows : int
        Rows of the file.
    form : {"event", "car"}
        What a row is.
    currency : str
        Currency of most amounts.
    notes : tuple of str
        What was noticed, in sentences.
    """

    file: str
    entries: tuple[tuple[CarMark, StockEvent], ...]
    set_aside: tuple[SetAside, ...]
    rows: int
    form: str
    currency: str
    notes: tuple[str, ...] = ()

    @property
    def accepted(self) -> int:
        """Rows that are used."""
        return self.rows - len(self.set_aside)


def read_ledger(path: str | Path, *, today: date, currency: str = "") -> LedgerFile:
    """Read a file of a stock ledger.

    Parameters
    ----------
    path : str or pathlib.Path
        ``.csv``, ``.tsv``, ``.txt``, ``.xlsx``, or one of them packed as ``.gz``.
    today : datetime.date
        Day of reading; an entry dated after it is set aside.
    currency : str, optional
        Currency of amounts for which the file names none.

    Returns
    -------
    LedgerFile
        Events and rows set aside: together every row.

    Raises
    ------
    LedgerFileError
        If it can't be read as a ledger at all.
    """
    path = Path(path)
    try:
        data = path.read_bytes()
    except OSError as error:
        raise LedgerFileError(
            path.name, "it can't be read", got=error.strerror or str(error), remedy="Check the name"
        ) from error
    return read_ledger_data(path.name, data, today=today, currency=currency)


def read_ledger_data(name: str, data: bytes, *, today: date, currency: str = "") -> LedgerFile:
    """Read the content of a file of a stock ledger; see :func:`read_ledger`.

    Parameters
    ----------
    name : str
        Name of the file for people.
    data : bytes
        Its content.
    today, currency
        As for :func:`read_ledger`.
    """
    if currency and currency.upper() not in CURRENCIES:
        raise LedgerFileError(
            name, "no known currency", got=currency, remedy="Use a code of ISO 4217"
        )
    try:
        tables = raw_tables(name, unpacked(name, data), what=WHAT)
    except SaleFileError as error:
        # What reads tables of sales reads a ledger, and says the same of both.
        raise LedgerFileError(
            error.where, error.problem, got=error.got, remedy=error.remedy
        ) from error
    parts = [_read_table(raw, currency.upper(), today) for raw in tables]
    return _joined(name, parts)


@dataclass(frozen=True)
class _Part:
    """One sheet, read."""

    raw: RawTable
    places: Places
    cells: Cells
    rows: list[RowRead]


def _read_table(raw: RawTable, currency: str, today: date) -> _Part:
    places = find_places(raw)
    if places is None:
        raise LedgerFileError(
            raw.name,
            "no columns of a stock ledger are found",
            got=", ".join(map(str, raw.cells.columns[:12])),
            remedy=(
                "Name the columns as the template does (valuation ledger template OUT.xlsx): date, "
                "stock, event and amount, or stock, bought date, bought price and so on"
            ),
        )
    cells = Cells(raw, places, currency or _usual_currency(raw, places))
    rows = read_rows(cells, today=today)
    for at, (code, got) in raw.faults.items():
        rows[at].events.clear()
        rows[at].faults[:] = [Fault(code, "", got, _REMEDIES[code])]
    return _Part(raw, places, cells, rows)


def _usual_currency(raw: RawTable, places: Places) -> str:
    """Return the currency most cells of the file name, or the code for none."""
    columns = [p.column for p in places.places if p.field in ("amount", "currency")]
    named = Counter(code for c in columns for cell in raw.cells[c] if (code := find_currency(cell)))
    named.update(code for c in columns if (code := find_currency(c)))
    return named.most_common(1)[0][0] if named else NO_CURRENCY


def _joined(name: str, parts: Sequence[_Part]) -> LedgerFile:
    entries: list[tuple[CarMark, StockEvent]] = []
    aside: list[SetAside] = []
    notes: list[str] = []
    for part in parts:
        notes += [*part.raw.notes, *_notes(part)]
        for i, row in enumerate(part.rows):
            if row.faults:
                aside.append(_set_aside(part, i))
            else:
                entries += [(row.mark, e) for e in row.events]
    codes = Counter(e.currency for _, e in entries if e.currency)
    return LedgerFile(
        name,
        tuple(entries),
        tuple(aside),
        sum(len(p.rows) for p in parts),
        parts[0].places.form,
        codes.most_common(1)[0][0] if codes else NO_CURRENCY,
        tuple(dict.fromkeys(notes)),
    )


def _set_aside(part: _Part, at: int) -> SetAside:
    """Return a row with its faults, without cells that could name a person."""
    kept = [p.column for p in part.places.places if p.field not in ("party", "what", "event")]
    cells = {c: str(part.raw.cells[c].iloc[at]) for c in kept}
    return SetAside(part.raw.name, part.raw.rows[at], tuple(part.rows[at].faults), cells)


def _notes(part: _Part) -> list[str]:
    name, places = part.raw.name, part.places
    what = "an event" if places.form == "event" else "a car"
    notes = [f"{name}: every row is {what}."]
    if places.left:
        notes.append(f"{name}: columns that are not read: {', '.join(places.left)}.")
    if part.cells.outgoing:
        notes.append(f"{name}: money paid out stands below zero; it is taken as spent.")
    events = [e for r in part.rows if not r.faults for e in r.events]
    if any(e.currency == NO_CURRENCY for e in events):
        notes.append(
            f"{name}: no currency is stated; amounts are in an unnamed one ({NO_CURRENCY}). Give "
            "it when reading."
        )
    unnamed = _unread_parties(part)
    if unnamed:
        notes.append(
            f"{name}: cells of sellers and buyers that name no kind ({', '.join(PARTIES)}) are not "
            f"kept, as they may name a person: {unnamed:,}."
        )
    if not any(p.field in CAR_FIELDS[:2] for p in places.places):
        notes.append(
            f"{name}: cars have neither a stock number nor a chassis number; two cars of one make, "
            "model and year can't be told apart."
        )
    return notes


def _unread_parties(part: _Part) -> int:
    """Count cells of sellers and buyers that are not kept."""
    places = [p for p in part.places.places if p.field == "party"]
    stated = sum(
        bool(part.cells.text(i, "party", p.event, p.group))
        for p in places
        for i, row in enumerate(part.rows)
        if not row.faults
    )
    kept = sum(bool(e.party) for r in part.rows if not r.faults for e in r.events)
    return max(stated - kept, 0)

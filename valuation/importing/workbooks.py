"""Workbooks to rows of text: the sheets that hold sales, merged cells spread, signs kept."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from typing import Any
from xml.etree.ElementTree import ParseError

import openpyxl

from valuation.errors import SaleFileError
from valuation.importing.names import match_name
from valuation.importing.raw import RawTable, find_header, make_table
from valuation.reading.text import fold

__all__ = ["workbook_tables"]

_BROKEN = (zipfile.BadZipFile, ParseError, KeyError, ValueError, TypeError, OSError, EOFError)
_CURRENCY_FORMAT = re.compile(r"\[\$([^\-\]\s]+)|([€£¥]|(?<!\[)\$|zł|kr)|\"([A-Z]{3})\"")

Records = list[list[str]]


def _number_text(value: float, number_format: str) -> str:
    """Write a number, with the currency by which its cell shows it."""
    whole = float(value).is_integer() and abs(value) < 1e15
    text = str(int(value)) if whole else str(value)
    if number_format == "General":
        return text
    sign = _CURRENCY_FORMAT.search(number_format)
    return f"{text} {next(g for g in sign.groups() if g)}" if sign else text


def _cell_text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number_text(value, cell.number_format)
    if isinstance(value, datetime):
        return value.isoformat(" ") if value.time() != time() else value.date().isoformat()
    return value.isoformat() if isinstance(value, date) else str(value)


def _spread_merged(sheet: Any, records: Records) -> int:
    """Copy the value of a merged cell that spans rows into each of them; return how many."""
    spread = 0
    for area in sheet.merged_cells.ranges:
        top, left = area.min_row - 1, area.min_col - 1
        if area.max_row > area.min_row and top < len(records) and left < len(records[top]):
            for i in range(top + 1, min(area.max_row, len(records))):
                records[i][left] = records[top][left]
                spread += 1
    return spread


def _sheets(data: bytes) -> Iterator[tuple[str, Records, int]]:
    with warnings.catch_warnings():
        # Workbooks with drop-downs or themes it doesn't know make openpyxl warn; cells are fine.
        warnings.simplefilter("ignore", UserWarning)
        book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    for sheet in book.worksheets:
        if sheet.sheet_state == "visible":
            records = [[_cell_text(c) for c in row] for row in sheet.iter_rows()]
            yield sheet.title, records, _spread_merged(sheet, records)


def _header_of(records: Records) -> tuple[str, ...]:
    return tuple(fold(c) for c in records[find_header(records)[1]] if c)


def _likeness(records: Records) -> tuple[int, int]:
    """Return how much a sheet looks like a list of sales: known column names, then cells."""
    known = sum(1 for c in _header_of(records) if (m := match_name(c)) and m[0].score >= 3)
    return known, sum(1 for row in records for c in row if c)


def workbook_tables(name: str, data: bytes, *, what: str = "sales") -> list[RawTable]:
    """Read the sheets of a workbook that hold a list.

    Parameters
    ----------
    name : str
        Name of the file.
    data : bytes
        Its content.
    what : str
        What the list is of, for messages.

    Returns
    -------
    list of RawTable
        The sheet most like such a list, and every other one under the same header.

    Raises
    ------
    SaleFileError
        If it can't be opened or holds nothing.
    """
    try:
        sheets = [s for s in _sheets(data) if any(any(row) for row in s[1])]
    except _BROKEN as error:
        raise SaleFileError(
            name,
            "it is no workbook that can be opened",
            got=type(error).__name__,
            remedy="Open it in a spreadsheet and save it as .xlsx or CSV",
        ) from error
    if not sheets:
        raise SaleFileError(name, "it holds no rows", remedy=f"Choose a file with {what} in it")
    best = max(sheets, key=lambda sheet: _likeness(sheet[1]))
    same = [s for s in sheets if s is best or _header_of(s[1]) == _header_of(best[1])]
    left = [s[0] for s in sheets if s not in same]
    tables: list[RawTable] = []
    for title, records, spread in same:
        where = name if len(same) == 1 else f"{name}, sheet {title}"
        notes = []
        if left and not tables:
            notes.append(f"{name}: sheets that are no list of {what}: {', '.join(left)}.")
        if spread:
            notes.append(f"{where}: merged cells were written into each of their rows ({spread}).")
        tables.append(make_table(where, records, notes=notes))
    return tables

"""The run list as a workbook and as CSV: data to sort, filter and write notes into.

Catalogues come from strangers.  No text of one may become a formula, whatever it starts with: in
the workbook it is stored as text and marked as such, in CSV an apostrophe stands before it.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from valuation.files import without_clock
from valuation.report.palette import FAINT, QUIET, TINT
from valuation.report.run_list_columns import (
    Column,
    Entry,
    all_columns,
    paper_columns,
    unpriced_columns,
)
from valuation.report.run_list_words import budget_words, list_words
from valuation.report.words import STANDING_CAUTION
from valuation.results.run_list import RunLine, RunList
from valuation.results.words import INTERNAL
from valuation.spreadsheets import cell_text, guarded, starts_formula

__all__ = ["run_list_csv", "run_list_workbook"]

_FORMATS = {"money": "#,##0", "percent": "0.0%", "whole": "0", "day": "yyyy-mm-dd"}
_A4 = 9
_FONT = "Arial"
_HIGHEST = 400.0
"""Points; programs take no row higher than 409."""


def run_list_workbook(run_list: RunList) -> bytes:
    """Return a run list as a workbook.

    Parameters
    ----------
    run_list : RunList
        What to show.

    Returns
    -------
    bytes
        An .xlsx file with the tabs Lots (in the order asked for, everything, ``notes`` to write
        into), Running order (for paper), Not priced and About; the same list gives the same bytes.
    """
    book = Workbook()
    for unused in list(book.worksheets):
        book.remove(unused)
    book.properties.creator = "valuation"
    lots = book.create_sheet("Lots")
    _fill_lots(lots, all_columns(run_list), run_list.lines)
    lots.auto_filter.ref = lots.dimensions
    # All columns on one sheet of paper could not be read; the number of the lot stands on both.
    lots.page_setup.fitToWidth = 2
    lots.print_title_cols = "A:A"
    ordered = sorted(run_list.lines, key=lambda line: line.order)
    _fill_lots(book.create_sheet("Running order"), paper_columns(run_list), ordered)
    _fill_unpriced(book.create_sheet("Not priced"), run_list)
    _fill_about(book.create_sheet("About"), run_list)
    saved = io.BytesIO()
    book.save(saved)
    return without_clock(saved.getvalue())


def run_list_csv(run_list: RunList) -> str:
    """Return a run list as CSV: the lots in the order asked for, then those not priced.

    Parameters
    ----------
    run_list : RunList
        What to show.

    Returns
    -------
    str
        Columns as on the tab Lots.  Texts that a spreadsheet program could take for a formula
        start with an apostrophe; :func:`valuation.spreadsheets.unguarded` takes it away again.
    """
    columns = all_columns(run_list)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([guarded(c.heading) for c in columns])
    for line in run_list.lines:
        writer.writerow([_field(c.entry(line)) for c in columns])
    for lot in run_list.unpriced:
        said = {"lot": lot.number, "day": lot.day, "car": lot.words, "answer": "not priced",
                "reasons": lot.reason}  # fmt: skip
        writer.writerow([guarded(said.get(c.heading, "")) for c in columns])
    return out.getvalue()


def _field(entry: Entry) -> str:
    if entry is None:
        return ""
    if isinstance(entry, str):
        return guarded(entry)
    if isinstance(entry, date):
        return entry.isoformat()
    if isinstance(entry, float):
        return f"{entry:.6g}"
    return f"{entry:f}" if isinstance(entry, Decimal) else str(entry)


def _put(cell: Cell, entry: Entry) -> None:
    """Write an entry as what it is: a number, a date, or text that stays text."""
    if not isinstance(entry, str):
        cell.value = entry
        return
    text = cell_text(entry)
    if text:
        cell.value = text
        # Else a text that starts with "=" would be a formula, and "#N/A" an error.
        cell.data_type = "s"
        cell.quotePrefix = starts_formula(text)


def _fill_lots(sheet: Worksheet, columns: Sequence[Column], lines: Sequence[RunLine]) -> None:
    formats = [_format(column, lines) for column in columns]
    rows = [[column.entry(line) for column in columns] for line in lines]
    heads = [(c.heading, c.width, c.kind != "text") for c in columns]
    _fill(sheet, heads, rows, formats)


def _format(column: Column, lines: Sequence[RunLine]) -> str:
    """Return how a column writes its numbers: bids with cents only where some have cents."""
    if column.kind != "bid":
        return _FORMATS.get(column.kind, "")
    amounts = [x for x in map(column.entry, lines) if isinstance(x, Decimal)]
    whole = all(x == x.to_integral_value() for x in amounts)
    return "#,##0" if whole else "#,##0.00"


def _fill_unpriced(sheet: Worksheet, run_list: RunList) -> None:
    columns = unpriced_columns()
    rows = [[entry(lot) for _, _, entry in columns] for lot in run_list.unpriced]
    heads = [(heading, width, False) for heading, width, _ in columns]
    _fill(sheet, heads, rows, [""] * len(columns))


def _fill_about(sheet: Worksheet, run_list: RunList) -> None:
    heads = [("what", 24.0, False), ("said", 110.0, False)]
    _fill(sheet, heads, [list(pair) for pair in _about(run_list)], ["", ""])


def _about(run_list: RunList) -> Iterator[tuple[str, Entry]]:
    yield "for whom", INTERNAL
    yield "catalogue", run_list.source
    yield "bids for", run_list.as_of or "no date"
    yield "contents", list_words(run_list)
    yield "order of the tab Lots", run_list.sorted_by
    yield "currency of resale", run_list.resale_currency
    if budget := budget_words(run_list):
        yield "budget", budget
    yield (
        "bid looked at",
        "The reserve where it is known, else the low estimate, else the walk-away bid: outlay, "
        "expected margin and risk of loss stand for that bid.",
    )
    yield "resale", "Low to high is the 80% range in the firm's selling channel."
    yield (
        "notes",
        "Yours to write on the tab Lots: a later list takes them over by the number of the lot.",
    )
    for what, texts in (
        ("what the firm asks", run_list.settings),
        ("noticed", run_list.notes),
        ("changed", run_list.changes),
        ("caution", tuple(dict.fromkeys((*run_list.cautions, STANDING_CAUTION)))),
    ):
        yield from ((what, text) for text in texts)


def _fill(
    sheet: Worksheet,
    heads: Sequence[tuple[str, float, bool]],
    rows: Sequence[Sequence[Entry]],
    formats: Sequence[str],
) -> None:
    """Fill a sheet: headings with their width and whether they stand right, then the rows."""
    for place, (heading, width, right) in enumerate(heads, start=1):
        cell = sheet.cell(row=1, column=place)
        _put(cell, heading)
        cell.font = Font(name=_FONT, bold=True, size=10)
        cell.fill = PatternFill("solid", fgColor=TINT[1:].upper())
        cell.alignment = _aligned(right=right, vertical="bottom")
        cell.border = Border(bottom=Side("medium", color=QUIET[1:].upper()))
        sheet.column_dimensions[get_column_letter(place)].width = width
    _set_height(sheet, 1, [(h, w) for h, w, _ in heads])
    for row, entries in enumerate(rows, start=2):
        for place, entry in enumerate(entries, start=1):
            _fill_cell(sheet.cell(row=row, column=place), entry, formats[place - 1])
            sheet.cell(row=row, column=place).alignment = _aligned(right=heads[place - 1][2])
        widths = [
            (x if isinstance(x, str) else "", h[1]) for x, h in zip(entries, heads, strict=True)
        ]
        _set_height(sheet, row, widths)
    sheet.freeze_panes = "B2"
    _paper(sheet)


def _fill_cell(cell: Cell, entry: Entry, number_format: str) -> None:
    _put(cell, entry)
    cell.font = Font(name=_FONT, size=10)
    cell.border = Border(bottom=Side("hair", color=FAINT[1:].upper()))
    if isinstance(entry, date):
        cell.number_format = _FORMATS["day"]
    elif number_format and not isinstance(entry, str):
        cell.number_format = number_format


def _aligned(*, right: bool, vertical: str = "top") -> Alignment:
    side = "right" if right else "left"
    return Alignment(horizontal=side, vertical=vertical, wrap_text=True, indent=0 if right else 1)


def _set_height(sheet: Worksheet, row: int, texts: Sequence[tuple[str, float]]) -> None:
    """Make a row as high as its longest text needs: not every program finds that out itself."""
    lines = max(
        sum(max(1, math.ceil(len(part) * 1.05 / max(width - 2, 1))) for part in text.split("\n"))
        for text, width in texts
    )
    sheet.row_dimensions[row].height = min(13.5 * lines + 2, _HIGHEST)


def _paper(sheet: Worksheet) -> None:
    """Set a sheet up for A4 that lies: as wide as the paper, its header on every page."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = _A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top, sheet.page_margins.bottom = 0.5, 0.75
    sheet.page_margins.header, sheet.page_margins.footer = 0.3, 0.35
    sheet.HeaderFooter.scaleWithDoc = False
    sheet.oddFooter.left.text = "&A, page &P of &N"
    sheet.oddFooter.right.text = INTERNAL

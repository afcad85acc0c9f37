"""The stock as a workbook: every car, and the ways out of those to decide about.

Names in a ledger are typed by people: no text of one may become a formula.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from valuation.files import without_clock
from valuation.report.palette import TINT
from valuation.results.stock_review import (
    NO_PROMISE,
    ReviewedCar,
    StockReview,
    weeks_of,
)
from valuation.results.words import INTERNAL
from valuation.spreadsheets import cell_text, starts_formula

__all__ = ["stock_workbook"]

Entry = str | int | float | Decimal | date | None

_FONT = "Arial"
_A4 = 9

_CARS: tuple[tuple[str, float, str], ...] = (
    ("stock", 11, ""),
    ("car", 34, ""),
    ("kind", 18, ""),
    ("state", 10, ""),
    ("asked", 11, "#,##0"),
    ("over estimate, per cent", 10, "0.0"),
    ("worth low", 11, "#,##0"),
    ("worth", 11, "#,##0"),
    ("worth high", 11, "#,##0"),
    ("at purchase low", 11, "#,##0"),
    ("at purchase", 11, "#,##0"),
    ("at purchase high", 11, "#,##0"),
    ("at purchase from", 26, ""),
    ("moved, per cent", 9, "0.0"),
    ("by the market", 9, "0.0"),
    ("by the model", 9, "0.0"),
    ("weeks in stock", 8, "0.0"),
    ("weeks on offer", 8, "0.0"),
    ("paid", 12, "#,##0.00"),
    ("spent", 12, "#,##0.00"),
    ("holding so far", 12, "#,##0.00"),
    ("to decide", 9, ""),
    ("leaves most", 11, ""),
    ("known from", 24, ""),
    ("mind", 50, ""),
)

_WAYS: tuple[tuple[str, float, str], ...] = (
    ("number", 8, "0"),
    ("stock", 11, ""),
    ("car", 34, ""),
    ("way out", 11, ""),
    ("asked", 11, "#,##0"),
    ("chance to be sold in time", 10, "0%"),
    ("chance low", 9, "0%"),
    ("chance high", 9, "0%"),
    ("days to the money", 9, "0"),
    ("holding till then", 11, "#,##0"),
    ("expected net", 11, "#,##0"),
    ("net low", 11, "#,##0"),
    ("net high", 11, "#,##0"),
    ("against holding, with what money earns elsewhere", 14, "#,##0"),
    ("leaves most", 9, ""),
)


def stock_workbook(review: StockReview) -> bytes:
    """Return a review of the stock as a workbook.

    Parameters
    ----------
    review : StockReview
        What to show.

    Returns
    -------
    bytes
        An .xlsx file with the tabs Cars, To decide and About; the same review gives the same
        bytes.
    """
    book = Workbook()
    for unused in list(book.worksheets):
        book.remove(unused)
    book.properties.creator = "valuation"
    _fill(book.create_sheet("Cars"), _CARS, [_car(c) for c in review.cars])
    _fill(book.create_sheet("To decide"), _WAYS, list(_ways(review)))
    heads = (("what", 26.0, ""), ("said", 110.0, ""))
    _fill(book.create_sheet("About"), heads, list(_about(review)))
    saved = io.BytesIO()
    book.save(saved)
    return without_clock(saved.getvalue())


def _car(car: ReviewedCar) -> list[Entry]:
    now, then, drift, best = car.now, car.then, car.drift, car.best
    return [
        car.stock,
        car.car,
        car.kind,
        car.state,
        car.ask,
        car.over_estimate,
        *([now.lower, now.central, now.upper] if now else [None] * 3),
        *([then.lower, then.central, then.upper, then.source] if then else [None] * 4),
        *([drift.total, drift.market, drift.model] if drift else [None] * 3),
        weeks_of(car.days_in_stock),
        weeks_of(car.days_listed),
        car.paid,
        car.spent,
        car.holding,
        "yes" if car.old else "no",
        best.name if best else None,
        car.facts,
        " ".join(car.notes),
    ]


def _ways(review: StockReview) -> Iterator[list[Entry]]:
    for number, car in enumerate(review.to_decide, start=1):
        for way in car.ways:
            chance = way.chance
            yield [
                number,
                car.stock,
                car.car,
                way.name,
                way.ask,
                *([chance.chance, chance.lower, chance.upper] if chance else [None] * 3),
                way.days,
                way.cost,
                way.net,
                way.lower,
                way.upper,
                way.beyond - car.ways[0].beyond,
                "yes" if way is car.best else "no",
            ]


def _about(review: StockReview) -> Iterator[Sequence[Entry]]:
    yield ["for whom", INTERNAL]
    yield ["day", review.as_of]
    yield ["contents", review.counted]
    yield ["currency of all amounts", review.currency]
    yield ["channel of the estimates", review.channel]
    if review.worth:
        yield ["together", review.worth.words(review.currency)]
        yield ["worth less than paid and spent", f"chance {review.worth.below_cost:.0%}"]
    yield ["moved since", review.since]
    yield ["chance to be sold in time", f"within {review.target_days} days"]
    yield ["chances rest on", review.basis]
    yield ["what money earns elsewhere", review.elsewhere]
    yield from (["note", note] for note in (*review.notes, NO_PROMISE))


def _fill(
    sheet: Worksheet, heads: Sequence[tuple[str, float, str]], rows: Sequence[Sequence[Entry]]
) -> None:
    """Fill a sheet: headings with width and format of numbers, then the rows."""
    for place, (heading, width, _) in enumerate(heads, start=1):
        cell = sheet.cell(row=1, column=place)
        _put(cell, heading, "")
        cell.font = Font(name=_FONT, bold=True, size=10)
        cell.fill = PatternFill("solid", fgColor=TINT[1:].upper())
        cell.alignment = Alignment(wrap_text=True, vertical="bottom")
        sheet.column_dimensions[get_column_letter(place)].width = width
    sheet.row_dimensions[1].height = 42
    for row, entries in enumerate(rows, start=2):
        for place, entry in enumerate(entries, start=1):
            cell = sheet.cell(row=row, column=place)
            _put(cell, entry, heads[place - 1][2])
            cell.alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = "C2" if len(heads) > 2 else "B2"
    if rows:
        sheet.auto_filter.ref = sheet.dimensions
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", _A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"
    sheet.oddFooter.left.text = "&A, page &P of &N"
    sheet.oddFooter.right.text = INTERNAL


def _put(cell: Cell, entry: Entry, number_format: str) -> None:
    """Write an entry as what it is: a number, a date, or text that stays text."""
    cell.font = Font(name=_FONT, size=10)
    if isinstance(entry, str):
        text = cell_text(entry)
        if text:
            cell.value = text
            # Else a text that starts with "=" would be a formula.
            cell.data_type = "s"
            cell.quotePrefix = starts_formula(text)
        return
    cell.value = entry
    if isinstance(entry, date):
        cell.number_format = "yyyy-mm-dd"
    elif number_format:
        cell.number_format = number_format

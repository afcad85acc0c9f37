"""An empty stock ledger to fill in: a workbook with a row for each event, its words in lists."""

from __future__ import annotations

import io
from pathlib import Path

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from valuation.errors import LedgerFileError
from valuation.files import without_clock
from valuation.importing.disk import write_bytes
from valuation.results.ledger import EVENTS, PARTIES, PARTS
from valuation.schema.sale import BASES

__all__ = ["COLUMNS", "write_ledger_template"]

_ROWS = 5000
_HEAD = PatternFill("solid", fgColor="E6E6E6")
_CHANNELS = ("live auction", "online auction", "dealer", "private", "part-exchange")

COLUMNS: tuple[tuple[str, str, str, tuple[str, ...]], ...] = (
    ("date", "Day of the event.", "2025-06-14", ()),
    ("stock", "Your own number of the car; one purchase, one number.", "H-101", ()),
    ("event", "What happened.", "bought", EVENTS),
    ("amount", "What was paid or got, to the cent; empty when listed or withdrawn.", "31500", ()),
    ("currency", "Three-letter ISO 4217 code.", "EUR", ()),
    ("basis", "For a purchase, what the amount is.", BASES[0], BASES),
    ("what", "What money was spent on.", "transport", ()),
    ("part", "Part of the account; found by the words if left empty.", "work", PARTS),
    ("from or to", "Kind of seller or buyer. Never a name.", "private", PARTIES),
    ("channel", "How it was bought or sold.", "live auction", _CHANNELS),
    ("venue", "House or firm where it was bought or sold.", "Harbour Rooms", ()),
    ("lot", "Number of the lot.", "112", ()),
    ("chassis", "Chassis number, on one row of the car.", "TR4-1180-K", ()),
    ("make", "On one row of the car.", "Torvane", ()),
    ("model", "On one row of the car.", "GT", ()),
    ("year", "Model year, on one row of the car.", "1967", ()),
    ("title", "Any words by which you know the car.", "", ()),
)
"""Name, meaning, example and words of each column."""


def write_ledger_template(path: str | Path) -> None:
    """Write an empty stock ledger.

    Parameters
    ----------
    path : str or pathlib.Path
        Ends in ``.xlsx``; an older file is replaced at once or not at all.

    Raises
    ------
    LedgerFileError
        If the name ends otherwise.
    """
    path = Path(path)
    if path.suffix.lower() != ".xlsx":
        raise LedgerFileError(
            path.name,
            "the empty ledger is a workbook",
            got=path.suffix or "no ending",
            remedy="Let the name end in .xlsx",
        )
    saved = io.BytesIO()
    _workbook().save(saved)
    write_bytes(without_clock(saved.getvalue()), path)


def _workbook() -> Workbook:
    book = Workbook()
    for unused in list(book.worksheets):
        book.remove(unused)
    book.properties.creator = "valuation"
    sheet = book.create_sheet("Ledger")
    for j, (name, said, example, words) in enumerate(COLUMNS, start=1):
        cell = sheet.cell(row=1, column=j, value=name)
        cell.font, cell.fill = Font(bold=True), _HEAD
        shown = f" Such as {example}." if example else ""
        cell.comment = Comment(f"{said}{shown}", "valuation")
        sheet.column_dimensions[get_column_letter(j)].width = max(12, len(name) + 3)
        if words:
            _let_choose(sheet, j, name, words)
    sheet.freeze_panes = "A2"
    _explain(book.create_sheet("Help"))
    return book


def _let_choose(sheet: Worksheet, column: int, name: str, words: tuple[str, ...]) -> None:
    rule = DataValidation(type="list", formula1=f'"{",".join(words)}"', allow_blank=True)
    rule.errorTitle, rule.error = name, "Choose one of the words in the list."
    letter = get_column_letter(column)
    rule.add(f"{letter}2:{letter}{_ROWS}")
    sheet.add_data_validation(rule)


def _explain(sheet: Worksheet) -> None:
    sheet.append(("How a ledger is kept", ""))
    for text in (
        "One row for each event: a purchase, money spent, a listing, each asking price with its "
        "day, a withdrawal, a sale.",
        "A cost is written as it was paid; money that came back stands below zero.",
        "A ledger of one row a car is read too: bought date, bought price, asking price, sold "
        "date, sold price and so on, and a column for each cost.",
        "Write the kind of seller or buyer and never a name.",
    ):
        sheet.append((text, ""))
    sheet.append(("", ""))
    for name, said, example, words in COLUMNS:
        shown = "; ".join(words) if words else example
        sheet.append((name, f"{said} {shown}".strip()))
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 24, 100
    sheet["A1"].font = Font(bold=True)

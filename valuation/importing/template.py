"""A blank file to fill in, written from the contract: a workbook with drop-downs, or a CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Alignment, Font, PatternFill
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.worksheet import Worksheet

from valuation.errors import SaleFileError
from valuation.files import without_clock
from valuation.importing.disk import write_bytes, write_text
from valuation.schema import ATTRIBUTES, SALE_FIELDS, Attribute, Field

__all__ = ["template_columns", "write_template"]

_ROWS = 2000
_HEAD = PatternFill("solid", fgColor="E6E6E6")


def template_columns() -> tuple[Field | Attribute, ...]:
    """Return the columns of the template in their order: sale fields, then attributes."""
    return (*SALE_FIELDS, *ATTRIBUTES)


def _kind(column: Field | Attribute) -> str:
    if isinstance(column, Attribute) and column.kind == "number":
        return f"number, {column.low:g} to {column.high:g} {column.unit}".strip()
    if column.kind == "set":
        return 'words with "; " between them, or none'
    if column.kind == "category" and column.levels:
        return "one of the words listed"
    return {"money": "amount", "date": "day, such as 2025-06-14"}.get(column.kind, "text")


def _must(column: Field | Attribute) -> str:
    if isinstance(column, Attribute):
        return "yes" if column.when_silent == "required" else ""
    return {"price": "yes", "sale_date": "yes, except in a list of asking prices"}.get(
        column.name, ""
    )


def _add_lists(sheet: Worksheet, words: Worksheet, columns: Sequence[Field | Attribute]) -> None:
    """Give every closed vocabulary a drop-down that draws on a sheet of words."""
    place = 0
    for j, column in enumerate(columns, start=1):
        if not column.levels or column.kind == "set":
            continue
        place += 1
        for i, level in enumerate((column.label, *column.levels), start=1):
            words.cell(row=i, column=place, value=level)
        letter = get_column_letter(place)
        source = f"Words!${letter}$2:${letter}${len(column.levels) + 1}"
        rule = DataValidation(type="list", formula1=source, allow_blank=True)
        rule.errorTitle, rule.error = column.label, "Choose one of the words in the list."
        at = get_column_letter(j)
        rule.add(f"{at}2:{at}{_ROWS}")
        sheet.add_data_validation(rule)


def _help_sheet(sheet: Worksheet, columns: Sequence[Field | Attribute]) -> None:
    heads = ("column", "name", "needed", "how it is written", "what it is", "example", "words")
    sheet.append(heads)
    for column in columns:
        sheet.append(
            (
                column.name,
                column.label,
                _must(column),
                _kind(column),
                column.help,
                column.example,
                "; ".join(column.levels),
            )
        )
    for j, width in enumerate((22, 22, 12, 34, 60, 24, 90), start=1):
        sheet.column_dimensions[get_column_letter(j)].width = width
        sheet.cell(row=1, column=j).font = Font(bold=True)


def _workbook() -> Workbook:
    columns = template_columns()
    book = Workbook()
    sheet = book.active
    if not isinstance(sheet, Worksheet):
        sheet = book.create_sheet()
    sheet.title = "Sales"
    for j, column in enumerate(columns, start=1):
        cell = sheet.cell(row=1, column=j, value=column.name)
        cell.font, cell.fill = Font(bold=True), _HEAD
        cell.alignment = Alignment(vertical="top")
        cell.comment = Comment(f"{column.label}: {column.help} ({_kind(column)})", "valuation")
        sheet.column_dimensions[get_column_letter(j)].width = max(12, len(column.name) + 2)
    sheet.freeze_panes = "A2"
    guide, words = book.create_sheet("Help"), book.create_sheet("Words")
    words.sheet_state = "hidden"
    _help_sheet(guide, columns)
    _add_lists(sheet, words, columns)
    book.properties.creator = "valuation"
    return book


def write_template(path: str | Path) -> None:
    """Write a blank template for sales.

    Parameters
    ----------
    path : str or pathlib.Path
        Ends in ``.xlsx`` (drop-downs and a sheet of help) or ``.csv`` (the column names); an older
        file is replaced at once or not at all.

    Raises
    ------
    SaleFileError
        If the name ends otherwise.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending == ".csv":
        out = io.StringIO()
        csv.writer(out, lineterminator="\r\n").writerow([c.name for c in template_columns()])
        write_text(out.getvalue(), path)
        return
    if ending != ".xlsx":
        raise SaleFileError(
            path.name,
            "a template is .xlsx or .csv",
            got=ending or "no ending",
            remedy="Let the name end in .xlsx or .csv",
        )
    saved = io.BytesIO()
    _workbook().save(saved)
    write_bytes(without_clock(saved.getvalue()), path)

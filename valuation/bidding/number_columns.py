"""Small files of numbers in one or two columns, with or without names on top."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection
from dataclasses import dataclass
from decimal import Decimal

from valuation.importing.files import decode, find_delimiter
from valuation.reading.money import read_money
from valuation.reading.numbers import NUMBER
from valuation.reading.text import fold

__all__ = ["NumberColumns", "read_amount", "read_number_columns"]

_ONE_NUMBER = re.compile(rf"[^\d();:/]*(?:{NUMBER})[^\d();:/]*")


@dataclass(frozen=True, slots=True)
class NumberColumns:
    """Cells of a small file.

    Parameters
    ----------
    names : tuple of str
        Names of the columns in small letters, without what stands in brackets; empty if the file
        starts with numbers.
    rows : tuple of (int, tuple of str)
        Number of each row that is not blank, the first of the file being 1, and its cells.
    """

    names: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]

    def place(self, names: Collection[str]) -> int | None:
        """Return the place of the first column with one of some names, None if there is none."""
        return next((i for i, n in enumerate(self.names) if n in names), None)

    def column(self, place: int) -> list[str]:
        """Return the cells of a column, empty where a row is too short."""
        return [cells[place] if place < len(cells) else "" for _, cells in self.rows]


def read_number_columns(data: bytes) -> NumberColumns:
    r"""Cut a file into cells.

    Parameters
    ----------
    data : bytes
        Content of a CSV file in any usual dress.

    Raises
    ------
    csv.Error
        If it can't be cut into cells.

    Examples
    --------
    >>> found = read_number_columns(b"Resale (EUR);Probability\n40.000;0,5\n")
    >>> found.names, found.rows
    (('resale', 'probability'), ((2, ('40.000', '0,5')),))
    """
    text = decode(data)[0].replace("\x00", "")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text))
    rows = [(at, _trimmed(cells)) for at, cells in enumerate(reader, start=1)]
    rows = [(at, cells) for at, cells in rows if cells]
    if rows and not any(re.search(r"\d", cell) for cell in rows[0][1]):
        return NumberColumns(tuple(map(_name, rows[0][1])), tuple(rows[1:]))
    return NumberColumns((), tuple(rows))


def _delimiter(text: str) -> str:
    """Return what separates the cells; a comma may be the decimal sign where another could do."""
    lines = [line for line in text.splitlines() if line.strip()]
    able = (sign for sign in ";\t|" if lines and all(sign in line for line in lines))
    return next(able, "") or find_delimiter(text)


def _trimmed(cells: list[str]) -> tuple[str, ...]:
    """Return cells without the empty ones at the end."""
    stripped = [cell.strip() for cell in cells]
    while stripped and not stripped[-1]:
        stripped.pop()
    return tuple(stripped)


def _name(cell: str) -> str:
    return re.sub(r"\(.*?\)|%", "", fold(cell)).strip()


def read_amount(cell: str, decimal: str = "") -> Decimal | None:
    """Return the exact amount that a cell holds, None if it holds none.

    Parameters
    ----------
    cell : str
        Such as ``41,250`` or ``41.250,00``.
    decimal : {"", ".", ","}
        Decimal sign of the column, nothing if unsettled.

    Examples
    --------
    >>> read_amount("41,250"), read_amount("0.10"), read_amount("40000 0.5")
    (Decimal('41250.0'), Decimal('0.1'), None)
    """
    # A price cell may say much beside its price; here a second number would be lost.
    if not _ONE_NUMBER.fullmatch(fold(cell)):
        return None
    amount = read_money(cell, decimal).amount
    # The shortest text of a float of up to 15 digits is the text it was read from.
    return None if amount is None else Decimal(str(amount))

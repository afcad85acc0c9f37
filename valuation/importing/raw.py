"""A file as it came: named columns of text, and the number of each row."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from valuation.reading.text import fold, name_words
from valuation.reading.years import read_year

__all__ = ["RawTable", "find_header", "make_table"]

_SUBTOTAL = (
    "total", "subtotal", "sub-total", "sub total", "grand total", "sum", "average", "count",
    "summe", "zwischensumme", "gesamt", "durchschnitt", "sous-total", "somme", "moyenne",
    "subtotale", "totale", "suma", "razem", "subtotaal", "totaal", "summa", "delsumma", "media",
)  # fmt: skip


@dataclass(frozen=True)
class RawTable:
    """A table as it came.

    Parameters
    ----------
    name : str
        Name of the file (and the sheet, if it has several) for people.
    cells : pandas.DataFrame, shape (n_rows, n_columns)
        Text cells under unique column names, stripped; empty where nothing stands.
    rows : tuple of int, length n_rows
        Row number of each as a spreadsheet counts it.
    faults : mapping of int to (code, got)
        Rows, by position, that can't be sales: subtotals, repeated headers, too many cells.
    notes : tuple of str
        What was noticed, in sentences.
    """

    name: str
    cells: pd.DataFrame
    rows: tuple[int, ...]
    faults: Mapping[int, tuple[str, str]]
    notes: tuple[str, ...]


_PERHAPS_SUBTOTAL = re.compile("|".join(map(re.escape, _SUBTOTAL)))


class _Stripped(dict[str, str]):
    """Cells without the spaces around them; equal ones are one object, for a list repeats much."""

    def __missing__(self, cell: str) -> str:
        plain = cell.strip()
        self[cell] = self.setdefault(plain, plain)
        return plain


def _is_name(cell: str) -> bool:
    """Tell whether a cell could be the name of a column rather than a value."""
    return bool(cell) and any(c.isalpha() for c in cell) and len(cell) <= 60


def _is_value(cell: str) -> bool:
    return any(c.isdigit() for c in cell) and not any(c.isalpha() for c in cell)


def find_header(records: Sequence[Sequence[str]]) -> tuple[int, int]:
    """Find the header in the first rows of a table.

    Parameters
    ----------
    records : sequence of sequence of str
        All rows of the file.

    Returns
    -------
    first, last : int
        Positions of the first and last header row: two where a row of groups stands above.

    Notes
    -----
    The header is the first row at least half as wide as the widest of the first 40, made of names
    and without plain numbers.  A row of names below it without any number is a second header row
    if the first has gaps.
    """
    head = records[:40]
    widest = max((sum(1 for c in r if c) for r in head), default=0)
    for i, record in enumerate(head):
        filled = [c for c in record if c]
        names = sum(_is_name(c) for c in filled)
        enough = len(filled) >= max(2, 0.5 * widest) or len(filled) == widest
        if filled and enough and names >= 0.8 * len(filled) and not any(map(_is_value, filled)):
            above = i > 0 and _groups(head[i - 1], record)
            return i - int(above), i + int(not above and _two_rows(record, records[i + 1 : i + 3]))
    return 0, 0


def _groups(above: Sequence[str], header: Sequence[str]) -> bool:
    """Tell whether the row above a header names groups of its columns."""
    filled = [c for c in above if c]
    names = all(_is_name(c) and not any(ch.isdigit() for ch in c) for c in filled)
    inside = all(not c or j < len(header) for j, c in enumerate(above))
    return len(filled) >= 2 and names and inside and any(not c for c in above)


def _two_rows(record: Sequence[str], below: Sequence[Sequence[str]]) -> bool:
    if len(below) < 2:
        return False
    filled = [c for c in record if c]
    under = [c for c in below[0] if c]
    repeated = len(set(filled)) < len(filled) or any(not c for c in record[: len(below[0])])
    plain = all(_is_name(c) and not any(ch.isdigit() for ch in c) for c in under)
    values_below = any(any(ch.isdigit() for ch in c) for c in below[1])
    return bool(repeated and under and plain and values_below and len(under) >= 2)


def _names(header: Sequence[Sequence[str]], width: int) -> tuple[list[str], list[str]]:
    """Join the header rows and make the names unique; return names and doubled names."""
    padded = [[*h, *[""] * (width - len(h))] for h in header]
    joined = [" ".join(dict.fromkeys(h[j] for h in padded if h[j])) for j in range(width)]
    seen: dict[str, int] = {}
    names, doubled = [], []
    for j, name in enumerate(joined):
        base = " ".join(name.split()) or f"column {j + 1}"
        seen[base] = seen.get(base, 0) + 1
        if seen[base] == 2:
            doubled.append(base)
        names.append(base if seen[base] == 1 else f"{base} ({seen[base]})")
    return names, doubled


def _row_fault(record: Sequence[str], header: Sequence[str], width: int) -> tuple[str, str] | None:
    """Tell why a row is no sale; `header` are the names that stand in it, without gaps."""
    extra = [c for c in record[width:] if c]
    if extra:
        return "too many cells", "; ".join(extra)[:80]
    filled = [c for c in record if c]
    if len(filled) > 1 and filled == header:
        return "repeated header", filled[0]
    first = fold(filled[0]).rstrip(":") if filled else ""
    if not _PERHAPS_SUBTOTAL.search(first):
        return None
    words = name_words(first)
    begins = first.startswith(tuple(f"{w} " for w in _SUBTOTAL)) and len(words) <= 6
    ends = bool(words) and words[-1] in _SUBTOTAL and len(words) <= 4
    sparse = len(filled) <= max(2, 0.6 * width)
    if first in _SUBTOTAL or ((begins or ends) and sparse and not _holds_year(filled)):
        return "subtotal row", filled[0]
    return None


def _holds_year(filled: Sequence[str]) -> bool:
    return any(read_year(c, bare=False) is not None for c in filled)


def make_table(
    name: str,
    records: Iterable[Sequence[str]],
    *,
    notes: Sequence[str] = (),
    header: Sequence[str] | None = None,
) -> RawTable:
    """Turn the rows of a file into a table under its header.

    Parameters
    ----------
    name : str
        Name for people.
    records : iterable of sequence of str
        All rows, blank ones included, the first being row 1 of the file.
    notes : sequence of str
        What the reader of the file noticed.
    header : sequence of str, optional
        Names of the columns where the file keeps them apart from its rows; they count as row 1.

    Returns
    -------
    RawTable
        Data rows only; the header, rows above it and blank rows are counted in a note.
    """
    stripped = _Stripped()
    table = [[stripped[c] for c in r] for r in records]
    if header is not None:
        table.insert(0, [stripped[c] for c in header])
    first, last = find_header(table) if header is None else (0, 0)
    heads = table[first : last + 1] if table else [[]]
    width = max((_width(h) for h in heads), default=0)
    body = table[last + 1 :]
    beyond = sum(1 for r in body if _width(r) > width)
    if body and beyond > 0.5 * len(body):
        # More than half the rows are wider than the header: columns without a name.
        width = sorted(_width(r) for r in body)[int(0.95 * (len(body) - 1))]
    names, doubled = _names(_filled_right(heads), width)
    kept: list[list[str]] = []
    rows: list[int] = []
    faults: dict[int, tuple[str, str]] = {}
    blank = 0
    filled = [c for c in heads[-1] if c]
    for i, record in enumerate(body, start=last + 2):
        if not any(record):
            blank += 1
            continue
        fault = _row_fault(record, filled, width)
        if fault:
            faults[len(kept)] = fault
        fits = len(record) == width
        kept.append(record if fits else [*record[:width], *[""] * (width - len(record))])
        rows.append(i)
    said = [*notes, *_table_notes(name, first, last, blank, doubled)]
    cells = pd.DataFrame(kept, columns=names, dtype=object)
    return RawTable(name, cells, tuple(rows), faults, tuple(said))


def _width(record: Sequence[str]) -> int:
    if record and record[-1]:
        return len(record)
    return max((j + 1 for j, c in enumerate(record) if c), default=0)


def _filled_right(header: Sequence[Sequence[str]]) -> list[list[str]]:
    """Let a group name of an upper header row reach over the empty cells to its right."""
    if len(header) < 2:
        return [list(h) for h in header]
    upper, reach = [], ""
    below = header[-1]
    for j, cell in enumerate([*header[0], *[""] * (len(below) - len(header[0]))]):
        reach = cell or (reach if j < len(below) and below[j] else "")
        upper.append(reach)
    return [upper, list(below)]


def _table_notes(name: str, first: int, last: int, blank: int, doubled: Sequence[str]) -> list[str]:
    notes = []
    if first or last > first:
        above = f", rows above it that are not data: {first}" if first else ""
        where = f"row {first + 1}" if first == last else f"rows {first + 1} and {last + 1}"
        notes.append(f"{name}: the header is {where}{above}.")
    if blank:
        notes.append(f"{name}: blank rows that are not data: {blank}.")
    if doubled:
        notes.append(f"{name}: column names that occur twice were numbered: {', '.join(doubled)}.")
    return notes

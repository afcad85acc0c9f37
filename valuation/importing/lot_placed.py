"""Tables in text that keeps its columns by spaces, as text from the pages of a PDF does."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from valuation.importing.lot_days import is_day
from valuation.importing.lot_names import AT_NEED, lot_target
from valuation.importing.names import match_name

__all__ = ["known_names", "placed_records"]

_SEGMENT = re.compile(r"\S+(?: \S+)*")
_LEAST_NAMES = 3
_DAY = "Day"


@dataclass(frozen=True, slots=True)
class _Segment:
    text: str
    start: int
    end: int


def known_names(names: Sequence[str]) -> int:
    """Return how many of some texts are names of columns of a catalogue.

    Examples
    --------
    >>> known_names(["Lot", "Car", "Estimate", "1968 Torvane GT"])
    3
    """
    found = 0
    for name in names:
        own = lot_target(name)
        match = next(iter(match_name(name)), None)
        found += bool(own and own.score > AT_NEED) or bool(match and match.score >= 3)
    return found


def _segments(line: str) -> list[_Segment]:
    """Cut a line at its wide gaps."""
    return [_Segment(m.group(), m.start(), m.end()) for m in _SEGMENT.finditer(line)]


def _header(lines: Sequence[str]) -> int:
    """Return the position of the line that names the columns, -1 if there is none."""
    for i, line in enumerate(lines):
        names = [s.text for s in _segments(line)]
        known = known_names(names) if len(names) >= _LEAST_NAMES else 0
        if known >= _LEAST_NAMES and known >= 0.6 * len(names):
            return i
    return -1


def _column(segment: _Segment, columns: Sequence[_Segment]) -> int:
    """Return the column a piece of a line stands under: where it overlaps most, else the next."""

    def fit(c: _Segment) -> int:
        return min(segment.end, c.end) - max(segment.start, c.start)

    return max(range(len(columns)), key=lambda i: fit(columns[i]))


def placed_records(text: str) -> list[list[str]]:
    """Cut text that keeps its columns by spaces into the rows of a table.

    Parameters
    ----------
    text : str
        Lines; two spaces or more stand between columns.

    Returns
    -------
    list of list of str
        The header first; empty if no line names columns.  A line with nothing under the first
        column goes on with the row above it; a line that only names a day holds for the rows
        below it.
    """
    lines = text.split("\n")
    first = _header(lines)
    if first < 0:
        return []
    columns = _segments(lines[first])
    names = [c.text for c in columns]
    dated = any((t := lot_target(n)) is not None and t.target == "sale_date" for n in names)
    day, rows = "", [[*names, *([] if dated else [_DAY])]]
    for line in lines[first + 1 :]:
        pieces = _segments(line)
        if not pieces or [p.text for p in pieces] == names:
            continue
        if not dated and is_day(line):
            day = " ".join(line.split())
            continue
        cells = [""] * len(names)
        for piece in pieces:
            i = _column(piece, columns)
            cells[i] = f"{cells[i]} {piece.text}".strip()
        if cells[0] or len(rows) == 1:
            rows.append([*cells, *([] if dated else [day])])
        else:
            rows[-1] = [
                f"{old} {new}".strip() for old, new in zip(rows[-1], [*cells, ""], strict=False)
            ]
    return rows

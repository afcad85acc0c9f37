"""What of a file can be used and why the rest can't: for people, as data, and as a CSV."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valuation.importing.disk import write_text
from valuation.importing.faults import REMEDIES
from valuation.importing.source_map import ColumnUse, SourceMap, label_of
from valuation.records import SalesBook
from valuation.spreadsheets import guarded

__all__ = ["CheckReport", "ColumnReport", "check_report", "write_rejects"]

FORMAT = 1
"""Version of the report as data."""


@dataclass(frozen=True, slots=True)
class ColumnReport:
    """How one column was read.

    Parameters
    ----------
    column : str
        Its name, or several names joined by " + ".
    understood_as : str
        Sale field or attribute.
    unit : str
        Unit of a number, order of a date, ends of a condition scale; empty for none.
    how : {"name", "content", "map"}
        By what it was recognised.
    stated : float
        Share of rows in which something stands.
    examples : tuple of str
        Its most frequent entries.
    notes : tuple of str
        What is special.
    """

    column: str
    understood_as: str
    unit: str
    how: str
    stated: float
    examples: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class CheckReport:
    """What of a file can be used.

    Parameters
    ----------
    rows, accepted, rejected : int
        Data rows, and how many of them were accepted and set aside.
    reasons : mapping of str to int
        How many rows have each kind of fault; a row may have several.
    columns : tuple of ColumnReport
        How the columns were read.
    notes : tuple of str
        What was noticed.
    currency : str
        Currency of the prices.
    dated : bool
        Whether the file holds dates.
    """

    rows: int
    accepted: int
    rejected: int
    reasons: Mapping[str, int]
    columns: tuple[ColumnReport, ...]
    notes: tuple[str, ...]
    currency: str
    dated: bool

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "rows": self.rows,
            "accepted": self.accepted,
            "rejected": self.rejected,
            "reasons": dict(self.reasons),
            "columns": [
                {
                    "column": c.column,
                    "understood_as": c.understood_as,
                    "unit": c.unit,
                    "how": c.how,
                    "stated": round(c.stated, 4),
                    "examples": list(c.examples),
                    "notes": list(c.notes),
                }
                for c in self.columns
            ],
            "notes": list(self.notes),
            "currency": self.currency,
            "dated": self.dated,
        }

    def summary(self) -> str:
        """Return the report as text for people."""
        kind = "dated sales" if self.dated else "offers without dates"
        lines = [
            f"{self.rows:,} rows of {kind} in {self.currency}: {self.accepted:,} accepted, "
            f"{self.rejected:,} set aside."
        ]
        if self.reasons:
            lines += ["", "Why rows were set aside (a row may have several reasons):"]
            for code, n in self.reasons.items():
                lines.append(f"  {n:>7,}  {code}. {REMEDIES.get(code, '')}.")
        lines += ["", "How the columns were read:", *self._column_lines()]
        if self.notes:
            lines += ["", "What was noticed:", *(f"  - {n}" for n in self.notes)]
        return "\n".join(lines)

    def _column_lines(self) -> list[str]:
        names = [c.column for c in self.columns]
        targets = [label_of(c.understood_as) for c in self.columns]
        wide, wide_target = (max(map(len, x), default=0) for x in (names, targets))
        lines = []
        for c, target in zip(self.columns, targets, strict=True):
            unit = f" [{c.unit}]" if c.unit else ""
            seen = f"; such as {', '.join(c.examples)}" if c.examples else ""
            lines.append(
                f"  {c.column:<{wide}}  {target:<{wide_target}}  "
                f"{c.stated:>4.0%} stated, by {c.how}{unit}{seen}"
            )
        return lines

    def __str__(self) -> str:
        return self.summary()


def _unit(use: ColumnUse) -> str:
    if use.worst is not None and use.best is not None:
        return f"{use.worst:g} worst to {use.best:g} best"
    return use.unit or use.order


def check_report(book: SalesBook, source_map: SourceMap) -> CheckReport:
    """Say what of a file can be used and why the rest can't.

    Parameters
    ----------
    book : SalesBook
        From ``read_sales``.
    source_map : SourceMap
        The complete map of the file, from ``propose_map``.

    Returns
    -------
    CheckReport
        Prints as text and turns into data.
    """
    reasons = Counter(f.code for row in book.set_aside for f in row.faults)
    columns = tuple(
        ColumnReport(
            " + ".join(u.columns), u.target, _unit(u), u.how, u.stated, u.examples, u.notes
        )
        for u in source_map.uses
    )
    return CheckReport(
        book.rows,
        len(book),
        len(book.set_aside),
        dict(sorted(reasons.items(), key=lambda e: (-e[1], e[0]))),
        columns,
        book.notes,
        book.currency,
        book.dated,
    )


def write_rejects(book: SalesBook, path: str | Path) -> None:
    """Write the rows that were set aside as CSV, with every reason and what to do.

    Parameters
    ----------
    book : SalesBook
        From ``read_sales``.
    path : str or pathlib.Path
        Where to; an older file is replaced at once or not at all.
    """
    names: dict[str, None] = {}
    for row in book.set_aside:
        names.update(dict.fromkeys(row.cells))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(["file", "row", "reasons", "what to do", *map(guarded, names)])
    for row in book.set_aside:
        reasons = "; ".join(
            f.code + (f" in {f.column}" if f.column else "") + (f" ({f.got})" if f.got else "")
            for f in row.faults
        )
        remedies = "; ".join(dict.fromkeys(f.remedy for f in row.faults))
        cells = [guarded(row.cells.get(n, "")) for n in names]
        told = (guarded(reasons), guarded(remedies))
        writer.writerow([guarded(row.file), row.row, *told, *cells])
    write_text("\ufeff" + out.getvalue(), path)

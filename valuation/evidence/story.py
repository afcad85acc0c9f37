"""Where one sale comes from, what was decided about it, and which other records go with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import duckdb
import pandas as pd

from valuation.errors import EvidenceError
from valuation.evidence.batches import Batch, batch
from valuation.evidence.book import evidence_book
from valuation.evidence.corrections import Correction, history
from valuation.evidence.keep import Kept, content_of
from valuation.evidence.links import chassis_codes
from valuation.evidence.read_file import rows_set_aside
from valuation.evidence.rows import sales_of
from valuation.evidence.workspace import Workspace
from valuation.importing.files import raw_tables, unpacked
from valuation.records import Fault, SalesBook
from valuation.schema import BY_FIELD, BY_NAME

__all__ = ["SaleStory", "raw_cells", "sale_story"]

FORMAT = 1


@dataclass(frozen=True)
class SaleStory:
    """Where one sale comes from and what became of it.

    Parameters
    ----------
    sale_key : str
        Batch and row.
    batch : Batch
        The batch it came with.
    file : str
        Name of the file, and the sheet where it has several.
    row : int
        Row as a spreadsheet counts it.
    cells : mapping of str to str
        The row as it came.
    cells_from : str
        Where the cells are from: the copy of the file, or what was set aside; a sentence that says
        why they can't be shown.
    read : mapping of str to str
        What was read from it, as text; empty for a row that was set aside when read.
    corrections : tuple of Correction
        Everything that was decided about it, in order.
    counts : bool
        Whether it is a sale of the book.
    why_not : tuple of Fault
        Why it isn't; empty if it is, or if its batch isn't in use.
    stands_for : tuple of str
        Keys of records of the same event that it stands for.
    other_sales : tuple of str
        Keys of other sales of the same chassis in the book.
    """

    sale_key: str
    batch: Batch
    file: str
    row: int
    cells: Mapping[str, str]
    cells_from: str
    read: Mapping[str, str]
    corrections: tuple[Correction, ...]
    counts: bool
    why_not: tuple[Fault, ...]
    stands_for: tuple[str, ...]
    other_sales: tuple[str, ...]

    def summary(self) -> str:
        """Return the story as text for people."""
        b = self.batch
        lines = [
            f"Sale {self.sale_key}: row {self.row} of {self.file}, read in on "
            f"{b.read_at:%d %B %Y} by {b.who} with batch {b.batch}, {b.status}.",
            self._standing(),
        ]
        wide = max((len(n) for n in (*self.cells, *self.read)), default=0)
        for title, values in ((self.cells_from, self.cells), ("What was read:", self.read)):
            if values:
                lines += ["", title, *(f"  {n:<{wide}}  {v}" for n, v in values.items() if v)]
        if not self.cells:
            lines += ["", self.cells_from]
        if self.corrections:
            lines += ["", "What was decided:", *(f"  {c.summary()}" for c in self.corrections)]
        for title, keys in (
            ("Records of the same event that it stands for", self.stands_for),
            ("Other sales of the same chassis", self.other_sales),
        ):
            if keys:
                lines += ["", f"{title}: {', '.join(keys)}"]
        return "\n".join(lines)

    def _standing(self) -> str:
        if self.counts:
            return "It counts."
        if self.why_not:
            said = "; ".join(f.code + (f", {f.got}" if f.got else "") for f in self.why_not)
            return f"It does not count: {said}."
        return "It does not count, as its batch is not in use."

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "sale_key": self.sale_key,
            "batch": self.batch.to_dict(),
            "file": self.file,
            "row": self.row,
            "counts": self.counts,
            "why_not": [
                {"code": f.code, "column": f.column, "got": f.got, "remedy": f.remedy}
                for f in self.why_not
            ],
            "cells": dict(self.cells),
            "cells_from": self.cells_from,
            "read": dict(self.read),
            "corrections": [c.to_dict() for c in self.corrections],
            "stands_for": list(self.stands_for),
            "other_sales": list(self.other_sales),
        }


def raw_cells(workspace: Workspace, of: Batch, file: str, row: int) -> dict[str, str]:
    """Return a row as it came, from the copy of its file.

    Parameters
    ----------
    workspace : Workspace
        Where the copy is kept.
    of : Batch
        The batch.
    file : str
        Name of the file, and the sheet where it has several.
    row : int
        Row as a spreadsheet counts it.

    Raises
    ------
    EvidenceError
        If the copy is missing or changed, or has no such row.
    """
    data = content_of(workspace, Kept(of.kind, of.file, of.sha256))
    for table in raw_tables(of.file, unpacked(of.file, data)):
        if table.name == file and row in table.rows:
            cells = table.cells.iloc[table.rows.index(row)]
            return {str(name): str(cell) for name, cell in cells.items()}
    raise EvidenceError(
        f"batch {of.batch}", "the copy of its file has no such row", got=f"row {row} of {file}"
    )


def sale_story(con: duckdb.DuckDBPyConnection, workspace: Workspace, sale_key: str) -> SaleStory:
    """Tell where a sale comes from, what was decided about it, and what goes with it.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading``.
    workspace : Workspace
        Where the copies of files are kept.
    sale_key : str
        Batch and row.

    Returns
    -------
    SaleStory
        Also for a row that was set aside when its file was read.

    Raises
    ------
    EvidenceError
        If there is no such row.
    """
    of = batch(con, sale_key.partition(":")[0])
    found = sales_of(con, "sale_key = ?", [sale_key])
    if not len(found):
        return _never_a_sale(con, of, sale_key)
    sale = found.iloc[0]
    file, row = str(sale["file"]), int(sale["row"])
    try:
        cells, said = raw_cells(workspace, of, file, row), "The row as it came:"
    except EvidenceError as error:
        cells, said = {}, f"The row as it came can't be shown. {error}"
    book = evidence_book(con)
    own = next((s for s in book.set_aside if s.cells["sale_key"] == sale_key), None)
    place = f"({sale_key})"
    return SaleStory(
        sale_key=sale_key,
        batch=of,
        file=file,
        row=row,
        cells=cells,
        cells_from=said,
        read=_as_text(sale),
        corrections=history(con, sale_key),
        counts=own is None and of.status == "in use",
        why_not=own.faults if own else (),
        stands_for=tuple(
            s.cells["sale_key"] for s in book.set_aside if s.faults[0].got.endswith(place)
        ),
        other_sales=_other_sales(book, found),
    )


def _never_a_sale(con: duckdb.DuckDBPyConnection, of: Batch, sale_key: str) -> SaleStory:
    aside = dict(rows_set_aside(con, of.batch)).get(sale_key)
    if aside is None:
        raise EvidenceError(
            f"sale {sale_key}",
            "there is no such sale",
            remedy="Name it as batch:row, such as 1f60af764346:12",
        )
    return SaleStory(
        sale_key=sale_key,
        batch=of,
        file=aside.file,
        row=aside.row,
        cells=aside.cells,
        cells_from="The row as it came:",
        read={},
        corrections=(),
        counts=False,
        why_not=aside.faults,
        stands_for=(),
        other_sales=(),
    )


def _as_text(sale: pd.Series[Any]) -> dict[str, str]:
    out = {}
    for name in (*BY_FIELD, *BY_NAME, "statements"):
        value = sale[name]
        if isinstance(value, tuple):
            out[name] = "; ".join(value) or "none"
        elif isinstance(value, pd.Timestamp):
            out[name] = value.date().isoformat()
        elif value is not None and value == value:
            out[name] = f"{value:.10g}" if isinstance(value, float) else str(value)
    return out


def _other_sales(book: SalesBook, found: pd.DataFrame) -> tuple[str, ...]:
    both = pd.concat([found, book.table], ignore_index=True)
    codes = chassis_codes(both)
    same = (codes == codes[0]) & (codes >= 0)
    keys = both["sale_key"].to_numpy()
    return tuple(k for k in keys[same].tolist() if k != keys[0])

"""One file of sales, read: what of it goes into the evidence, and putting it there."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime

import duckdb
import pandas as pd

from valuation.evidence.batches import Batch
from valuation.evidence.keep import Kept, laid_out
from valuation.evidence.rows import add_sales
from valuation.evidence.workspace import Workspace
from valuation.importing.map_file import map_to_toml
from valuation.importing.sales import NO_CURRENCY, read_sales_and_maps
from valuation.records import Fault, SalesBook, SetAside

__all__ = ["ReadFile", "put_read_file", "read_kept", "rows_set_aside"]


@dataclass(frozen=True)
class ReadFile:
    """A file that was read: what of it goes into the evidence.

    Parameters
    ----------
    about : Kept
        How it was read, so that it can be read so again.
    book : SalesBook
        What was read; its table has ``sale_key`` and ``batch``.
    keys : tuple of str
        Key of each row that was set aside.
    source_map : str
        The complete map of its first table, as TOML.
    """

    about: Kept
    book: SalesBook
    keys: tuple[str, ...]
    source_map: str

    def batch(self, who: str, now: datetime) -> Batch:
        """Return the batch that it makes when somebody reads it in."""
        return Batch(
            batch=self.about.batch,
            kind="sales",
            file=self.about.file,
            sha256=self.about.sha256,
            rows=self.book.rows,
            accepted=len(self.book),
            set_aside=len(self.book.set_aside),
            read_at=now.astimezone(UTC),
            who=who,
            status="in use",
            reason="",
            currency=self.book.currency,
            dated=self.book.dated,
            notes=self.book.notes,
            source_map=self.source_map,
            reading=self.about.reading,
        )


def read_kept(workspace: Workspace, about: Kept, data: bytes, currency: str) -> ReadFile:
    """Read the content of a file under the name it came with.

    Parameters
    ----------
    workspace : Workspace
        In whose folder of unfinished work it is laid out.
    about : Kept
        Its name, and the map and rates it is read with.
    data : bytes
        Its content.
    currency : str
        What its amounts are brought to; empty or ``XXX`` leaves it to the file.

    Returns
    -------
    ReadFile
        What goes into the evidence.

    Raises
    ------
    SaleFileError
        If the file can't be read at all.
    MapError
        If the map does not fit.
    """
    with laid_out(workspace, about.file, data) as path:
        book, maps = read_sales_and_maps(
            path,
            source_map=about.source_map,
            rates=about.rates,
            currency=None if currency in ("", NO_CURRENCY) else currency,
        )
    named = "" if book.currency == NO_CURRENCY else book.currency
    about = replace(about, currency=named)
    table_number = {name: i for i, (name, _) in enumerate(maps)}
    where = book.table["file"].tolist(), book.table["row"].tolist()
    table = book.table.assign(
        batch=pd.Series([about.batch] * len(book), dtype=object),
        sale_key=pd.Series(_keys(about.batch, table_number, *where), dtype=object),
    )
    aside = book.set_aside
    keys = _keys(about.batch, table_number, [s.file for s in aside], [s.row for s in aside])
    return ReadFile(about, replace(book, table=table), tuple(keys), map_to_toml(maps[0][1]))


def _keys(
    batch: str, table_number: Mapping[str, int], files: Sequence[str], rows: Sequence[int]
) -> list[str]:
    """Name rows by batch and row; by table too from the second table of a workbook on."""
    prefixes = {f: f"{batch}:" + (f"{i + 1}-" if i else "") for f, i in table_number.items()}
    return [f"{prefixes[f]}{r}" for f, r in zip(files, rows, strict=True)]


def put_read_file(con: duckdb.DuckDBPyConnection, read: ReadFile) -> None:
    """Put the rows of a file in the place of those that an earlier reading of it left.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``writing``.
    read : ReadFile
        From :func:`read_kept`.
    """
    for table in ("sales", "rows_set_aside"):
        con.execute(f'DELETE FROM "{table}" WHERE batch = ?', [read.about.batch])
    add_sales(con, read.book.table)
    aside = read.book.set_aside
    frame = pd.DataFrame(
        {
            "batch": pd.Series([read.about.batch] * len(aside), dtype="str"),
            "sale_key": pd.Series(read.keys, dtype="str"),
            "file": pd.Series([s.file for s in aside], dtype="str"),
            "row": pd.Series([s.row for s in aside], dtype="int64"),
            "faults": pd.Series([_json([asdict(f) for f in s.faults]) for s in aside], dtype="str"),
            "cells": pd.Series([_json(dict(s.cells)) for s in aside], dtype="str"),
        }
    )
    con.register("coming_in", frame)
    con.execute("INSERT INTO rows_set_aside BY NAME SELECT * FROM coming_in")
    con.unregister("coming_in")


def _json(content: object) -> str:
    return json.dumps(content, ensure_ascii=False)


def rows_set_aside(con: duckdb.DuckDBPyConnection, batch: str) -> tuple[tuple[str, SetAside], ...]:
    """Return the rows of a batch that could not be used.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    batch : str
        The batch.

    Returns
    -------
    tuple of (str, SetAside)
        Key of each row, and the row with its reasons, in the order of the file.
    """
    found = con.execute(
        'SELECT sale_key, file, "row", faults, cells FROM rows_set_aside WHERE batch = ? '
        'ORDER BY file, "row"',
        [batch],
    ).fetchall()
    return tuple(
        (key, SetAside(file, row, tuple(Fault(**f) for f in json.loads(faults)), json.loads(cells)))
        for key, file, row, faults, cells in found
    )

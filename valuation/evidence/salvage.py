"""Every table that can be read, written to files of its own."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb

from valuation.errors import EvidenceError
from valuation.evidence.disk import fault_of
from valuation.evidence.examine import opened, rows_in
from valuation.evidence.workspace import Workspace
from valuation.files import write_in_one_step
from valuation.spreadsheets import guarded

__all__ = ["Saved", "save_tables"]

FORMAT = 1
_CHUNK = 10_000


@dataclass(frozen=True)
class Saved:
    """What could be saved of a database.

    Parameters
    ----------
    folder : str
        Where it was written.
    tables : mapping of str to int
        Rows that were saved, by table.
    lost : tuple of str
        What could not be read, in sentences.
    """

    folder: str
    tables: dict[str, int]
    lost: tuple[str, ...]

    def summary(self) -> str:
        """Return the result as text for people."""
        lines = [f"Saved in {self.folder}, each as .parquet, exact, and as .csv, to look at:"]
        lines += [f"  {name:<20} {n:,} rows" for name, n in self.tables.items()]
        if self.lost:
            lines += ["", "Not saved:", *(f"  - {said}" for said in self.lost)]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "folder": self.folder,
            "tables": self.tables,
            "lost": list(self.lost),
        }


def save_tables(
    workspace: Workspace,
    folder: Path,
    *,
    progress: Callable[[int, int, str], None] | None = None,
) -> Saved:
    """Write every table that can be read as Parquet, exact, and as CSV, to look at.

    Of a table with damaged columns the others are written; their rows stay in order.

    Parameters
    ----------
    workspace : Workspace
        Whose database, whole or damaged.
    folder : pathlib.Path
        Where to; made if it isn't there.
    progress : callable, optional
        Called with the tables that are done, all of them, and a word.

    Returns
    -------
    Saved
        What was written and what could not be read.

    Raises
    ------
    EvidenceError
        If the database can't be opened at all, or the folder can't be written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise EvidenceError(
            str(folder),
            "nothing can be saved there",
            got=error.strerror or type(error).__name__,
            remedy="Name a folder you may write to",
        ) from error
    try:
        return _save(workspace.database, folder, progress)
    except duckdb.Error as error:
        raise fault_of(error, workspace) from error


def _save(
    database: Path,
    folder: Path,
    progress: Callable[[int, int, str], None] | None,
) -> Saved:
    columns: dict[str, list[str]] = {}
    with opened(database) as con:
        for table, column in con.execute(
            "SELECT table_name, column_name FROM duckdb_columns() WHERE NOT internal "
            "AND database_name = current_database() ORDER BY table_name, column_index"
        ).fetchall():
            columns.setdefault(table, []).append(column)
    saved: dict[str, int] = {}
    lost: list[str] = []
    for i, (table, names) in enumerate(columns.items()):
        if progress:
            progress(i, len(columns), "saving")
        good = _readable(database, table, names)
        if len(good) < len(names):
            bad = ", ".join(n for n in names if n not in good)
            lost.append(f"{table}: these columns can't be read: {bad}.")
        if good:
            saved[table] = _write(database, folder, table, good)
    if progress:
        progress(len(columns), len(columns), "saving")
    return Saved(str(folder), saved, tuple(lost))


def _readable(database: Path, table: str, names: list[str]) -> list[str]:
    """Return the columns of a table that can be read to their end."""
    try:
        rows_in(database, table)
    except duckdb.Error:
        return [n for n in names if _can_be_read(database, table, n)]
    return names


def _can_be_read(database: Path, table: str, column: str) -> bool:
    try:
        rows_in(database, table, _quoted(column))
    except duckdb.Error:
        return False
    return True


def _write(database: Path, folder: Path, table: str, names: list[str]) -> int:
    chosen = f'SELECT {", ".join(_quoted(n) for n in names)} FROM "{table}" ORDER BY rowid'
    place = str(folder / f"{table}.parquet").replace("'", "''")
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(names)
    n = 0
    with opened(database) as con:
        con.execute(f"COPY ({chosen}) TO '{place}' (FORMAT parquet)")
        rows = con.execute(chosen)
        while chunk := rows.fetchmany(_CHUNK):
            writer.writerows([_cell(v) for v in row] for row in chunk)
            n += len(chunk)
    write_in_one_step(folder / f"{table}.csv", ("\ufeff" + out.getvalue()).encode(), what="table")
    return n


def _quoted(name: str) -> str:
    return f'"{name}"'


def _cell(value: Any) -> Any:
    """Return a value for a cell; no text runs as a formula."""
    if isinstance(value, list):
        value = "; ".join(map(str, value)) or "none"
    return guarded(value) if isinstance(value, str) else value

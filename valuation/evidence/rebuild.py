"""A new database from the kept files, the journal, and what a damaged one still tells."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb

from valuation.errors import EvidenceError, ValuationError
from valuation.evidence.batches import put_batch, put_stored
from valuation.evidence.disk import fault_of, too_new
from valuation.evidence.examine import opened
from valuation.evidence.journal import (
    Change,
    add_row,
    plain_row,
    read_change,
    sealed_changes,
    unfinished_changes,
    write_change,
)
from valuation.evidence.keep import batch_name, content_of, kept
from valuation.evidence.opening import OPTIONS, locked, make_database
from valuation.evidence.read_file import put_read_file, read_kept
from valuation.evidence.tables import BY_TABLE, TABLES, format_of
from valuation.evidence.tables import FORMAT as FORMAT_OF_DATABASE
from valuation.evidence.workspace import Workspace

__all__ = ["Rebuilt", "rebuild"]

FORMAT = 1
_ROW_TABLES = ("sales", "rows_set_aside")
Progress = Callable[[int, int, str], None]
Row = dict[str, Any]


@dataclass(frozen=True)
class Rebuilt:
    """What came of making the evidence again.

    Parameters
    ----------
    batches, sales, decisions : int
        What the new database holds.
    put_aside : str
        Name under which the old database was put aside, empty if there was none.
    lost : tuple of str
        What could not be brought back, in sentences.
    notes : tuple of str
        What is worth knowing, in sentences.
    """

    batches: int
    sales: int
    decisions: int
    put_aside: str
    lost: tuple[str, ...]
    notes: tuple[str, ...]

    def summary(self) -> str:
        """Return the result as text for people."""
        lines = [
            f"Made again: batches {self.batches:,}, sales {self.sales:,}, entries of the journal "
            f"{self.decisions:,}."
        ]
        if self.put_aside:
            lines.append(f"The old database was put aside as {self.put_aside}.")
        lines.append("Nothing was lost." if not self.lost else "Lost:")
        lines += [f"  - {said}" for said in self.lost]
        return "\n".join([*lines, *(f"  note: {said}" for said in self.notes)])

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "batches": self.batches,
            "sales": self.sales,
            "decisions": self.decisions,
            "put_aside": self.put_aside,
            "lost": list(self.lost),
            "notes": list(self.notes),
        }


@dataclass
class _Found:
    """What can still be told, by number of the change."""

    rows: dict[int, tuple[str, Row]] = field(default_factory=dict)
    in_journal: set[int] = field(default_factory=set)
    lost: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def rebuild(
    workspace: Workspace,
    *,
    who: str,
    now: datetime,
    wait: float = 10.0,
    progress: Progress | None = None,
) -> Rebuilt:
    """Make the evidence again, and put the old database aside.

    What people decided comes from the journal, and from the old database where the journal lacks
    it; sales are read again from the kept files, and taken from the old database where a file can't
    be read.

    Parameters
    ----------
    workspace : Workspace
        Which evidence.
    who : str
        Who does it.
    now : datetime.datetime
        When, with its time zone; it is part of the name under which the old database is put aside.
    wait : float
        Seconds to wait for somebody else.
    progress : callable, optional
        Called with the batches that are done, all of them, and a word.

    Returns
    -------
    Rebuilt
        What there is now and what could not be brought back.

    Raises
    ------
    EvidenceError
        If there is nothing to make it from, somebody else is at work, or the disk is full.
    """
    doing = "making the evidence again"
    with locked(workspace, who, now, wait, doing):
        _check_known(workspace)
        found = _gather(workspace)
        if not _last_readings(found):
            _take_all_copies(workspace, found, who, now)
        if not found.rows:
            raise EvidenceError(
                str(workspace.root),
                "there is nothing to make the evidence from",
                remedy="Bring the workspace back from a backup, or read the files in again",
            )
        new = workspace.database.with_suffix(".made-again")
        new.unlink(missing_ok=True)
        make_database(workspace, new)
        try:
            counts = _fill(workspace, new, found, progress)
            _complete_journal(workspace, found)
            aside = _swap(workspace, new, now)
        except (duckdb.Error, OSError) as error:
            raise fault_of(error, workspace) from error
    return Rebuilt(*counts, aside, tuple(found.lost), tuple(found.notes))


def _check_known(workspace: Workspace) -> None:
    """Refuse to make again what a newer version wrote."""
    if not workspace.database.exists():
        return
    with suppress(duckdb.Error), opened(workspace.database) as con:
        if format_of(con) > FORMAT_OF_DATABASE:
            raise too_new(workspace, f"format {format_of(con)}")


def _take_all_copies(workspace: Workspace, found: _Found, who: str, now: datetime) -> None:
    """Take every kept file for read in where nothing tells any more which of them were."""
    if not workspace.kept.is_dir():
        return
    for note in sorted(workspace.kept.glob("*.json")):
        sha256, reading = note.name.split(".")[:2]
        number = 1 + max(found.rows, default=0)
        row = {
            "number": number,
            "moment": now,
            "who": who,
            "batch": batch_name(sha256),
            "kind": "sales",
            "event": "read in",
            "status": "in use",
            "sha256": sha256,
            "reading": reading,
            "reason": "found among the kept files when the evidence was made again",
        }
        found.rows[number] = ("events", plain_row(row))
        found.notes.append(
            f"Nothing tells whether {note.name} was in use; it is now. Undo the batch if not."
        )


def _gather(workspace: Workspace) -> _Found:
    found = _Found()
    unfinished = unfinished_changes(workspace)
    for path in [*sealed_changes(workspace), *unfinished]:
        try:
            change = read_change(path)
            rows = {int(row["number"]): (table, row) for table, row in change.rows}
        except (EvidenceError, LookupError, ValueError, TypeError):
            found.notes.append(f"journal/{path.name} can't be read.")
            continue
        found.rows |= rows
        found.in_journal |= set(rows)
        if path in unfinished:
            found.notes.append(
                f"journal/{path.name}: its process ended before it was done; it counts now."
            )
    for number, entry in _from_database(workspace, found):
        found.rows.setdefault(number, entry)
    _say_gaps(found)
    return found


def _from_database(workspace: Workspace, found: _Found) -> Iterator[tuple[int, tuple[str, Row]]]:
    """Return what the old database still tells of what people decided."""
    if not workspace.database.exists():
        return
    for table in (t for t in TABLES if t.by_people):
        try:
            with opened(workspace.database) as con:
                got = con.execute(f'SELECT * FROM "{table.name}" ORDER BY number')
                names = [d[0] for d in got.description or ()]
                rows = got.fetchall()
        except duckdb.CatalogException:
            continue
        except duckdb.Error:
            found.notes.append(f"The table {table.name} of the old database can't be read.")
            continue
        for values in rows:
            row = plain_row(dict(zip(names, values, strict=True)))
            yield int(row["number"]), (table.name, row)


def _say_gaps(found: _Found) -> None:
    if not found.rows:
        return
    missing = sorted(set(range(1, max(found.rows) + 1)) - set(found.rows))
    if missing:
        numbers = ", ".join(map(str, missing[:5])) + (" and more" if len(missing) > 5 else "")
        found.lost.append(
            f"{len(missing)} of {max(found.rows)} entries of the journal (number {numbers})."
        )


def _fill(
    workspace: Workspace, new: Path, found: _Found, progress: Progress | None
) -> tuple[int, int, int]:
    con = duckdb.connect(str(new), config=OPTIONS)
    try:
        for number in sorted(found.rows):
            table, row = found.rows[number]
            if table in BY_TABLE:
                add_row(con, table, {n: v for n, v in row.items() if n in BY_TABLE[table].names})
            else:
                found.lost.append(f"Entry {number} of the journal: it knows no table {table}.")
        last = str(max(found.rows, default=0))
        con.execute("UPDATE meta SET value = ? WHERE key = 'changes'", [last])
        read_in = _last_readings(found)
        for i, event in enumerate(read_in.values()):
            if progress:
                progress(i, len(read_in), "reading again")
            _bring_back(con, workspace, event, found)
        if progress:
            progress(len(read_in), len(read_in), "reading again")
        counted = con.execute(
            "SELECT (SELECT count(*) FROM batches), (SELECT count(*) FROM sales)"
        ).fetchall()[0]
    finally:
        con.close()
    return int(counted[0]), int(counted[1]), len(found.rows)


def _last_readings(found: _Found) -> dict[str, Row]:
    """Return of each batch the event with which its file was last read in."""
    out: dict[str, Row] = {}
    for number in sorted(found.rows):
        table, row = found.rows[number]
        if table == "events" and row.get("event") == "read in":
            out[str(row["batch"])] = row
    return out


def _bring_back(
    con: duckdb.DuckDBPyConnection, workspace: Workspace, event: Row, found: _Found
) -> None:
    """Put a batch and its rows into the new database."""
    then = json.loads(event.get("about") or "{}")
    if event.get("kind") != "sales":
        put_stored(con, then)
        return
    try:
        about = kept(workspace, str(event["sha256"]), str(event["reading"]))
        read = read_kept(workspace, about, content_of(workspace, about), about.currency)
    except ValuationError as error:
        _from_old_rows(con, workspace, then, error, found)
        return
    put_read_file(con, read)
    made = read.batch(str(event["who"]), datetime.fromisoformat(str(event["moment"])))
    put_batch(con, made)
    before = int(then.get("accepted", made.accepted))
    if before != made.accepted:
        found.notes.append(
            f"Batch {made.batch}: {before:,} sales when it was read in, {made.accepted:,} now, as "
            "this version reads its file differently."
        )


def _from_old_rows(
    con: duckdb.DuckDBPyConnection,
    workspace: Workspace,
    then: Mapping[str, Any],
    why: ValuationError,
    found: _Found,
) -> None:
    """Take the rows of a batch whose file can't be read from the old database."""
    name, file = then.get("batch"), then.get("file")
    try:
        _copy_rows(con, workspace, str(name))
    except duckdb.Error:
        for table in _ROW_TABLES:
            con.execute(f'DELETE FROM "{table}" WHERE batch = ?', [name])
        found.lost.append(f"Batch {name} of {file}. {why}")
        return
    put_stored(con, then)
    found.notes.append(f"Batch {name} of {file} is taken from the old database. {why}")


def _copy_rows(con: duckdb.DuckDBPyConnection, workspace: Workspace, batch: str) -> None:
    if not workspace.database.exists():
        raise duckdb.IOException("there is no old database")
    place = str(workspace.database).replace("'", "''")
    # Attached anew for each batch: a damaged block that was refused once is passed as good later.
    con.execute(f"ATTACH '{place}' AS old (READ_ONLY)")
    try:
        for table in _ROW_TABLES:
            con.execute(
                f'INSERT INTO "{table}" BY NAME SELECT * FROM old."{table}" WHERE batch = ?',
                [batch],
            )
    finally:
        con.execute("DETACH old")


def _complete_journal(workspace: Workspace, found: _Found) -> None:
    """Write what only the old database told into the journal, and settle what was unfinished."""
    for path in unfinished_changes(workspace):
        path.replace(path.with_suffix(".json"))
    for number in sorted(set(found.rows) - found.in_journal):
        write_change(workspace, Change(number, (found.rows[number],)))


def _swap(workspace: Workspace, new: Path, now: datetime) -> str:
    """Put the new database in the place of the old one, which gets a name of its own."""
    old, name = workspace.database, ""
    wal = old.with_name(old.name + ".wal")
    if old.exists():
        aside = _free_name(old.with_name(f"evidence.put-aside-{now:%Y%m%d-%H%M%S}.duckdb"))
        name = aside.name
        if wal.exists():
            wal.replace(aside.with_name(aside.name + ".wal"))
        old.replace(aside)
    else:
        wal.unlink(missing_ok=True)
    new.replace(old)
    return name


def _free_name(path: Path) -> Path:
    """Return a path at which nothing stands yet."""
    tried, n = path, 1
    while tried.exists():
        n += 1
        tried = path.with_name(f"{path.stem}-{n}{path.suffix}")
    return tried

"""Short visits to the evidence: many readers, or one writer whose change is whole or not at all."""

from __future__ import annotations

import json
import os
import platform
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb
from filelock import FileLock, Timeout

from valuation.errors import EvidenceError
from valuation.evidence.disk import fault_of, is_disk_fault, too_new, write_whole
from valuation.evidence.journal import begin_change, seal, sealed_changes, settle_unfinished, utc
from valuation.evidence.tables import FORMAT, format_of, make_tables, show_all_columns
from valuation.evidence.workspace import Workspace

__all__ = [
    "OPTIONS",
    "holder_of",
    "in_use",
    "is_busy",
    "locked",
    "make_database",
    "reading",
    "writing",
]

Options = dict[str, str | bool | int | float | list[str]]
OPTIONS: Options = {"autoinstall_known_extensions": False, "autoload_known_extensions": False}
"""Nothing is fetched from anywhere."""

_PAUSE = 0.05


def holder_of(workspace: Workspace) -> dict[str, Any]:
    """Return the note of who holds the lock; empty if there is none that can be read."""
    try:
        note = json.loads(workspace.holder.read_bytes())
    except (OSError, ValueError):
        return {}
    return note if isinstance(note, dict) else {}


def in_use(workspace: Workspace, wait: float) -> EvidenceError:
    """Say that somebody else has the evidence, and did for the seconds that were waited."""
    note = holder_of(workspace)
    who = "somebody who reads it"
    # The note is our own where a reader, who leaves none, keeps the database.
    if note and note.get("process") != os.getpid():
        who = (
            f"{note.get('who')} on {note.get('host')} since {note.get('since')} UTC, "
            f"{note.get('doing')}, process {note.get('process')}"
        )
    return EvidenceError(
        str(workspace.database),
        "it is in use" + (f", and was for the {wait:g} seconds that were waited" if wait else ""),
        got=who,
        remedy="Do it again when that is done",
    )


def is_busy(error: Exception) -> bool:
    """Tell whether a database can't be opened only because somebody else has it open."""
    text = str(error)
    return "Could not set lock" in text or "different configuration" in text


def _connect(
    workspace: Workspace, deadline: float, wait: float, *, read_only: bool
) -> duckdb.DuckDBPyConnection:
    while True:
        try:
            return duckdb.connect(str(workspace.database), read_only=read_only, config=OPTIONS)
        except (duckdb.Error, OSError) as error:
            if not is_busy(error):
                raise fault_of(error, workspace) from error
            if time.monotonic() >= deadline:
                raise in_use(workspace, wait) from error
        time.sleep(_PAUSE)


def _check_format(con: duckdb.DuckDBPyConnection, workspace: Workspace) -> None:
    version = format_of(con)
    if version > FORMAT:
        raise too_new(workspace, f"format {version}, known is {FORMAT}")
    if version == 0:
        raise EvidenceError(
            str(workspace.database),
            "it is a database, but none of evidence",
            remedy="Name another folder as workspace",
        )


@contextmanager
def reading(workspace: Workspace, *, wait: float = 10.0) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the evidence to read it; nothing in the folder is changed.

    Parameters
    ----------
    workspace : Workspace
        Which evidence.
    wait : float
        Seconds to wait while somebody writes.

    Yields
    ------
    duckdb.DuckDBPyConnection
        For a short visit: while it is open, nobody can write.

    Raises
    ------
    EvidenceError
        If there is no evidence yet, somebody writes for longer, or the database can't be read.
    """
    if not workspace.database.exists():
        _check_never_there(workspace)
        raise EvidenceError(
            str(workspace.root),
            "there is no evidence in this workspace yet",
            remedy="Read in a first file: valuation import FILE",
        )
    con = _connect(workspace, time.monotonic() + wait, wait, read_only=True)
    try:
        _check_format(con, workspace)
        show_all_columns(con)
        yield con
    except duckdb.Error as error:
        if is_disk_fault(error):
            raise fault_of(error, workspace) from error
        raise
    finally:
        con.close()


@contextmanager
def writing(
    workspace: Workspace,
    *,
    who: str,
    now: datetime,
    wait: float = 10.0,
    doing: str = "changing the evidence",
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the evidence for one change, which is there whole or not at all.

    Parameters
    ----------
    workspace : Workspace
        Which evidence; made if there is none yet.
    who : str
        Who makes the change.
    now : datetime.datetime
        When, with its time zone.
    wait : float
        Seconds to wait while somebody else reads or writes.
    doing : str
        What is done, for whoever waits.

    Yields
    ------
    duckdb.DuckDBPyConnection
        Within a transaction, committed at the end and rolled back after an error.

    Raises
    ------
    EvidenceError
        If the folder is missing or can't be written to, somebody else has the evidence for longer,
        the disk is full, or the database can't be read.
    """
    deadline = time.monotonic() + wait
    with locked(workspace, who, now, wait, doing):
        try:
            if not workspace.database.exists():
                _check_never_there(workspace)
                make_database(workspace, workspace.database)
            con = _connect(workspace, deadline, wait, read_only=False)
            try:
                yield from _change(con, workspace)
            finally:
                con.close()
        except duckdb.Error as error:
            if is_disk_fault(error):
                raise fault_of(error, workspace) from error
            raise


def _change(
    con: duckdb.DuckDBPyConnection, workspace: Workspace
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Let one change happen on a connection: all of it, and its file of the journal, or nothing."""
    _check_format(con, workspace)
    make_tables(con)
    done = int(con.execute("SELECT value FROM meta WHERE key = 'changes'").fetchall()[0][0])
    settle_unfinished(workspace, done)
    sealed = sealed_changes(workspace)
    # A database brought back from a backup may be older than its journal: no number comes twice.
    begin_change(con, max(done, int(sealed[-1].stem) if sealed else 0))
    con.execute("BEGIN TRANSACTION")
    unfinished: Path | None = None
    try:
        yield con
        unfinished = seal(con, workspace)
        con.execute("COMMIT")
    except BaseException:
        if unfinished is not None:
            unfinished.unlink(missing_ok=True)
        raise
    if unfinished is not None:
        unfinished.replace(unfinished.with_suffix(".json"))


@contextmanager
def locked(
    workspace: Workspace, who: str, now: datetime, wait: float, doing: str
) -> Iterator[None]:
    """Hold the lock of a workspace, with a note beside it; as :func:`writing`."""
    if not workspace.root.is_dir():
        raise EvidenceError(
            str(workspace.root), "there is no such workspace", remedy="Check its name"
        )
    lock = FileLock(workspace.lock)
    try:
        lock.acquire(timeout=wait, poll_interval=_PAUSE)
    except Timeout as error:
        raise in_use(workspace, wait) from error
    except OSError as error:
        raise fault_of(error, workspace) from error
    try:
        _leave_note(workspace, who, now, doing)
        yield
    finally:
        workspace.holder.unlink(missing_ok=True)
        lock.release()


def _leave_note(workspace: Workspace, who: str, now: datetime, doing: str) -> None:
    note = {
        "who": who,
        "host": platform.node(),
        "process": os.getpid(),
        "since": utc(now).isoformat(sep=" ", timespec="seconds"),
        "doing": doing,
    }
    text = json.dumps(note, ensure_ascii=False, indent=1) + "\n"
    write_whole(workspace, workspace.holder, text.encode())


def _check_never_there(workspace: Workspace) -> None:
    if sealed_changes(workspace):
        raise EvidenceError(
            str(workspace.database),
            "the database is missing, though its journal is there",
            remedy="Bring it back from a backup, or make it again: valuation doctor --rebuild",
        )


def make_database(workspace: Workspace, place: Path) -> None:
    """Make an empty database beside its place and put it there whole.

    Parameters
    ----------
    workspace : Workspace
        Whose database.
    place : pathlib.Path
        Where it is to be.
    """
    new = place.with_suffix(f".new-{os.getpid()}")
    try:
        new.unlink(missing_ok=True)
        con = duckdb.connect(str(new), config=OPTIONS)
        try:
            make_tables(con)
        finally:
            con.close()
        new.replace(place)
    except OSError as error:
        raise fault_of(error, workspace) from error

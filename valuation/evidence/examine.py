"""Whether the evidence is whole: what is wrong with it, in sentences, and what can be read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
from filelock import FileLock, Timeout

from valuation.errors import EvidenceError
from valuation.evidence.disk import is_disk_fault
from valuation.evidence.examine_files import (
    Finding,
    look_at_copies,
    look_at_journal,
    look_at_leftovers,
)
from valuation.evidence.opening import OPTIONS, holder_of, in_use, is_busy
from valuation.evidence.tables import BY_TABLE, FORMAT, format_of, show_all_columns
from valuation.evidence.workspace import Workspace

__all__ = ["Diagnosis", "Part", "examine", "opened", "rows_in"]

REPORT_FORMAT = 1


@dataclass(frozen=True, slots=True)
class Part:
    """A table of the database, and whether it can be read.

    Parameters
    ----------
    table : str
        Its name.
    rows : int or None
        Rows in it, None if it can't be read as a whole.
    fault : str
        Why it can't be read, empty if it can.
    """

    table: str
    rows: int | None
    fault: str = ""


@dataclass(frozen=True)
class Diagnosis:
    """What is wrong with the evidence of a workspace.

    Parameters
    ----------
    findings : tuple of Finding
        Faults first, then what is only worth knowing.
    parts : tuple of Part
        Every table of the database; empty if it can't be opened.
    """

    findings: tuple[Finding, ...]
    parts: tuple[Part, ...]

    @property
    def faults(self) -> tuple[Finding, ...]:
        """What has to be mended."""
        return tuple(f for f in self.findings if f.is_fault)

    def summary(self) -> str:
        """Return the diagnosis as text for people."""
        n = len(self.faults)
        said = "1 fault" if n == 1 else f"{n} faults"
        lines = [f"The evidence has {said}." if n else "The evidence is whole."]
        for title, of in (("Faults:", self.faults), ("Worth knowing:", self._remarks())):
            if of:
                lines += ["", title, *(f"  - {f.sentence} {f.remedy}." for f in of)]
        if self.parts:
            lines += ["", "Tables:"]
            lines += [f"  {p.table:<20} {self._readable(p)}" for p in self.parts]
        return "\n".join(lines)

    def _remarks(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if not f.is_fault)

    @staticmethod
    def _readable(part: Part) -> str:
        if part.rows is None:
            return f"can't be read: {part.fault}"
        return "1 row" if part.rows == 1 else f"{part.rows:,} rows"

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": REPORT_FORMAT,
            "whole": not self.faults,
            "findings": [
                {"fault": f.is_fault, "sentence": f.sentence, "remedy": f.remedy}
                for f in self.findings
            ],
            "tables": [{"table": p.table, "rows": p.rows, "fault": p.fault} for p in self.parts],
        }


def first_line(error: Exception) -> str:
    """Return what an error says, in one line."""
    return str(error).split("\n", 1)[0]


@contextmanager
def opened(path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open a database that may be damaged, to read it.

    Raises
    ------
    duckdb.Error
        If it can't be opened.
    """
    con = duckdb.connect(str(path), read_only=True, config=OPTIONS)
    try:
        yield con
    finally:
        con.close()


def examine(workspace: Workspace) -> Diagnosis:
    """Find out whether the evidence of a workspace is whole; nothing is changed.

    Parameters
    ----------
    workspace : Workspace
        Which evidence.

    Returns
    -------
    Diagnosis
        What is wrong and what can be read.

    Raises
    ------
    EvidenceError
        If somebody is changing it right now.
    """
    findings = list(_look_at_lock(workspace))
    findings += look_at_leftovers(workspace)
    parts: tuple[Part, ...] = ()
    if not workspace.database.exists():
        findings += _look_at_missing(workspace)
        return Diagnosis(_in_order(findings), parts)
    try:
        parts = _parts(workspace.database)
        with opened(workspace.database) as con:
            findings += _look_at_tables(con, parts)
            if all(p.rows is not None for p in parts):
                show_all_columns(con)
                findings += look_at_copies(con, workspace)
                findings += look_at_journal(con, workspace)
    except duckdb.Error as error:
        if is_busy(error):
            raise in_use(workspace, 0) from error
        if not is_disk_fault(error):
            raise
        findings.append(
            Finding(
                True,
                f"The database can't be opened: {first_line(error)}.",
                "Make it again from the kept files and the journal: valuation doctor --rebuild",
            )
        )
    return Diagnosis(_in_order(findings), parts)


def _in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(findings, key=lambda f: not f.is_fault))


def _look_at_lock(workspace: Workspace) -> Iterator[Finding]:
    note = holder_of(workspace)
    if not note:
        return
    try:
        with FileLock(workspace.lock).acquire(timeout=0):
            pass
    except Timeout:
        raise EvidenceError(
            str(workspace.root),
            "somebody is changing the evidence right now",
            got=f"{note.get('who')} on {note.get('host')}, {note.get('doing')}",
            remedy="Do it again when that is done",
        ) from None
    except OSError:
        return
    yield Finding(
        False,
        f"A process of {note.get('who')} on {note.get('host')} ended in the middle of "
        f"{note.get('doing')}, begun on {note.get('since')} UTC; what it had not finished does not "
        "count.",
        "Do that again",
    )


def _look_at_missing(workspace: Workspace) -> Iterator[Finding]:
    there = [p for p in (workspace.journal, workspace.kept) if p.is_dir() and any(p.iterdir())]
    if there:
        yield Finding(
            True,
            f"The database is missing, though {' and '.join(p.name for p in there)} are there.",
            "Bring it back from a backup, or make it again: valuation doctor --rebuild",
        )
    else:
        yield Finding(False, "There is no evidence yet.", "Read in a first file: valuation import")


def _parts(database: Path) -> tuple[Part, ...]:
    with opened(database) as con:
        found = con.execute(
            "SELECT table_name FROM duckdb_tables() WHERE database_name = current_database() "
            "AND schema_name = 'main' ORDER BY table_name"
        ).fetchall()
    return tuple(_part(database, name) for (name,) in found)


def _part(database: Path, name: str) -> Part:
    try:
        return Part(name, rows_in(database, name))
    except duckdb.Error as error:
        return Part(name, None, first_line(error))


def rows_in(database: Path, table: str, what: str = "t") -> int:
    """Read a table, or one of its columns, to its end and return how many rows it has.

    Every block has a sum that is checked when it is first read from the disk, and only then: a
    block that failed is passed as good by the next who asks.  So each part is read on a connection
    of its own.

    Raises
    ------
    duckdb.Error
        If any of it is damaged.
    """
    with opened(database) as con:
        found = con.execute(f'SELECT count(*), bit_xor(hash({what})) FROM "{table}" t').fetchall()
    return int(found[0][0])


def _look_at_tables(con: duckdb.DuckDBPyConnection, parts: tuple[Part, ...]) -> Iterator[Finding]:
    mend = "Save what can be read with --save DIR, then make it again: valuation doctor --rebuild"
    for part in parts:
        if part.rows is None:
            yield Finding(True, f"The table {part.table} can't be read: {part.fault}.", mend)
    unknown = [p.table for p in parts if p.table not in BY_TABLE]
    if any(p.rows is None for p in parts):
        return
    version = format_of(con)
    if version > FORMAT or version == 0:
        yield Finding(
            True,
            "The database is of a newer version of this program or none of evidence.",
            "Bring this program up to date, or name another workspace",
        )
    elif unknown:
        yield Finding(
            False,
            f"The database holds tables that this version doesn't know: {', '.join(unknown)}.",
            "Nothing to do; they stay as they are",
        )

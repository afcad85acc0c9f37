"""What people decided, kept twice: in the database, and as small files from which it comes back.

Every change by a person is one row or several in tables that only grow.  Within the same write the
rows also go into one file of the folder ``journal``.  The database is what counts; the files are
read only when a damaged one has to be made again.

The file is written before the database commits, under a name that says so, and gets its final name
after.  A process that ends in between leaves a file whose number tells whether its change counts.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb

from valuation.errors import EvidenceError
from valuation.evidence.disk import write_whole
from valuation.evidence.tables import BY_TABLE
from valuation.evidence.workspace import Workspace

__all__ = [
    "Change",
    "add_row",
    "begin_change",
    "plain_row",
    "read_change",
    "record",
    "seal",
    "sealed_changes",
    "settle_unfinished",
    "unfinished_changes",
    "utc",
    "write_change",
]

FORMAT = 1
_UNFINISHED = ".unfinished"


@dataclass(frozen=True, slots=True)
class Change:
    """One change as the journal has it.

    Parameters
    ----------
    number : int
        Number of its last row.
    rows : tuple of (str, dict)
        Table and row of everything it added.
    """

    number: int
    rows: tuple[tuple[str, dict[str, Any]], ...]


def utc(moment: datetime) -> datetime:
    """Return a moment in coordinated universal time without its zone, as the database keeps it.

    Raises
    ------
    ValueError
        If it has no time zone.
    """
    if moment.tzinfo is None:
        raise ValueError(f"a moment needs a time zone (got: {moment})")
    return moment.astimezone(UTC).replace(tzinfo=None)


def _plain(value: Any) -> Any:
    """Return a value as JSON has it, and as the database casts it back."""
    if isinstance(value, datetime):
        return (utc(value) if value.tzinfo else value).isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    return list(value) if isinstance(value, tuple) else value


def plain_row(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a row of plain values, as the journal has it."""
    return {name: _plain(value) for name, value in row.items()}


def begin_change(con: duckdb.DuckDBPyConnection, last: int) -> None:
    """Let what will be recorded on a connection be numbered from the one after `last`."""
    con.execute(
        "CREATE OR REPLACE TEMP TABLE change_rows "
        "(number BIGINT, table_name VARCHAR, content VARCHAR)"
    )
    con.execute("INSERT INTO change_rows VALUES (?, NULL, NULL)", [last])


def record(
    con: duckdb.DuckDBPyConnection,
    table: str,
    row: Mapping[str, Any],
    *,
    who: str,
    now: datetime,
) -> int:
    """Add a row that a person is behind: to its table, and to the journal of this write.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``writing``.
    table : str
        A table declared with ``by_people=True``.
    row : mapping of str to object
        Its values beside ``number``, ``moment`` and ``who``: text, numbers, truth values, dates,
        moments, exact amounts, lists of text, or None.  Columns that are not named stay empty.
    who : str
        Who made the change.
    now : datetime.datetime
        When, with its time zone.

    Returns
    -------
    int
        Number of the row among all that people are behind.
    """
    if not BY_TABLE[table].by_people:
        raise ValueError(f"record: rows of this table come from files (got: {table})")
    number = 1 + _last_number(con)
    full = {"number": number, "moment": utc(now), "who": who, **row}
    plain = plain_row(full)
    add_row(con, table, plain)
    con.execute(
        "INSERT INTO change_rows VALUES (?, ?, ?)",
        [number, table, json.dumps(plain, ensure_ascii=False, allow_nan=False)],
    )
    return number


def _last_number(con: duckdb.DuckDBPyConnection) -> int:
    return int(con.execute("SELECT max(number) FROM change_rows").fetchall()[0][0])


def add_row(con: duckdb.DuckDBPyConnection, table: str, row: Mapping[str, Any]) -> None:
    """Add a row of plain values to a table."""
    names = ", ".join(f'"{n}"' for n in row)
    marks = ", ".join("?" for _ in row)
    con.execute(f'INSERT INTO "{table}" ({names}) VALUES ({marks})', list(row.values()))


def _path(workspace: Workspace, number: int) -> Path:
    return workspace.journal / f"{number:08d}.json"


def seal(con: duckdb.DuckDBPyConnection, workspace: Workspace) -> Path | None:
    """Write what was recorded since :func:`begin_change` under its unfinished name.

    Returns
    -------
    pathlib.Path or None
        The file, to get its final name once the database has committed; None if nothing was
        recorded.
    """
    rows = con.execute(
        "SELECT table_name, content FROM change_rows WHERE table_name IS NOT NULL ORDER BY number"
    ).fetchall()
    if not rows:
        return None
    number = _last_number(con)
    con.execute("UPDATE meta SET value = ? WHERE key = 'changes'", [str(number)])
    change = Change(number, tuple((table, json.loads(content)) for table, content in rows))
    return write_change(workspace, change, ending=_UNFINISHED)


def write_change(workspace: Workspace, change: Change, *, ending: str = ".json") -> Path:
    """Write one file of the journal and return it."""
    content = {
        "format": FORMAT,
        "number": change.number,
        "rows": [{"table": table, "row": row} for table, row in change.rows],
    }
    text = json.dumps(content, ensure_ascii=False, indent=1) + "\n"
    path = _path(workspace, change.number).with_suffix(ending)
    return write_whole(workspace, path, text.encode())


def sealed_changes(workspace: Workspace) -> list[Path]:
    """Return the files of finished changes, in order."""
    return sorted(workspace.journal.glob("[0-9]*.json"))


def unfinished_changes(workspace: Workspace) -> list[Path]:
    """Return the files of changes of which it is not known here whether they were finished."""
    return sorted(workspace.journal.glob(f"[0-9]*{_UNFINISHED}"))


def settle_unfinished(workspace: Workspace, done: int) -> None:
    """Give files that an ended process left their final name, or take them away.

    Parameters
    ----------
    workspace : Workspace
        Its journal.
    done : int
        Number of the last change that the database has.
    """
    for path in unfinished_changes(workspace):
        if int(path.stem) <= done:
            path.replace(path.with_suffix(".json"))
        else:
            # The database never had it, so nobody was told that it was done.
            path.unlink()


def read_change(path: Path) -> Change:
    """Read one file of the journal.

    Raises
    ------
    EvidenceError
        If it can't be read.
    """
    try:
        content = json.loads(path.read_bytes())
        rows = tuple((str(e["table"]), dict(e["row"])) for e in content["rows"])
        return Change(int(content["number"]), rows)
    except (OSError, ValueError, LookupError, TypeError) as error:
        raise EvidenceError(
            f"journal/{path.name}",
            "the change can't be read",
            got=type(error).__name__,
            remedy="Bring the file back from a backup, or go on without this change",
        ) from error

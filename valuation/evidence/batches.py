"""Batches: the files that were read in, and what was decided about each."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Literal

import duckdb

from valuation.errors import EvidenceError
from valuation.evidence.journal import add_row, record
from valuation.evidence.tables import BY_TABLE
from valuation.importing.sales import NO_CURRENCY

__all__ = [
    "Batch",
    "Kind",
    "Status",
    "accept_batch",
    "batch",
    "batches",
    "check_currency",
    "currency_of",
    "enter_batch",
    "hold_batch",
    "put_batch",
    "put_stored",
    "restore_batch",
    "undo_batch",
]

Kind = Literal["sales", "ledger", "said"]
Status = Literal["in use", "held", "undone"]

FORMAT = 1


@dataclass(frozen=True, slots=True)
class Batch:
    """A file that was read in.

    Parameters
    ----------
    batch : str
        First twelve digits of the hash of the file.
    kind : {"sales", "ledger", "said"}
        What it holds.
    file : str
        Name under which it came.
    sha256 : str
        Hash of its content.
    rows, accepted, set_aside : int
        Data rows, and how many of them can be used and can't.
    read_at : datetime.datetime
        When it was first read in, in coordinated universal time.
    who : str
        Who read it in first.
    status : {"in use", "held", "undone"}
        Whether its rows count.
    reason : str
        Why it has that status, empty for a batch that was merely read in.
    currency : str
        Currency of its amounts; ``XXX`` if nothing names one.
    dated : bool
        Whether its rows have dates.
    notes : tuple of str
        What was noticed when it was read, in sentences.
    source_map : str
        How its columns were read, as TOML.
    reading : str
        Which way of reading the kept file.
    """

    batch: str
    kind: Kind
    file: str
    sha256: str
    rows: int
    accepted: int
    set_aside: int
    read_at: datetime
    who: str
    status: Status
    reason: str
    currency: str
    dated: bool
    notes: tuple[str, ...]
    source_map: str
    reading: str

    def summary(self) -> str:
        """Return one line for people."""
        why = f" ({self.reason})" if self.reason else ""
        return (
            f"{self.batch}  {self.read_at:%Y-%m-%d %H:%M}  {self.kind:<6}  {self.status:<6}  "
            f"{self.accepted:,} of {self.rows:,} rows  {self.file}, read in by {self.who}{why}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "batch": self.batch,
            "kind": self.kind,
            "file": self.file,
            "sha256": self.sha256,
            "rows": self.rows,
            "accepted": self.accepted,
            "set_aside": self.set_aside,
            "read_at": self.read_at.isoformat(),
            "who": self.who,
            "status": self.status,
            "reason": self.reason,
            "currency": self.currency,
            "dated": self.dated,
            "notes": list(self.notes),
            "source_map": self.source_map,
        }


_BATCHES = """
    SELECT b.batch, b.kind, b.file, b.sha256, b.rows, b.accepted, b.set_aside,
           f.moment, f.who, l.status, l.reason, b.currency, b.dated, b.notes, b.source_map,
           b.reading
    FROM batches b
    JOIN (SELECT batch, min(number) AS number, arg_min(moment, number) AS moment,
                 arg_min(who, number) AS who
          FROM events GROUP BY batch) f USING (batch)
    JOIN (SELECT batch, arg_max(status, number) AS status,
                 arg_max(coalesce(reason, ''), number) AS reason
          FROM events GROUP BY batch) l USING (batch)
"""


def _made(row: Sequence[Any]) -> Batch:
    fields = list(row)
    fields[7] = row[7].replace(tzinfo=UTC)
    fields[13] = tuple(row[13] or ())
    return Batch(*fields)


def batches(con: duckdb.DuckDBPyConnection, *, kind: Kind | None = None) -> tuple[Batch, ...]:
    """Return every batch, the one read in first coming first.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    kind : {"sales", "ledger", "said"}, optional
        Only batches of this kind.
    """
    found = con.execute(
        f"{_BATCHES} WHERE ? IS NULL OR b.kind = ? ORDER BY f.number", [kind, kind]
    ).fetchall()
    return tuple(map(_made, found))


def batch(con: duckdb.DuckDBPyConnection, name: str) -> Batch:
    """Return one batch.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    name : str
        Its name, or the first digits if no other begins with them.

    Raises
    ------
    EvidenceError
        If there is none of that name, or several.
    """
    asked = name.strip().lower()
    found = con.execute(f"{_BATCHES} WHERE starts_with(b.batch, ?)", [asked]).fetchall()
    if len(found) != 1 or not asked:
        raise EvidenceError(
            "batch",
            "several batches begin so" if found and asked else "there is no such batch",
            got=name,
            remedy="See them all with: valuation batches",
        )
    return _made(found[0])


def put_batch(con: duckdb.DuckDBPyConnection, made: Batch) -> None:
    """Put what is known of a batch in the place of what an earlier reading of the file left."""
    put_stored(con, _stored(made))


def _stored(made: Batch) -> dict[str, Any]:
    """Return what the table of batches holds of one, as JSON has it."""
    values = {name: getattr(made, name) for name in BY_TABLE["batches"].names}
    return values | {"notes": list(made.notes)}


def put_stored(con: duckdb.DuckDBPyConnection, values: Mapping[str, Any]) -> None:
    """Put a row of the table of batches in the place of an earlier one; as :func:`put_batch`."""
    con.execute("DELETE FROM batches WHERE batch = ?", [values["batch"]])
    add_row(con, "batches", values)


def enter_batch(con: duckdb.DuckDBPyConnection, made: Batch, *, who: str, now: datetime) -> Batch:
    """Add a batch that was read in; its rows are added by whoever read it.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``writing``.
    made : Batch
        The batch; its status and reason are those it has from then on.
    who : str
        Who read it in.
    now : datetime.datetime
        When.

    Returns
    -------
    Batch
        As it is on record; first read in earlier if the file had been a batch before.
    """
    put_batch(con, made)
    row = {"batch": made.batch, "kind": made.kind, "event": "read in", "status": made.status}
    more = {
        "sha256": made.sha256,
        "reading": made.reading,
        "about": json.dumps(_stored(made), ensure_ascii=False),
        "reason": made.reason,
    }
    record(con, "events", row | more, who=who, now=now)
    return batch(con, made.batch)


def currency_of(con: duckdb.DuckDBPyConnection) -> str:
    """Return the currency of the sales, that of batches that aren't undone; ``XXX`` if unnamed."""
    named = {b.currency for b in batches(con, kind="sales") if b.status != "undone"}
    named -= {NO_CURRENCY, ""}
    return min(named) if named else NO_CURRENCY


def check_currency(con: duckdb.DuckDBPyConnection, currency: str, file: str) -> None:
    """Refuse amounts of another currency than that of the evidence.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    currency : str
        Currency of the amounts; an unnamed one goes with any.
    file : str
        Where they come from, for the message.

    Raises
    ------
    EvidenceError
        If both are named and differ.
    """
    of_all = currency_of(con)
    if NO_CURRENCY not in (currency, of_all) and currency != of_all:
        raise EvidenceError(
            file,
            f"its amounts would be in another currency than the evidence, which is in {of_all}",
            got=currency,
            remedy=f"Read it in {of_all} with a table of rates, or keep it in another workspace",
        )


def undo_batch(
    con: duckdb.DuckDBPyConnection, name: str, *, reason: str, who: str, now: datetime
) -> Batch:
    """Take a batch out of use.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``writing``.
    name : str
        The batch.
    reason : str
        Why.
    who : str
        Who decided it.
    now : datetime.datetime
        When.

    Returns
    -------
    Batch
        As it is from then on.

    Raises
    ------
    EvidenceError
        If there is no such batch, no reason, or the batch is undone already.
    """
    return _decide(con, name, "undone", "undone", ("in use", "held"), reason, who, now)


def hold_batch(
    con: duckdb.DuckDBPyConnection, name: str, *, reason: str, who: str, now: datetime
) -> Batch:
    """Keep a batch in use out of it until somebody accepts it; as :func:`undo_batch`."""
    return _decide(con, name, "held", "held", ("in use",), reason, who, now)


def accept_batch(
    con: duckdb.DuckDBPyConnection, name: str, *, reason: str, who: str, now: datetime
) -> Batch:
    """Take a held batch into use; as :func:`undo_batch`."""
    return _decide(con, name, "accepted", "in use", ("held",), reason, who, now)


def restore_batch(
    con: duckdb.DuckDBPyConnection, name: str, *, reason: str, who: str, now: datetime
) -> Batch:
    """Take an undone batch into use again; as :func:`undo_batch`."""
    found = batch(con, name)
    if found.status == "undone" and found.kind == "sales":
        check_currency(con, found.currency, found.file)
    return _decide(con, name, "restored", "in use", ("undone",), reason, who, now)


def _decide(
    con: duckdb.DuckDBPyConnection,
    name: str,
    event: str,
    status: Status,
    before: tuple[Status, ...],
    reason: str,
    who: str,
    now: datetime,
) -> Batch:
    found = batch(con, name)
    if not reason.strip():
        raise EvidenceError(
            f"batch {found.batch}", "a decision needs a reason", remedy="Say why with --reason"
        )
    if found.status not in before:
        raise EvidenceError(
            f"batch {found.batch}",
            f"it can't be {event}, as it is not {' or '.join(before)}",
            got=found.status,
            remedy="See what was decided with: valuation batches",
        )
    row = {"batch": found.batch, "kind": found.kind, "event": event, "status": status}
    record(con, "events", row | {"reason": reason.strip()}, who=who, now=now)
    return batch(con, found.batch)

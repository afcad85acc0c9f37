"""Files of the stock ledger into the evidence: each whole or not at all, none twice, undoable."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import duckdb

from valuation.errors import LedgerFileError
from valuation.evidence.batches import Batch, batches, enter_batch, restore_batch
from valuation.evidence.journal import record
from valuation.evidence.keep import batch_name, hash_of
from valuation.evidence.ledger_cars import Entry, stock_cars
from valuation.evidence.opening import reading, writing
from valuation.evidence.workspace import Workspace
from valuation.importing.ledger import LedgerFile, read_ledger_data
from valuation.records import Fault, SetAside
from valuation.results.ledger import CarMark, Ledger, StockEvent

__all__ = ["LedgerImport", "LedgerResult", "import_ledger", "ledger_of", "ledger_rows_set_aside"]

FORMAT = 1


@dataclass(frozen=True)
class LedgerResult:
    """What became of one file of the ledger.

    Parameters
    ----------
    file : str
        Its name.
    outcome : {"new", "known", "restored", "refused"}
        A new batch, one that was there, one that was undone and counts again, or a file that
        can't be read.
    batch : Batch or None
        The batch, None if the file was refused.
    set_aside : tuple of SetAside
        Rows that can't be used, with all their reasons; empty for a known file.
    fault : str
        Why it was refused, as a sentence.
    """

    file: str
    outcome: str
    batch: Batch | None
    set_aside: tuple[SetAside, ...] = ()
    fault: str = ""

    def summary(self) -> str:
        """Return what became of the file as text for people."""
        if self.batch is None:
            return f"Not read in: {self.fault}"
        b = self.batch
        if self.outcome == "known":
            return (
                f"{self.file}: nothing added; it is batch {b.batch}, read in on "
                f"{b.read_at:%d %B %Y} by {b.who} as {b.file}, {b.status}."
            )
        said = "counts again as" if self.outcome == "restored" else "read in as"
        lines = [
            f"{self.file}: {said} batch {b.batch}: {b.rows:,} rows, {b.accepted:,} accepted, "
            f"{b.set_aside:,} set aside."
        ]
        for row in self.set_aside:
            lines += [f"  row {row.row}: {_fault_words(f)}" for f in row.faults]
        return "\n".join([*lines, *(f"  - {note}" for note in b.notes)])

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "file": self.file,
            "outcome": self.outcome,
            "batch": self.batch.to_dict() if self.batch else None,
            "set_aside": [_aside_dict(row) for row in self.set_aside],
            "fault": self.fault,
        }


def _fault_words(fault: Fault) -> str:
    where = f"{fault.column}: " if fault.column else ""
    got = f" ({fault.got})" if fault.got else ""
    return f"{where}{fault.code}{got}. {fault.remedy}."


@dataclass(frozen=True)
class LedgerImport:
    """What became of files of the ledger.

    Parameters
    ----------
    files : tuple of LedgerResult
        One each, in the order in which they were named.
    """

    files: tuple[LedgerResult, ...] = field(default=())

    @property
    def refused(self) -> tuple[LedgerResult, ...]:
        """Files that can't be read."""
        return tuple(f for f in self.files if f.outcome == "refused")

    def summary(self) -> str:
        """Return the result as text for people."""
        return "\n".join(f.summary() for f in self.files)

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {"format": FORMAT, "files": [f.to_dict() for f in self.files]}


def import_ledger(
    workspace: Workspace,
    files: Sequence[str | Path],
    *,
    currency: str = "",
    who: str,
    now: datetime,
    restore: bool = True,
    wait: float = 10.0,
) -> LedgerImport:
    """Read files of the stock ledger into the evidence.

    A file is known by the hash of its content; the same content again adds nothing.  What was read
    is kept and the file is not: it may name customers.

    Parameters
    ----------
    workspace : Workspace
        Where to.
    files : sequence of path
        Files of the ledger.
    currency : str, optional
        Currency of amounts for which a file names none.
    who : str
        Who reads them in.
    now : datetime.datetime
        When, with its time zone; entries dated after it are set aside.
    restore : bool
        Whether an undone batch counts again when its file is named; not so for a folder that is
        read in over and over, in which an undone file still lies.
    wait : float
        Seconds to wait for somebody else who writes.

    Returns
    -------
    LedgerImport
        What became of each.  A file that can't be read is refused and hinders no other.

    Raises
    ------
    EvidenceError
        If the evidence can't be changed.
    """
    done = []
    for path in map(Path, files):
        try:
            done.append(_import_file(workspace, path, currency, who, now, wait, restore=restore))
        except LedgerFileError as error:
            done.append(LedgerResult(path.name, "refused", None, fault=str(error)))
    return LedgerImport(tuple(done))


def _import_file(
    workspace: Workspace,
    path: Path,
    currency: str,
    who: str,
    now: datetime,
    wait: float,
    *,
    restore: bool,
) -> LedgerResult:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise LedgerFileError(
            path.name,
            "it can't be read",
            got=error.strerror or type(error).__name__,
            remedy="Check the name and that the file is whole",
        ) from error
    sha = hash_of(data)
    if workspace.database.exists():
        with reading(workspace, wait=wait) as con:
            known = _known(con, sha)
        if known and (known.status != "undone" or not restore):
            return LedgerResult(path.name, "known", known)
    read = read_ledger_data(path.name, data, today=now.date(), currency=currency)
    with writing(workspace, who=who, now=now, wait=wait, doing=f"reading in {path.name}") as con:
        known = _known(con, sha)
        if known and (known.status != "undone" or not restore):
            # Somebody else read it in while we read it.
            return LedgerResult(path.name, "known", known)
        if known:
            again = restore_batch(con, known.batch, reason="read in again", who=who, now=now)
            return LedgerResult(path.name, "restored", again, ledger_rows_set_aside(con, sha))
        entered = _enter(con, read, sha, who=who, now=now)
    return LedgerResult(path.name, "new", entered, read.set_aside)


def _known(con: duckdb.DuckDBPyConnection, sha256: str) -> Batch | None:
    return next((b for b in batches(con, kind="ledger") if b.sha256 == sha256), None)


def _enter(
    con: duckdb.DuckDBPyConnection, read: LedgerFile, sha: str, *, who: str, now: datetime
) -> Batch:
    name = batch_name(sha)
    content = {
        "batch": name,
        "file": read.file,
        "sha256": sha,
        "rows": read.rows,
        "accepted": read.accepted,
        "entries": json.dumps([_entry_dict(*e) for e in read.entries], ensure_ascii=False),
        "set_aside": json.dumps([_kept_aside(r) for r in read.set_aside], ensure_ascii=False),
        "notes": list(read.notes),
    }
    record(con, "ledger_files", content, who=who, now=now)
    made = Batch(
        batch=name,
        kind="ledger",
        file=read.file,
        sha256=sha,
        rows=read.rows,
        accepted=read.accepted,
        set_aside=len(read.set_aside),
        read_at=now,
        who=who,
        status="in use",
        reason="",
        # A ledger may hold several; the currency of the evidence is that of its sales.
        currency="",
        dated=True,
        notes=read.notes,
        source_map="",
        reading="",
    )
    enter_batch(con, made, who=who, now=now)
    return made


def _entry_dict(mark: CarMark, event: StockEvent) -> dict[str, Any]:
    """Return an event with its car, without what says nothing."""
    out = {**asdict(mark), **asdict(event)}
    out["on"] = event.on.isoformat() if event.on else None
    out["amount"] = None if event.amount is None else str(event.amount)
    return {key: value for key, value in out.items() if value not in ("", None)}


def _entry(content: Mapping[str, Any], batch: str, order: int) -> Entry:
    texts = {n: str(content.get(n, "")) for n in _MARK_TEXTS}
    year = content.get("year")
    mark = CarMark(**texts, year=None if year is None else int(year))
    on, amount = content.get("on"), content.get("amount")
    event = StockEvent(
        event=str(content["event"]),
        on=None if on is None else date.fromisoformat(on),
        amount=None if amount is None else Decimal(amount),
        **{n: str(content.get(n, "")) for n in _EVENT_TEXTS},
        batch=batch,
        row=int(content.get("row", 0)),
    )
    return Entry(mark, event, order)


_MARK_TEXTS = ("stock", "chassis", "make", "model", "title")
_EVENT_TEXTS = ("currency", "what", "part", "basis", "channel", "venue", "lot", "party")


def _aside_dict(row: SetAside) -> dict[str, Any]:
    return {
        "file": row.file,
        "row": row.row,
        "faults": [asdict(f) for f in row.faults],
        "cells": dict(row.cells),
    }


def _kept_aside(row: SetAside) -> dict[str, Any]:
    """Return a row as it is kept: what stood in the place of an event may name a person."""
    told = _aside_dict(row)
    for fault in told["faults"]:
        if fault["code"] == "unknown event":
            fault["got"] = ""
    return told


def ledger_rows_set_aside(con: duckdb.DuckDBPyConnection, batch: str) -> tuple[SetAside, ...]:
    """Return the rows of a batch of the ledger that can't be used.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    batch : str
        Name of the batch, or the hash of its file.
    """
    found = con.execute(
        "SELECT set_aside FROM ledger_files WHERE batch = ? OR sha256 = ? ORDER BY number",
        [batch, batch],
    ).fetchall()
    rows = json.loads(found[-1][0]) if found else []
    return tuple(
        SetAside(r["file"], r["row"], tuple(Fault(**f) for f in r["faults"]), r["cells"])
        for r in rows
    )


def ledger_of(con: duckdb.DuckDBPyConnection, *, as_of: date) -> Ledger:
    """Return the cars of the ledger as the files in use have them.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    as_of : datetime.date
        Day up to which events count and days in stock are counted.
    """
    in_use = {b.batch for b in batches(con, kind="ledger") if b.status == "in use"}
    # A file that was made again stands there twice; the last reading of it counts.
    stated = dict(con.execute("SELECT batch, entries FROM ledger_files ORDER BY number").fetchall())
    entries = [
        _entry(content, batch, order)
        for order, batch in enumerate(stated)
        if batch in in_use
        for content in json.loads(stated[batch])
    ]
    return Ledger(stock_cars(entries, as_of=as_of), as_of)

"""Reading in: files of sales become batches, each whole or not at all, and none twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import duckdb

from valuation.errors import EvidenceError, MapError, RatesError, SaleFileError
from valuation.evidence.batches import (
    Batch,
    batches,
    check_currency,
    currency_of,
    enter_batch,
    restore_batch,
)
from valuation.evidence.keep import Kept, hash_of, keep
from valuation.evidence.opening import reading, writing
from valuation.evidence.read_file import ReadFile, put_read_file, read_kept
from valuation.evidence.workspace import Workspace
from valuation.importing.rates import RateTable
from valuation.importing.sales import NO_CURRENCY
from valuation.importing.source_map import SourceMap
from valuation.records import SalesBook

__all__ = ["FileResult", "ImportResult", "Progress", "import_sales"]

FORMAT = 1
Progress = Callable[[int, int, str], None]
Outcome = Literal["new", "known", "restored", "read again", "refused"]


@dataclass(frozen=True)
class FileResult:
    """What became of one file.

    Parameters
    ----------
    file : str
        Its name.
    outcome : {"new", "known", "restored", "read again", "refused"}
        A new batch; one that was there already, so that nothing was added; one that was undone and
        counts again, as it was or read in another way; or a file that can't be read.
    batch : Batch or None
        The batch, None if the file was refused.
    reasons : mapping of str to int
        How many rows were set aside for each reason; a row may have several.
    fault : str
        Why it was refused, as a sentence.
    note : str
        What is worth knowing of a known file, as a sentence.
    """

    file: str
    outcome: Outcome
    batch: Batch | None
    reasons: Mapping[str, int] = field(default_factory=dict)
    fault: str = ""
    note: str = ""

    def summary(self) -> str:
        """Return what became of the file as text for people."""
        if self.batch is None:
            return f"Not read in: {self.fault}"
        b = self.batch
        if self.outcome == "known":
            said = (
                f"{self.file}: nothing added; it is batch {b.batch}, read in on "
                f"{b.read_at:%d %B %Y} by {b.who} as {b.file}, {b.status}."
            )
            return f"{said} {self.note}".rstrip()
        became = {"new": "read in as", "restored": "counts again as", "read again": "read again as"}
        lines = [
            f"{self.file}: {became[self.outcome]} batch {b.batch}: {b.rows:,} rows, "
            f"{b.accepted:,} accepted, {b.set_aside:,} set aside."
        ]
        lines += [f"  {n:>7,}  {code}" for code, n in self.reasons.items()]
        return "\n".join([*lines, *(f"  - {note}" for note in b.notes)])

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "file": self.file,
            "outcome": self.outcome,
            "batch": self.batch.to_dict() if self.batch else None,
            "reasons": dict(self.reasons),
            "fault": self.fault,
            "note": self.note,
        }


@dataclass(frozen=True)
class ImportResult:
    """What became of files that were read in.

    Parameters
    ----------
    files : tuple of FileResult
        One each, in the order in which they were named.
    currency : str
        Currency of the evidence from then on, ``XXX`` if nothing names one.
    """

    files: tuple[FileResult, ...]
    currency: str

    @property
    def refused(self) -> tuple[FileResult, ...]:
        """Files that can't be read."""
        return tuple(f for f in self.files if f.outcome == "refused")

    def summary(self) -> str:
        """Return the result as text for people."""
        return "\n".join(f.summary() for f in self.files)

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "currency": self.currency,
            "files": [f.to_dict() for f in self.files],
        }


@dataclass(frozen=True, slots=True)
class _Asked:
    """How files are to be read in, by whom and when."""

    source_map: SourceMap | None
    rates: RateTable | None
    currency: str
    who: str
    now: datetime
    wait: float
    restore: bool

    def settled(self, known: Batch | None) -> bool:
        """Tell whether a file that became a batch earlier stays as it is."""
        return known is not None and (known.status != "undone" or not self.restore)


def import_sales(
    workspace: Workspace,
    files: Sequence[str | Path],
    *,
    source_map: SourceMap | None = None,
    rates: RateTable | None = None,
    currency: str | None = None,
    who: str,
    now: datetime,
    restore: bool = True,
    wait: float = 10.0,
    progress: Progress | None = None,
) -> ImportResult:
    """Read files of sales into the evidence.

    A file is known by the hash of its content.  The same content again adds nothing; of an undone
    batch it makes one that counts again.  Every file is one transaction, so that after a break at
    any moment each is there whole or not at all.

    Parameters
    ----------
    workspace : Workspace
        Where to.
    files : sequence of path
        Files of sales.
    source_map : SourceMap, optional
        How they are read; what it leaves open is recognised.
    rates : RateTable, optional
        Currency rates; without it, rows in another currency than the evidence's are set aside.
    currency : str, optional
        Currency of the evidence, where it has none yet; by default that of most rows of the first
        file that names one.
    who : str
        Who reads them in.
    now : datetime.datetime
        When, with its time zone.
    restore : bool
        Whether an undone batch counts again when its file is named; not so for a folder that is
        read in over and over, in which an undone file still lies.
    wait : float
        Seconds to wait for somebody else who writes.
    progress : callable, optional
        Called with the files that are done, all of them, and a word.

    Returns
    -------
    ImportResult
        What became of each.  A file that can't be read is refused and hinders no other.

    Raises
    ------
    EvidenceError
        If the evidence can't be changed, or has another currency than the one that is asked for.
    """
    asked = _Asked(source_map, rates, (currency or "").upper(), who, now, wait, restore)
    done: list[FileResult] = []
    listed = [Path(path) for path in files]
    for i, path in enumerate(listed):
        if progress:
            progress(i, len(listed), "reading in")
        done.append(_import_file(workspace, path, asked))
    if progress:
        progress(len(listed), len(listed), "reading in")
    return ImportResult(tuple(done), _state(workspace, "", wait)[1])


def _state(workspace: Workspace, sha256: str, wait: float) -> tuple[Batch | None, str]:
    """Return the batch that a file has become already, and the currency of the evidence."""
    if not workspace.database.exists():
        return None, NO_CURRENCY
    with reading(workspace, wait=wait) as con:
        return _known(con, sha256), currency_of(con)


def _known(con: duckdb.DuckDBPyConnection, sha256: str) -> Batch | None:
    return next((b for b in batches(con) if b.sha256 == sha256), None)


def _import_file(workspace: Workspace, path: Path, asked: _Asked) -> FileResult:
    try:
        data = path.read_bytes()
    except OSError as error:
        fault = SaleFileError(
            path.name,
            "it can't be read",
            got=error.strerror or type(error).__name__,
            remedy="Check the name and that the file is whole",
        )
        return FileResult(path.name, "refused", None, fault=str(fault))
    known, of_all = _state(workspace, hash_of(data), asked.wait)
    if asked.settled(known):
        return FileResult(path.name, "known", known, note=_otherwise(known, asked))
    _check_asked(workspace, asked.currency, of_all)
    about = Kept("sales", path.name, hash_of(data), asked.source_map, asked.rates)
    try:
        read = read_kept(workspace, about, data, asked.currency or of_all)
    except (SaleFileError, MapError, RatesError) as error:
        return FileResult(path.name, "refused", None, fault=str(error))
    keep(workspace, read.about, data)
    return _enter(workspace, read, asked)


def _otherwise(known: Batch | None, asked: _Asked) -> str:
    """Say so if a map or rates are given by which a known file was not read."""
    if known is None or not (asked.source_map or asked.rates):
        return ""
    named = "" if known.currency == NO_CURRENCY else known.currency
    wanted = Kept("sales", known.file, known.sha256, asked.source_map, asked.rates, named)
    if wanted.reading == known.reading:
        return ""
    return "It was read in another way than is asked for; undo the batch first to read it anew."


def _check_asked(workspace: Workspace, wanted: str, of_all: str) -> None:
    if wanted and of_all not in (NO_CURRENCY, wanted):
        raise EvidenceError(
            str(workspace.root),
            f"the evidence is in {of_all} and can't become one of another currency",
            got=wanted,
            remedy=f"Leave the currency out, or name {of_all}; rates bring other amounts to it",
        )


def _enter(workspace: Workspace, read: ReadFile, asked: _Asked) -> FileResult:
    doing = f"reading in {read.about.file}"
    who, now = asked.who, asked.now
    reasons = _reasons(read.book)
    with writing(workspace, who=who, now=now, wait=asked.wait, doing=doing) as con:
        known = _known(con, read.about.sha256)
        if asked.settled(known):
            # Somebody else read it in while we read it.
            return FileResult(read.about.file, "known", known)
        check_currency(con, read.book.currency, read.about.file)
        if known and known.reading == read.about.reading:
            again = restore_batch(con, known.batch, reason="read in again", who=who, now=now)
            return FileResult(read.about.file, "restored", again, reasons)
        put_read_file(con, read)
        entered = enter_batch(con, read.batch(who, now), who=who, now=now)
    return FileResult(read.about.file, "read again" if known else "new", entered, reasons)


def _reasons(book: SalesBook) -> dict[str, int]:
    counts = Counter(f.code for row in book.set_aside for f in row.faults)
    return dict(sorted(counts.items(), key=lambda e: (-e[1], e[0])))

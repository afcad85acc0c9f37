"""Whether batches, kept copies and journal agree with the database."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb

from valuation.errors import EvidenceError
from valuation.evidence.batches import Batch, batches
from valuation.evidence.journal import read_change, sealed_changes, unfinished_changes
from valuation.evidence.keep import KEY_DIGITS, Kept, content_of, kept
from valuation.evidence.tables import TABLES
from valuation.evidence.workspace import Workspace

__all__ = ["Finding", "look_at_copies", "look_at_journal", "look_at_leftovers"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was found.

    Parameters
    ----------
    is_fault : bool
        Whether something is lost or wrong; False if it is only worth knowing.
    sentence : str
        What it is.
    remedy : str
        What to do, as an imperative sentence without a full stop.
    """

    is_fault: bool
    sentence: str
    remedy: str


def _listed(names: Sequence[str], most: int = 5) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


def look_at_leftovers(workspace: Workspace) -> Iterator[Finding]:
    """Find what processes that ended in the middle left behind."""
    wal = workspace.database.with_name(workspace.database.name + ".wal")
    if wal.exists():
        yield Finding(
            False,
            f"The last changes stand in {wal.name} and not yet in the database file, as a process "
            "ended early or the disk was full; they are not lost.",
            "Nothing to do: the next change brings it in; never delete that file",
        )
    left = [
        path
        for folder in (workspace.root, workspace.kept, workspace.journal, workspace.work)
        if folder.is_dir()
        for path in sorted(folder.iterdir())
        if _is_half_written(path, workspace)
    ]
    if left:
        names = _listed([str(p.relative_to(workspace.root)) for p in left])
        yield Finding(
            False,
            f"Files that were never finished and don't count: {names}.",
            "Delete them when nobody is at work",
        )


def _is_half_written(path: Path, workspace: Workspace) -> bool:
    if path.parent == workspace.work:
        return path.name.startswith("reading-")
    if path.parent == workspace.root:
        stem = workspace.database.stem
        return path.name.startswith((f".{stem}.", f"{stem}.new-", f"{stem}.made-again"))
    return path.name.startswith(".")


def look_at_copies(con: duckdb.DuckDBPyConnection, workspace: Workspace) -> Iterator[Finding]:
    """Compare the batches with their rows and with the copies of their files."""
    known = batches(con)
    yield from _look_at_counts(con, known)
    for b in known:
        if b.kind == "sales":
            yield from _look_at_copy(b, workspace)
    hashes = {b.batch for b in known}
    if workspace.kept.is_dir():
        files = sorted(p.name for p in workspace.kept.iterdir() if not p.name.startswith("."))
        orphans = [n for n in files if n[:KEY_DIGITS] not in hashes]
        if orphans:
            yield Finding(
                False,
                f"Copies of files whose reading was never finished: {_listed(orphans)}.",
                "Read the files in again, or leave the copies: they don't count",
            )


_COUNTS = """
    SELECT b.batch, b.accepted, b.set_aside, coalesce(s.n, 0), coalesce(r.n, 0)
    FROM batches b
    LEFT JOIN (SELECT batch, count(*) AS n FROM sales GROUP BY batch) s USING (batch)
    LEFT JOIN (SELECT batch, count(*) AS n FROM rows_set_aside GROUP BY batch) r USING (batch)
    WHERE b.kind = 'sales' AND (b.accepted <> coalesce(s.n, 0) OR b.set_aside <> coalesce(r.n, 0))
    ORDER BY b.batch
"""


def _look_at_counts(con: duckdb.DuckDBPyConnection, known: Sequence[Batch]) -> Iterator[Finding]:
    again = "Make the evidence again from the kept files: valuation doctor --rebuild"
    for name, accepted, aside, sales, rows in con.execute(_COUNTS).fetchall():
        yield Finding(
            True,
            f"Batch {name} should have {accepted:,} sales and {aside:,} rows set aside, but has "
            f"{sales:,} and {rows:,}.",
            again,
        )
    for what, sql in (
        ("Sales of no batch", "SELECT DISTINCT batch FROM sales"),
        ("Rows set aside of no batch", "SELECT DISTINCT batch FROM rows_set_aside"),
        ("Batches of which nobody read a file in", "SELECT batch FROM batches"),
        ("Batches that are decided about but not there", "SELECT DISTINCT batch FROM events"),
    ):
        names = {str(b) for (b,) in con.execute(sql).fetchall()}
        strays = sorted(names - {b.batch for b in known})
        if strays:
            yield Finding(True, f"{what}: {_listed(strays)}.", again)
    twice = con.execute(
        "SELECT sale_key FROM sales GROUP BY sale_key HAVING count(*) > 1 ORDER BY sale_key"
    ).fetchall()
    if twice:
        names_twice = _listed([key for (key,) in twice])
        yield Finding(True, f"Sales that stand there twice: {names_twice}.", again)


def _look_at_copy(b: Batch, workspace: Workspace) -> Iterator[Finding]:
    checks = (
        lambda: content_of(workspace, Kept(b.kind, b.file, b.sha256)),
        lambda: kept(workspace, b.sha256, b.reading),
    )
    for check in checks:
        try:
            check()
        except EvidenceError as error:
            yield Finding(
                True,
                f"Batch {b.batch}: {error.problem} ({error.where}). Its sales can be used, but not "
                "read again.",
                error.remedy,
            )


def look_at_journal(con: duckdb.DuckDBPyConnection, workspace: Workspace) -> Iterator[Finding]:
    """Compare what people decided, as the database has it, with the journal."""
    stored: set[int] = set()
    for table in TABLES:
        if table.by_people:
            rows = con.execute(f'SELECT number FROM "{table.name}"').fetchall()
            stored |= {int(n) for (n,) in rows}
    done = max(stored, default=0)
    # What the database has of a change whose process ended then is as good as finished.
    finished = [p for p in unfinished_changes(workspace) if int(p.stem) <= done]
    written: set[int] = set()
    for path in [*sealed_changes(workspace), *finished]:
        try:
            written |= {int(row["number"]) for _, row in read_change(path).rows}
        except (EvidenceError, LookupError, ValueError) as error:
            told = error.problem if isinstance(error, EvidenceError) else "it is damaged"
            yield Finding(
                True,
                f"journal/{path.name}: {told}.",
                "Bring it back from a backup; as long as the database is whole, nothing is lost",
            )
    if lacking := sorted(stored - written):
        yield Finding(
            True,
            f"Decisions that stand in the database but not in the journal: {len(lacking):,}, the "
            f"first with number {lacking[0]}.",
            "Complete the journal: valuation doctor --rebuild",
        )
    if ahead := sorted(written - stored):
        yield Finding(
            True,
            f"Decisions that stand in the journal but not in the database: {len(ahead):,}, the "
            f"first with number {ahead[0]}. The database may have come from a backup.",
            "Bring them in: valuation doctor --rebuild",
        )
    if open_ones := unfinished_changes(workspace):
        yield Finding(
            False,
            f"Changes whose process ended before it was done: {len(open_ones)}.",
            "Nothing to do: the next change settles them",
        )

"""Holding back new batches that can't be what they seem."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from valuation.appraisal.market import MarketModel
from valuation.evidence.batches import Batch, batches, hold_batch
from valuation.evidence.book import evidence_book
from valuation.evidence.opening import reading, writing
from valuation.evidence.workspace import Workspace
from valuation.records import SalesBook
from valuation.results.month import FileRead
from valuation.results.screens import BatchScreen
from valuation.study.batch_screens import screen_batch

__all__ = ["hold_doubtful", "screen_new_batches", "with_screens"]


def screen_new_batches(
    workspace: Workspace, market: MarketModel | None, *, as_of: date | None, today: date
) -> tuple[BatchScreen, ...]:
    """Screen the batches in use that the model in use does not know.

    One that a person accepted after it was held is not screened again.

    Parameters
    ----------
    workspace : Workspace
        The evidence.
    market : MarketModel or None
        The model in use; without one nothing can be screened.
    as_of : datetime.date or None
        Day up to which sales count.
    today : datetime.date
        No sale can be later.

    Returns
    -------
    tuple of BatchScreen
        One for each batch that was screened, in the order of their names.
    """
    if market is None or "batch" not in market.frame:
        return ()
    known = set(market.frame["batch"])
    with reading(workspace) as con:
        book = evidence_book(con, as_of=as_of)
        waiting = [b for b in batches(con, kind="sales") if _waits(b, known)]
    parts = {b.batch: _rows(book, b) for b in sorted(waiting, key=lambda b: b.batch)}
    return tuple(
        screen_batch(market, part, others=[p for k, p in parts.items() if k != name], today=today)
        for name, part in parts.items()
        if len(part)
    )


def _waits(batch: Batch, known: set[str]) -> bool:
    return batch.status == "in use" and not batch.reason and batch.batch not in known


def _rows(book: SalesBook, batch: Batch) -> SalesBook:
    part = book.subset((book.table["batch"] == batch.batch).to_numpy())
    return replace(part, rows=batch.rows)


def hold_doubtful(
    workspace: Workspace, screens: tuple[BatchScreen, ...], *, who: str, now: datetime
) -> tuple[str, ...]:
    """Hold every batch whose screen says so.

    Parameters
    ----------
    workspace : Workspace
        The evidence.
    screens : tuple of BatchScreen
        From :func:`screen_new_batches`.
    who : str
        On whose behalf.
    now : datetime.datetime
        When.

    Returns
    -------
    tuple of str
        The batches that are held now.
    """
    doubtful = [s for s in screens if s.verdict == "hold"]
    if not doubtful:
        return ()
    with writing(workspace, who=who, now=now, doing="holding doubtful files") as con:
        for screen in doubtful:
            hold_batch(con, screen.batch, reason=screen.reason, who=who, now=now)
    return tuple(s.batch for s in doubtful)


def with_screens(
    files: tuple[FileRead, ...], screens: tuple[BatchScreen, ...]
) -> tuple[FileRead, ...]:
    """Return what became of files, those that are held with the reason."""
    held = {s.batch: s.reason for s in screens if s.verdict == "hold"}
    return tuple(
        replace(f, status="held", why=held[f.batch]) if f.batch in held else f for f in files
    )

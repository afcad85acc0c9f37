"""Holding back new batches that can't be what they seem."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime

import duckdb
import pandas as pd

from valuation.appraisal.market import MarketModel
from valuation.evidence.batches import Batch, batches, hold_batch
from valuation.evidence.opening import reading, writing
from valuation.evidence.rows import sales_of
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
        waiting = [b for b in batches(con, kind="sales") if _waits(b, known)]
        parts = {b.batch: _rows(con, b, market.currency, as_of) for b in waiting}
    parts = {name: parts[name] for name in sorted(parts) if len(parts[name])}
    alone = {name: screen_batch(market, part, today=today) for name, part in parts.items()}
    return tuple(
        screen_batch(market, part, others=peers, today=today)
        if (peers := [parts[p] for p in _peers(name, alone)])
        else alone[name]
        for name, part in parts.items()
    )


def _peers(name: str, alone: Mapping[str, BatchScreen]) -> list[str]:
    """Return the batches that one is set beside.

    One whose level is plausible by itself is not doubted for the sake of one whose level is not:
    beside a file in wrong amounts the right one would be held too.  Where none is plausible they
    are set beside each other, since the market may have moved.
    """
    return [
        other
        for other in alone
        if other != name and (_is_off(alone[name]) or not _is_off(alone[other]))
    ]


def _is_off(screen: BatchScreen) -> bool:
    return any(d.kind == "whole batch off" and d.verdict == "hold" for d in screen.doubts)


def _waits(batch: Batch, known: set[str]) -> bool:
    """Tell whether a batch is unknown to the model and nobody has accepted it.

    One that is held is screened too: the same evidence gives the same answer, however often a
    month's work was begun.
    """
    accepted = batch.status == "in use" and batch.reason
    return batch.status != "undone" and not accepted and batch.batch not in known


def _rows(
    con: duckdb.DuckDBPyConnection, batch: Batch, currency: str, as_of: date | None
) -> SalesBook:
    table = sales_of(con, "batch = ?", [batch.batch])
    table["currency"] = pd.Series([currency] * len(table), dtype=object)
    book = SalesBook(table, currency, batch.dated, rows=batch.rows)
    if as_of is None:
        return book
    until = ~(table["sale_date"] > pd.Timestamp(as_of)).to_numpy()
    return replace(book.subset(until), rows=batch.rows)


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
    with reading(workspace) as con:
        used = {b.batch for b in batches(con, kind="sales") if b.status == "in use"}
    doubtful = [s for s in screens if s.verdict == "hold" and s.batch in used]
    if not doubtful:
        return ()
    with writing(workspace, who=who, now=now, doing="holding doubtful files") as con:
        for screen in doubtful:
            hold_batch(con, screen.batch, reason=screen.reason, who=who, now=now)
    return tuple(s.batch for s in doubtful)


def with_screens(
    files: tuple[FileRead, ...], screens: tuple[BatchScreen, ...], market: MarketModel | None
) -> tuple[FileRead, ...]:
    """Return what became of files as the model in use sees it, those that are held with the reason.

    A file of sales is new until a model knows it, in whatever run it was read in: a month that was
    begun twice tells the same as one begun once.

    Parameters
    ----------
    files : tuple of FileRead
        As the inbox was read.
    screens : tuple of BatchScreen
        From :func:`screen_new_batches`.
    market : MarketModel or None
        The model in use.
    """
    known = set() if market is None or "batch" not in market.frame else set(market.frame["batch"])
    held = {s.batch: s.reason for s in screens if s.verdict == "hold"}
    out = []
    for read in files:
        told = read
        if read.kind == "sales" and read.batch:
            told = replace(read, outcome="known" if read.batch in known else "new")
        elif read.batch:
            told = replace(read, outcome="read in")
        if read.batch in held:
            told = replace(told, status="held", why=held[read.batch])
        out.append(told)
    return tuple(out)

"""Reading in what waits in the inbox."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from valuation.errors import RatesError, ValuationError
from valuation.evidence.batches import Batch
from valuation.evidence.ledger_in import import_ledger
from valuation.evidence.said_in import collect_said
from valuation.evidence.sales_in import FileResult, Progress, import_sales
from valuation.evidence.workspace import Workspace
from valuation.importing.rates import RateTable, read_rates
from valuation.refresh.settings import MonthSettings
from valuation.results.month import FileRead

__all__ = ["LEDGER_FOLDER", "read_inbox"]

LEDGER_FOLDER = "ledger"
"""Folder within the inbox whose files are those of the stock ledger."""

_KINDS = (".csv", ".tsv", ".txt", ".xlsx", ".parquet", ".gz")


def read_inbox(
    workspace: Workspace,
    inbox: Path,
    settings: MonthSettings,
    *,
    who: str,
    now: datetime,
    progress: Progress | None = None,
) -> tuple[FileRead, ...]:
    """Read in the files of an inbox; those that are known already add nothing.

    Files stay where they are.  One that can't be read stops no other.

    Parameters
    ----------
    workspace : Workspace
        Where to.
    inbox : pathlib.Path
        Files of sales, in the order of their names; in its folder ``ledger`` those of the stock
        ledger.  It need not exist.
    settings : MonthSettings
        Currency and rates.
    who : str
        Who reads them in.
    now : datetime.datetime
        When.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    tuple of FileRead
        What became of each.
    """
    sales, ledgers = _files(inbox), _files(inbox / LEDGER_FOLDER)
    out: list[FileRead] = []
    if sales:
        done = import_sales(
            workspace,
            sales,
            rates=_rates(settings),
            currency=settings.currency or None,
            who=who,
            now=now,
            restore=False,  # a file that was undone may still lie there
            progress=progress,
        )
        out += [_sales(f) for f in done.files]
    for path in ledgers:
        out.append(_ledger(workspace, path, settings, who=who, now=now))
    collected = collect_said(workspace, who=who, now=now)
    out += [FileRead(f.file, "said", "refused", why=f.fault) for f in collected.refused]
    return tuple(out)


def _files(folder: Path) -> Sequence[Path]:
    if not folder.is_dir():
        return ()
    return sorted(p for p in folder.iterdir() if p.is_file() and p.suffix.lower() in _KINDS)


def _rates(settings: MonthSettings) -> RateTable | None:
    if settings.rates is None:
        return None
    if not settings.rates.is_file():
        raise RatesError(
            str(settings.rates),
            "the rates that the settings name are not there",
            remedy="Put them beside settings.toml, or take the entry out",
        )
    return read_rates(settings.rates)


def _sales(result: FileResult) -> FileRead:
    if result.batch is None:
        return FileRead(result.file, "sales", "refused", why=result.fault)
    return _of_batch(result.file, result.outcome, result.batch)


def _of_batch(file: str, outcome: str, batch: Batch) -> FileRead:
    return FileRead(
        file,
        batch.kind,
        outcome,
        batch.batch,
        batch.rows,
        batch.accepted,
        batch.set_aside,
        batch.status,
        batch.reason if batch.status != "in use" else "",
    )


def _ledger(
    workspace: Workspace, path: Path, settings: MonthSettings, *, who: str, now: datetime
) -> FileRead:
    try:
        done = import_ledger(
            workspace, [path], currency=settings.currency, who=who, now=now, restore=False
        )
    except ValuationError as error:
        return FileRead(path.name, "ledger", "refused", why=str(error))
    result = done.files[0]
    if result.batch is None:
        return FileRead(path.name, "ledger", "refused", why=result.fault)
    return _of_batch(path.name, result.outcome, result.batch)

"""The month's work from the inbox to a published model or the reasons against it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

import pandas as pd

from valuation.appraisal.market import MarketModel
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.errors import SettingsError, TooFewSalesError
from valuation.evidence.book import evidence_book
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading, writing
from valuation.evidence.own_book import with_own_marks, with_own_sales
from valuation.evidence.pairs import keep_pairs
from valuation.evidence.workspace import Workspace
from valuation.features.assumptions import Assumptions, default_assumptions, read_assumptions
from valuation.files import write_in_one_step
from valuation.records import SalesBook
from valuation.refresh.candidate import Candidate, fingerprint, fit_candidate
from valuation.refresh.evidence import new_evidence
from valuation.refresh.in_use import forecasts_in_use
from valuation.refresh.inbox import read_inbox
from valuation.refresh.measures import judged
from valuation.refresh.rules import Weighing, decide
from valuation.refresh.scratch import scratch_copy
from valuation.refresh.screening import hold_doubtful, screen_new_batches, with_screens
from valuation.refresh.settings import MonthSettings, read_month_settings
from valuation.refresh.studies import Found, pair_settings, studies
from valuation.results.decision import Decision
from valuation.results.month import FileRead, MonthStudy
from valuation.results.screens import BatchScreen
from valuation.running.runner import Runner
from valuation.scoring.accuracy import AccuracySummary, accuracy_summary
from valuation.store.modelfile import load_model
from valuation.store.published import MODEL, current_version, publish
from valuation.study.forecasts import COLUMNS, ForwardForecasts, forward_forecasts

STUDIES = "studies"
"""Folder of the workspace with the record of every month's work, published or not."""

__all__ = ["Pages", "model_settings", "published_folder", "refresh"]

Pages = Callable[[MonthStudy], Mapping[str, bytes]]
"""Makes the files that are published with a model: pages and tables, by name."""


@dataclass(frozen=True)
class _Month:
    """What the steps of a month share."""

    workspace: Workspace
    settings: MonthSettings
    published: Path
    model: ModelSettings
    assumptions: Assumptions
    as_of: date | None
    who: str
    now: datetime
    run: Runner | None
    progress: Progress | None


def published_folder(workspace: Workspace, settings: MonthSettings) -> Path:
    """Return the folder that models of a workspace are published to."""
    return workspace.root / settings.published


def model_settings(settings: MonthSettings) -> ModelSettings:
    """Return how the models of a workspace are built."""
    return ModelSettings(unsold=settings.unsold)


def _assumptions(settings: MonthSettings) -> Assumptions:
    if settings.assumptions == "":
        return default_assumptions()
    if settings.assumptions == "none":
        return Assumptions()
    return read_assumptions(Path(settings.assumptions))


def refresh(
    workspace: Workspace,
    *,
    who: str,
    now: datetime,
    pages: Pages,
    inbox: Path | None = None,
    as_of: date | None = None,
    settings: MonthSettings | None = None,
    model: ModelSettings | None = None,
    dry_run: bool = False,
    run: Runner | None = None,
    progress: Progress | None = None,
) -> MonthStudy:
    """Do the month's work.

    New files are read in and doubtful ones held; a candidate is fitted and, beside the models in
    use at the time, tested on the last months; rules decide whether it is published.  A run that
    was stopped goes on where it was; the same evidence and settings give the same bytes.

    Parameters
    ----------
    workspace : Workspace
        The evidence.
    who : str
        Who does it.
    now : datetime.datetime
        When; only the record of what was read in bears it.
    pages : callable
        Makes the files that are published beside the model, from the study.
    inbox : pathlib.Path, optional
        Folder of new files; that of the workspace by default.
    as_of : datetime.date, optional
        Day up to which sales count; that of the last sale by default.
    settings : MonthSettings, optional
        Those of the workspace by default.
    model : ModelSettings, optional
        How the candidate is built; as the settings have it by default.
    dry_run : bool
        Decide, but change nothing: what the inbox would add is tried on a copy of the evidence.
    run : Runner, optional
        How fits are run.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    MonthStudy
        The decision and everything it rests on.

    Raises
    ------
    TooFewSalesError
        If there are too few sales for any model.
    ValuationError
        If evidence, settings or the published folder can't be used.
    """
    settings = settings or read_month_settings(workspace.settings)
    month = _Month(
        workspace,
        settings,
        published_folder(workspace, settings),
        model or model_settings(settings),
        _assumptions(settings),
        as_of,
        who,
        now,
        run,
        progress,
    )
    box = inbox or workspace.inbox
    if not dry_run:
        return _worked(month, box, pages, publishes=True)
    with scratch_copy(workspace) as copy:
        return _worked(replace(month, workspace=copy), box, pages, publishes=False)


def _worked(month: _Month, inbox: Path, pages: Pages, *, publishes: bool) -> MonthStudy:
    files = read_inbox(
        month.workspace,
        inbox,
        month.settings,
        who=month.who,
        now=month.now,
        progress=month.progress,
    )
    current = current_version(month.published)
    in_use = load_model(current.model) if current else None
    screens = screen_new_batches(month.workspace, in_use, as_of=month.as_of, today=month.now.date())
    hold_doubtful(month.workspace, screens, who=month.who, now=month.now)
    files = with_screens(files, screens, in_use)
    book = _book(month)
    if not book.dated:
        raise SettingsError(
            "refresh", "the evidence has no dates", remedy="Read in sales with the day of each"
        )
    work = (
        month.workspace.work / fingerprint(book, month.as_of, month.model, month.assumptions)[:16]
    )
    candidate = fit_candidate(
        book,
        as_of=month.as_of,
        settings=month.model,
        assumptions=month.assumptions,
        work=work,
        run=month.run,
        progress=month.progress,
    )
    tested = _tested(month, book, work)
    decision, found = _weighed(month, book, candidate, in_use, tested)
    study = _study(book, candidate, decision, found, tested, files, screens)
    if publishes:
        _conclude(month, study, candidate, pages)
        shutil.rmtree(work, ignore_errors=True)
    return study


def _book(month: _Month) -> SalesBook:
    with reading(month.workspace) as con:
        book = evidence_book(con, as_of=month.as_of)
        ledger = ledger_of(con, as_of=month.as_of or month.now.date())
    book = with_own_marks(with_own_sales(book, ledger.cars), ledger.cars)
    least = month.settings.least_price
    if least > 0:
        book = book.subset((book.table["price"] > least).to_numpy())
    return book


def _tested(month: _Month, book: SalesBook, work: Path) -> ForwardForecasts | None:
    """Forecast the last months forward; None if too few sales are known before them."""
    try:
        return forward_forecasts(
            book,
            months=month.settings.months,
            as_of=month.as_of,
            settings=month.model,
            assumptions=month.assumptions,
            run=month.run,
            keep=work / "forecasts",
            progress=month.progress,
        )
    except TooFewSalesError:
        return None


def _weighed(
    month: _Month,
    book: SalesBook,
    candidate: Candidate,
    in_use: MarketModel | None,
    tested: ForwardForecasts | None,
) -> tuple[Decision, Found]:
    version = current_version(month.published)
    found = studies(
        month.workspace,
        month.settings,
        candidate,
        in_use,
        version,
        None if tested is None else tested.frame,
    )
    own = pd.DataFrame(columns=list(COLUMNS)) if tested is None else tested.frame
    months = [] if tested is None else [pd.Period(m, "M") for m in tested.months]
    differs = new_evidence(candidate.market, in_use)
    weighing = Weighing(
        own=own,
        in_use=forecasts_in_use(month.published, book, months, as_of=month.as_of),
        candidate=candidate.version,
        version=version.version if version else "",
        as_of=candidate.market.as_of,
        new_sales=differs.came,
        unseen_sales=differs.unseen,
        panel=found.panel,
        changed=differs.changed,
    )
    return decide(weighing, month.settings.rules, seed=month.settings.seed), found


def _study(
    book: SalesBook,
    candidate: Candidate,
    decision: Decision,
    found: Found,
    tested: ForwardForecasts | None,
    files: tuple[FileRead, ...],
    screens: tuple[BatchScreen, ...],
) -> MonthStudy:
    market = candidate.market
    return MonthStudy(
        as_of=market.as_of or date.min,
        currency=market.currency,
        sales=len(market.frame),
        set_aside=len(book.set_aside),
        files=files,
        screens=screens,
        decision=decision,
        accuracy=_accuracy(tested),
        ratios=found.ratios,
        coverage=found.coverage,
        index=found.index,
        look=found.look,
        change=found.change,
        realised=found.realised,
        chances=found.chances,
        notes=(*book.notes, *found.notes),
    )


def _accuracy(tested: ForwardForecasts | None) -> AccuracySummary:
    """Return how close forecasts came to the prices of the sales that are judged."""
    if tested is None:
        return accuracy_summary([], [])
    sales = judged(tested.frame)
    return accuracy_summary(*(sales[name] for name in ("price", "central", "lower", "upper")))


def _conclude(month: _Month, study: MonthStudy, candidate: Candidate, pages: Pages) -> None:
    """Put the study on record, and the candidate to use if it is published."""
    decision = study.decision
    if study.realised is not None:
        limits = pair_settings(month.settings)
        keep_pairs(
            month.workspace, as_of=study.as_of, who=month.who, now=month.now, settings=limits
        )
    files = {
        "decision.json": _json(decision.to_dict()),
        "study.json": _json(study.to_dict()),
        **pages(study),
    }
    record = month.workspace.root / STUDIES / decision.candidate
    for name, content in sorted(files.items()):
        write_in_one_step(record / name, content, what="record of the month")
    if decision.publish:
        with writing(
            month.workspace, who=month.who, now=month.now, doing=f"publishing {decision.candidate}"
        ):
            publish(
                month.published,
                decision.candidate,
                {MODEL: candidate.content, **files},
                by=month.who,
                reason=decision.sentence,
            )


def _json(content: Mapping[str, object]) -> bytes:
    text = json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False)
    return f"{text}\n".encode()

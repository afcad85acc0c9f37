"""Walking forward through a book: fit on what was known, price a stretch, learn, go on.

The fits of a walk don't need each other, so they run as the caller's :class:`Runner` says; what
past errors teach is put together afterwards, in the order of the stretches.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData
from valuation.appraisal.fitting import Fitted
from valuation.appraisal.foreseen import (
    Basis,
    Foreseen,
    Origin,
    fit_and_foresee,
    fit_start,
    foresee_all,
    start_at,
)
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.appraisal.walk import join_errors, past_errors, unseen_chassis
from valuation.errors import SettingsError, TooFewSalesError
from valuation.features.assumptions import Assumptions
from valuation.models.ranges import PastErrors
from valuation.running.kept import Kept
from valuation.running.runner import Runner

__all__ = ["Plan", "Refit", "Step", "forward_plan", "walk_forward", "walk_with_fits"]

Ints = NDArray[np.intp]

Refit = Literal["month", "fortnight", "never"]

STEP = {"month": 30.0, "fortnight": 14.0, "never": np.inf}


@dataclass(frozen=True)
class Plan:
    """Rows to fit first, and the stretches to price one after the other.

    Parameters
    ----------
    known : list of ndarray of int
        Positions of the sales that are known before each stretch.
    stretches : list of ndarray of int
        Positions of the sales of each stretch, without those whose chassis was seen before.
    seen_before : int
        Sales of the test that were left out for their chassis.
    """

    known: list[Ints]
    stretches: list[Ints]
    seen_before: int

    @property
    def first(self) -> Ints:
        """Positions of the sales before the test."""
        return self.known[0]


@dataclass(frozen=True)
class Step:
    """One stretch with what was known before it.

    Parameters
    ----------
    known : ndarray of int
        Positions of the sales before the stretch.
    record : PastErrors
        Errors of forecasts that were over by then.
    rows : ndarray of int
        Positions of the sales of the stretch.
    seen : Foreseen
        What was foreseen of them.
    day : float
        Day of the first of them, NaN in an undated list.
    """

    known: Ints
    record: PastErrors
    rows: Ints
    seen: Foreseen
    day: float


def forward_plan(
    data: MarketData,
    *,
    where: str,
    test_share: float,
    months: int | None,
    refit: Refit,
    undated_seed: int = 0,
) -> Plan:
    """Say which sales are fitted first and which stretches are priced.

    Parameters
    ----------
    data : MarketData
        All sales, oldest first.
    where : str
        Name of the study, for messages.
    test_share : float
        Share of the sales that is tested.
    months : int or None
        Instead, the last so many months of 30 days are tested.
    refit : {"month", "fortnight", "never"}
        How long a stretch is.
    undated_seed : int
        Seed of the split of an undated list.

    Returns
    -------
    Plan
        With at least 60 sales before the test and one in it.

    Raises
    ------
    SettingsError
        If the share is out of range.
    TooFewSalesError
        If too few sales are left on either side.
    """
    if not 0 < test_share < 1:
        raise SettingsError(
            where,
            "the test share must lie between 0 and 1",
            got=f"{test_share:g}",
            remedy="Give a share such as 0.3",
        )
    n = len(data)
    if not data.dated:
        order = np.random.default_rng(undated_seed).permutation(n)
        cut = int(n * (1 - test_share))
        first = np.sort(order[:cut])
        return _checked(data, first, [np.sort(order[cut:])], where)
    day = data.day
    start = day[int(n * (1 - test_share))] if months is None else day[-1] + 1 - 30.0 * months
    # The common split counts rows; with months it is a date.
    first = np.arange(int(n * (1 - test_share))) if months is None else np.flatnonzero(day < start)
    rest = np.arange(len(first), n)
    step = STEP[refit]
    stretch = np.zeros(len(rest)) if np.isinf(step) else (day[rest] - start) // step
    return _checked(data, first, [rest[stretch == s] for s in np.unique(stretch)], where)


def _checked(data: MarketData, first: Ints, parts: list[Ints], where: str) -> Plan:
    unseen = [unseen_chassis(data, first, part) for part in parts]
    stretches = [s for s in unseen if len(s)]
    tested = sum(map(len, stretches))
    if len(first) < 60 or not stretches:
        raise TooFewSalesError(
            where,
            "at least 60 sales before the test and one in it are needed",
            got=f"{len(first)} before, {tested} in it",
            remedy="Add sales or test a smaller share",
        )
    later = [np.arange(s.max() + 1) if data.dated else first for s in stretches[:-1]]
    return Plan([first, *later], stretches, sum(map(len, parts)) - tested)


def walk_forward(
    data: MarketData,
    plan: Plan,
    *,
    settings: ModelSettings,
    assumptions: Assumptions,
    run: Runner | None = None,
    kept: Kept | None = None,
    progress: Progress | None = None,
) -> Iterator[Step]:
    """Yield each stretch of a plan with what a market fitted on what was known says of it.

    Penalties are those of the first fit.  Errors of a stretch join the record once it is over.

    Parameters
    ----------
    data : MarketData
        All sales.
    plan : Plan
        From :func:`forward_plan`.
    settings : ModelSettings
        How models are built.
    assumptions : Assumptions
        Effects that are assumed.
    run : Runner, optional
        How the fits are run; in this process if not given.
    kept : Kept, optional
        Where finished forecasts are kept, and taken from.
    progress : callable, optional
        Told when a stretch is done.
    """
    run = run or Runner()
    _say_first(progress)
    basis, starts = _begin(data, plan, settings, assumptions)
    basis, first = start_at(basis, starts[0], kept)
    record = _first_record(data, plan, basis, run, kept, progress)
    later = foresee_all(
        basis, starts[1:], run=run, kept=kept, progress=progress, what=PRICING, done=1
    )
    for step, _ in _steps(data, plan, record, iter([(None, s) for s in (first, *later)])):
        yield step


def walk_with_fits(
    data: MarketData,
    plan: Plan,
    *,
    settings: ModelSettings,
    assumptions: Assumptions,
    run: Runner | None = None,
    progress: Progress | None = None,
) -> Iterator[tuple[Step, Fitted]]:
    """Yield each stretch of a plan as :func:`walk_forward` does, with the market fitted before it.

    Parameters
    ----------
    data, plan, settings, assumptions, run, progress
        As there.
    """
    run = run or Runner()
    _say_first(progress)
    basis, starts = _begin(data, plan, settings, assumptions)
    fitted, basis, first = fit_start(basis, starts[0])
    record = _first_record(data, plan, basis, run, None, progress)
    later = run.each(fit_and_foresee, starts[1:], common=basis, progress=progress, what=PRICING)
    yield from _steps(data, plan, record, chain([(fitted, first)], later))


PRICING = "pricing the test"
"""What the walk is doing while it fits and forecasts stretches."""

Maybe = TypeVar("Maybe", Fitted, None)


def _say_first(progress: Progress | None) -> None:
    if progress is not None:
        progress(0, 1, "fitting on the sales before the test")


def _begin(
    data: MarketData, plan: Plan, settings: ModelSettings, assumptions: Assumptions
) -> tuple[Basis, list[Origin]]:
    basis = Basis.of(data, None, settings=settings, assumptions=assumptions)
    return basis, [Origin(k, rows) for k, rows in zip(plan.known, plan.stretches, strict=True)]


def _first_record(
    data: MarketData,
    plan: Plan,
    basis: Basis,
    run: Runner,
    kept: Kept | None,
    progress: Progress | None,
) -> PastErrors:
    """Return errors of forecasts that were over before the test."""
    return past_errors(
        data.take(plan.first),
        basis.penalties or {},
        settings=basis.settings,
        assumptions=basis.assumptions,
        run=run,
        kept=kept,
        progress=progress,
    )


def _steps(
    data: MarketData, plan: Plan, record: PastErrors, seen: Iterator[tuple[Maybe, Foreseen]]
) -> Iterator[tuple[Step, Maybe]]:
    """Put stretches together; the errors of one join the record before the next."""
    for known, rows, (fitted, forecast) in zip(plan.known, plan.stretches, seen, strict=True):
        day = float(np.nanmin(data.day[rows])) if data.dated else float("nan")
        yield Step(known, record, rows, forecast, day), fitted
        sold = np.flatnonzero(~data.bound[rows])
        record = join_errors([record, forecast.take(sold).errors(data, rows[sold])])

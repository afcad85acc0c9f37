"""Walking forward through a book: fit on what was known, price a stretch, learn, go on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData
from valuation.appraisal.fitting import Fitted, Forecast, fit_market_data
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.appraisal.walk import errors_of, join_errors, past_errors, unseen_chassis
from valuation.errors import SettingsError, TooFewSalesError
from valuation.features.assumptions import Assumptions
from valuation.models.ranges import PastErrors

__all__ = ["Plan", "Refit", "Step", "forward_plan", "walk_forward"]

Ints = NDArray[np.intp]

Refit = Literal["month", "fortnight", "never"]

STEP = {"month": 30.0, "fortnight": 14.0, "never": np.inf}


@dataclass(frozen=True)
class Plan:
    """Rows to fit first, and the stretches to price one after the other.

    Parameters
    ----------
    first : ndarray of int
        Positions of the sales before the test.
    stretches : list of ndarray of int
        Positions of the sales of each stretch, without those whose chassis is among the first.
    seen_before : int
        Sales of the test that were left out for their chassis.
    """

    first: Ints
    stretches: list[Ints]
    seen_before: int


@dataclass(frozen=True)
class Step:
    """One stretch with what was known before it.

    Parameters
    ----------
    known : MarketData
        The sales before the stretch.
    fitted : Fitted
        The market fitted to them.
    record : PastErrors
        Errors of forecasts that were over by then.
    rows : ndarray of int
        Positions of the sales of the stretch.
    forecast : Forecast
        What the fit says of them.
    day : float
        Day of the first of them, NaN in an undated list.
    """

    known: MarketData
    fitted: Fitted
    record: PastErrors
    rows: Ints
    forecast: Forecast
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
    return Plan(first, stretches, sum(map(len, parts)) - tested)


def walk_forward(
    data: MarketData,
    plan: Plan,
    *,
    settings: ModelSettings,
    assumptions: Assumptions,
    progress: Progress | None = None,
) -> Iterator[Step]:
    """Yield each stretch of a plan with a market fitted on what was known before it.

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
    progress : callable, optional
        Told when a stretch is done.
    """
    known = data.take(plan.first)
    total = len(plan.stretches) + 1
    if progress is not None:
        progress(0, total, "fitting on the sales before the test")
    fitted = fit_market_data(known, settings=settings, assumptions=assumptions)
    penalties = fitted.penalties
    record = past_errors(known, penalties, settings=settings, assumptions=assumptions)
    if progress is not None:
        progress(1, total, "pricing the test")
    rows = plan.first
    for i, stretch in enumerate(plan.stretches):
        if i:
            known = data.take(rows)
            fitted = fit_market_data(
                known, settings=settings, assumptions=assumptions, penalties=penalties
            )
        forecast = fitted.forecast(data.table.take(stretch))
        day = float(np.nanmin(data.day[stretch])) if data.dated else float("nan")
        yield Step(known, fitted, record, stretch, forecast, day)
        sold = np.flatnonzero(~data.bound[stretch])
        errors = errors_of(data, stretch[sold], forecast.take(sold))
        record = join_errors([record, errors])
        rows = np.arange(stretch.max() + 1) if data.dated else rows
        if progress is not None:
            progress(i + 2, total, "pricing the test")

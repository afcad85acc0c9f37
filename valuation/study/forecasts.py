"""Forward forecasts: what a market, learned at the start of each month, said of its sales."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.foreseen import Foreseen
from valuation.appraisal.market import MarketModel
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.appraisal.strength import each_outside
from valuation.appraisal.walk import LEAST_BEFORE, unseen_chassis
from valuation.errors import SettingsError, TooFewSalesError
from valuation.features.assumptions import Assumptions, default_assumptions
from valuation.features.table import day_number
from valuation.models.ranges import Calibration, calibrate
from valuation.records import SalesBook
from valuation.running.kept import Kept
from valuation.running.runner import Runner
from valuation.study.backtest import BacktestResult, predicted, result_of
from valuation.study.ranges import LEVELS, bound_columns
from valuation.study.walk_forward import Plan, walk_forward

__all__ = ["COLUMNS", "ForwardForecasts", "forecasts_of_model", "forward_forecasts"]

Ints = NDArray[np.intp]

WHERE = "forward forecasts"

TOLD = (
    "sale_key", "sale_id", "sale_date", "month", "price", "basis", "outcome", "reserve", "channel",
    "venue", "region", "make", "model", "variant", "generation", "year", "body", "batch",
)  # fmt: skip
"""Columns that say which sale it was; ``sale_key`` and ``batch`` only where the book has them."""

SAID = (
    "central",
    *(name for level in LEVELS for name in bound_columns(level)),
    "outside",
    "months_ahead",
)
"""Columns that say what was forecast."""

COLUMNS = (*TOLD, *SAID)
"""Columns of the forecasts, in order."""


@dataclass(frozen=True)
class ForwardForecasts:
    """What was forecast of the sales of some months, each from what was known at its start.

    Attributes
    ----------
    frame : pandas.DataFrame
        One row a sale, oldest first: what it was, as the book has it, with ``month`` as
        ``YYYY-MM``; ``central`` and the bounds ``lower, upper`` (80 %), ``lower_50, upper_50,
        lower_95, upper_95`` in the book's currency, NaN where no range is given; ``outside``,
        whether the car lies outside what had been seen; ``months_ahead``, whole months of 30 days
        from the last sale that was known.
    months : tuple of str
        Months that were tested, ``YYYY-MM``; at their start at least 60 sales were known.
    fitted_on : int
        Sales known at the start of the first.
    seen_before : int
        Sales of these months left out because their chassis had been sold before.
    as_of : datetime.date
        Day up to which sales count.
    currency : str
        Currency of all amounts.
    """

    frame: pd.DataFrame
    months: tuple[str, ...]
    fitted_on: int
    seen_before: int
    as_of: date
    currency: str

    @cached_property
    def result(self) -> BacktestResult:
        """How well the sales were priced: accuracy, and how often the ranges held."""
        return result_of(self.frame, self.fitted_on)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form without the single sales (``"format": 1``)."""
        return {
            "format": 1,
            "months": list(self.months),
            "as_of": self.as_of.isoformat(),
            "currency": self.currency,
            "seen_before": self.seen_before,
            **{k: v for k, v in self.result.to_dict().items() if k != "format"},
        }

    def summary(self) -> str:
        """Return the forecasts as plain text."""
        span = self.months[0] if len(self.months) == 1 else f"{self.months[0]} to {self.months[-1]}"
        head = (
            f"Forward forecasts: {len(self.frame):,} sales of {span}, each priced from what was "
            f"known at the start of its month ({self.fitted_on:,} sales before the first)"
        )
        lines = [head]
        if self.seen_before:
            lines.append(f"  left out                {self.seen_before:,} cars sold before")
        return "\n".join([*lines, *self.result.lines()])


def forward_forecasts(
    book: SalesBook,
    *,
    months: int = 12,
    as_of: date | None = None,
    settings: ModelSettings | None = None,
    assumptions: Assumptions | None = None,
    run: Runner | None = None,
    keep: str | Path | None = None,
    progress: Progress | None = None,
) -> ForwardForecasts:
    """Forecast the sales of the last calendar months, each month from what was known at its start.

    The market is learned anew at the start of each month; penalties are those of the first.  A
    car whose chassis had been sold before is left out.  Each range rests on errors of forecasts
    that were over by then.

    Parameters
    ----------
    book : SalesBook
        Sales, dated.
    months : int
        Calendar months that are tested, up to that of `as_of`.  Months at whose start fewer than
        60 sales were known are left out.
    as_of : datetime.date, optional
        Day up to which sales count; by default that of the last sale.
    settings : ModelSettings, optional
        How models are built.
    assumptions : Assumptions, optional
        Effects that are assumed; the package's defaults if None.
    run : Runner, optional
        How the fits are run; in this process if not given.  The result is the same.
    keep : path-like, optional
        Folder in which finished forecasts are kept: a run that was stopped goes on from there.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    ForwardForecasts
        One row a tested sale.

    Raises
    ------
    SettingsError
        If the book is undated, or fewer than one month is asked for.
    TooFewSalesError
        If too few sales are known before the months, or no sale is left in them.
    """
    settings = settings or ModelSettings()
    assumptions = default_assumptions() if assumptions is None else assumptions
    data = _sales_until(book, months, as_of, settings)
    last = as_of or data.frame["sale_date"].iloc[-1].date()
    plan, tested = _plan(data, months, pd.Period(last, "M"))
    steps = walk_forward(
        data,
        plan,
        settings=settings,
        assumptions=assumptions,
        run=run,
        kept=None if keep is None else Kept(keep),
        progress=progress,
    )
    parts = [
        _rows(data, s.rows, s.seen, calibrate(s.record, day=_start_of(month)))
        for s, month in zip(steps, tested, strict=True)
    ]
    return ForwardForecasts(
        pd.concat(parts, ignore_index=True),
        tuple(map(str, tested)),
        len(plan.first),
        plan.seen_before,
        last,
        book.currency,
    )


def _sales_until(
    book: SalesBook, months: int, as_of: date | None, settings: ModelSettings
) -> MarketData:
    if not book.dated:
        raise SettingsError(
            WHERE, "an undated list has no months", remedy="Give sales with their dates"
        )
    if months < 1:
        raise SettingsError(
            WHERE, "at least one month is tested", got=str(months), remedy="Ask for 1 or more"
        )
    if as_of is not None:
        book = book.subset((book.table["sale_date"] <= pd.Timestamp(as_of)).to_numpy())
    return market_data(book, unsold=settings.unsold, least=settings.least_sales)


def _start_of(month: pd.Period) -> float:
    return day_number(month.start_time.date())


def _plan(data: MarketData, months: int, last: pd.Period) -> tuple[Plan, list[pd.Period]]:
    """Return what is known and tested month by month, and the months."""
    known, stretches, tested, seen_before = [], [], [], 0
    for month in pd.period_range(end=last, periods=months, freq="M"):
        # Sales are sorted by their day.
        start, stop = np.searchsorted(data.day, [_start_of(month), _start_of(month + 1)])
        before, all_rows = np.arange(start), np.arange(start, stop)
        rows = unseen_chassis(data, before, all_rows)
        if start >= LEAST_BEFORE and not data.bound[rows].all():
            known.append(before)
            stretches.append(rows)
            tested.append(month)
            seen_before += len(all_rows) - len(rows)
    if not tested:
        raise TooFewSalesError(
            WHERE,
            f"at least {LEAST_BEFORE} sales before a month and one in it are needed",
            got=f"{len(data)} sales up to {last}",
            remedy="Add sales",
        )
    return Plan(known, stretches, seen_before), tested


def forecasts_of_model(
    market: MarketModel, book: SalesBook, *, start: date, end: date
) -> pd.DataFrame:
    """Return what a model, as it stands, says of sales that it did not know.

    A car whose chassis is among the model's own sales is left out, as in
    :func:`forward_forecasts`, and sales are used as the model was told to use them.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated, on sales before `start`.
    book : SalesBook
        Sales, dated.
    start, end : datetime.date
        First and last day of the sales to forecast.

    Returns
    -------
    pandas.DataFrame
        Columns as in :class:`ForwardForecasts`; without rows if there is no such sale.

    Raises
    ------
    SettingsError
        If the book or the model is undated, the model's evidence reaches beyond `start`, or
        currencies differ.
    """
    _check_model(market, book, start)
    days = book.table["sale_date"]
    between = (days >= pd.Timestamp(start)) & (days <= pd.Timestamp(end))
    data = market_data(book.subset(between.to_numpy()), unsold=market.settings.unsold, least=0)
    seen = market.fitted.codes["chassis"]
    chassis = data.table.factors["chassis"].text()
    rows = np.flatnonzero([word not in seen for word in chassis])
    table = data.table.take(rows)
    forecast = market.fitted.forecast(table)
    outside = each_outside(market.typical, table)
    foreseen = Foreseen.of(market.fitted, forecast, data.day[rows], outside)
    return _rows(data, rows, foreseen, market.calibration)


def _check_model(market: MarketModel, book: SalesBook, start: date) -> None:
    if not (book.dated and market.dated):
        raise SettingsError(
            WHERE, "an undated list has no days to forecast", remedy="Give sales with their dates"
        )
    if market.currency != book.currency:
        raise SettingsError(
            WHERE,
            f"the model is in another currency than the sales, {book.currency}",
            got=market.currency,
            remedy=f"Bring the sales to {market.currency}",
        )
    if market.fitted.last_day >= day_number(start):
        raise SettingsError(
            WHERE,
            "the model knows sales of the days that it is to forecast",
            got=f"sales up to {market.frame['sale_date'].max().date()}",
            remedy="Forecast days after its last sale",
        )


def _rows(data: MarketData, rows: Ints, seen: Foreseen, calibration: Calibration) -> pd.DataFrame:
    """Return the forecasts of some sales, bounds left out: their price is not known."""
    frame = data.frame.iloc[rows].reset_index(drop=True)
    frame["month"] = frame["sale_date"].dt.strftime("%Y-%m")
    told = frame[[name for name in TOLD if name in frame]]
    out = told.assign(**predicted(calibration, seen))
    return out[~data.bound[rows]].reset_index(drop=True)

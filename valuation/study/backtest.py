"""Backtest: price past sales from what was known before them, and count how well it went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.foreseen import Foreseen, outlooks
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.features.assumptions import Assumptions, default_assumptions
from valuation.models.ranges import Calibration, calibrate
from valuation.records import SalesBook
from valuation.running.runner import Runner
from valuation.scoring.accuracy import AccuracySummary, accuracy_summary, by_group
from valuation.study.ranges import LEVELS, RangeCheck, bound_columns, check_ranges
from valuation.study.walk_forward import Refit, Step, forward_plan, walk_forward

__all__ = ["BacktestResult", "backtest", "predicted", "result_of"]

Floats = NDArray[np.float64]

CENT = 0.01
"""Least amount."""

GROUPED = ("make", "year", "channel", "basis", "outcome")
"""Columns of the sales that stand beside what was predicted, for a ratio study."""


@dataclass(frozen=True)
class BacktestResult:
    """How well past sales were priced.

    Attributes
    ----------
    overall : AccuracySummary
        All tested sales.
    by : dict of str to dict of str to AccuracySummary
        By make, era, estimate band, month and months ahead.
    predictions : pandas.DataFrame
        ``sale_id, sale_date, price, central``, the bounds ``lower, upper`` of the 80 % range and
        ``lower_50, upper_50, lower_95, upper_95`` of the others, ``outside`` and ``months_ahead``
        (whole months of 30 days from the last sale the model knew); bounds are NaN where no
        range is given.  Then what sales are grouped by and what their amounts are:
        ``make, year, channel, basis, outcome``.
    fitted_on : int
        Sales before the first test.
    outside : AccuracySummary
        Cars outside the evidence alone.
    inside : AccuracySummary
        Cars inside the evidence alone.
    ranges : RangeCheck
        How honest the ranges were.
    """

    overall: AccuracySummary
    by: dict[str, dict[str, AccuracySummary]]
    predictions: pd.DataFrame
    fitted_on: int
    inside: AccuracySummary
    outside: AccuracySummary
    ranges: RangeCheck

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": 1,
            "fitted_on": self.fitted_on,
            **self.overall.to_dict(),
            "inside": self.inside.to_dict(),
            "outside": self.outside.to_dict(),
            "ranges": self.ranges.to_dict(),
            "by": {
                name: {k: s.to_dict() for k, s in groups.items()}
                for name, groups in self.by.items()
            },
        }

    def summary(self) -> str:
        """Return the result as plain text."""
        head = (
            f"Backtest: {self.overall.tested:,} sales priced from what was known before them "
            f"({self.fitted_on:,} sales before the first)"
        )
        return "\n".join([head, *self.lines()])

    def lines(self) -> list[str]:
        """Return what was counted, line by line."""
        o = self.overall
        lines = [
            f"  median absolute error   {_percent(o.median_abs_pct_error)}",
            f"  within 10%              {_percent(o.within_10_pct)}",
            f"  within 20%              {_percent(o.within_20_pct)}",
            f"  median estimate/price   {_plain(o.median_ratio)}",
            f"  80% range held          {_percent(o.coverage_80)} (median width "
            f"{_percent(o.median_width_80_pct)})",
            f"  given a range           {_percent(o.share_priced)}",
            *self.ranges.lines(),
        ]
        for name in ("era", "estimate_band", "months_ahead"):
            lines.append(f"  by {name.replace('_', ' ')}:")
            lines += [
                f"    {k:<22} n {s.tested:>6,}  error {_percent(s.median_abs_pct_error)}  "
                f"80% range held {_percent(s.coverage_80)}"
                for k, s in self.by[name].items()
            ]
        return lines


def _percent(x: float | None) -> str:
    return "–" if x is None else f"{x:.1f}%"


def _plain(x: float | None) -> str:
    return "–" if x is None else f"{x:.3f}"


def backtest(
    book: SalesBook,
    *,
    test_share: float = 0.3,
    months: int | None = None,
    refit: Refit = "month",
    undated_seed: int = 0,
    least_price: float = 0.0,
    settings: ModelSettings | None = None,
    assumptions: Assumptions | None = None,
    run: Runner | None = None,
    progress: Progress | None = None,
) -> BacktestResult:
    """Price the latest sales from what was known before them.

    Dated sales: the test is the latest part, a chassis seen in training leaves it, and the model
    is fitted again at the start of each stretch; penalties are those of the first fit, and each
    range rests on errors of stretches that were over by then.  Undated: a seeded random split.

    Parameters
    ----------
    book : SalesBook
        Sales.
    test_share : float
        Share of the sales that is tested.
    months : int, optional
        Instead, the last so many months of 30 days are tested.
    refit : {"month", "fortnight", "never"}
        How often the model is fitted again.
    undated_seed : int
        Seed of the split of an undated list.
    least_price : float
        Sales at this price and less are left out.
    settings : ModelSettings, optional
        How models are built.
    assumptions : Assumptions, optional
        Effects that are assumed; the package's defaults if None.
    run : Runner, optional
        How the fits are run; in this process if not given.  The result is the same.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    BacktestResult
        Accuracy, coverage and every prediction.

    Raises
    ------
    SettingsError
        If the share or the number of months is out of range.
    TooFewSalesError
        If too few sales are left on either side.
    """
    settings = settings or ModelSettings()
    assumptions = default_assumptions() if assumptions is None else assumptions
    if least_price > 0:
        book = book.subset((book.table["price"] > least_price).to_numpy())
    data = market_data(book, unsold=settings.unsold, least=settings.least_sales)
    plan = forward_plan(
        data,
        where="backtest",
        test_share=test_share,
        months=months,
        refit=refit,
        undated_seed=undated_seed,
    )
    steps = walk_forward(
        data, plan, settings=settings, assumptions=assumptions, run=run, progress=progress
    )
    parts = [_price(data, step) for step in steps]
    return result_of(pd.concat(parts, ignore_index=True), len(plan.first))


def _price(data: MarketData, step: Step) -> pd.DataFrame:
    """Price the sales of a stretch and return the predictions."""
    calibration = calibrate(step.record, day=step.day)
    frame = data.frame.iloc[step.rows]
    out = pd.DataFrame(
        {
            "sale_id": frame["sale_id"].to_numpy(),
            "sale_date": frame["sale_date"].to_numpy(),
            "price": frame["price"].to_numpy(),
            **predicted(calibration, step.seen),
            **{name: frame[name].to_numpy() for name in GROUPED},
        }
    )
    return out[~data.bound[step.rows]]


def predicted(calibration: Calibration, seen: Foreseen) -> dict[str, NDArray[Any]]:
    """Return the columns of predictions: central value, ranges, and what to know about them.

    Parameters
    ----------
    calibration : Calibration
        What past errors teach.
    seen : Foreseen
        What was foreseen of the sales.
    """
    levels = [level / 100 for level in LEVELS]
    central, lower, upper = outlooks(calibration, seen, levels)
    lower[seen.outside] = np.nan
    upper[seen.outside] = np.nan
    return {
        "central": np.maximum(np.round(central, 2), CENT),
        **_bounds(lower, upper),
        "outside": seen.outside,
        "months_ahead": np.maximum(seen.gap // 30.0, 0.0),
    }


def _bounds(lower: Floats, upper: Floats) -> dict[str, Floats]:
    columns = {}
    for k, level in enumerate(LEVELS):
        low, high = bound_columns(level)
        # A bound is an amount of money: at least a cent, however little is known.
        columns[low] = np.maximum(np.round(lower[:, k], 2), CENT)
        columns[high] = np.maximum(np.round(upper[:, k], 2), CENT)
    return columns


def result_of(predictions: pd.DataFrame, fitted_on: int) -> BacktestResult:
    """Count how well sales were priced.

    Parameters
    ----------
    predictions : pandas.DataFrame
        Columns of :attr:`BacktestResult.predictions`.
    fitted_on : int
        Sales before the first test.
    """
    p = predictions
    columns = {
        "price": p["price"].to_numpy(dtype=np.float64),
        "central": p["central"].to_numpy(dtype=np.float64),
        "lower": p["lower"].to_numpy(dtype=np.float64),
        "upper": p["upper"].to_numpy(dtype=np.float64),
    }
    out = p["outside"].to_numpy(dtype=bool)
    keys = {
        "make": p["make"].fillna("not stated").astype(str).to_numpy(),
        "era": np.array([f"{int(y) // 10 * 10}s" for y in p["year"]]),
        "estimate_band": _bands(columns["central"]),
        "month": np.array(["undated" if pd.isna(d) else f"{d:%Y-%m}" for d in p["sale_date"]]),
        "months_ahead": np.array(
            ["undated" if np.isnan(m) else f"{int(m)} months" for m in p["months_ahead"]]
        ),
    }
    return BacktestResult(
        accuracy_summary(**columns),
        {name: by_group(k, **columns) for name, k in keys.items()},
        p,
        fitted_on,
        accuracy_summary(**{k: v[~out] for k, v in columns.items()}),
        accuracy_summary(**{k: v[out] for k, v in columns.items()}),
        check_ranges(p, keys),
    )


def _bands(central: Floats) -> NDArray[Any]:
    """Name the fifth of the estimates in which each lies."""
    edges = np.quantile(central, [0.2, 0.4, 0.6, 0.8])
    names = np.array(["lowest fifth", "second fifth", "middle fifth", "fourth fifth", "top fifth"])
    names = np.array([f"{i + 1} {n}" for i, n in enumerate(names)])
    return np.asarray(names[np.searchsorted(edges, central, side="right")])

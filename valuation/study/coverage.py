"""How often the ranges of forecasts held, over all and group by group."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.results.coverage import (
    CoverageKind,
    CoverageReport,
    CoverageRow,
    HeldRanges,
    RangeVerdict,
)
from valuation.scoring.intervals import CoverageInterval, coverage_interval
from valuation.study.ranges import FLOOR, LEAST, LEVELS, TARGET, bound_columns
from valuation.study.strata import (
    Cut,
    Group,
    bands,
    check_columns,
    column_cuts,
    month_of,
    pooled_groups,
)
from valuation.study.tested import days_of, sales_of, tested_frame

__all__ = ["held_ranges", "study_coverage"]

CEILING = 0.85
"""Ranges are wider than needed if significantly more than this share of the 80 % ones held."""


def study_coverage(
    frame: pd.DataFrame, *, currency: str = "", least: int = LEAST, by: Sequence[str] = ()
) -> CoverageReport:
    """Count how often the ranges of forecasts held.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a tested sale, as :func:`valuation.study.tested.tested_frame` takes it.
    currency : str
        Of all amounts, empty if not stated.
    least : int
        Fewest sales of a group that stands by itself; thinner ones are pooled in one row.
    by : sequence of str
        Further columns to group by.

    Returns
    -------
    CoverageReport
        All sales, then by make, era, band of the estimate, channel, basis, evidence, month,
        months ahead and outcome, as far as the columns tell.  All but the last count sales alone.

    Raises
    ------
    ScoreInputError, SettingsError, TooFewSalesError
        As :func:`valuation.study.tested.tested_frame` and
        :func:`valuation.study.strata.check_columns` do.
    """
    check_columns(frame, by)
    whole = tested_frame(frame)
    sales = whole[sales_of(whole)].reset_index(drop=True)
    overall = _row(sales, Group("all sales", (), np.ones(len(sales), dtype=bool)), "", 1, least)
    estimate = sales["central"].to_numpy(dtype=np.float64)
    value = bands(
        estimate, by="estimate", label="By band of the estimate", currency=currency, least=least
    )
    cuts = list(column_cuts(sales, [name for name in by if name != "outcome"]))
    cuts[_after_era(cuts) : _after_era(cuts)] = [value] if len(value.order) > 1 else []
    kinds = [_kind(sales, cut, least) for cut in cuts]
    kinds += [_kind(whole, cut, least) for cut in column_cuts(whole[["outcome"]], ["outcome"])]
    first, last = days_of(sales)
    interval = overall.held[0].interval if overall.held else None
    meets = None if interval is None else interval.overlaps(*TARGET)
    return CoverageReport(
        currency, first, last, overall, meets, tuple(kinds), least, tuple(_notes(least))
    )


def _after_era(cuts: Sequence[Cut]) -> int:
    return next((i + 1 for i, cut in enumerate(cuts) if cut.by == "era"), min(1, len(cuts)))


def _kind(frame: pd.DataFrame, cut: Cut, least: int) -> CoverageKind:
    groups = pooled_groups(cut, least=least)
    rows = tuple(_row(frame, group, cut.by, len(groups), least) for group in groups)
    return CoverageKind(cut.by, cut.label, rows)


def _row(frame: pd.DataFrame, group: Group, by: str, groups: int, least: int) -> CoverageRow:
    part = frame[group.rows]
    held = held_ranges(part)
    verdict = _verdict(part, groups, least)
    return CoverageRow(by, group.name, group.pooled, len(part), held, verdict)


def held_ranges(part: pd.DataFrame) -> tuple[HeldRanges, ...]:
    """Count how many ranges held, level by level.

    Parameters
    ----------
    part : pandas.DataFrame
        Tested sales with the columns of :func:`valuation.study.ranges.bound_columns`.

    Returns
    -------
    tuple of HeldRanges
        The levels of which a car has a range.
    """
    return tuple(_held(part, level) for level in LEVELS if _given(part, level).any())


def _given(part: pd.DataFrame, level: int) -> NDArray[np.bool_]:
    return part[bound_columns(level)[0]].notna().to_numpy(dtype=bool)


def _held(part: pd.DataFrame, level: int) -> HeldRanges:
    given = part[_given(part, level)]
    low, high = bound_columns(level)
    inside = (given[low] <= given["price"]) & (given["price"] <= given[high])
    interval = _interval(given, level, 0.95)
    return HeldRanges(level, len(given), 100.0 * float(inside.mean()), interval)


def _interval(given: pd.DataFrame, level: int, confidence: float) -> CoverageInterval | None:
    if len(given) < 2:
        return None
    month = month_of(given)
    # Sales of one month miss together; within a single month each is by itself.
    several = len(np.unique(month)) > 1
    clusters: list[Any] = month.tolist() if several else list(range(len(given)))
    price, lower, upper = (
        given[c].to_numpy(dtype=np.float64) for c in ("price", *bound_columns(level))
    )
    return coverage_interval(price, lower, upper, clusters, confidence=confidence)


def _verdict(part: pd.DataFrame, groups: int, least: int) -> RangeVerdict:
    given = part[_given(part, LEVELS[0])]
    if len(given) < least:
        return "too few to tell"
    # One-sided at 5 % over all groups of the kind: twice the tail, one end is read.
    interval = _interval(given, LEVELS[0], 1.0 - 2 * 0.05 / groups)
    if interval is None:
        return "too few to tell"
    if interval.upper < FLOOR:
        return "too narrow"
    if interval.lower > CEILING:
        return "wider than needed"
    if interval.coverage < FLOOR:
        return "few held, may be chance"
    return "many held, may be chance" if interval.coverage > CEILING else "in order"


def _notes(least: int) -> Iterator[str]:
    yield (
        "Grouped by what is known before a sale, never by the price that was paid: by price even "
        "a perfect forecast fails, as what brought much was mostly lucky."
    )
    yield (
        "Intervals are 95% and know that sales of one month miss together. A group is called too "
        f"narrow if significantly fewer than {FLOOR:.0%} of its 80% ranges held, and wider than "
        f"needed if significantly more than {CEILING:.0%} did; over all groups of a kind one such "
        "call in twenty is chance (Bonferroni)."
    )
    yield f"Groups of fewer than {least} sales are pooled in one row that names them."

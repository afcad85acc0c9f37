"""A market index by segment: constant mix, months against a base, bands of the fit itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError, TooFewSalesError
from valuation.results.index import IndexMonth, MarketIndex, SegmentIndex, YearChange
from valuation.study.index_counts import (
    AUCTIONS,
    days_of_sales,
    days_to_sell_by_month,
    sell_through_by_month,
)
from valuation.study.index_levels import (
    IndexEvidence,
    SegmentLevel,
    index_evidence,
    segment_level,
)
from valuation.study.segments import (
    ALL_CARS,
    LEAST_SALES,
    Segment,
    make_segments,
    overlaps_of,
)

__all__ = ["market_index", "revision"]

Floats = NDArray[np.float64]

THIN = 5
"""A month with fewer sales is called thin: its level rests on the months around it."""

_Z80, _Z95 = 1.2815515655446004, 1.959963984540054
_EPOCH = pd.Timestamp("1970-01-01")


def market_index(
    market: MarketModel,
    *,
    segments: Sequence[Segment] | None = None,
    all_cars: bool = False,
    base: str | None = None,
    months: int | None = None,
    ahead: int = 3,
    days_to_sell: Mapping[str, float] | None = None,
) -> MarketIndex:
    """Return the level of each segment month by month.

    The level of a segment is the mean of the levels of its sales' kinds of cars, each sale of the
    whole stretch with the same weight in every month: a change of what is sold is no change of
    the level.  Bands are those of the level against the base, so they are nothing in the base
    month and widen away from it.

    Parameters
    ----------
    market : MarketModel
        Fitted and dated.
    segments : sequence of Segment, optional
        What to tell apart; by default one for each make with enough sales.
    all_cars : bool
        Whether all cars together are a segment too.
    base : str, optional
        Month that is 100, as ``2024-03``; the first month that is shown by default.
    months : int, optional
        Shows so many months up to the last sale; all by default.
    ahead : int
        Months past the last sale for which the level is held, with a band that widens.
    days_to_sell : mapping of str to float, optional
        Days from offer to sale by ``sale_key``, ``sale_id`` or chassis.

    Returns
    -------
    MarketIndex
        Segments in the order given; those without a sale are left out and named.

    Raises
    ------
    SettingsError
        If the market has no dates, or the base is no month of the evidence.
    TooFewSalesError
        If no segment has a sale.
    """
    if not market.dated:
        raise SettingsError(
            "the market index", "an undated list has no months", remedy="Give the sales their dates"
        )
    chosen = make_segments(market.frame) if segments is None else tuple(segments)
    chosen += (Segment(ALL_CARS),) if all_cars else ()
    shown = _months(market.frame, months, ahead)
    start = _base(base, market.frame, shown)
    evidence = index_evidence(market)
    days = None if days_to_sell is None else days_of_sales(market.frame, days_to_sell)
    of = {s: s.rows(market.frame) for s in chosen}
    empty = [s.name for s, rows in of.items() if not rows.any()]
    if len(empty) == len(of):
        raise TooFewSalesError(
            "the market index",
            "no segment has a sale"
            if chosen
            else f"no make has the {LEAST_SALES} sales for a segment of its own",
            got=", ".join(empty),
            remedy="Name segments that the sales fill, or ask for all cars together",
        )
    made = [
        _segment(evidence, s, market.frame[rows], rows, shown, start, days)
        for s, rows in of.items()
        if rows.any()
    ]
    apart = {s.name: rows for s, rows in of.items() if s.name != ALL_CARS}
    notes = (
        *overlaps_of(tuple(apart), tuple(apart.values())),
        *(f"{name}: no sale, left out." for name in empty),
    )
    last = market.frame["sale_date"].max().date()
    return MarketIndex(str(start), market.as_of or last, last, market.estimand, tuple(made), notes)


def _ends(frame: pd.DataFrame) -> tuple[pd.Period, pd.Period]:
    """Return the months of the first and the last sale."""
    days = frame["sale_date"]
    return pd.Period(days.min(), freq="M"), pd.Period(days.max(), freq="M")


def _months(frame: pd.DataFrame, months: int | None, ahead: int) -> list[pd.Period]:
    first, last = (
        pd.Period(d, freq="M") for d in (frame["sale_date"].min(), frame["sale_date"].max())
    )
    if months is not None:
        first = max(first, last - (months - 1))
    return list(pd.period_range(first, last + ahead, freq="M"))


def _base(base: str | None, frame: pd.DataFrame, shown: Sequence[pd.Period]) -> pd.Period:
    if base is None:
        return shown[0]
    first, last = (
        pd.Period(d, freq="M") for d in (frame["sale_date"].min(), frame["sale_date"].max())
    )
    try:
        month = pd.Period(base, freq="M")
    except ValueError:
        month = None
    if month is None or not first <= month <= last:
        raise SettingsError(
            "the base of the index",
            "no month of the evidence",
            got=base,
            remedy=f"Name a month from {first} to {last}",
        )
    return month


def _span(month: pd.Period) -> Floats:
    first = (month.start_time - _EPOCH).days
    return np.arange(first, first + month.days_in_month, dtype=np.float64)


def _segment(
    evidence: IndexEvidence,
    segment: Segment,
    frame: pd.DataFrame,
    rows: NDArray[np.bool_],
    shown: Sequence[pd.Period],
    base: pd.Period,
    days: Floats | None,
) -> SegmentIndex:
    names, spans = [str(m) for m in shown], [_span(m) for m in shown]
    found = segment_level(evidence, rows, spans, _span(base))
    counts = frame["sale_date"].dt.to_period("M").astype(str).value_counts()
    sold = sell_through_by_month(frame, names)
    stood = {} if days is None else days_to_sell_by_month(frame, days[rows], names)
    made = []
    for i, name in enumerate(names):
        level, sd, sales = float(found.level[i]), float(found.sd[i]), int(counts.get(name, 0))
        held = bool(spans[i][0] > evidence.fitted.last_day)
        ends = [100.0 * float(np.exp(level + z * sd)) for z in (-_Z80, _Z80, -_Z95, _Z95)]
        made.append(
            IndexMonth(
                month=name,
                level=100.0 * float(np.exp(level)),
                lower80=ends[0],
                upper80=ends[1],
                lower95=ends[2],
                upper95=ends[3],
                sales=sales,
                thin=sales < THIN and not held,
                held=held,
                sell_through=sold.get(name),
                days_to_sell=stood.get(name),
            )
        )
    return SegmentIndex(
        name=segment.name,
        belongs=segment.words,
        sales=len(frame),
        yearly=found.yearly,
        months=tuple(made),
        year=_year(found, made),
        notes=_notes(frame, told=bool(sold)),
    )


def _year(found: SegmentLevel, made: Sequence[IndexMonth]) -> YearChange | None:
    """Return the change over the twelve months up to the last one that is not held."""
    last = max((i for i, m in enumerate(made) if not m.held), default=-1)
    if last < 12:
        return None
    change, sd = found.change(last - 12, last)
    ends = (float(np.expm1(change + z * sd)) for z in (0.0, -_Z80, _Z80))
    return YearChange(made[last - 12].month, made[last].month, *ends)


def _notes(frame: pd.DataFrame, *, told: bool) -> tuple[str, ...]:
    if told or not frame["channel"].isin(AUCTIONS).any():
        return ()
    return ("No share sold: lots that did not sell are not recorded, or too few lots are.",)


def revision(new: MarketIndex, old: MarketIndex) -> MarketIndex:
    """Say how far each month differs from what an earlier index said of it.

    Parameters
    ----------
    new, old : MarketIndex
        Indices of the same base; segments are matched by their names.

    Returns
    -------
    MarketIndex
        The new one with ``revised_by`` and ``was_held`` filled where the old one has the month.

    Raises
    ------
    SettingsError
        If the bases differ.
    """
    if new.base != old.base:
        raise SettingsError(
            "the revision of the index",
            "two indices can be compared on one base only",
            got=f"{old.base} and {new.base}",
            remedy="Make both with the same base",
        )
    before = {s.name: {m.month: m for m in s.months} for s in old.segments}
    segments = tuple(
        replace(s, months=tuple(_revised(m, before.get(s.name, {}).get(m.month)) for m in s.months))
        for s in new.segments
    )
    return replace(new, segments=segments, against=old.as_of)


def _revised(month: IndexMonth, before: IndexMonth | None) -> IndexMonth:
    if before is None:
        return month
    return replace(month, revised_by=month.level - before.level, was_held=before.held)

"""The market of a model line over time: what its typical car would have brought, month by month."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import make_and_line
from valuation.appraisal.market import MarketModel
from valuation.features.table import day_number
from valuation.records import Car
from valuation.results.customer_sheet_parts import LineCourse, LineMonth, LineQuarter, NoCourse
from valuation.selling.customers_market import public_sales
from valuation.selling.sheet_words import plain_value
from valuation.study.index_levels import index_evidence, segment_level

__all__ = ["line_course"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

MOST_MONTHS = 60
"""Months that are shown: five years."""

Z80 = 1.2815515655446004

_STILL = 0.0005
"""A level that never moved by more than that is flat."""

_MIDDLE = 15


def line_course(
    market: MarketModel, car: Car, *, start: int, as_of: date | None
) -> LineCourse | NoCourse:
    """Return what the typical car of a model line would have brought over the last years.

    Parameters
    ----------
    market : MarketModel
        Fitted; the market as a customer may see it.
    car : Car
        A car of the line.
    start : int
        Price of the typical car on the day of the sheet.
    as_of : datetime.date or None
        That day.

    Returns
    -------
    LineCourse or NoCourse
        The last month is that of the sheet.  The band is of the level against the day of the
        sheet, with what the line may have done beside its make and the market.
    """
    if as_of is None:
        return NoCourse("The sales have no dates, so the market over time can't be shown.")
    make, line = make_and_line(car)
    rows = _rows(market, line)
    name = plain_value("model", dict(car.values))
    if not rows.any():
        return NoCourse("No sale of this model is known, so its market over time can't be shown.")
    months = _months(_first(market, rows), as_of)
    days = np.array([day_number(_day_of(m, as_of)) for m in months])
    level = market.levels.of(make, line).at(np.append(days, day_number(as_of)))
    level = level[:-1] - level[-1]
    if np.abs(level).max() < _STILL:
        return NoCourse(f"The sales show no movement of the market of the {name} in this time.")
    half = Z80 * _unsure(market, rows, days, day_number(as_of), level)
    bounds = zip(level - half, level + half, strict=True)
    made = [
        LineMonth(f"{m:%Y-%m}", _money(start, at), _money(start, low), _money(start, high))
        for m, at, (low, high) in zip(months, level.tolist(), bounds, strict=True)
    ]
    return LineCourse(name, tuple(made), _quarters(market, rows, months[0], as_of))


def _rows(market: MarketModel, line: str) -> Mask:
    lines = market.fitted.spec.lines
    code = lines.index(line) if line in lines else -2
    return np.asarray(market.fitted.sales.line == code, dtype=bool)


def _first(market: MarketModel, rows: Mask) -> date:
    first = market.columns["sale_date"][rows].min().astype("datetime64[D]").item()
    return date(first.year, first.month, 1)


def _months(first: date, as_of: date) -> list[date]:
    """Return the first days of the months up to that of a day, at most five years of them."""
    last = 12 * as_of.year + as_of.month - 1
    start = max(12 * first.year + first.month - 1, last - MOST_MONTHS + 1)
    return [date(m // 12, m % 12 + 1, 1) for m in range(min(start, last), last + 1)]


def _day_of(month: date, as_of: date) -> date:
    """Return the day that stands for a month: its middle, and the day of the sheet for the last."""
    last = (month.year, month.month) == (as_of.year, as_of.month)
    return as_of if last else month + timedelta(days=_MIDDLE)


def _unsure(market: MarketModel, rows: Mask, days: Floats, today: float, level: Floats) -> Floats:
    """Return how far each level may be off, log units.

    What the line did beside its make and the market moves no figure of the sheet, so the sheet's
    level is held; how far it is from the line's own is part of what it may be off by.
    """
    evidence = index_evidence(market, rows=rows)
    found = segment_level(evidence, rows, [np.array([d]) for d in days], np.array([today]))
    return np.asarray(np.hypot(found.sd, found.level - level))


def _money(start: int, level: float) -> int:
    return int(np.floor(start * np.exp(level) + 0.5))


def _quarters(market: MarketModel, rows: Mask, first: date, as_of: date) -> tuple[LineQuarter, ...]:
    """Count the sales of each quarter that may be shown."""
    shown = rows & public_sales(market) & (market.columns["outcome"] != "not sold")
    days = market.columns["sale_date"][shown].astype("datetime64[D]").tolist()
    counts: dict[str, int] = {}
    quarter = first
    while quarter <= as_of:
        counts[_quarter(quarter)] = 0
        index = 12 * quarter.year + quarter.month - 1 + 3
        quarter = date(index // 12, index % 12 // 3 * 3 + 1, 1)
    for d in days:
        if first <= d <= as_of:
            counts[_quarter(d)] += 1
    return tuple(LineQuarter(name, n) for name, n in counts.items())


def _quarter(day: date) -> str:
    return f"{day.year}-Q{(day.month + 2) // 3}"

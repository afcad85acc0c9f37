"""What the typical car of a model would have brought, month by month, over its sales a quarter."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from valuation.money import format_money
from valuation.report.drawing import in_both_widths, write_text
from valuation.report.page import Chart
from valuation.report.palette import BAND_80, BAND_95, FAINT, INK, PAPER, QUIET
from valuation.report.words import month
from valuation.results.customer_sheet_parts import LineCourse
from valuation.results.words import quarter_words

__all__ = ["course_chart", "course_figure"]

_CAPTION = (
    "Line: what the typical car would have brought in each month; hatched: 80% band; its scale "
    "does not start at 0. Columns below: sales of the model in each quarter."
)


def course_figure(course: LineCourse, currency: str, *, narrow: bool = False) -> Figure:
    """Draw the course of a model with its band, and the counts of its sales below.

    Parameters
    ----------
    course : LineCourse
        What to draw.
    currency : str
        Of its amounts.
    narrow : bool, default False
        True for a phone: counts are read from the scale.

    Returns
    -------
    matplotlib.figure.Figure
        Two axes on one scale of time.
    """
    figure = Figure(figsize=(3.7, 3.3) if narrow else (7.4, 3.4), layout="constrained")
    above, below = figure.subplots(2, 1, sharex=True, height_ratios=(3, 1))
    _draw_course(above, course, currency)
    _draw_counts(below, course, narrow=narrow)
    _years(below, course, 5 if narrow else 8)
    return figure


def course_chart(course: LineCourse, currency: str) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: course_figure(course, currency, narrow=slim),
        name="course",
        title=f"The typical {course.name} over time",
        description=_describe(course, currency),
    )
    return Chart(wide, narrow, _CAPTION)


def _frame(axes: Axes) -> None:
    axes.tick_params(axis="both", colors=INK, labelsize=9, length=2.5)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(QUIET)
    axes.set_axisbelow(True)
    axes.grid(axis="y", color=FAINT, linewidth=0.6)
    axes.yaxis.set_major_formatter(lambda amount, _: f"{amount:,.0f}")


def _draw_course(axes: Axes, course: LineCourse, currency: str) -> None:
    months = course.months
    places, amounts = range(len(months)), [m.amount for m in months]
    lower, upper = [m.lower for m in months], [m.upper for m in months]
    _frame(axes)
    axes.fill_between(
        places, lower, upper, facecolor=BAND_80, edgecolor=PAPER, hatch="///", linewidth=0.0
    )
    axes.plot(places, amounts, color=INK, linewidth=1.6, zorder=4)
    axes.plot([places[-1]], amounts[-1:], "D", color=INK, markersize=6, zorder=5)
    room = 0.15 * (max(upper) - min(lower)) or 0.1 * max(upper)
    axes.set_ylim(max(0.0, min(lower) - room), max(upper) + room)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=4, steps=[1, 2, 2.5, 5, 10]))
    axes.set_ylabel(currency, color=QUIET, fontsize=9)
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8, "alpha": 0.85}
    said = format_money(amounts[-1], "")
    style: dict[str, Any] = {"ha": "right", "va": "bottom", "fontweight": "bold"}
    write_text(axes, places[-1], amounts[-1] + 0.35 * room, said, zorder=6, bbox=ground, **style)


def _draw_counts(axes: Axes, course: LineCourse, *, narrow: bool) -> None:
    _frame(axes)
    first = _number(course.months[0].month)
    counts = [q.sales for q in course.quarters]
    middles = [_middle(q.quarter) - first for q in course.quarters]
    axes.bar(middles, counts, width=2.3, color=BAND_95, edgecolor=INK, linewidth=0.7)
    axes.set_ylim(0, 1.35 * max([*counts, 1]))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=2, integer=True))
    axes.set_ylabel("sales", color=QUIET, fontsize=9)
    if not narrow:
        for x, n in zip(middles, counts, strict=True):
            write_text(axes, x, n, str(n), ha="center", va="bottom", fontsize=9)


def _years(axes: Axes, course: LineCourse, most: int) -> None:
    names = [m.month for m in course.months]
    axes.set_xlim(-1.5, len(names) + 0.5)
    found = [i for i, name in enumerate(names) if name.endswith("-01")] or [0]
    marks = found[:: math.ceil(len(found) / most)]
    axes.set_xticks(marks, [_mark(names[i]) for i in marks])


def _mark(name: str) -> str:
    return name[:4] if name.endswith("-01") else month(name)


def _number(name: str) -> int:
    year, _, number = name.partition("-")
    return 12 * int(year) + int(number) - 1


def _middle(quarter: str) -> int:
    year, _, number = quarter.partition("-Q")
    return 12 * int(year) + 3 * int(number) - 2


def _quarter_said(quarter: str) -> str:
    year, _, number = quarter.partition("-Q")
    return quarter_words(date(int(year), 3 * int(number), 1))


def _describe(course: LineCourse, currency: str) -> str:
    last, first = course.months[-1], course.months[0]
    top = max(course.months, key=lambda m: m.amount)
    bottom = min(course.months, key=lambda m: m.amount)
    said = [
        f"{format_money(m.amount, currency)} in {month(m.month)}, 80% band "
        f"{format_money(m.lower, '')} to {format_money(m.upper, '')}"
        for m in (first, last)
    ]
    counts = ", ".join(f"{q.sales} in the {_quarter_said(q.quarter)}" for q in course.quarters)
    return (
        f"The typical {course.name}: {'; '.join(said)}; highest "
        f"{format_money(top.amount, currency)} in {month(top.month)}, lowest "
        f"{format_money(bottom.amount, currency)} in {month(bottom.month)}. Sales: {counts}."
    )

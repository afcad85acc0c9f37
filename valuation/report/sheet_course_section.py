"""The section of the customer's sheet on the market of the model over time."""

from __future__ import annotations

from valuation.money import format_money
from valuation.report.page import Cell, Grid, Paragraph, Section
from valuation.report.sheet_course_chart import course_chart
from valuation.report.words import month, percent
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import LineCourse, LineMonth, NoCourse

__all__ = ["course_section"]

_HEADING = "The market of this model"

_YEAR = 12


def course_section(sheet: CustomerSheet) -> Section:
    """Return the section that says what the typical car of the model would have brought.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.

    Returns
    -------
    Section
        The movement in one sentence, the chart and a line a year; one sentence without a course.
    """
    course = sheet.course
    if isinstance(course, NoCourse):
        return Section("market", _HEADING, (Paragraph(course.reason),))
    said = Paragraph(_in_one_sentence(course, sheet.currency), "lead")
    what = (
        f"The typical {course.name} is the car from which the explanation above starts. The band "
        "says how far the movement until today may have been another one, in 8 of 10 cases."
    )
    chart = course_chart(course, sheet.currency)
    table = _table(course, sheet.currency)
    return Section("market", _HEADING, (said, chart, table, Paragraph(what, "quiet")))


def _in_one_sentence(course: LineCourse, currency: str) -> str:
    last, first = course.months[-1], course.months[max(len(course.months) - 1 - _YEAR, 0)]
    change = last.amount - first.amount
    share = percent(100 * change / first.amount, signed=True)
    moved = f"{format_money(change, currency, signed=True)} ({share})" if change else "no change"
    return (
        f"The typical {course.name} stands at {format_money(last.amount, currency)} today, after "
        f"{format_money(first.amount, currency)} in {month(first.month)}: {moved}."
    )


def _table(course: LineCourse, currency: str) -> Grid:
    ends: dict[str, LineMonth] = {m.month[:4]: m for m in course.months}
    counts: dict[str, int] = {}
    for q in course.quarters:
        counts[q.quarter[:4]] = counts.get(q.quarter[:4], 0) + q.sales
    columns = (
        Cell("Month"),
        Cell(f"Typical car, {currency}", number=True),
        Cell("80% band", number=True),
        Cell("Sales in the year", number=True),
    )
    rows = tuple(
        (
            Cell(month(m.month)),
            Cell(format_money(m.amount, ""), number=True),
            Cell(_band(m), number=True),
            Cell(f"{counts.get(year, 0):,}", number=True),
        )
        for year, m in ends.items()
    )
    return Grid(f"The typical {course.name} at the end of each year", columns, rows, style="years")


def _band(m: LineMonth) -> str:
    """Write the band; against its own day a level is sure."""
    if m.lower == m.upper:
        return ""
    return f"{format_money(m.lower, '')} to {format_money(m.upper, '')}"

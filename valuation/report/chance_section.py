"""Chances of a sale beside the sales that came, as sections of a page."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.report.chance_chart import calibration_chart, groups_chart
from valuation.report.page import Block, Bullets, Cell, Figures, Grid, Paragraph, Section
from valuation.report.words import capital, day, percent, plural
from valuation.results.chance_check import ChanceCheck, ChanceGroups, ChanceRow

__all__ = ["chance_section", "chance_sections"]


def chance_sections(check: ChanceCheck) -> tuple[Section, ...]:
    """Return the answer, and what the groups of every other kind say.

    Parameters
    ----------
    check : ChanceCheck
        What to show.
    """
    others = tuple(_groups(check))
    first = chance_section(check)
    if not others:
        return (first,)
    return first, Section("chances-groups", "Chances of a sale, group by group", others)


def chance_section(check: ChanceCheck) -> Section:
    """Return how chances of a sale did, with the chart of what was foretold and what came.

    Parameters
    ----------
    check : ChanceCheck
        What to show.
    """
    blocks: list[Block] = [Paragraph(check.headline(), "lead")]
    if check.overall is not None:
        blocks.append(Figures(tuple(_figures(check, check.overall))))
    blocks.append(Bullets(tuple(check.sentences())))
    chart = calibration_chart(check)
    if chart is not None:
        blocks.append(chart)
    chances = check.groups("chance")
    if chances is not None:
        blocks.append(_grid(chances))
    blocks += [Paragraph(note, "quiet") for note in check.notes]
    return Section("chances", "Did the chances of a sale come true?", tuple(blocks))


def _figures(check: ChanceCheck, row: ChanceRow) -> Iterator[tuple[str, str, str]]:
    span = f"{plural(check.months, 'month')} from {day(check.first)} to {day(check.as_of)}"
    yield "Sales foretold", f"{row.expected:,.1f}", span
    limits = f"{row.lower:,} to {row.upper:,} by chance alone"
    yield "Sales that came", f"{row.sold:,}", limits
    yield "Chance a month", percent(100 * row.told), f"foretold; {100 * row.came:.0f}% came"


def _groups(check: ChanceCheck) -> Iterator[Block]:
    chart = groups_chart(check)
    if chart is not None:
        yield chart
    for kind in check.kinds:
        if kind.by != "chance":
            yield _grid(kind)


def _grid(kind: ChanceGroups) -> Grid:
    columns = (
        Cell(capital(kind.label.removeprefix("By ").removeprefix("the "))),
        Cell("Times on offer", number=True),
        Cell("A month, foretold", number=True),
        Cell("A month, came", number=True),
        Cell("Sales foretold", number=True),
        Cell("Sold", number=True),
        Cell("95% limits", number=True),
        Cell("Beside the limits"),
    )
    caption = f"Sales foretold and sales that came, {kind.label[:1].lower()}{kind.label[1:]}"
    return Grid(caption, columns, tuple(_row(r) for r in kind.rows), style="strata")


def _row(row: ChanceRow) -> tuple[Cell, ...]:
    off = row.verdict.endswith(" than foretold")
    return (
        Cell(capital(row.name)),
        Cell(f"{row.times:,}", number=True),
        Cell(percent(100 * row.told), number=True),
        Cell(percent(100 * row.came), number=True),
        Cell(f"{row.expected:,.1f}", number=True),
        Cell(f"{row.sold:,}", number=True),
        Cell(f"{row.lower:,} to {row.upper:,}", number=True),
        Cell("" if off else row.verdict, mark=row.verdict if off else ""),
    )

"""How often ranges held, on a page: all sales, and group by group."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.report.dot_chart import Dot, dots_figure, share_scale
from valuation.report.drawing import in_both_widths
from valuation.report.page import Block, Bullets, Cell, Chart, Figures, Grid, Section
from valuation.report.words import capital, plural
from valuation.results.coverage import CoverageKind, CoverageReport, CoverageRow, HeldRanges

__all__ = ["coverage_chart", "coverage_section", "coverage_sections"]

NOTHING = "–"

_LEVELS = (50, 80, 95)

_CAPTION = (
    "Circle: 80% ranges that held; bar: its 95% interval. Triangle: 50% ranges; square: 95% "
    "ranges. Dashed: what each promises. Hatched: 75 to 85%. Open circle: off, which may be "
    "chance, or too few to tell; open diamond and bold: off by more than chance explains. To the "
    "left ranges are too narrow."
)

_SHAPES = {
    "in order": "inside",
    "too few to tell": "doubtful",
    "few held, may be chance": "doubtful",
    "many held, may be chance": "doubtful",
    "too narrow": "beyond",
    "wider than needed": "beyond",
}


def coverage_sections(report: CoverageReport) -> tuple[Section, ...]:
    """Return the answer, and a section for each kind of group.

    Parameters
    ----------
    report : CoverageReport
        What to show.
    """
    kinds = (_kind_section(kind, report.overall) for kind in report.kinds)
    return (coverage_section(report), *kinds)


def coverage_section(report: CoverageReport) -> Section:
    """Return how often ranges held over all sales, and which groups fail.

    Parameters
    ----------
    report : CoverageReport
        What to show.
    """
    blocks: list[Block] = []
    if report.overall.held:
        blocks.append(Figures(tuple(_figures(report.overall))))
    blocks += [Bullets(report.findings), Bullets(report.notes)]
    return Section("coverage", "Did the ranges hold?", tuple(blocks))


def _figures(row: CoverageRow) -> Iterator[tuple[str, str, str]]:
    for held in row.held:
        sure = ""
        if held.interval is not None:
            sure = f"; {100 * held.interval.lower:.1f} to {100 * held.interval.upper:.1f}%"
        name = f"{held.level}% ranges held"
        yield name, f"{held.held_pct:.1f}%", f"of {held.ranges:,}{sure}"
    given = f"of {plural(row.tested, 'sale')}; the others lie outside the evidence"
    yield "Given a range", f"{row.priced_pct:.0f}%", given


def _kind_section(kind: CoverageKind, overall: CoverageRow) -> Section:
    blocks: list[Block] = []
    chart = coverage_chart(kind, overall)
    if chart is not None:
        blocks.append(chart)
    heads = ("Sales", "Given a range", *(f"{level}% ranges held" for level in _LEVELS))
    columns = (Cell(""), *(Cell(head, number=True) for head in heads), Cell("80% ranges"))
    rows = tuple(_row(row) for row in (overall, *kind.rows))
    what = f"{kind.label[:1].lower()}{kind.label[1:]}"
    grid = Grid(
        f"Ranges that held, {what}; small figures: 95% intervals",
        columns,
        rows,
        (0,),
        "strata shares",
    )
    return Section(f"coverage-{kind.by.replace(' ', '-')}", f"Ranges {what}", (*blocks, grid))


def _row(row: CoverageRow) -> tuple[Cell, ...]:
    failing = row.verdict in ("too narrow", "wider than needed")
    return (
        Cell(capital(row.name)),
        Cell(f"{row.tested:,}", number=True),
        Cell(f"{row.priced_pct:.0f}%", number=True),
        *(_held(row.at(level)) for level in _LEVELS),
        Cell("" if failing else row.verdict, mark=row.verdict if failing else ""),
    )


def _held(held: HeldRanges | None) -> Cell:
    if held is None:
        return Cell(NOTHING, number=True)
    note = ""
    if held.interval is not None:
        note = f"{100 * held.interval.lower:.1f} to {100 * held.interval.upper:.1f}"
    return Cell(f"{held.held_pct:.1f}%", note, number=True)


def coverage_chart(kind: CoverageKind, overall: CoverageRow) -> Chart | None:
    """Draw how often ranges of each group held, below those of all sales.

    Parameters
    ----------
    kind : CoverageKind
        The groups.
    overall : CoverageRow
        All sales.

    Returns
    -------
    Chart or None
        None if no group was given a range.
    """
    dots = [d for row in (overall, *kind.rows) if (d := _dot(row)) is not None]
    if len(dots) < 2:
        return None
    scale = share_scale("Ranges that held", (75.0, 85.0), (50.0, 80.0, 95.0))
    wide, narrow = in_both_widths(
        lambda slim: dots_figure(dots, scale, narrow=slim),
        name=f"coverage-{kind.by.replace(' ', '-')}",
        title=f"Ranges that held, {kind.label[:1].lower()}{kind.label[1:]}",
        description=" ".join(_said(row) for row in (overall, *kind.rows) if row.held),
    )
    return Chart(wide, narrow, _CAPTION)


def _dot(row: CoverageRow) -> Dot | None:
    held = row.at(80)
    if held is None:
        return None
    name = f"pooled: {len(row.pooled)} groups" if len(row.pooled) > 1 else row.name
    interval = held.interval
    others = ((row.at(50), "^"), (row.at(95), "s"))
    return Dot(
        name,
        held.held_pct,
        100 * interval.lower if interval else None,
        100 * interval.upper if interval else None,
        f"{held.held_pct:.0f}%",
        _SHAPES[row.verdict],
        tuple((h.held_pct, shape) for h, shape in others if h is not None),
    )


def _said(row: CoverageRow) -> str:
    held = "; ".join(f"{h.level}% ranges {h.words()}" for h in row.held)
    groups = f"pooled: {len(row.pooled)} groups, " if len(row.pooled) > 1 else ""
    return f"{groups}{row.name.removeprefix('pooled: ') if groups else row.name}: {held}."

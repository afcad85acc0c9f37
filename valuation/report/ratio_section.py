"""The ratio study on a page: what is in order, all sales, and stratum by stratum."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.money import format_money
from valuation.report.page import Block, Bullets, Cell, Figures, Grid, Paragraph, Section
from valuation.report.ratio_chart import level_chart, value_groups_chart
from valuation.report.words import capital, plural
from valuation.results.ratio_parts import Measure, StrataKind, Stratum
from valuation.results.ratio_strata import RatioReport
from valuation.results.ratio_words import (
    MEASURES,
    band_words,
    kind_findings,
    overall_findings,
    value_words,
)
from valuation.scoring.equity import Vei
from valuation.scoring.scatter import Scatter

__all__ = ["NOTHING", "overall_section", "ratio_section", "ratio_sections", "strata_section"]

NOTHING = "–"

SHOWN_OUTLIERS = 10
"""Most outlying sales that are named on a page."""

_SUB = ("median_ratio", "cod", "prd", "prb", "vei")
"""Measures of the tables of strata."""

_HOW_TO_READ = (
    "In tables, small figures are 95% intervals. Outside: beyond the band of the standard by more "
    "than chance explains; may be chance: beyond it by no more. PRD: mean ratio over the ratio of "
    "the sums, above 1 if dear cars are estimated lower; PRB: change of the ratio when the value "
    "doubles; VEI: median of the dearest group less that of the cheapest, and how far intervals of "
    "the lowest and the highest group lie apart. A dash: too few sales, or nothing that this group "
    "can tell."
)


def ratio_sections(report: RatioReport) -> tuple[Section, ...]:
    """Return every section of a ratio study.

    Parameters
    ----------
    report : RatioReport
        What to show.
    """
    kinds = (strata_section(kind, report.overall) for kind in report.kinds)
    return (ratio_section(report), overall_section(report), *kinds)


def ratio_section(report: RatioReport) -> Section:
    """Return the answer: the few figures that matter and what they mean for a dealer.

    Parameters
    ----------
    report : RatioReport
        What to show.
    """
    blocks: list[Block] = []
    figures = tuple(_figures(report.overall))
    if figures:
        blocks.append(Figures(figures))
    said = overall_findings(report.overall, report.scatter)
    if said:
        blocks.append(Bullets(said))
    if report.strata_findings:
        blocks += [Paragraph("Group by group:", "lead"), Bullets(report.strata_findings)]
    chasing = report.overall.study.chasing if report.overall.study else None
    suspected = chasing is not None and chasing.suspected
    blocks.append(Paragraph(report.chasing, "warning" if suspected else "plain"))
    return Section("ratio-study", "Estimates against prices", tuple(blocks))


def _figures(overall: Stratum) -> Iterator[tuple[str, str, str]]:
    for name in ("median_ratio", "cod", "prb"):
        measure = overall.measure(name)
        if measure is not None:
            words = MEASURES[name]
            meaning = f"{words.asks} {_verdict(measure)}; accepted {band_words(name)}"
            yield words.title, value_words(name, measure.value), meaning
    if overall.within_20_pct is not None:
        given = f"; {overall.priced_pct:.0f}% of the sales were given a range"
        said = f"of the estimates{given if overall.priced else ''}"
        yield "Within 20%", f"{overall.within_20_pct:.0f}%", said


def _verdict(measure: Measure, alone: Scatter | None = None) -> str:
    beyond = measure.verdict != "inside"
    if beyond and alone is not None and alone.explains(measure.value, below=measure.below):
        return f"{capital(measure.verdict)}, as scatter alone"
    if measure.verdict == "inside" or measure.proven or measure.interval is None:
        return capital(measure.verdict)
    return f"{capital(measure.verdict)}, may be chance"


def overall_section(report: RatioReport) -> Section:
    """Return all sales measure by measure, groups of like value, outlying sales, what counts.

    Parameters
    ----------
    report : RatioReport
        What to show.
    """
    blocks: list[Block] = [_measures(report)]
    study = report.overall.study
    if study is not None and study.vei is not None:
        blocks += [value_groups_chart(study.vei), _value_groups(study.vei)]
    blocks += list(_outliers(report))
    apart = tuple(
        f"{plural(p.rows, 'row')} kept apart, {p.what}{_apart(p.median_ratio)}."
        for p in report.apart
    )
    blocks.append(Bullets((*apart, *report.notes)))
    blocks.append(Paragraph(_HOW_TO_READ, "quiet"))
    heading = f"All {plural(report.overall.tested, 'sale')}"
    return Section("ratio-overall", heading, tuple(blocks))


def _apart(median: float | None) -> str:
    return "" if median is None else f"; the median estimate is {median:.2f} of the amount"


def _measures(report: RatioReport) -> Grid:
    columns = [
        Cell("Measure"),
        Cell("All sales", number=True),
        Cell("Accepted", number=True),
        Cell("Where it lies"),
    ]
    if report.scatter is not None:
        columns.insert(2, Cell("Scatter of prices alone", number=True))
    if report.trimmed is not None:
        columns.insert(2, Cell("Without outlying sales", number=True))
    rows = tuple(_measure_row(report, m) for m in report.overall.measures)
    return Grid("Measures of all sales", tuple(columns), rows, style="ratios")


def _measure_row(report: RatioReport, measure: Measure) -> tuple[Cell, ...]:
    name = measure.name
    alone = report.scatter.of(name) if report.scatter is not None else None
    row = [
        Cell(MEASURES[name].title, MEASURES[name].asks),
        _measured(measure),
        Cell(band_words(name), number=True),
        Cell(_verdict(measure, alone)),
    ]
    if report.scatter is not None:
        said = NOTHING if alone is None else value_words(name, alone.middle)
        note = "" if alone is None else _span(name, alone.lower, alone.upper)
        row.insert(2, Cell(said, note, number=True))
    if report.trimmed is not None:
        row.insert(2, _measured(report.trimmed.measure(name)))
    return tuple(row)


def _measured(measure: Measure | None) -> Cell:
    if measure is None:
        return Cell(NOTHING, number=True)
    interval = measure.interval
    note = "" if interval is None else _span(measure.name, interval.lower, interval.upper)
    if measure.apart is not None:
        note = f"{value_words(measure.name, measure.apart)} apart"
    return Cell(value_words(measure.name, measure.value), note, number=True)


def _span(name: str, low: float, high: float) -> str:
    return f"{value_words(name, low)} to {value_words(name, high)}"


def _value_groups(vei: Vei) -> Grid:
    columns = (Cell("Group"), Cell("Sales", number=True), Cell("Median ratio", number=True))
    last = len(vei.groups)
    rows = tuple(
        (
            Cell(f"{place}", "cheapest" if place == 1 else "dearest" if place == last else ""),
            Cell(f"{group.sales:,}", number=True),
            Cell(
                value_words("median_ratio", group.median),
                _span("median_ratio", group.interval.lower, group.interval.upper),
                number=True,
            ),
        )
        for place, group in enumerate(vei.groups, start=1)
    )
    caption = (
        f"Groups of like value (VEI {vei.value:.1f}%, significance {vei.significance:.1f}%); small "
        "figures: 90% intervals"
    )
    return Grid(caption, columns, rows, style="small")


def _outliers(report: RatioReport) -> Iterator[Block]:
    rule = "further than three interquartile ranges from the quartiles"
    if not report.outliers:
        yield Paragraph(f"No ratio lies {rule}.")
        return
    count = len(report.outliers)
    yield Paragraph(
        f"{plural(count, 'sale')} with a ratio {rule}. They count in every figure except the "
        "column that says so: look at them, and leave out only what is wrong."
    )
    money = f", {report.currency}" if report.currency else ""
    columns = (
        Cell("Sale"),
        Cell(f"Price{money}", number=True),
        Cell(f"Estimate{money}", number=True),
        Cell("Ratio", number=True),
    )
    rows = tuple(
        (
            Cell(sale.sale or "no name"),
            Cell(format_money(sale.price, ""), number=True),
            Cell(format_money(sale.estimate, ""), number=True),
            Cell(f"{sale.ratio:.2f}", number=True),
        )
        for sale in report.outliers[:SHOWN_OUTLIERS]
    )
    shown = "" if count <= SHOWN_OUTLIERS else f", the {SHOWN_OUTLIERS} furthest of {count:,}"
    yield Grid(f"Outlying sales{shown}", columns, rows, style="small")


def strata_section(kind: StrataKind, overall: Stratum) -> Section:
    """Return the strata of a kind as chart and table.

    Parameters
    ----------
    kind : StrataKind
        The strata.
    overall : Stratum
        All sales, for the first row.
    """
    blocks: list[Block] = []
    findings = kind_findings(kind, overall)
    if findings:
        blocks.append(Bullets(findings))
    chart = level_chart(kind, overall)
    if chart is not None:
        blocks.append(chart)
    heads = [MEASURES[name].title for name in _SUB]
    heads = ["Sales", *heads, "Within 10 and 20%", "Given a range"]
    columns = (Cell(""), *(Cell(head, number=True) for head in heads))
    rows = tuple(_stratum(s) for s in (overall, *kind.strata))
    grid = Grid(
        f"Ratios {kind.label[:1].lower()}{kind.label[1:]}", columns, rows, (0,), "strata levels"
    )
    blocks.append(grid)
    return Section(f"ratio-{kind.by.replace(' ', '-')}", kind.label, tuple(blocks))


def _stratum(stratum: Stratum) -> tuple[Cell, ...]:
    within = NOTHING
    if stratum.within_10_pct is not None and stratum.within_20_pct is not None:
        within = f"{stratum.within_10_pct:.0f}% / {stratum.within_20_pct:.0f}%"
    return (
        Cell(capital(stratum.name)),
        Cell(f"{stratum.tested:,}", number=True),
        *(_judged(stratum.measure(name)) for name in _SUB),
        Cell(within, number=True),
        Cell(f"{stratum.priced_pct:.0f}%", number=True),
    )


def _judged(measure: Measure | None) -> Cell:
    cell = _measured(measure)
    if measure is None or measure.verdict == "inside":
        return cell
    if measure.proven:
        return Cell(cell.text, cell.note, measure.verdict, number=True)
    doubt = "may be chance"
    return Cell(cell.text, f"{cell.note}; {doubt}" if cell.note else doubt, number=True)

"""The first section: the car, its range and how strong the evidence is."""

from __future__ import annotations

from valuation.money import format_money
from valuation.report.page import Block, Cell, Figures, Grid, Paragraph, Section
from valuation.report.range_chart import range_chart
from valuation.report.words import evidence_words, in_hundred, percent, range_words
from valuation.results.valuation import NoRange, PriceRange, Valuation

__all__ = ["range_section"]


def range_section(valuation: Valuation) -> Section:
    """Return the section that says what the car is worth.

    Parameters
    ----------
    valuation : Valuation
        What to show.

    Returns
    -------
    Section
        Figures in words, the evidence line, the chart and, if there are several, all ranges.
    """
    blocks: list[Block] = [_figures(valuation)]
    if isinstance(valuation.range, NoRange):
        blocks.append(Paragraph(f"No range is given. {valuation.range.reason}", "warning"))
    if valuation.evidence.outside:
        outside = "This car lies outside what the evidence has seen. The central figure is a guess."
        blocks.append(Paragraph(outside, "warning"))
    blocks.append(Paragraph(f"Evidence. {evidence_words(valuation.evidence)}", "lead"))
    if valuation.comparables or isinstance(valuation.range, PriceRange):
        blocks.append(range_chart(valuation))
    if len(valuation.ranges) > 1:
        blocks.append(_all_ranges(valuation))
    return Section("range", "What it is worth", tuple(blocks))


def _figures(valuation: Valuation) -> Figures:
    central = format_money(valuation.central, valuation.currency)
    meaning = "As likely to bring more as to bring less."
    middle = ("Central estimate", central, "" if valuation.evidence.outside else meaning)
    answer = valuation.range
    if isinstance(answer, NoRange):
        return Figures((("Price range", "none", "See the reason below."), middle))
    name = f"{percent(100 * answer.level)} range"
    return Figures(
        ((name, range_words(answer, valuation.currency), in_hundred(answer.level)), middle)
    )


def _all_ranges(valuation: Valuation) -> Grid:
    columns = (
        Cell("Range"),
        Cell("Lower", number=True),
        Cell("Upper", number=True),
        Cell("Width, share of the centre", number=True),
    )
    rows = tuple(_range_row(r, valuation) for r in valuation.ranges)
    return Grid(f"Ranges in {valuation.currency}", columns, rows, style="small")


def _range_row(r: PriceRange, valuation: Valuation) -> tuple[Cell, ...]:
    width = percent(100 * (r.upper - r.lower) / valuation.central) if valuation.central else ""
    return (
        Cell(percent(100 * r.level)),
        Cell(format_money(r.lower, ""), number=True),
        Cell(format_money(r.upper, ""), number=True),
        Cell(width, number=True),
    )

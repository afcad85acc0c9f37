"""The section of the ladder: each bid with outlay, margin and risk, as chart and table."""

from __future__ import annotations

from decimal import Decimal

from valuation.report.bid_words import (
    amount,
    breaks_words,
    margin_words,
    reference_bid,
    risk_words,
)
from valuation.report.ladder_chart import ladder_chart, marked
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.results.bid_parts import Rung
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words

__all__ = ["broken_words", "ladder_grid", "ladder_section", "limits_words"]


def ladder_section(sheet: BidSheet) -> Section:
    """Return the section that shows what each bid leads to.

    Parameters
    ----------
    sheet : BidSheet
        With at least one rung.

    Returns
    -------
    Section
        Lower bids that break a limit, the chart, the table and how to read it.
    """
    blocks: list[Block] = []
    if sheet.broken:
        blocks.append(Paragraph(broken_words(sheet), "warning"))
    read = (
        f"{limits_words(sheet)} Outlay is everything paid until the car is ready for sale, in the "
        "mean. Below the expected margin: the span in which it lies in 8 of 10 cases; it is lower "
        "once in ten times, and higher once in ten times."
    )
    blocks += [ladder_chart(sheet), ladder_grid(sheet, sheet.ladder), Paragraph(read, "quiet")]
    return Section("ladder", "What each bid leads to", tuple(blocks))


def limits_words(sheet: BidSheet) -> str:
    """Say which limits a bid has to keep."""
    money = sheet.resale_currency
    most = f"at most {100 * sheet.loss_limit:g}%"
    target = f"its expected margin is at least {amount(sheet.target_margin, money)}"
    if sheet.outlay_limit is None:
        return f"A bid keeps the limits if {target} and its risk of loss {most}."
    outlay = f"its outlay at most {amount(sheet.outlay_limit, money)}"
    return f"A bid keeps the limits if {target}, its risk of loss {most} and {outlay}."


def broken_words(sheet: BidSheet) -> str:
    """Say which lower bids break a limit although a higher one does not."""
    spans = []
    for low, high in sheet.broken:
        ends = [bid_words(low, ""), bid_words(high, sheet.currency)]
        spans.append(" to ".join(ends) if low != high else ends[1])
    one = len(sheet.broken) == 1 and sheet.broken[0][0] == sheet.broken[0][1]
    verb, they, are = ("breaks", "it", "is") if one else ("break", "they", "are")
    return (
        f"{' and '.join(spans)} {verb} a limit although {they} {are} lower: the premium on the "
        "whole price falls at a tier's edge."
    )


def ladder_grid(sheet: BidSheet, rungs: tuple[Rung, ...], *, spans: bool = True) -> Grid:
    """Return some rungs as a table; the walk-away bid and broken limits are marked in words.

    Parameters
    ----------
    sheet : BidSheet
        For currencies and limits.
    rungs : tuple of Rung
        What to show.
    spans : bool, default True
        Whether to say in which span each margin lies.
    """
    columns = (
        Cell(f"Bid, {sheet.currency}"),
        Cell(f"Outlay, {sheet.resale_currency}", number=True),
        Cell(f"Expected margin, {sheet.resale_currency}", number=True),
        Cell("Risk of loss", number=True),
    )
    reference = reference_bid(sheet)
    rows = tuple(_row(sheet, rung, reference, spans=spans) for rung in rungs)
    best = tuple(place for place, rung in enumerate(rungs) if rung.bid == reference)
    return Grid("The ladder of bids", columns, rows, totals=best, style="ladder")


def _row(
    sheet: BidSheet, rung: Rung, reference: Decimal | None, *, spans: bool
) -> tuple[Cell, ...]:
    span = f"{amount(rung.margin_p10)} to {amount(rung.margin_p90)}" if spans else ""
    mark = marked(sheet) if rung.bid == reference else breaks_words(rung.breaks)
    return (
        Cell(bid_words(rung.bid, ""), mark=mark),
        Cell(amount(rung.outlay), number=True),
        Cell(margin_words(rung, sheet.target_margin), span, number=True),
        Cell(risk_words(rung.loss_probability, sheet.loss_limit), number=True),
    )

"""What to check first, in money of the walk-away bid."""

from __future__ import annotations

from decimal import Decimal

from valuation.inspection.cautions import NUMBER_LAW, SAFETY
from valuation.report.bid_words import change_words, reference_bid
from valuation.report.ladder_chart import marked
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.words import capital, plural
from valuation.results.bid_parts import BidCheck
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words
from valuation.results.valuation import chance_words
from valuation.results.words import contradicted_words

__all__ = ["bid_checks_grid", "bid_checks_section"]


def bid_checks_section(sheet: BidSheet) -> Section:
    """Return the section that names the facts to check, the one that moves the bid most first.

    Parameters
    ----------
    sheet : BidSheet
        With at least one check.

    Returns
    -------
    Section
        The first in one sentence, what is contradicted, the table, how to read it, and what to
        mind while looking.
    """
    first = sheet.checks[0]
    bad = bid_words(first.bad_bid, sheet.currency)
    lead = f"First: {first.label[:1].lower()}{first.label[1:]}. If it turns out bad: {bad}."
    blocks: list[Block] = [Paragraph(lead, "lead")]
    blocks += [
        Paragraph(contradicted_words(check.label, "", check.contradiction), "warning")
        for check in sheet.checks
        if check.contradiction
    ]
    blocks += [
        bid_checks_grid(sheet, sheet.checks),
        Paragraph(
            f"Each line gives the {marked(sheet)} if this one fact turns out so and all others "
            "stay as they are, and how likely that is among such cars in the evidence.",
            "quiet",
        ),
        Paragraph(" ".join((SAFETY[0], NUMBER_LAW)), "quiet"),
    ]
    return Section("checks", "What to check first", tuple(blocks))


def bid_checks_grid(sheet: BidSheet, checks: tuple[BidCheck, ...]) -> Grid:
    """Return some checks as a table."""
    columns = (
        Cell("What"),
        Cell(f"If bad, {sheet.currency}", number=True),
        Cell(f"If good, {sheet.currency}", number=True),
        Cell("How to check"),
    )
    reference = reference_bid(sheet)
    rows = tuple(_row(check, reference) for check in checks)
    return Grid("Facts that are not settled", columns, rows, style="checks bids")


def _row(check: BidCheck, reference: Decimal | None) -> tuple[Cell, ...]:
    contradicted = check.state == "contradicted"
    state = "" if contradicted else capital(check.state)
    time = plural(round(check.minutes), "minute") if check.minutes else ""
    return (
        Cell(check.label, state, "contradicted" * contradicted),
        _side(check.bad_bid, check.if_bad, check.bad_chance, reference),
        _side(check.good_bid, check.if_good, check.good_chance, reference),
        Cell(check.how, time),
    )


def _side(bid: Decimal | None, words: str, chance: float, reference: Decimal | None) -> Cell:
    change = change_words(bid, reference)
    note = f"{change}{': ' * bool(change)}{words}, {chance_words(chance)}"
    return Cell(bid_words(bid, ""), note, number=True)

"""Sections on what moves the bid: three courses of the market, and each input by itself."""

from __future__ import annotations

from decimal import Decimal

from valuation.report.bid_words import change_words, reference_bid
from valuation.report.ladder_chart import marked
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.swing_chart import can_be_drawn, swing_chart
from valuation.report.words import capital
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words

__all__ = ["courses_grid", "courses_section", "swings_section"]


def courses_section(sheet: BidSheet) -> Section:
    """Return the section on what the bid would be on each course of the market.

    Parameters
    ----------
    sheet : BidSheet
        With at least one course.

    Returns
    -------
    Section
        One table and what it means.
    """
    means = (
        "The risk of loss above takes all courses in already. This table answers another question: "
        "which bid would be right if one were sure of a course."
    )
    return Section(
        "courses", "If the market rises or falls", (courses_grid(sheet), Paragraph(means, "quiet"))
    )


def courses_grid(sheet: BidSheet) -> Grid:
    """Return the courses of the market as a table."""
    columns = (
        Cell("Market until the sale"),
        Cell("Prices change by", number=True),
        Cell(f"{capital(marked(sheet))}, {sheet.currency}", number=True),
    )
    reference = reference_bid(sheet)
    rows = tuple(
        (
            Cell(capital(c.name), capital(c.says)),
            Cell(f"{c.percent:+.1f}%" if round(c.percent, 1) else "0.0%", number=True),
            _bid(c.walk_away, reference),
        )
        for c in sheet.courses
    )
    return Grid("Courses of the market", columns, rows, style="courses")


def swings_section(sheet: BidSheet) -> Section:
    """Return the section on how far each input moves the bid.

    Parameters
    ----------
    sheet : BidSheet
        With at least one swing.

    Returns
    -------
    Section
        The chart where there is a bid to start from, and the table.
    """
    blocks: list[Block] = [swing_chart(sheet)] if can_be_drawn(sheet) else []
    columns = (
        Cell("Input"),
        Cell(f"At one end, {sheet.currency}", number=True),
        Cell(f"At the other, {sheet.currency}", number=True),
    )
    reference = reference_bid(sheet)
    rows = tuple(
        (
            Cell(capital(s.what)),
            _bid(s.low_bid, reference, s.low),
            _bid(s.high_bid, reference, s.high),
        )
        for s in sheet.swings
    )
    blocks.append(Grid("The bid at both ends of each input", columns, rows, style="swings"))
    alone = "Each input is moved by itself; everything else stays as it is."
    blocks.append(Paragraph(alone, "quiet"))
    return Section("moves", "What moves the bid", tuple(blocks))


def _bid(bid: Decimal | None, reference: Decimal | None, words: str = "") -> Cell:
    change = change_words(bid, reference)
    note = ": ".join(part for part in (change, words) if part)
    return Cell(bid_words(bid, ""), note, number=True)

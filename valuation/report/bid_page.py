"""The page of one bid sheet."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.report.account_section import account_section, winning_section
from valuation.report.bid_checks_section import bid_checks_section
from valuation.report.bid_section import bid_section
from valuation.report.bid_trust_section import (
    bid_cautions_section,
    bid_evidence_section,
    work_section,
)
from valuation.report.ladder_section import ladder_section
from valuation.report.moves_section import courses_section, swings_section
from valuation.report.page import Page, Section
from valuation.report.render import render_page
from valuation.report.words import day
from valuation.results.bid_sheet import BidSheet
from valuation.results.words import INTERNAL

__all__ = ["bid_page", "bid_subtitle", "bid_title", "render_bid"]


def bid_page(sheet: BidSheet) -> Page:
    """Return the page of a bid sheet as data.

    Parameters
    ----------
    sheet : BidSheet
        What to show.

    Returns
    -------
    Page
        The walk-away bid, the ladder, what to check first, the account, what winning says, courses
        of the market, what moves the bid, work, evidence and cautions, in this order; what a
        sheet doesn't have is left out.
    """
    return Page(
        bid_title(sheet),
        bid_subtitle(sheet),
        tuple(_sections(sheet)),
        about="bid sheet",
        notice=INTERNAL,
    )


def render_bid(sheet: BidSheet) -> str:
    """Return the page of a bid sheet as one self-contained HTML document.

    Parameters
    ----------
    sheet : BidSheet
        What to show.

    Returns
    -------
    str
        The document; the same sheet gives the same text.
    """
    return render_page(bid_page(sheet))


def bid_title(sheet: BidSheet) -> str:
    """Return the name of the car, after the number of its lot if it is one."""
    return f"Lot {sheet.lot}: {sheet.car}" if sheet.lot else sheet.car


def bid_subtitle(sheet: BidSheet) -> str:
    """Say what the page is, for which day and which way of buying."""
    when = f" for {day(sheet.as_of)}" if sheet.as_of else ""
    return f"Bid sheet{when}, bought as: {sheet.way}"


def _sections(sheet: BidSheet) -> Iterator[Section]:
    yield bid_section(sheet)
    if sheet.ladder:
        yield ladder_section(sheet)
    if sheet.checks:
        yield bid_checks_section(sheet)
    if sheet.resale or sheet.account:
        yield account_section(sheet)
    if sheet.resale:
        yield winning_section(sheet, sheet.resale)
    if sheet.courses:
        yield courses_section(sheet)
    if sheet.swings:
        yield swings_section(sheet)
    if sheet.work:
        yield work_section(sheet)
    yield bid_evidence_section(sheet)
    yield bid_cautions_section(sheet)

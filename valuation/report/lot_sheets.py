"""Bid sheets for the day of the sale: each on one sheet of paper, all in one file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from valuation.inspection.cautions import NUMBER_LAW, SAFETY
from valuation.report.account_section import account_grid, resale_words
from valuation.report.bid_checks_section import bid_checks_grid
from valuation.report.bid_page import bid_subtitle, bid_title
from valuation.report.bid_section import figures, verdict
from valuation.report.bid_words import cost_words, rungs_near
from valuation.report.ladder_section import broken_words, ladder_grid
from valuation.report.page import Block, Bullets, Page, Paragraph, Section
from valuation.report.render import render_sheets
from valuation.report.words import STANDING_CAUTION, evidence_words, plural, shorten
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words
from valuation.results.words import INTERNAL

__all__ = ["lot_page", "render_lot_sheets"]

# What fits on one sheet of A4; the bid sheet itself has everything.
_RUNGS, _FEW_RUNGS = 7, 5
_CHECKS, _FEW_CHECKS = 4, 3
_ACCOUNT = 8
_SENTENCES = 2
_WORDS = 110


def render_lot_sheets(sheets: Sequence[BidSheet]) -> str:
    """Return several bid sheets as one HTML document that prints one sheet of paper for each.

    Parameters
    ----------
    sheets : sequence of BidSheet
        In the order in which they are to be printed.

    Returns
    -------
    str
        The document.  What does not fit on one sheet of paper is left out, and said to be.
    """
    pages = [lot_page(sheet, number) for number, sheet in enumerate(sheets, start=1)]
    return render_sheets(pages, title="Lot sheets", notice=INTERNAL)


def lot_page(sheet: BidSheet, number: int) -> Page:
    """Return the sheet of one lot as data.

    Parameters
    ----------
    sheet : BidSheet
        What to show.
    number : int
        Its place in the file, for the names of its sections.

    Returns
    -------
    Page
        The bid and what forbids it, a short ladder, the account, what to check, and room for notes.
    """
    sections = tuple(replace(s, name=f"{s.name}-{number}") for s in _sections(sheet))
    title = shorten(bid_title(sheet), 62)
    return Page(title, shorten(bid_subtitle(sheet), 100), sections, about="lot sheet")


def _sections(sheet: BidSheet) -> Iterator[Section]:
    yield Section("answer", "How much to bid", tuple(_answer(sheet)))
    if sheet.ladder:
        count = _FEW_RUNGS if _is_full(sheet) else _RUNGS
        grid = ladder_grid(sheet, rungs_near(sheet, count), spans=False)
        yield Section("rungs", "What each bid leads to", (grid,))
    if sheet.account:
        yield Section("sum", "From resale to margin", (account_grid(sheet, most=_ACCOUNT),))
    if sheet.checks:
        yield Section("look", "What to check first", tuple(_checks(sheet)))
    yield Section("also", "Also to know", (Bullets(tuple(_also(sheet))),))
    yield Section("notes", "Notes", (Paragraph("", "ruled"),))


def _is_full(sheet: BidSheet) -> bool:
    """Tell whether stops and warnings leave less room for everything else."""
    return bool(sheet.stops) or len(sheet.warnings) > 1


def _answer(sheet: BidSheet) -> Iterator[Block]:
    yield figures(sheet)
    blocks = verdict(sheet)
    reasons = [b.text for b in blocks if isinstance(b, Paragraph) and b.weight == "lead"]
    for block in blocks:
        if isinstance(block, Bullets):
            yield Bullets(tuple(_first(block.items, "stop")))
        elif isinstance(block, Paragraph) and block.weight != "lead":
            yield replace(block, text=shorten(block.text, 2 * _WORDS))
    if reasons:
        yield Paragraph(" ".join(_first(reasons, "reason")))
    if sheet.broken:
        yield Paragraph(shorten(broken_words(sheet), _WORDS), "warning")
    warnings = tuple(_first(sheet.warnings, "warning"))
    if warnings:
        yield Paragraph(" ".join(warnings), "warning")


def _first(texts: Sequence[str], noun: str) -> Iterator[str]:
    """Yield the first texts, shortened, and how many more there are."""
    yield from (shorten(text, _WORDS) for text in texts[:_SENTENCES])
    if len(texts) > _SENTENCES:
        left = plural(len(texts) - _SENTENCES, f"more {noun}")
        yield f"{left}: see the bid sheet."


def _checks(sheet: BidSheet) -> Iterator[Block]:
    count = _FEW_CHECKS if _is_full(sheet) else _CHECKS
    short = tuple(
        replace(
            check,
            label=shorten(check.label, 30),
            how=shorten(check.how, 75),
            if_bad=shorten(check.if_bad, 30),
            if_good=shorten(check.if_good, 30),
        )
        for check in sheet.checks[:count]
    )
    yield bid_checks_grid(sheet, short)
    if len(sheet.checks) > count:
        yield Paragraph(f"{len(sheet.checks) - count} more on the bid sheet.", "quiet")
    yield Paragraph(" ".join((SAFETY[0], NUMBER_LAW)), "quiet")


def _also(sheet: BidSheet) -> Iterator[str]:
    if sheet.resale:
        yield resale_words(sheet.resale, sheet.resale_currency)
    if sheet.courses:
        said = (f"{c.name} {bid_words(c.walk_away, sheet.currency)}" for c in sheet.courses)
        yield f"Walk-away bid on each course of the market: {'; '.join(said)}."
    if sheet.work:
        steps = (
            f"{w.what} {cost_words(w.low, w.high, w.currency or sheet.resale_currency)}"
            for w in sheet.work
        )
        yield shorten(f"Work: {'; '.join(steps)}.", _WORDS)
    if sheet.evidence:
        yield f"Evidence. {evidence_words(sheet.evidence)}"
    yield STANDING_CAUTION

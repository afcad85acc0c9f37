"""What a bid form shows below its sliders, as sections of a page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from valuation.forms.asked import Asked
from valuation.report.bid_checks_section import bid_checks_section
from valuation.report.bid_section import bid_section
from valuation.report.bid_words import amount, answer_words
from valuation.report.ladder_section import ladder_section
from valuation.report.page import Paragraph, Section
from valuation.report.render import render_section
from valuation.results.bid_sheet import BidSheet
from valuation.results.words import INTERNAL

__all__ = ["bid_html"]


def bid_html(sheet: BidSheet, usual: BidSheet, asked: Asked) -> str:
    """Return a bid as HTML: the answer, the ladder, what to check first.

    Parameters
    ----------
    sheet : BidSheet
        With what is asked.
    usual : BidSheet
        The same car, bought the same way, with the cost settings as they are.
    asked : Asked
        What is asked.
    """
    return "\n".join(render_section(section) for section in _sections(sheet, usual, asked))


def _sections(sheet: BidSheet, usual: BidSheet, asked: Asked) -> Iterator[Section]:
    answer = bid_section(sheet)
    figures, *rest = answer.blocks
    compared = Paragraph(_compared(usual, asked))
    parts = [replace(answer, blocks=(Paragraph(INTERNAL, "notice"), figures, compared, *rest))]
    if sheet.ladder:
        parts.append(ladder_section(sheet))
    if sheet.checks:
        parts.append(bid_checks_section(sheet))
    # A notebook may show the same sections elsewhere, and a name stands once in a document.
    yield from (replace(part, name=f"form-{part.name}") for part in parts)


def _compared(usual: BidSheet, asked: Asked) -> str:
    """Say what was moved, and the answer without that."""
    moved = list(_moved(asked, usual.resale_currency))
    if not moved:
        return "These are the cost settings as they stand."
    before = answer_words(usual)
    return f"Asked here: {', '.join(moved)}. With the cost settings as they stand: {before}."


def _moved(asked: Asked, currency: str) -> Iterator[str]:
    if asked.margin is not None:
        yield f"a margin of at least {amount(asked.margin, currency)}"
    if asked.loss_probability is not None:
        yield f"a risk of loss of at most {(100 * asked.loss_probability).normalize():f}%"
    if asked.work is not None:
        yield f"work on the car for {amount(asked.work, currency)}"

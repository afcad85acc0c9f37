"""The page of what to ask for a car of the firm."""

from __future__ import annotations

from valuation.report.ask_section import ask_basis_section, ask_cautions, ask_section
from valuation.report.page import Page
from valuation.report.words import day
from valuation.results.stock_ask import StockAsk
from valuation.results.words import INTERNAL

__all__ = ["ask_page"]


def ask_page(answer: StockAsk) -> Page:
    """Return the page as data.

    Parameters
    ----------
    answer : StockAsk
        What to show.

    Returns
    -------
    Page
        Says above everything that it is not for customers.
    """
    stock = f"stock {answer.stock}, " if answer.stock else ""
    return Page(
        answer.car,
        f"{stock}asked from {day(answer.as_of)} on",
        (ask_section(answer), ask_basis_section(answer), ask_cautions(answer)),
        about="what to ask",
        notice=INTERNAL,
    )

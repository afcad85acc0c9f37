"""The columns of a run list as a table of data: what each holds, of which kind, and how wide."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from valuation.report.bid_words import binds_words
from valuation.report.run_list_words import at_words, the_currency
from valuation.results.run_list import RunLine, RunList, UnpricedLot

__all__ = ["Column", "Entry", "all_columns", "paper_columns", "unpriced_columns"]

Entry = str | int | float | Decimal | date | None
"""What a cell can hold; None for nothing."""

_ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True)
class Column:
    """One column.

    Parameters
    ----------
    heading : str
        Its name, with the currency of its amounts.
    kind : {"text", "bid", "money", "percent", "whole", "day"}
        What its cells hold; where a cell is none of it, it holds text.  A ``bid`` is shown to the
        cent where it has cents, ``money`` in whole units.
    width : float
        In digits of the usual font.
    entry : callable
        Returns the cell of a line.
    """

    heading: str
    kind: str
    width: float
    entry: Callable[[RunLine], Entry]


def _day(text: str) -> Entry:
    """Return a day as a date if that is how the catalogue prints it, else as it is printed."""
    if _ISO_DAY.fullmatch(text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            return text
    return text


def _reserve(line: RunLine) -> Entry:
    return "no reserve" if line.no_reserve else line.reserve


def _bid(line: RunLine) -> Entry:
    if line.walk_away is not None:
        return line.walk_away
    return line.answer


def _lot() -> Column:
    return Column("lot", "text", 7, lambda x: x.number)


def _asked(money: str) -> tuple[Column, ...]:
    return (
        Column(f"estimate low{money}", "bid", 11, lambda x: x.estimate_low),
        Column(f"estimate high{money}", "bid", 11, lambda x: x.estimate_high),
        Column(f"reserve{money}", "bid", 11, _reserve),
    )


def _found() -> tuple[Column, ...]:
    return (
        Column("evidence", "text", 11, lambda x: x.evidence),
        Column("check first", "text", 32, lambda x: x.first_check),
        Column("warnings", "text", 34, lambda x: "; ".join(x.warnings)),
    )


def _money_of_bids(run_list: RunList) -> str:
    currency = the_currency(run_list)
    return f", {currency}" if currency else ""


def all_columns(run_list: RunList) -> tuple[Column, ...]:
    """Return every column of a run list.

    Parameters
    ----------
    run_list : RunList
        For its currencies.

    Returns
    -------
    tuple of Column
        ``lot`` first, ``notes``, the buyer's own, last.
    """
    bid, resale = _money_of_bids(run_list), f", {run_list.resale_currency}"
    several = () if bid else (Column("currency", "text", 9, lambda x: x.currency),)
    return (
        _lot(),
        Column("day", "day", 14, lambda x: _day(x.day)),
        Column("order", "whole", 7, lambda x: x.order),
        Column("car", "text", 38, lambda x: x.car),
        *several,
        *_asked(bid),
        Column(f"resale low{resale}", "money", 11, lambda x: x.lower),
        Column(f"resale median{resale}", "money", 11, lambda x: x.central),
        Column(f"resale high{resale}", "money", 11, lambda x: x.upper),
        Column("answer", "text", 15, lambda x: x.answer),
        Column(f"walk-away bid{bid}", "bid", 12, lambda x: x.walk_away),
        Column("what binds", "text", 15, lambda x: binds_words(x.binds)),
        Column(f"bid looked at{bid}", "bid", 11, lambda x: x.at),
        Column("which is the", "text", 13, at_words),
        Column(f"outlay there{resale}", "money", 11, lambda x: x.outlay),
        Column(f"expected margin there{resale}", "money", 12, lambda x: x.expected_margin),
        Column("margin per outlay", "percent", 10, lambda x: x.margin_per_capital),
        Column("risk of loss there", "percent", 10, lambda x: x.loss_probability),
        *_found(),
        Column("reasons", "text", 34, lambda x: " ".join(x.reasons)),
        Column("plan", "text", 9, lambda x: x.plan),
        Column("changed", "text", 24, lambda x: "; ".join(x.changed)),
        Column("notes", "text", 34, lambda x: x.notes),
    )


def paper_columns(run_list: RunList) -> tuple[Column, ...]:
    """Return the columns that are read on paper, with one to write by hand."""
    bid, resale = _money_of_bids(run_list), f", {run_list.resale_currency}"
    several = () if bid else (Column("currency", "text", 9, lambda x: x.currency),)
    return (
        _lot(),
        Column("car", "text", 34, lambda x: x.car),
        *several,
        *_asked(bid),
        Column(f"resale low{resale}", "money", 11, lambda x: x.lower),
        Column(f"resale high{resale}", "money", 11, lambda x: x.upper),
        Column(f"walk-away bid{bid}", "bid", 14, _bid),
        Column(f"expected margin{resale}", "money", 11, lambda x: x.expected_margin),
        Column("risk of loss", "percent", 8, lambda x: x.loss_probability),
        *_found(),
        Column("plan", "text", 9, lambda x: x.plan),
        Column("by hand", "text", 24, lambda _: None),
    )


def unpriced_columns() -> tuple[tuple[str, float, Callable[[UnpricedLot], Entry]], ...]:
    """Return heading, width and entry of the columns for lots that were not priced."""
    return (
        ("lot", 7, lambda x: x.number),
        ("day", 14, lambda x: _day(x.day)),
        ("row", 7, lambda x: x.row),
        ("what the catalogue says", 70, lambda x: x.words),
        ("why it was not priced", 70, lambda x: x.reason),
    )

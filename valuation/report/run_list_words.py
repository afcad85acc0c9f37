"""Words of run lists: what a line says in its cells, on paper and in a workbook."""

from __future__ import annotations

from decimal import Decimal

from valuation.report.bid_words import ANSWER_WORDS, amount
from valuation.report.words import day, plural
from valuation.results.bid_text import bid_words
from valuation.results.run_list import RunLine, RunList

__all__ = ["at_words", "budget_words", "line_words", "list_words", "over_budget", "the_currency"]


def at_words(line: RunLine) -> str:
    """Name the bid for which outlay, margin and risk of a line stand; empty for none."""
    if line.at is None:
        return ""
    for name, bid in (
        ("reserve", line.reserve),
        ("low estimate", line.estimate_low),
        ("walk-away bid", line.walk_away),
    ):
        if line.at == bid:
            return name
    return "a bid"


def the_currency(run_list: RunList) -> str:
    """Return the currency of all bids, empty if there are several."""
    found = {line.currency for line in run_list.lines}
    return found.pop() if len(found) == 1 else ""


def line_words(line: RunLine) -> str:
    """Write the walk-away bid of a line with its currency, or what stands in its place."""
    if line.walk_away is not None:
        return bid_words(line.walk_away, line.currency)
    return ANSWER_WORDS.get(line.answer, line.answer)


def list_words(run_list: RunList) -> str:
    """Say which catalogue it is, how much of it was priced, and for which day."""
    priced = f"{plural(len(run_list.lines), 'lot')} priced"
    left = f", {len(run_list.unpriced):,} not" if run_list.unpriced else ""
    when = f", bids for {day(run_list.as_of)}" if run_list.as_of else ""
    return f"{run_list.source}: {priced}{left}{when}"


def over_budget(run_list: RunList) -> bool:
    """Tell whether the plan takes more than there is."""
    return (
        run_list.budget is not None
        and run_list.planned is not None
        and run_list.planned > run_list.budget
    )


def budget_words(run_list: RunList) -> str:
    """Say what the plan takes of the budget; empty where there is neither."""
    money = run_list.resale_currency
    planned = "" if run_list.planned is None else amount(run_list.planned, money)
    if run_list.budget is None:
        return f"The lots won take {planned}." if planned else ""
    budget = f"Budget {amount(run_list.budget, money)}."
    if run_list.planned is None:
        return budget
    takes = f"The lots won and those to pursue take {planned} of it"
    left: Decimal = run_list.budget - run_list.planned
    if left < 0:
        return f"{budget} {takes}: {amount(-left, money)} more than there is."
    return f"{budget} {takes}; {amount(left, money)} are left."

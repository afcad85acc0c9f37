"""The section of the customer's sheet on what raised and what lowered the price."""

from __future__ import annotations

from valuation.money import format_money
from valuation.report.page import Cell, Grid, Paragraph, Section
from valuation.report.step_chart import step_chart
from valuation.report.steps import Stairs, Step
from valuation.report.words import capital
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import PriceLine
from valuation.results.customer_sheet_words import rest_words

__all__ = ["sheet_reasons_section", "stairs_of_sheet"]

_LONG = ("silent", "smaller", "closest sales", "earlier sale", "correction")
"""Lines whose values would say nothing in the width of a chart."""


def sheet_reasons_section(sheet: CustomerSheet) -> Section:
    """Return the section that leads from the typical car to this one, unit by unit.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.

    Returns
    -------
    Section
        One sentence, the chart, the table, and how to read it.
    """
    return Section(
        "reasons",
        "What raised and what lowered the price",
        (
            Paragraph(_in_one_sentence(sheet), "lead"),
            step_chart(stairs_of_sheet(sheet)),
            _table(sheet),
            Paragraph(
                "The amounts add up exactly. Each could lie between the two amounts beside it, in "
                "9 of 10 cases; those don't add up, as they stand for one line alone. What no sale "
                "shows rests on our starting assumptions, and the last column says how much.",
                "quiet",
            ),
        ),
    )


def stairs_of_sheet(sheet: CustomerSheet) -> Stairs:
    """Return the steps of a sheet, one a line, as they are drawn."""
    steps, reached = [], sheet.start
    for line in sheet.lines:
        bounds = None
        if line.lower is not None and line.upper is not None:
            bounds = (float(line.lower), float(line.upper))
        value = "" if line.name in _LONG else line.value
        steps.append(Step(line.label, value, line.amount, reached, bounds))
        reached += line.amount
    label = sheet.start_label.partition(" (")[0]
    return Stairs(sheet.heading, sheet.currency, label, sheet.start, tuple(steps), sheet.central)


def _in_one_sentence(sheet: CustomerSheet) -> str:
    money = sheet.currency
    raised = sum(x.amount for x in sheet.lines if x.amount > 0)
    lowered = sum(x.amount for x in sheet.lines if x.amount < 0)
    return (
        f"The start is {format_money(sheet.start, money)}: the {_lower(sheet.start_label)}. "
        f"What raises the price adds {format_money(raised, money)}, "
        f"what lowers it takes away {format_money(-lowered, money)}, "
        f"which leaves {format_money(sheet.central, money)}."
    )


def _lower(text: str) -> str:
    """Return a text that goes on within a sentence."""
    return text[:1].lower() + text[1:]


def _table(sheet: CustomerSheet) -> Grid:
    columns = (
        Cell("What"),
        Cell(f"Amount, {sheet.currency}", number=True),
        Cell("Could lie between", number=True),
        Cell("Sales behind it", number=True),
        Cell("Rests on"),
    )
    empty = (Cell(""), Cell(""), Cell(""))
    start = (Cell("Start", capital(sheet.start_label)), _amount(sheet.start), *empty)
    end = (Cell("Central estimate"), _amount(sheet.central), *empty)
    rows = (start, *(_row(line) for line in sheet.lines), end)
    caption = "From the typical car to this one"
    return Grid(caption, columns, rows, totals=(0, len(rows) - 1), style="reasons")


def _amount(amount: int) -> Cell:
    return Cell(format_money(amount, ""), number=True)


def _row(line: PriceLine) -> tuple[Cell, ...]:
    between = ""
    if line.lower is not None and line.upper is not None:
        low, high = (format_money(x, "", signed=True) for x in (line.lower, line.upper))
        between = f"{low} to {high}"
    return (
        Cell(line.label, line.value),
        Cell(format_money(line.amount, "", signed=True), number=True),
        Cell(between, number=True),
        Cell(f"{line.sales:,}", number=True),
        # Broken over two lines, a share of evidence would be two riddles.
        Cell(rest_words(line).replace(" ", "\u00a0")),
    )

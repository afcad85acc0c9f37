"""The second section: what raised and what lowered the price, every unit of it."""

from __future__ import annotations

from valuation.money import format_money
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.step_chart import step_chart
from valuation.report.steps import in_order, without_effect
from valuation.report.words import capital, source_words
from valuation.results.valuation import Contribution, Valuation

__all__ = ["reasons_section"]


def reasons_section(valuation: Valuation) -> Section:
    """Return the section that explains the price, as a chart and as a table that adds up.

    Parameters
    ----------
    valuation : Valuation
        What to explain.

    Returns
    -------
    Section
        One sentence, the chart, the table and the lines that come to nothing.
    """
    blocks: list[Block] = [Paragraph(_in_one_sentence(valuation), "lead"), step_chart(valuation)]
    blocks.append(_table(valuation))
    idle = [_name(line) for line in without_effect(valuation.contributions)]
    if idle:
        blocks.append(Paragraph(f"Without effect in whole units: {'; '.join(idle)}.", "quiet"))
    blocks.append(
        Paragraph(
            "The amounts add up exactly; the intervals don't, each stands for its line alone. "
            "Evidence is the share of a line that sales show, the rest is starting assumption.",
            "quiet",
        )
    )
    return Section("reasons", "What raised and what lowered the price", tuple(blocks))


def _in_one_sentence(valuation: Valuation) -> str:
    money = valuation.currency
    raised = sum(c.amount for c in valuation.contributions if c.amount > 0)
    lowered = sum(c.amount for c in valuation.contributions if c.amount < 0)
    return (
        f"The start is {format_money(valuation.start, money)}: {valuation.start_label}. "
        f"What raises the price adds {format_money(raised, money)}, "
        f"what lowers it takes away {format_money(-lowered, money)}, "
        f"which leaves {format_money(valuation.central, money)}."
    )


def _table(valuation: Valuation) -> Grid:
    columns = (
        Cell("What"),
        Cell(f"Amount, {valuation.currency}", number=True),
        Cell("90% interval", number=True),
        Cell("Sales behind it", number=True),
        Cell("Rests on"),
    )
    empty = (Cell(""), Cell(""), Cell(""))
    start = (Cell("Start", capital(valuation.start_label)), _amount(valuation.start), *empty)
    end = (Cell("Central estimate"), _amount(valuation.central), *empty)
    rows = (start, *(_row(line) for line in in_order(valuation.contributions)), end)
    caption = "From the typical car to this one"
    return Grid(caption, columns, rows, totals=(0, len(rows) - 1), style="reasons")


def _amount(amount: int) -> Cell:
    return Cell(format_money(amount, ""), number=True)


def _row(line: Contribution) -> tuple[Cell, ...]:
    stated = f"“{line.statement}”" if line.statement else ""
    return (
        Cell(line.label, line.value),
        Cell(format_money(line.amount, "", signed=True), number=True),
        Cell(_interval(line), number=True),
        Cell(f"{line.sales:,}", number=True),
        Cell(source_words(line), stated),
    )


def _interval(line: Contribution) -> str:
    """Write the interval; a line that has none is a remainder, not an effect."""
    low = format_money(line.lower, "", signed=True)
    high = format_money(line.upper, "", signed=True)
    return f"{low} to {high}" if low != high else ""


def _name(line: Contribution) -> str:
    return f"{line.label} ({line.value})" if line.value else line.label

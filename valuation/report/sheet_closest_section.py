"""The section of the customer's sheet with the closest sales side by side."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.money import format_money
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.words import LARGE_GROSS, LARGE_NET, capital, large, percent
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import GridSale, GridStep

__all__ = ["sheet_closest_section"]

_SIDE_BY_SIDE = 3

_HOW = (
    "Each price is brought to this car step by step, the market first. A plus means that this car "
    "is worth more in that respect than the one that was sold."
)


def sheet_closest_section(sheet: CustomerSheet) -> Section:
    """Return the section that shows what similar cars brought and how they differ.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.

    Returns
    -------
    Section
        A grid of up to three sales beside this car, and a second one for the rest.
    """
    noun = "offer" if sheet.offers else "sale"
    heading = f"The closest {noun}s"
    if not sheet.sales:
        nothing = Paragraph(f"No {noun} is close enough to be compared.", "warning")
        return Section("closest", heading, (nothing,))
    groups = [sheet.sales[i : i + _SIDE_BY_SIDE] for i in range(0, len(sheet.sales), _SIDE_BY_SIDE)]
    blocks: list[Block] = [Paragraph(_HOW, "lead"), *(_grid(sheet, group) for group in groups)]
    limits = (
        f"“Large” marks a net adjustment beyond {LARGE_NET:.0f}% or a gross adjustment beyond "
        f"{LARGE_GROSS:.0f}%: such a sale says less about this car."
    )
    if any(s.ours for s in sheet.sales):
        limits += (
            " Prices of cars that we sold are rounded and their day is given as a quarter, to "
            "protect our customers; all their steps are worked out from that."
        )
    return Section("closest", heading, (*blocks, Paragraph(limits, "quiet")))


def _grid(sheet: CustomerSheet, sales: Sequence[GridSale]) -> Grid:
    heads = [Cell(f"Sale {s.number}", s.title) for s in sales]
    price, adjusted = f"Price, {sheet.currency}", f"As this car, {sheet.currency}"
    ours = Cell(format_money(sheet.central, ""), "central estimate")
    rows = [
        (Cell("Date"), Cell(""), *(Cell(s.when or "no date") for s in sales)),
        (Cell("The sale"), Cell(capital(sheet.meaning)), *(Cell(capital(s.how)) for s in sales)),
        (Cell(price), Cell(""), *(Cell(format_money(s.price, "")) for s in sales)),
        *(_step_row([s.steps[i] for s in sales]) for i in range(len(sales[0].steps))),
        (Cell(adjusted), ours, *(Cell(format_money(s.adjusted, "")) for s in sales)),
        (Cell("Net adjustment", "all steps together"), Cell(""), *(_net(s) for s in sales)),
        (Cell("Gross adjustment", "without their sign"), Cell(""), *(_gross(s) for s in sales)),
    ]
    first, last = sales[0].number, sales[-1].number
    which = f"Sale {first} to {last}" if first < last else f"Sale {first}"
    columns = (Cell(""), Cell("This car", sheet.heading), *heads)
    caption = f"{which}, step by step"
    return Grid(caption, columns, tuple(rows), totals=(2, len(rows) - 3), style="closest")


def _step_row(steps: Sequence[GridStep]) -> tuple[Cell, ...]:
    first = steps[0]
    # How each was sold stands above, in a row of its own.
    told = first.name == "sale"
    ours = "" if told else capital(first.ours)
    return (Cell(first.label), Cell(ours), *(_step(s, told=told) for s in steps))


def _step(step: GridStep, *, told: bool) -> Cell:
    if not step.amount and step.theirs == step.ours:
        return Cell("no difference" if step.ours else "0")
    return Cell(format_money(step.amount, "", signed=True), "" if told else step.theirs)


def _net(sale: GridSale) -> Cell:
    return Cell(percent(sale.net, signed=True), mark=large(sale.net, LARGE_NET))


def _gross(sale: GridSale) -> Cell:
    return Cell(percent(sale.gross), mark=large(sale.gross, LARGE_GROSS))

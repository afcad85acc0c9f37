"""The third section: the closest sales side by side in an adjustment grid."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.money import format_money
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.words import (
    LARGE_GROSS,
    LARGE_LINE,
    LARGE_NET,
    day,
    large,
    percent,
    sale_words,
)
from valuation.results.valuation import Adjustment, Comparable, Valuation

__all__ = ["closest_section"]

_SHOWN = 6
_SIDE_BY_SIDE = 3
_ROWS = 12


def closest_section(valuation: Valuation) -> Section:
    """Return the section that shows what similar cars brought and how they differ.

    Parameters
    ----------
    valuation : Valuation
        What to show; its first six comparables are used.

    Returns
    -------
    Section
        A grid of up to three sales beside this car, and a second one for the rest.
    """
    sales = valuation.comparables[:_SHOWN]
    if not sales:
        nothing = Paragraph("No sale is close enough to be compared.", "warning")
        return Section("closest", "The closest sales", (nothing,))
    how = (
        "Each price is brought to this car step by step, time first. "
        "A plus means that this car is worth more in that respect than the one sold."
    )
    blocks: list[Block] = [Paragraph(how)]
    blocks += [
        _grid(valuation, sales[first : first + _SIDE_BY_SIDE], first)
        for first in range(0, len(sales), _SIDE_BY_SIDE)
    ]
    limits = (
        f"“Large” marks a step beyond {LARGE_LINE:.0f}%, a net adjustment beyond "
        f"{LARGE_NET:.0f}% or a gross adjustment beyond {LARGE_GROSS:.0f}%: "
        "such a sale says less about this car."
    )
    return Section("closest", "The closest sales", (*blocks, Paragraph(limits, "quiet")))


def _grid(valuation: Valuation, sales: Sequence[Comparable], first: int) -> Grid:
    heads = [Cell(f"Sale {first + i + 1}", s.title) for i, s in enumerate(sales)]
    columns = (Cell(""), Cell("This car", valuation.car), *heads)
    price = f"Price, {valuation.currency}"
    rows = [
        (Cell("Date"), Cell(""), *(Cell(day(s.sale_date)) for s in sales)),
        (Cell("The sale"), Cell(""), *(Cell(sale_words(s)) for s in sales)),
        (Cell(price), Cell(""), *(Cell(format_money(s.price, "")) for s in sales)),
    ]
    names = _attributes(sales)
    shown, rest = (names, []) if len(names) <= _ROWS else (names[: _ROWS - 1], names[_ROWS - 1 :])
    rows += [_attribute_row(name, sales) for name in shown]
    rows += [_rest_row(rest, sales)] if rest else []
    rows += _sums(valuation, sales)
    number = f"{first + 1} to {first + len(sales)}" if len(sales) > 1 else f"{first + 1}"
    caption = f"Adjustment grid, sale {number}"
    return Grid(caption, columns, tuple(rows), totals=(2, len(rows) - 4), style="closest")


def _sums(valuation: Valuation, sales: Sequence[Comparable]) -> list[tuple[Cell, ...]]:
    adjusted = f"Adjusted price, {valuation.currency}"
    ours = Cell(format_money(valuation.central, ""), "central estimate")
    return [
        (Cell(adjusted), ours, *(Cell(format_money(s.adjusted_price, "")) for s in sales)),
        (Cell("Net adjustment"), Cell(""), *(_net(s) for s in sales)),
        (Cell("Gross adjustment"), Cell(""), *(_gross(s) for s in sales)),
        (Cell("Weight"), Cell(""), *(Cell(percent(100 * s.weight)) for s in sales)),
    ]


def _net(sale: Comparable) -> Cell:
    mark = large(sale.net_adjustment, LARGE_NET)
    return Cell(percent(sale.net_adjustment, signed=True), mark=mark)


def _gross(sale: Comparable) -> Cell:
    return Cell(percent(sale.gross_adjustment), mark=large(sale.gross_adjustment, LARGE_GROSS))


def _attributes(sales: Sequence[Comparable]) -> list[str]:
    """Return the attributes to compare: the market first, then by money, remainders last."""
    moved: dict[str, int] = {}
    for a in (a for s in sales for a in s.adjustments):
        moved[a.attribute] = moved.get(a.attribute, 0) + abs(a.amount)
    places = {"market": 0, "everything else": 2}
    return sorted(moved, key=lambda name: (places.get(name, 1), -moved[name], name))


def _attribute_row(name: str, sales: Sequence[Comparable]) -> tuple[Cell, ...]:
    found = [next((a for a in s.adjustments if a.attribute == name), None) for s in sales]
    known = next(a for a in found if a)
    return (Cell(known.label), Cell(known.ours), *(_adjustment(a) for a in found))


def _rest_row(names: Sequence[str], sales: Sequence[Comparable]) -> tuple[Cell, ...]:
    sums = [sum(a.amount for a in s.adjustments if a.attribute in names) for s in sales]
    heading = Cell("All smaller adjustments", f"{len(names)} kinds together")
    return (heading, Cell(""), *(Cell(format_money(s, "", signed=True)) for s in sums))


def _adjustment(step: Adjustment | None) -> Cell:
    if step is None:
        return Cell("no adjustment")
    amount = format_money(step.amount, "", signed=True)
    return Cell(amount, step.theirs, large(step.percent, LARGE_LINE))

"""The closest sales side by side, every step to this car in money and the same rows for all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from valuation.appraisal.market import MarketModel
from valuation.money import whole_units
from valuation.results.customer_sheet_parts import AdjustedSale, GridSale, GridStep
from valuation.results.words import day_words, quarter_words
from valuation.selling.private_words import PrivateWords
from valuation.selling.sheet_sales import ComparedSale, ComparedSales
from valuation.selling.sheet_words import (
    WORDING,
    heading_of,
    plain_label,
    plain_value,
    row_of,
    sale_words,
)

__all__ = ["adjusted_points", "grid_sales"]

MOST_ROWS = 10
"""Rows of attributes that are shown by themselves; the rest goes together."""


def adjusted_points(found: ComparedSales) -> tuple[AdjustedSale, ...]:
    """Return what every compared sale comes to, oldest first.

    Parameters
    ----------
    found : ComparedSales
        Sales set beside a car.
    """
    number = {at: n for n, at in enumerate(found.shown, start=1)}
    points = [
        AdjustedSale(sale.on, sale.adjusted, sale.ours, number.get(i, 0))
        for i, sale in enumerate(found.sales)
    ]
    return tuple(sorted(points, key=lambda p: (p.on or date.min, p.number, p.adjusted)))


def grid_sales(
    market: MarketModel, found: ComparedSales, cells: Mapping[str, Any], hide: PrivateWords
) -> tuple[GridSale, ...]:
    """Return the sales shown side by side.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    found : ComparedSales
        Sales set beside the car.
    cells : mapping of str to object
        Values of the car and of its sale; ``sale_date`` is the day of the sheet.
    hide : PrivateWords
        What keeps other cars' chassis numbers out of titles and values.

    Returns
    -------
    tuple of GridSale
        All with the same rows: the market first, then those that move most money, and last what
        all other differences come to.
    """
    sales = [found.sales[i] for i in found.shown]
    attributes = market.fitted.spec.attributes
    effects = [_by_row(attributes, sale) for sale in sales]
    rows = _rows(effects, sales, cells)
    return tuple(
        _grid_sale(n, sale, effect, rows, cells, hide)
        for n, (sale, effect) in enumerate(zip(sales, effects, strict=True), start=1)
    )


def _by_row(attributes: Sequence[str], sale: ComparedSale) -> dict[str, float]:
    """Return the log effect of each row of the grid."""
    out: dict[str, float] = {}
    for name, step in zip(attributes, sale.step.tolist(), strict=True):
        row = "smaller" if name == "start" else row_of(name)
        out[row] = out.get(row, 0.0) + step
    return out


def _rows(
    effects: Sequence[dict[str, float]], sales: Sequence[ComparedSale], cells: Mapping[str, Any]
) -> list[str]:
    """Return the rows to show, the market first, then by the money that they move."""
    moved: dict[str, float] = {}
    for effect, sale in zip(effects, sales, strict=True):
        for row, step in effect.items():
            if _tells(row, sale, cells):
                moved[row] = moved.get(row, 0.0) + abs(step) * sale.price
    moved.pop("smaller", None)
    market = [r for r in ("market",) if moved.pop(r, 0.0)]
    order = sorted((r for r in moved if moved[r]), key=lambda r: (-moved[r], r))
    return [*market, *order[:MOST_ROWS]]


def _tells(row: str, sale: ComparedSale, cells: Mapping[str, Any]) -> bool:
    """Whether two values differ in words; a step between two like ones explains nothing."""
    if row in ("market", WORDING):
        return True
    return plain_value(row, sale.cells) != plain_value(row, cells)


def _grid_sale(
    number: int,
    sale: ComparedSale,
    effect: Mapping[str, float],
    rows: Sequence[str],
    cells: Mapping[str, Any],
    hide: PrivateWords,
) -> GridSale:
    own = [row for row in rows if _tells(row, sale, cells)]
    rest = sum(step for row, step in effect.items() if row not in own)
    factor = sale.factor
    exact = [factor * effect[row] if row in own else 0.0 for row in rows]
    whole = whole_units([*exact, factor * rest], total=sale.adjusted - sale.price)
    steps = [
        _step(row, hide.masked(_theirs(row, sale)), cells, amount)
        for row, amount in zip(rows, whole[:-1], strict=True)
    ]
    steps.append(GridStep("smaller", plain_label("smaller"), "", "", whole[-1]))
    return GridSale(
        number,
        hide.masked(heading_of(sale.cells)),
        _when(sale),
        "sold by us, price rounded" if sale.ours else sale_words(sale.cells),
        sale.price,
        sale.adjusted,
        100.0 * (sale.adjusted - sale.price) / sale.price,
        100.0 * sale.gross,
        sale.ours,
        tuple(steps),
    )


def _when(sale: ComparedSale) -> str:
    if sale.on is None:
        return ""
    return quarter_words(sale.on) if sale.ours else day_words(sale.on)


def _theirs(row: str, sale: ComparedSale) -> str:
    return _when(sale) if row == "market" else plain_value(row, sale.cells)


def _step(row: str, theirs: str, cells: Mapping[str, Any], amount: int) -> GridStep:
    if row == "market":
        day = cells.get("sale_date")
        ours = day_words(day) if isinstance(day, date) else ""
    else:
        ours = plain_value(row, cells)
    return GridStep(row, plain_label(row), theirs, ours, amount)

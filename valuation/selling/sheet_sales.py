"""The comparable sales of a customer's sheet: which may be shown, and what each comes to."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.batch import Batch
from valuation.appraisal.grid import choose
from valuation.appraisal.market import MarketModel
from valuation.features.table import day_number
from valuation.models.comparables import Neighbourhood
from valuation.money import log_mean
from valuation.selling.customers_market import former_customers, public_sales
from valuation.selling.sheet_rounding import mid_quarter, rounded_effects, rounded_price

__all__ = ["ComparedSale", "ComparedSales", "compared_sales"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

CLOSE = 1.0
"""Gross adjustment (log units) up to which a sale is set beside an asking price: listings are
silent about so much that few sales come closer than half of that."""

FEWEST, MOST = 12, 40
"""At least and at most so many sales are set beside it, the nearest ones."""

LARGE = 0.60
"""Steps without their sign, as a share of the price, beyond which a sale says little."""


@dataclass(frozen=True)
class ComparedSale:
    """One sale that may be shown, as far as it may be.

    Parameters
    ----------
    cells : mapping of str to object
        Values by column.
    on : datetime.date or None
        Day of the sale; the middle of its quarter for a sale of the firm.
    price : int
        On the record, whole currency units; rounded further for a sale of the firm.
    step : ndarray, shape (n_attributes,)
        Log effect of each attribute of the car less that of the sale.
    ours : bool
        True for a sale of the firm to a customer.
    """

    cells: Mapping[str, Any]
    on: date | None
    price: int
    step: Floats
    ours: bool

    @property
    def net(self) -> float:
        """Signed sum of the steps, log units."""
        return float(self.step.sum())

    @property
    def factor(self) -> float:
        """Money that a log effect of one comes to."""
        return log_mean(self.price, self.price * math.exp(self.net))

    @property
    def gross(self) -> float:
        """Absolute sum of the steps in money, as a share of the price."""
        return self.factor * float(np.abs(self.step).sum()) / self.price

    @property
    def adjusted(self) -> int:
        """Price brought to the car, whole currency units."""
        return math.floor(self.price * math.exp(self.net) + 0.5)


@dataclass(frozen=True)
class ComparedSales:
    """Sales set beside a car.

    Parameters
    ----------
    sales : tuple of ComparedSale
        Nearest first.
    shown : tuple of int
        Positions of those to be shown side by side, the one with most weight first.
    far : int
        How many of them differ a lot from the car.
    """

    sales: tuple[ComparedSale, ...]
    shown: tuple[int, ...]
    far: int


def compared_sales(batch: Batch, *, offered: bool) -> ComparedSales:
    """Choose the sales that a customer may see beside a car.

    Parameters
    ----------
    batch : Batch
        The car, alone, in the market as a customer may see it.
    offered : bool
        True where the evidence is of offers: they are then what is compared.

    Returns
    -------
    ComparedSales
        No sale at which the firm bought, none that failed, and none after the day of the sheet.
    """
    market, found = batch.market, batch.forecast.around[0]
    allowed = _allowed(market, batch.as_of, offered=offered)
    around = _only(found, allowed[found.rows])
    steps = batch.forecast.effects[0] - market.fitted.sales.effects[around.rows].astype(np.float64)
    gross = np.abs(steps).sum(1)
    order = np.argsort(gross, kind="stable")
    chosen = order[: int(np.clip((gross <= CLOSE).sum(), FEWEST, MOST))]
    around, steps = _only(around, chosen), steps[chosen]
    sales = _sales(market, around.rows, steps, batch)
    adjusted = np.log([s.adjusted for s in sales]) if sales else np.zeros(0)
    shown = choose(around, adjusted, batch.outlooks[0].central) if sales else []
    far = sum(s.gross > LARGE for s in sales)
    return ComparedSales(tuple(sales), tuple(shown), far)


def _allowed(market: MarketModel, as_of: date | None, *, offered: bool) -> NDArray[np.bool_]:
    outcome = market.columns["outcome"]
    allowed = public_sales(market) & (outcome != "not sold")
    if not offered:
        allowed &= outcome != "offered"
    if as_of is not None:
        allowed &= market.fitted.sales.day <= day_number(as_of)
    return np.asarray(allowed, dtype=bool)


def _only(around: Neighbourhood, chosen: Any) -> Neighbourhood:
    return replace(
        around,
        rows=around.rows[chosen],
        gross=around.gross[chosen],
        weight=around.weight[chosen],
    )


def _sales(market: MarketModel, rows: Ints, steps: Floats, batch: Batch) -> list[ComparedSale]:
    """Return the sales; those of the firm with all that is worked out from price and day anew."""
    ours = former_customers(market)[rows]
    days = [_day(market, row) for row in rows.tolist()]
    prices = [math.floor(p + 0.5) for p in market.columns["price"][rows].tolist()]
    steps, middles = steps.copy(), {}
    for i in np.flatnonzero(ours).tolist():
        prices[i] = rounded_price(prices[i])
        if (day := days[i]) is not None:
            middles[i] = days[i] = mid_quarter(day)
    if middles:
        mine = np.array(list(middles), dtype=np.intp)
        theirs = rounded_effects(market, rows[mine], list(middles.values()))
        steps[mine] = batch.forecast.effects[0] - theirs
    _level_alone(batch, rows, days, steps)
    return [
        ComparedSale(_cells(market, row), days[i], prices[i], steps[i], bool(ours[i]))
        for i, row in enumerate(rows.tolist())
    ]


def _level_alone(batch: Batch, rows: Ints, days: Sequence[date | None], steps: Floats) -> None:
    """Leave the step of the market what its level did between two days, as the sheet draws it.

    What the sales of a few days share beside the level goes to the start, which is the same for
    all cars and so has no step of its own.
    """
    fitted, names = batch.market.fitted, batch.market.fitted.spec.attributes
    if "market" not in names or batch.as_of is None:
        return
    market, start = names.index("market"), names.index("start")
    makes = sorted(fitted.codes["make"], key=fitted.codes["make"].__getitem__)
    today = np.array([day_number(batch.as_of)])
    ours = float(batch.market.levels.of(*_kind(batch)).at(today)[0])
    for i, row in enumerate(rows.tolist()):
        line, make = int(fitted.sales.line[row]), int(fitted.sales.make[row])
        path = batch.market.levels.of(
            makes[make] if make >= 0 else "", fitted.spec.lines[line] if line >= 0 else ""
        )
        day = days[i]
        theirs = float(path.at(np.array([day_number(day)]))[0]) if day else ours
        shared = steps[i, market] - (ours - theirs)
        steps[i, market] -= shared
        steps[i, start] += shared


def _kind(batch: Batch) -> tuple[str, str]:
    """Return make and model line of the car."""
    factors = batch.table.factors
    return factors["make"].text()[0], factors["line"].text()[0]


def _day(market: MarketModel, row: int) -> date | None:
    day = market.columns["sale_date"][row].astype("datetime64[D]")
    return None if np.isnat(day) else day.item()


def _cells(market: MarketModel, row: int) -> dict[str, Any]:
    return {name: column[row] for name, column in market.columns.items()}

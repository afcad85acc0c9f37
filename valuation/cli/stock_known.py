"""What the commands about the firm's stock ask for: a day, and a car of the ledger."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from datetime import date

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.reading.text import compact
from valuation.results.ledger import StockCar

__all__ = ["day_of", "stock_car"]


def day_of(arguments: Namespace, market: MarketModel) -> date:
    """Return the day that is asked for, else that of the model."""
    day: date | None = arguments.as_of or market.as_of
    if day is None:
        raise SettingsError(
            "--model", "a model without days can't tell what moved", remedy="Fit one on dated sales"
        )
    return day


def stock_car(cars: Sequence[StockCar], number: str) -> StockCar:
    """Return the car of the ledger with a stock number."""
    wanted = compact(number)
    found = [c for c in cars if wanted and compact(c.mark.stock) == wanted]
    if not found:
        raise SettingsError(
            "--stock",
            "no car of the ledger has this stock number",
            got=number,
            remedy="See the numbers with 'valuation ledger list'",
        )
    return found[0]

"""What the firm's stock ledger knows of a car that is shown to a customer."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from datetime import UTC, datetime

from valuation.cli.inputs import workspace_of_arguments
from valuation.errors import SettingsError
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading
from valuation.reading.text import compact
from valuation.records import Car
from valuation.results.ledger import StockCar
from valuation.selling.customers_market import Purchase

__all__ = ["known_by", "purchase_of", "stock_car_of"]


def stock_car_of(arguments: Namespace) -> StockCar:
    """Return what the ledger knows of the car."""
    # A sheet of an earlier day may not show a purchase of today either.
    today = datetime.now(UTC).astimezone().date()
    with reading(workspace_of_arguments(arguments)) as con:
        ledger = ledger_of(con, as_of=today)
    wanted = compact(arguments.stock)
    found = [c for c in ledger.cars if wanted and compact(c.mark.stock) == wanted]
    if not found:
        raise SettingsError(
            "--stock",
            "no car of the ledger has this stock number",
            got=arguments.stock,
            remedy="See the numbers with 'valuation ledger list'",
        )
    return found[0]


def known_by(car: Car, stock: StockCar | None) -> Car:
    """Return the car with its chassis number from the ledger where its file has none."""
    if stock is None or car.chassis or not stock.mark.chassis:
        return car
    return replace(car, chassis=stock.mark.chassis)


def purchase_of(stock: StockCar | None, currency: str) -> Purchase | None:
    """Return what the ledger knows of the firm's purchase, None for nothing."""
    bought = stock.bought if stock else None
    if bought is None or bought.on is None:
        return None
    same = bought.amount is not None and bought.currency == currency
    return Purchase(bought.on, float(bought.amount) if same and bought.amount else None)

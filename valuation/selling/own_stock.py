"""What the firm's stock ledger knows of a car that is shown to a customer."""

from __future__ import annotations

from dataclasses import replace

from valuation.records import Car
from valuation.results.ledger import StockCar
from valuation.selling.customers_market import Purchase

__all__ = ["known_by", "purchase_of"]


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

"""What the firm's stock ledger knows of a car that is shown to a customer."""

from __future__ import annotations

from argparse import Namespace
from datetime import UTC, datetime

from valuation.cli.inputs import workspace_of_arguments
from valuation.cli.stock_known import stock_car
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading
from valuation.results.ledger import StockCar

__all__ = ["stock_car_of"]


def stock_car_of(arguments: Namespace) -> StockCar:
    """Return what the ledger knows of the car."""
    # A sheet of an earlier day may not show a purchase of today either.
    today = datetime.now(UTC).astimezone().date()
    with reading(workspace_of_arguments(arguments)) as con:
        ledger = ledger_of(con, as_of=today)
    return stock_car(ledger.cars, arguments.stock)

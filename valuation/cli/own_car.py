"""What the firm's stock ledger knows of a car that is shown to a customer."""

from __future__ import annotations

from argparse import Namespace
from datetime import UTC, datetime

from valuation.cli.inputs import workspace_of_arguments
from valuation.errors import SettingsError
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading
from valuation.reading.text import compact
from valuation.results.ledger import StockCar

__all__ = ["stock_car_of"]


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

"""What the commands about the firm's stock rest on: ledger, settings, kinds of cars."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.evidence.workspace import Workspace
from valuation.reading.text import compact
from valuation.refresh.settings import read_month_settings
from valuation.results.ledger import StockCar
from valuation.stocking.settings import (
    StockSettings,
    default_stock_settings,
    read_stock_settings,
)
from valuation.study.segments import Segment, segments_of

__all__ = ["day_of", "segments_in", "stock_car", "stock_settings"]


def stock_settings(arguments: Namespace, workspace: Workspace | None) -> StockSettings:
    """Return the stock settings: those named, else those of the workspace, else the usual ones."""
    if arguments.settings:
        return read_stock_settings(Path(arguments.settings))
    if workspace is not None and workspace.stock_settings.is_file():
        return read_stock_settings(workspace.stock_settings)
    return default_stock_settings()


def segments_in(workspace: Workspace) -> tuple[Segment, ...]:
    """Return the kinds of cars that the settings of a workspace name."""
    own = read_month_settings(workspace.settings).segments
    return segments_of(own) if own else ()


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

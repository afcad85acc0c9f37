"""What several commands read: sales, rates, assumptions, cars."""

from __future__ import annotations

import getpass
import os
from argparse import Namespace
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path

from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.features.assumptions import Assumptions, default_assumptions, read_assumptions
from valuation.importing.car_file import read_car
from valuation.importing.map_file import read_map
from valuation.importing.rates import RateTable, read_rates
from valuation.importing.sales import read_sales
from valuation.importing.source_map import SourceMap
from valuation.inspection.inspection import read_sheet
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import (
    default_inspection_settings,
    read_inspection_settings,
)
from valuation.records import Car, SalesBook

__all__ = [
    "assumptions_of",
    "book_of",
    "car_of",
    "inspection_settings_of",
    "map_of",
    "now",
    "rates_of",
    "settings_of",
    "who_of",
    "workspace_of_arguments",
]


def book_of(arguments: Namespace, files: Sequence[str]) -> SalesBook:
    """Read the sales that a command line names."""
    return read_sales(files, source_map=map_of(arguments), rates=rates_of(arguments))


def map_of(arguments: Namespace) -> SourceMap | None:
    """Read the column map of a command line, None if it names none."""
    return read_map(arguments.map) if arguments.map else None


def rates_of(arguments: Namespace) -> RateTable | None:
    """Read the currency rates of a command line, None if it names none."""
    return read_rates(arguments.rates) if arguments.rates else None


def assumptions_of(arguments: Namespace) -> Assumptions:
    """Return the assumptions a command line asks for: its own, none, or the weak defaults."""
    if arguments.no_assumptions:
        return Assumptions()
    if arguments.assumptions:
        return read_assumptions(Path(arguments.assumptions))
    return default_assumptions()


def settings_of(arguments: Namespace) -> ModelSettings:
    """Return the model settings a command line asks for."""
    return ModelSettings(unsold=arguments.unsold)


def inspection_settings_of(arguments: Namespace) -> InspectionSettings:
    """Return the inspection settings a command line asks for, or those of the package."""
    own = arguments.settings
    return read_inspection_settings(Path(own)) if own else default_inspection_settings()


def car_of(path: str, makes: Mapping[str, tuple[str, ...]], inspection: InspectionSettings) -> Car:
    """Read a car file, or the car that a filled inspection sheet concludes."""
    if Path(path).suffix.lower() != ".xlsx":
        return read_car(path, known_makes=makes)
    return read_sheet(path, inspection).to_car()


def workspace_of_arguments(arguments: Namespace, *, make: bool = False) -> Workspace:
    """Return the workspace of a command line or of the environment; made on request."""
    return workspace_at(arguments.workspace, os.environ, make=make)


def who_of(arguments: Namespace) -> str:
    """Return who gives a command: the name it states, or that of the user."""
    try:
        name = (arguments.by or getpass.getuser()).strip()
    except (OSError, KeyError):
        name = ""
    if not name:
        raise SettingsError(
            "user", "nobody knows who gives this command", remedy="Say it with --by NAME"
        )
    return name


def now() -> datetime:
    """Return the present moment."""
    return datetime.now(UTC)

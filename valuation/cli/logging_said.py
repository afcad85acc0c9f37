"""What commands that say something of cars keep of it, where a person asked for it."""

from __future__ import annotations

import hashlib
import os
import sys
from argparse import ArgumentTypeError, Namespace
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

from valuation.cli.inputs import who_of
from valuation.cli.parser_parts import exact
from valuation.errors import SettingsError
from valuation.evidence.workspace import workspace_at
from valuation.records import Car
from valuation.results.said import SaidCar
from valuation.store.published import VERSIONS, current_version, model_file

__all__ = ["Log", "log_of_arguments", "said_car", "version_of"]

_DIGITS = 16


@dataclass(frozen=True, slots=True)
class Log:
    """Where what is said goes, by whom and when.

    Parameters
    ----------
    folder : pathlib.Path
        Folder of the small files.
    by : str
        Who asks.
    now : datetime.datetime
        When, with the time zone of this machine.
    version : str
        Version of the model, or the hash of its file.
    own_figure : decimal.Decimal or None
        The person's own figure, given before anything was worked out.
    """

    folder: Path
    by: str
    now: datetime
    version: str
    own_figure: Decimal | None = None


def log_of_arguments(arguments: Namespace, *, car: str = "") -> Log | None:
    """Return where to keep what will be said, None if nothing is to be kept.

    Called before anything is worked out, as it asks for the person's own figure.

    Parameters
    ----------
    arguments : argparse.Namespace
        With the words of :func:`valuation.cli.parser_ledger.add_log`.
    car : str, optional
        Name of the one car's file, for the question.

    Raises
    ------
    SettingsError
        If a figure is given that would not be kept, or the folder can't be found.
    """
    own: Decimal | None = getattr(arguments, "own_figure", None)
    asks: bool = getattr(arguments, "ask_own_figure", False)
    wanted = arguments.log or arguments.log_dir is not None
    if not wanted:
        if own is not None or asks:
            raise SettingsError(
                "own figure",
                "a figure of your own is lost if what is said is not kept",
                got="no --log",
                remedy="Add --log, or leave the figure out",
            )
        return None
    folder = _folder(arguments)
    version = version_of(Path(arguments.model)) if arguments.model else "stated amounts"
    if asks:
        own = _ask(car)
    return Log(folder, who_of(arguments), datetime.now(UTC).astimezone(), version, own)


def _folder(arguments: Namespace) -> Path:
    if arguments.log_dir:
        return Path(arguments.log_dir)
    return workspace_at(arguments.workspace, os.environ).said


def _ask(car: str) -> Decimal | None:
    """Ask for the person's own figure; an empty answer gives none."""
    # The question goes beside the answer, which may be JSON for a program.
    print(f"Your own figure for {car or 'the car'} (empty for none): ", end="", file=sys.stderr)
    sys.stderr.flush()
    text = sys.stdin.readline()
    if not text:
        raise SettingsError(
            "--ask-own-figure",
            "nobody answers",
            got="no terminal",
            remedy="Give the figure with --own-figure AMOUNT",
        )
    plain = text.strip().replace(",", "")
    if not plain:
        return None
    try:
        return exact(plain)
    except ArgumentTypeError as error:
        raise SettingsError(
            "own figure",
            "it is no amount above 0, to the cent",
            got=text.strip(),
            remedy="Write it in figures, such as 41000",
        ) from error


def version_of(model: Path) -> str:
    """Return the published version of a model, or the first digits of the hash of its file.

    Parameters
    ----------
    model : pathlib.Path
        A folder that models are published to, or a file.
    """
    if model.is_dir():
        current = current_version(model)
        if current is not None:
            return current.version
    file = model_file(model)
    if file.parent.parent.name == VERSIONS:
        return file.parent.name
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()[:_DIGITS]
    except OSError as error:
        raise SettingsError(
            str(file),
            "the model can't be read",
            got=error.strerror or type(error).__name__,
            remedy="Name a model of 'fit', or the folder models are published to",
        ) from error


def said_car(car: Car, *, venue: str = "", lot: str = "", stock: str = "") -> SaidCar:
    """Return by what a car can be found again when it is sold.

    Parameters
    ----------
    car : Car
        The car.
    venue, lot, stock : str, optional
        Where it is offered and as which lot, and the firm's own number; the venue of the car file
        counts where none is given.
    """
    year = car.values.get("year")
    return SaidCar(
        car.name,
        car.chassis,
        str(car.values.get("make", "")),
        str(car.values.get("model", "")),
        int(year) if isinstance(year, int | float) else None,
        venue or car.sale.get("venue", ""),
        lot,
        stock,
    )

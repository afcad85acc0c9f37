"""Points of a resale as they stand in a CSV, TOML or JSON file."""

from __future__ import annotations

import csv
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valuation.bidding.costs_file_entries import exact_number
from valuation.bidding.number_columns import NumberColumns, read_amount, read_number_columns
from valuation.errors import ResaleError
from valuation.importing.car_value import Wrong
from valuation.inspection.entries import shown
from valuation.reading.numbers import settle_decimal
from valuation.reading.text import fold

__all__ = ["CHANCE", "WEIGHT", "RawPoint", "raw_points"]

RESALE = ("resale", "value", "amount", "price")
"""What the amount may be called."""

WEIGHT = "weight"
"""What a probability is called that need not add up to one."""

CHANCE = ("probability", "chance", "share", WEIGHT)
"""What the probability may be called."""


@dataclass(frozen=True, slots=True)
class RawPoint:
    """One point as it stands in a file.

    Parameters
    ----------
    place : str
        Where, such as ``row 3``.
    resale : object
        Its amount: an exact number, or text that is none.
    chance : object
        Its probability, None if nothing is said.
    name : str
        What the probability is called.
    """

    place: str
    resale: Any
    chance: Any = None
    name: str = CHANCE[0]


def raw_points(path: Path, faults: list[Wrong]) -> list[RawPoint]:
    """Return the points of a file.

    Parameters
    ----------
    path : pathlib.Path
        Its ending says what it is.
    faults : list of Wrong
        What is no point is appended.

    Raises
    ------
    ResaleError
        If it can't be read as what its ending says.
    """
    ending = path.suffix.lower()
    if ending not in (".csv", ".tsv", ".txt", ".toml", ".json"):
        raise ResaleError(
            path.name,
            "points of a resale are read from CSV, TOML or JSON",
            got=ending or "no ending",
            remedy="Let the name end in .csv, .toml or .json",
        )
    try:
        data = path.read_bytes()
        if ending == ".toml":
            return _of_list(_toml(data), path.name, faults)
        if ending == ".json":
            return _of_list(_json(data), path.name, faults)
        return _of_columns(read_number_columns(data), path.name)
    except (OSError, ValueError, RecursionError, csv.Error) as error:
        raise ResaleError(
            path.name,
            "it can't be read",
            got=getattr(error, "strerror", None) or str(error),
            remedy="Check its name and what it holds",
        ) from error


def _toml(data: bytes) -> Any:
    return tomllib.loads(data.decode("utf-8-sig"), parse_float=exact_number)


def _json(data: bytes) -> Any:
    text = data.decode("utf-8-sig")
    return json.loads(text, parse_float=exact_number, parse_constant=exact_number)


def _of_columns(found: NumberColumns, where: str) -> list[RawPoint]:
    first, second = _places(found, where)
    resales = found.column(first)
    decimal = settle_decimal(resales)
    chances = [None] * len(resales) if second is None else found.column(second)
    name = found.names[second] if found.names and second is not None else CHANCE[0]
    return [
        RawPoint(f"row {at}", _amount(cell, decimal), chance or None, name)
        for (at, _), cell, chance in zip(found.rows, resales, chances, strict=True)
    ]


def _places(found: NumberColumns, where: str) -> tuple[int, int | None]:
    """Return the columns of the amounts and of the probabilities, None if there is none."""
    if found.names:
        resale = found.place(RESALE)
        if resale is not None:
            return resale, found.place(CHANCE)
        got, problem = ", ".join(found.names), "no column is called resale"
    else:
        wide = max((len(cells) for _, cells in found.rows), default=0)
        if wide <= 2:
            return 0, 1 if wide == 2 else None
        got, problem = f"{wide} in a row", "two columns without names are wanted"
    raise ResaleError(where, problem, got=got, remedy="Name the columns resale and probability")


def _of_list(raw: Any, where: str, faults: list[Wrong]) -> list[RawPoint]:
    if isinstance(raw, Mapping) and list(raw) == ["points"]:
        raw = raw["points"]
    if not isinstance(raw, list):
        raise ResaleError(
            where,
            "it is no list of points",
            got=", ".join(raw) if isinstance(raw, Mapping) else shown(raw),
            remedy='Write points = [{ resale = 40000, probability = "1/3" }], or the same as JSON',
        )
    points = []
    for at, entry in enumerate(raw, start=1):
        place = f"point {at}"
        point = _named(entry, place, faults) if isinstance(entry, Mapping) else _bare(entry, place)
        if point:
            points.append(point)
        elif not isinstance(entry, Mapping):
            faults.append(Wrong(place, shown(entry), 'two numbers, such as [40000, "1/3"]'))
    return points


def _bare(entry: Any, place: str) -> RawPoint | None:
    """Return a point that is a number, or a list of an amount and perhaps a probability."""
    values = entry if isinstance(entry, list) else [entry]
    if not 1 <= len(values) <= 2 or any(isinstance(v, list | Mapping) for v in values):
        return None
    return RawPoint(place, _amount(values[0]), values[1] if len(values) == 2 else None)


def _named(entry: Mapping[str, Any], place: str, faults: list[Wrong]) -> RawPoint | None:
    """Return a point whose parts have names."""
    named = {fold(str(key)): value for key, value in entry.items()}
    for key in named:
        if key not in (*RESALE, *CHANCE):
            allowed = f"one of {', '.join((*RESALE, *CHANCE))}"
            faults.append(Wrong(f"{place}, {key}", "an unknown entry", allowed))
    resale = next((n for n in RESALE if n in named), None)
    chance = next((n for n in CHANCE if n in named), None)
    if resale is None:
        faults.append(Wrong(f"{place}, resale", "nothing", "an amount"))
        return None
    amount = _amount(named[resale])
    return RawPoint(place, amount, named[chance], chance) if chance else RawPoint(place, amount)


def _amount(value: Any, decimal: str = "") -> Any:
    """Return the amount of a text, or the text itself to show what came."""
    if not isinstance(value, str):
        return value
    amount = read_amount(value, decimal)
    return value if amount is None else amount

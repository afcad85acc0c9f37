"""One entry of a car file to a value of the contract, or a fault that names what is allowed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from valuation.reading.engine import read_engine, read_layout
from valuation.reading.families import read_body, read_colour, read_fuel
from valuation.reading.gearbox import read_gearbox
from valuation.reading.mileage import MILES_PER_KM, read_mileage
from valuation.reading.numbers import read_number
from valuation.reading.text import fold
from valuation.reading.vocabulary import read_level, read_set
from valuation.reading.years import read_year
from valuation.records import Value
from valuation.schema import BY_NAME, Attribute

__all__ = ["Wrong", "all_wrong", "read_value"]

_KW, _PS = 1.34102, 0.98632
_FAMILIES = {
    "colour": read_colour,
    "interior_colour": read_colour,
    "body": read_body,
    "fuel": read_fuel,
    "engine_layout": read_layout,
}


@dataclass(frozen=True, slots=True)
class Wrong:
    """A wrong entry.

    Parameters
    ----------
    key : str
        Its key.
    got : str
        What came.
    allowed : str
        What it has to be.
    """

    key: str
    got: str
    allowed: str


def all_wrong(faults: Sequence[Wrong]) -> tuple[str, str]:
    """Return what is wrong with all entries, and what to do, for one message.

    Examples
    --------
    >>> all_wrong([Wrong("year", "3000", "a year")])
    ('one entry is wrong: year has to be a year (got: 3000)', 'Correct it')
    """
    listed = "; ".join(f"{f.key} has to be {f.allowed} (got: {f.got})" for f in faults)
    if len(faults) == 1:
        return f"one entry is wrong: {listed}", "Correct it"
    return f"{len(faults)} entries are wrong: {listed}", "Correct them"


def _span(a: Attribute) -> str:
    unit = f" {a.unit}" if a.unit and a.unit != a.name else ""
    return f"a number from {a.low:,.10g} to {a.high:,.10g}{unit}".replace(",", "")


def _from_text(name: str, text: str, notes: list[str]) -> float | None:
    if name == "year":
        year = read_year(text)
        return None if year is None else float(year)
    if name == "mileage":
        read = read_mileage(text)
        if read.value is None:
            return None
        if read.unit == "km":
            notes.append(f"Mileage: {text} is {read.value * MILES_PER_KM:,.0f} miles.")
            return read.value * MILES_PER_KM
        return read.value
    if name == "engine_size":
        return read_engine(text).size
    value = read_number(text, "," if text.count(",") == 1 else ".")
    if name == "power" and value is not None:
        plain = fold(text)
        return value * (_KW if "kw" in plain else _PS if "ps" in plain or "cv" in plain else 1.0)
    return value


def _number(a: Attribute, value: Any, faults: list[Wrong], notes: list[str]) -> dict[str, Value]:
    number: float | None = None
    if isinstance(value, str):
        number = _from_text(a.name, value, notes)
        status = read_mileage(value).status if a.name == "mileage" else ""
        if status:
            out: dict[str, Value] = {"mileage_status": status}
            return out if number is None else out | {"mileage": number}
    elif isinstance(value, int | float) and not isinstance(value, bool):
        number = float(value)
    if number is None or not a.low <= number <= a.high:
        faults.append(Wrong(a.name, str(value), _span(a)))
        return {}
    return {a.name: number}


def _set(a: Attribute, value: Any, faults: list[Wrong]) -> dict[str, Value]:
    listed = isinstance(value, list | tuple) and all(isinstance(v, str) for v in value)
    if not (isinstance(value, str) or listed):
        faults.append(Wrong(a.name, str(value), 'a list of words, such as ["a", "b"], or "none"'))
        return {}
    text = value if isinstance(value, str) else "; ".join(value) or "none"
    words, unknown = read_set(a.name, text)
    if unknown:
        allowed = a.levels if len(a.levels) <= 12 else (*a.levels[:3], "...", a.levels[-1])
        faults.append(Wrong(a.name, "; ".join(unknown), "made of " + ", ".join(allowed)))
        return {}
    return {} if words is None else {a.name: words}


def _category(a: Attribute, value: Any, faults: list[Wrong]) -> dict[str, Value]:
    if isinstance(value, bool) and a.levels == ("no", "yes"):
        return {a.name: "yes" if value else "no"}
    # A model may be called 124: numbers are words where any word is allowed.
    if isinstance(value, int) and not isinstance(value, bool) and not a.levels:
        value = str(value)
    if not isinstance(value, str) or not value.strip():
        faults.append(Wrong(a.name, str(value), "text between quotation marks"))
        return {}
    if a.levels:
        level = read_level(a.name, value)
        if level is None:
            faults.append(Wrong(a.name, value, "one of " + ", ".join(a.levels)))
            return {}
        gears = read_gearbox(value).gears if a.name == "transmission" else None
        return {a.name: level} if gears is None else {a.name: level, "gears": float(gears)}
    reader = _FAMILIES.get(a.name)
    word = reader(value) if reader else value.strip()
    return {} if word is None else {a.name: word}


def read_value(name: str, value: Any, faults: list[Wrong], notes: list[str]) -> dict[str, Value]:
    """Read one entry of a car file.

    Parameters
    ----------
    name : str
        Attribute.
    value : object
        What stands there: a number, text that may carry a unit, or a list of words.
    faults : list of Wrong
        A wrong entry is appended.
    notes : list of str
        A remark on a conversion is appended.

    Returns
    -------
    dict of str to Value
        The value, and what the same entry tells of other attributes; empty if it is wrong.

    Examples
    --------
    >>> read_value("mileage", "48,200 miles", [], []), read_value("mileage", "TMU", [], [])
    ({'mileage': 48200.0}, {'mileage_status': 'unknown'})
    """
    attribute = BY_NAME[name]
    if attribute.kind == "number":
        return _number(attribute, value, faults, notes)
    if attribute.kind == "set":
        return _set(attribute, value, faults)
    return _category(attribute, value, faults)

"""A car to be valued, from a TOML file or a dictionary: as little as a title, or everything."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import date, datetime
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import tomlkit

from valuation.errors import CarFileError
from valuation.importing.car_tables import plain_number
from valuation.importing.car_value import Wrong, all_wrong, read_value
from valuation.importing.car_words import fill_from_words, read_corrections, said_in
from valuation.importing.car_work import (
    add_plan,
    read_cure,
    read_stops,
    read_work,
    read_zone_marks,
)
from valuation.importing.disk import write_text
from valuation.importing.open_facts import open_tables, read_open_facts
from valuation.reading.dates import read_dates
from valuation.reading.mileage import MILES_PER_KM
from valuation.reading.money import read_money
from valuation.reading.title import read_title
from valuation.reading.titles import Makes, makes_from
from valuation.reading.vocabulary import levels_of, read_level
from valuation.records import Car, Value
from valuation.schema import BY_NAME
from valuation.schema.kinds import CANNOT_BE_TOLD, NOT_LOOKED_AT

__all__ = ["SALE_KEYS", "car_from_values", "complete_car", "read_car", "write_car"]

SALE_KEYS = ("channel", "venue", "region", "basis", "outcome", "reserve")
"""What can be said of the sale a car is valued for."""

_TEXTS = ("title", "description", "engine_text", "transmission_text", "chassis", "label")

_TELLS: dict[str, frozenset[str]] = {
    "title": frozenset(BY_NAME),
    # A description speaks of many things: it must not name the car.
    "description": frozenset(BY_NAME) - {"make", "model", "year"},
    "engine_text": frozenset({"engine_size", "engine_layout", "aspiration"}),
    "transmission_text": frozenset({"transmission", "gears"}),
}
"""What each text of a car file may tell, in the order in which they are asked."""

_PLAN = ("work", "marks", "cure", "stops")
_ALSO = ("asking", "seen_on", "sale", "statements", "open", *_PLAN)


def _sale(entry: Any, faults: list[Wrong]) -> dict[str, str]:
    if not isinstance(entry, Mapping):
        faults.append(Wrong("sale", str(entry), "a table [sale]"))
        return {}
    out: dict[str, str] = {}
    for key, value in entry.items():
        place = f"sale.{key}"
        if key not in SALE_KEYS:
            faults.append(Wrong(place, key, f"one of the keys {', '.join(SALE_KEYS)}"))
        elif not isinstance(value, str):
            faults.append(Wrong(place, str(value), "text between quotation marks"))
        elif levels := levels_of(key):
            level = read_level(key, value)
            if level is None:
                faults.append(Wrong(place, value, "one of " + ", ".join(levels)))
            else:
                out[key] = level
        elif value.strip():
            out[key] = value.strip()
    return out


def _asking(value: Any, faults: list[Wrong]) -> float | None:
    if value is None:
        return None
    amount = read_money(str(value)).amount if not isinstance(value, bool) else None
    if amount is None or amount <= 0:
        faults.append(Wrong("asking", str(value), "an amount above zero, such as 41250"))
        return None
    return amount


def _seen_on(value: Any, faults: list[Wrong]) -> date | None:
    if isinstance(value, datetime):
        return value.date()
    if value is None or isinstance(value, date):
        return value
    day = read_dates([str(value)]).values[0]
    if day is None:
        faults.append(Wrong("seen_on", str(value), "a day such as 2025-06-14"))
    return day


def _text(values: Mapping[str, Any], key: str, faults: list[Wrong]) -> str:
    value = values.get(key, "")
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, int) and not isinstance(value, bool):
        return str(value)
    faults.append(Wrong(key, str(value), "text between quotation marks"))
    return ""


def _complete(
    found: dict[str, Value], named: Collection[str], texts: Mapping[str, str], makes: Makes
) -> tuple[list[str], dict[str, str]]:
    """Fill what the file is silent about from its texts; return remarks and statements."""
    notes, statements = [], {}
    for what, tells in _TELLS.items():
        text = texts[what]
        read = _told_by(text, str(found.get("make", "")), makes) if text else {}
        for name, value in read.items():
            if value is None or name in named or name not in tells or name in found:
                continue
            shown = f"{value:g}" if isinstance(value, float) else value
            where = what.replace("_", " ")
            notes.append(f"{BY_NAME[name].label} is read from the {where}: {shown}.")
            statements[name] = f"{where}: {text}"
            found[name] = value
    return notes, statements


def _told_by(text: str, make: str, makes: Makes) -> dict[str, Value | None]:
    facts = read_title(text, makes, make=make)
    miles = facts.mileage
    if miles is not None and facts.mileage_unit == "km":
        miles *= MILES_PER_KM
    return {
        "make": facts.make or None,
        "model": facts.model or None,
        "year": None if facts.year is None else float(facts.year),
        "body": facts.body or None,
        "engine_size": facts.engine.size,
        "engine_layout": facts.engine.layout or None,
        "aspiration": facts.engine.aspiration or None,
        "transmission": facts.gearbox.kind or None,
        "gears": None if facts.gearbox.gears is None else float(facts.gearbox.gears),
        "mileage": miles,
    }


def _nearest(key: str) -> str:
    """Say what an unknown key may have meant."""
    near = get_close_matches(key, [*BY_NAME, *_TEXTS, *_ALSO], n=1)
    if near:
        return f"{near[0]}, the nearest known name"
    return "left out: no attribute has this name"


def _raise(faults: list[Wrong], where: str) -> None:
    if faults:
        what, remedy = all_wrong(faults)
        raise CarFileError(where, what, remedy=remedy)


def car_from_values(
    values: Mapping[str, Any],
    *,
    known_makes: Mapping[str, tuple[str, ...]] | None = None,
    where: str = "car",
) -> Car:
    """Make a car from a dictionary.

    Parameters
    ----------
    values : mapping
        Attributes of the contract by name; ``title``, ``description``, ``engine_text``,
        ``transmission_text``, ``chassis``, ``label``,
        ``asking``, ``seen_on``; ``sale`` with the sale it is valued for; ``statements`` with
        corrections of what title and description say; ``open`` with the facts that are not
        settled, see :func:`valuation.importing.open_facts.read_open_facts`; ``work``, ``marks``,
        ``cure`` and ``stops``, see :mod:`valuation.importing.car_work`.  A value may be
        ``"not looked at"`` or ``"cannot be told"``, and may carry its unit ("48,200 km").
    known_makes : mapping of str to tuple of str, optional
        Models by make, from a fitted model, with which the title is read.
    where : str
        Name for messages.

    Returns
    -------
    Car
        What the dictionary is silent about is read from title and description where they tell.

    Raises
    ------
    CarFileError
        Naming every wrong entry, what came, and what is allowed.

    Examples
    --------
    >>> car = car_from_values({"title": "1967 Torvane GT"}, known_makes={"Torvane": ("GT",)})
    >>> car.values["year"], car.values["make"], car.values["model"]
    (1967.0, 'Torvane', 'GT')
    """
    faults: list[Wrong] = []
    stated: dict[str, Value] = {}
    not_looked, not_told = set(), set()
    notes: list[str] = []
    for key, value in values.items():
        if key in _TEXTS or key in _ALSO:
            continue
        if key not in BY_NAME:
            faults.append(Wrong(key, str(value), _nearest(key)))
        elif value == NOT_LOOKED_AT:
            not_looked.add(key)
        elif value == CANNOT_BE_TOLD:
            not_told.add(key)
        else:
            stated.update(read_value(key, value, faults, notes))
    texts = {key: _text(values, key, faults) for key in _TEXTS}
    sale = _sale(values.get("sale", {}), faults)
    corrections = read_corrections(values.get("statements", {}), faults)
    asking, seen_on = _asking(values.get("asking"), faults), _seen_on(values.get("seen_on"), faults)
    settled = frozenset(not_looked | not_told | stated.keys())
    unsettled = read_open_facts(values.get("open", ()), settled, faults)
    plan = _plan(values, faults)
    _raise(faults, where)
    named = settled.union(f.attribute for f in unsettled)
    makes = makes_from(known_makes or {})
    told, statements = _complete(stated, named, texts, makes)
    said = said_in(texts["title"], texts["description"], corrections)
    remarks, resting = fill_from_words(stated, named, said)
    return Car(
        values=stated,
        not_looked_at=frozenset(not_looked),
        cannot_be_told=frozenset(not_told),
        sale=sale,
        notes=(*notes, *told, *remarks),
        statements={**statements, **resting},
        said=said,
        corrections=corrections,
        asking=asking,
        seen_on=seen_on,
        open=unsettled,
        work=plan.work,
        marks=plan.marks,
        cure=plan.cure,
        stops=plan.stops,
        **texts,
    )


def _plan(values: Mapping[str, Any], faults: list[Wrong]) -> Car:
    """Read what is to be done to a car and what stops its purchase, and nothing else of it."""
    return Car(
        {},
        work=read_work(values.get("work", ()), faults),
        marks=read_zone_marks(values.get("marks", {}), faults),
        cure=read_cure(values.get("cure"), faults),
        stops=read_stops(values.get("stops", ()), faults),
    )


def complete_car(car: Car, known_makes: Mapping[str, tuple[str, ...]] | Makes) -> Car:
    """Fill what a car does not state from its title, with the makes and models of a market.

    Parameters
    ----------
    car : Car
        The car.
    known_makes : mapping of str to tuple of str, or Makes
        Models by make; for many cars, what ``makes_from`` made of them once.

    Returns
    -------
    Car
        With further values and remarks, or the same if its title tells nothing new.
    """
    stated = dict(car.values)
    named = {*stated, *car.not_looked_at, *car.cannot_be_told, *(f.attribute for f in car.open)}
    makes = known_makes if isinstance(known_makes, Makes) else makes_from(known_makes)
    texts = {what: str(getattr(car, what)) for what in _TELLS}
    notes, statements = _complete(stated, named, texts, makes)
    if not notes:
        return car
    return replace(
        car,
        values=stated,
        notes=(*car.notes, *notes),
        statements={**car.statements, **statements},
    )


def read_car(path: str | Path, *, known_makes: Mapping[str, tuple[str, ...]] | None = None) -> Car:
    """Read a car file.

    Parameters
    ----------
    path : str or pathlib.Path
        TOML, see :func:`car_from_values` for its keys.
    known_makes : mapping of str to tuple of str, optional
        Models by make, from a fitted model, with which the title is read.

    Raises
    ------
    CarFileError
        If the file is missing, no TOML, or holds wrong entries: all of them are named.
    """
    path = Path(path)
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except tomllib.TOMLDecodeError as error:
        raise CarFileError(
            path.name, "it is no TOML", got=str(error), remedy="Correct the line named"
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        raise CarFileError(
            path.name,
            "it can't be read",
            got=getattr(error, "strerror", None) or type(error).__name__,
            remedy="Check its name",
        ) from error
    if not values:
        raise CarFileError(
            path.name, "nothing is said about the car", remedy='Write at least title = "..."'
        )
    return car_from_values(values, known_makes=known_makes, where=path.name)


def write_car(car: Car, path: str | Path) -> None:
    """Write a car as a TOML file that :func:`read_car` reads back.

    Parameters
    ----------
    car : Car
        The car.
    path : str or pathlib.Path
        Where to; an older file is replaced at once or not at all.
    """
    doc = tomlkit.document()
    for key in _TEXTS:
        if text := getattr(car, key):
            doc.add(key, text)
    for name in BY_NAME:
        if name in car.values:
            value = car.values[name]
            plain = value if isinstance(value, str | tuple) else plain_number(float(value))
            doc.add(name, list(plain) if isinstance(plain, tuple) else plain)
        elif name in car.not_looked_at:
            doc.add(name, NOT_LOOKED_AT)
        elif name in car.cannot_be_told:
            doc.add(name, CANNOT_BE_TOLD)
    if car.asking is not None:
        doc.add("asking", plain_number(car.asking))
    if car.seen_on is not None:
        doc.add("seen_on", car.seen_on)
    if car.stops:
        doc.add("stops", list(car.stops))
    if car.sale:
        sale = tomlkit.table()
        for key in SALE_KEYS:
            if key in car.sale:
                sale.add(key, car.sale[key])
        doc.add("sale", sale)
    if car.corrections:
        corrections = tomlkit.table()
        for key in sorted(car.corrections):
            corrections.add(key, car.corrections[key])
        doc.add("statements", corrections)
    if car.open:
        doc.add("open", open_tables(car.open))
    add_plan(doc, car)
    write_text(tomlkit.dumps(doc), path)

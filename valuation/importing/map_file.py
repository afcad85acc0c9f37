"""The small TOML file in which a source's map is kept: written with remarks, checked when read."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import Table

from valuation.errors import MapError
from valuation.importing.disk import write_text
from valuation.importing.source_map import FIXED, TARGETS, UNITS, ColumnUse, SourceMap, label_of
from valuation.premium import APPLIED, PremiumSlice, check_premiums
from valuation.reading.dates import DATE_ORDERS
from valuation.reading.money import CURRENCIES
from valuation.reading.text import fold
from valuation.reading.vocabulary import levels_of
from valuation.schema import BY_NAME

__all__ = ["FORMAT", "map_from_toml", "map_to_toml", "read_map", "write_map", "write_text"]

FORMAT = 1
"""Version of the format."""

_TOP = ("format", "only_these", "ignore", "for_all_rows", "columns", "words", "premium")
_COLUMN = ("column", "columns", "unit", "decimal", "order", "worst", "best")
_PREMIUM = ("percent", "up_to", "applied", "minimum", "cap", "venue", "first", "last")


def _refuse(where: str, problem: str, got: object, remedy: str) -> MapError:
    return MapError(where, problem, got=str(got), remedy=remedy)


def _check_keys(
    found: Mapping[str, Any], allowed: tuple[str, ...] | frozenset[str], where: str
) -> None:
    for key in found:
        if key not in allowed:
            raise _refuse(where, f'"{key}" is not known here', key, _one_of(sorted(allowed)))


def _one_of(allowed: list[str] | tuple[str, ...]) -> str:
    return "Use one of: " + ", ".join(allowed)


def _table_at(data: Mapping[str, Any], key: str, where: str) -> Mapping[str, Any]:
    value = data.get(key, {})
    if not isinstance(value, Mapping):
        raise _refuse(where, f"{key} is no table", value, f"Write [{key}] on a line of its own")
    return value


def _use(target: str, entry: Any, where: str) -> ColumnUse:
    if isinstance(entry, str | list):
        entry = {"columns" if isinstance(entry, list) else "column": entry}
    if not isinstance(entry, Mapping):
        raise _refuse(where, "a column is named by text", entry, 'Write it as column = "Price"')
    _check_keys(entry, _COLUMN, where)
    names = entry.get("columns", entry.get("column"))
    names = [names] if isinstance(names, str) else names
    if not isinstance(names, list) or not names or not all(isinstance(n, str) for n in names):
        raise _refuse(where, "no column is named", names, 'Write it as column = "Price"')
    unit = str(entry.get("unit", ""))
    if unit and unit not in UNITS.get(target, ()):
        known = UNITS.get(target, ())
        remedy = _one_of(known) if known else "Leave the unit out"
        raise _refuse(where, "the unit is not known", unit, remedy)
    decimal, order = str(entry.get("decimal", "")), str(entry.get("order", ""))
    if decimal not in ("", ".", ","):
        raise _refuse(where, "no decimal sign", decimal, 'Use "." or ","')
    if order and (target != "sale_date" or order not in DATE_ORDERS):
        raise _refuse(where, "no order of day and month", order, _one_of(DATE_ORDERS))
    worst, best = _scale(entry, target, where)
    return ColumnUse(target, tuple(names), unit, decimal, order, worst, best)


def _scale(entry: Mapping[str, Any], target: str, where: str) -> tuple[float | None, float | None]:
    ends = [entry.get("worst"), entry.get("best")]
    if ends == [None, None]:
        return None, None
    numbers = [float(e) for e in ends if isinstance(e, int | float) and not isinstance(e, bool)]
    if target != "condition_grade" or len(numbers) != 2 or numbers[0] == numbers[1]:
        raise _refuse(
            where,
            "a condition scale needs two different ends",
            ends,
            "Write worst = 1 and best = 5 for condition_grade",
        )
    return numbers[0], numbers[1]


def _fixed(data: Mapping[str, Any], where: str) -> dict[str, str]:
    table = _table_at(data, "for_all_rows", where)
    place = f"{where}, [for_all_rows]"
    _check_keys(table, FIXED, place)
    out = {}
    for key, value in table.items():
        levels = levels_of(key)
        if not isinstance(value, str) or (levels and value not in levels):
            raise _refuse(
                f"{place}, {key}", "not an allowed value", value, _one_of(levels or ("any text",))
            )
        if key == "currency" and value not in CURRENCIES:
            raise _refuse(
                f"{place}, currency", "no known currency", value, "Use a code of ISO 4217"
            )
        out[key] = value
    return out


def _words(data: Mapping[str, Any], where: str) -> dict[str, dict[str, str]]:
    out: dict[str, dict[str, str]] = {}
    for target, table in _table_at(data, "words", where).items():
        place = f"{where}, [words.{target}]"
        if target not in TARGETS:
            raise _refuse(place, "no such attribute or field", target, _one_of(sorted(TARGETS)))
        if not isinstance(table, Mapping):
            raise _refuse(place, "no table", table, f"Write [words.{target}] on a line of its own")
        out[target] = {fold(k): _meaning(target, v, f"{place}, {k}") for k, v in table.items()}
    return out


def _meaning(target: str, value: Any, where: str) -> str:
    levels = levels_of(target)
    attribute = BY_NAME.get(target)
    if attribute and attribute.kind == "number":
        good = isinstance(value, int | float) and attribute.low <= value <= attribute.high
        if not good or isinstance(value, bool):
            span = f"Use a number from {attribute.low:g} to {attribute.high:g}"
            raise _refuse(where, "not an allowed value", value, span)
        return f"{value:g}"
    if not isinstance(value, str) or (levels and value not in (*levels, "")):
        raise _refuse(where, "not an allowed value", value, _one_of(levels or ("any text",)))
    return value


def _decimal(entry: Mapping[str, Any], key: str, where: str) -> Decimal | None:
    if key not in entry:
        return None
    try:
        number = Decimal(str(entry[key]))
    except InvalidOperation:
        number = Decimal(-1)
    if isinstance(entry[key], bool) or not number.is_finite() or number < 0:
        raise _refuse(where, f"{key} is no amount", entry[key], "Write a number of zero or more")
    return number


def _day(entry: Mapping[str, Any], key: str, where: str) -> date | None:
    value = entry.get(key)
    if value is None or (isinstance(value, date) and not isinstance(value, datetime)):
        return value
    raise _refuse(
        where, f"{key} is no day", value, "Write it as 2025-06-14, without quotation marks"
    )


def _premiums(data: Mapping[str, Any], where: str) -> tuple[PremiumSlice, ...]:
    entries = data.get("premium", [])
    if not isinstance(entries, list):
        raise _refuse(where, "premium is no list", entries, "Write [[premium]] for every tier")
    out = []
    for i, entry in enumerate(entries, start=1):
        place = f"{where}, [[premium]] {i}"
        _check_keys(entry, _PREMIUM, place)
        percent = _decimal(entry, "percent", place)
        if percent is None or percent > 100:
            raise _refuse(place, "percent is missing or above 100", percent, "Write percent = 15")
        applied = entry.get("applied", APPLIED[0])
        if applied not in APPLIED:
            raise _refuse(place, "applied in no known way", applied, _one_of(APPLIED))
        out.append(
            PremiumSlice(
                percent,
                _decimal(entry, "up_to", place),
                applied,
                _decimal(entry, "minimum", place),
                _decimal(entry, "cap", place),
                str(entry.get("venue", "")),
                _day(entry, "first", place),
                _day(entry, "last", place),
            )
        )
    check_premiums(out, where)
    return tuple(out)


def map_from_toml(text: str, where: str) -> SourceMap:
    """Read a map from its text.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        Name of the file for messages.

    Raises
    ------
    MapError
        If anything in it is wrong.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _refuse(where, "it is no TOML", error, "Correct the line named") from error
    if data.get("format") != FORMAT:
        raise _refuse(
            where, "the format is not known", data.get("format"), f"Write format = {FORMAT} on top"
        )
    _check_keys(data, _TOP, where)
    columns = _table_at(data, "columns", where)
    uses = []
    for target, entry in columns.items():
        place = f"{where}, [columns.{target}]"
        if target not in TARGETS:
            raise _refuse(place, "no such attribute or field", target, _one_of(sorted(TARGETS)))
        uses.append(_use(target, entry, place))
    _check_twice(uses, where)
    ignore = data.get("ignore", [])
    if not isinstance(ignore, list) or not all(isinstance(c, str) for c in ignore):
        raise _refuse(where, "ignore is no list of names", ignore, 'Write ignore = ["Notes"]')
    return SourceMap(
        tuple(uses),
        tuple(ignore),
        _fixed(data, where),
        _words(data, where),
        _premiums(data, where),
        data.get("only_these") is True,
    )


def _check_twice(uses: list[ColumnUse], where: str) -> None:
    seen: dict[str, str] = {}
    for use in uses:
        for column in use.columns:
            if column in seen:
                raise _refuse(
                    where,
                    f"one column is used for {seen[column]} and for {use.target}",
                    column,
                    "Let every column have one meaning",
                )
            seen[column] = use.target


def read_map(path: str | Path) -> SourceMap:
    """Read the map of a source.

    Parameters
    ----------
    path : str or pathlib.Path
        TOML file.

    Raises
    ------
    MapError
        If the file is missing or anything in it is wrong.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise _refuse(
            path.name, "it can't be read", type(error).__name__, "Check the name of the map"
        ) from error
    return map_from_toml(text, path.name)


def _use_table(use: ColumnUse) -> Table:
    table = tomlkit.table()
    if use.how != "map":
        by = {"name": "its name", "content": "what stands in it"}[use.how]
        table.comment(f"{label_of(use.target)}; recognised by {by}")
    if len(use.columns) == 1:
        table.add("column", use.columns[0])
    else:
        table.add("columns", list(use.columns))
    for key in ("unit", "decimal", "order", "worst", "best"):
        value = getattr(use, key)
        if value not in ("", None):
            table.add(key, value)
    return table


def _premium_table(tier: PremiumSlice) -> Table:
    table = tomlkit.table()
    for key in ("up_to", "percent", "applied", "minimum", "cap", "venue", "first", "last"):
        value = getattr(tier, key)
        if isinstance(value, Decimal):
            value = int(value) if value == int(value) else float(value)
        if value not in ("", None):
            table.add(key, value)
    return table


def map_to_toml(source: SourceMap) -> str:
    """Write a map as text, with what was noticed as remarks."""
    doc = tomlkit.document()
    doc.add(tomlkit.comment("How the files of one source are read."))
    for note in source.notes:
        doc.add(tomlkit.comment(note.replace("\n", " ")))
    doc.add("format", FORMAT)
    if source.only_these:
        doc.append("only_these", tomlkit.boolean("true"))
    if source.ignore:
        doc.add("ignore", list(source.ignore))
    if source.fixed:
        fixed = tomlkit.table()
        for key, value in source.fixed.items():
            fixed.add(key, value)
        doc.add("for_all_rows", fixed)
    columns = tomlkit.table(is_super_table=True)
    for use in source.uses:
        columns.add(use.target, _use_table(use))
    if source.uses:
        doc.add("columns", columns)
    words = tomlkit.table(is_super_table=True)
    for target, meanings in source.words.items():
        table = tomlkit.table()
        attribute = BY_NAME.get(target)
        number = attribute is not None and attribute.kind == "number"
        for cell, meaning in meanings.items():
            table.add(cell, float(meaning) if number else meaning)
        words.add(target, table)
    if source.words:
        doc.add("words", words)
    if source.premiums:
        tiers = tomlkit.aot()
        for tier in source.premiums:
            tiers.append(_premium_table(tier))
        doc.add("premium", tiers)
    return tomlkit.dumps(doc)


def write_map(source: SourceMap, path: str | Path) -> None:
    """Write a map as a TOML file that a person can correct.

    Parameters
    ----------
    source : SourceMap
        The map.
    path : str or pathlib.Path
        Where to; an older file is replaced at once or not at all.
    """
    write_text(map_to_toml(source), path)

"""What is to be done to a car before it is sold: work, marks of zones, cure and stops of a file.

Zones belong to the inspection settings of a firm, which a car file does not know: that a zone is
one of them is checked where the marks are used.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import tomlkit
from tomlkit import TOMLDocument

from valuation.importing.car_tables import (
    check_keys,
    is_list,
    number_at,
    plain_number,
    tables_of,
    text_at,
)
from valuation.importing.car_value import Wrong, read_value
from valuation.reading.money import AMOUNT_ALLOWED, CURRENCIES, read_amount
from valuation.records import Car, Cure, Value, Work, ZoneMark
from valuation.schema import BY_NAME
from valuation.schema.kinds import NOT_LOOKED_AT, NOT_ON_THIS_CAR

__all__ = [
    "CURE_KEYS",
    "WORK_KEYS",
    "add_plan",
    "read_cure",
    "read_stops",
    "read_work",
    "read_zone_marks",
]

_COST = ("low", "high", "cost", "currency")

WORK_KEYS = ("what", *_COST, "zone", "mark", "attribute", "value", "days")
"""What can be said of a line of work."""

CURE_KEYS = ("days", *_COST)
"""What can be said of a cure."""

_BEST_MARK, _LONG = 10.0, 3650.0
_DAYS = f"a number of days from 0 to {_LONG:g}, such as 10"
_MARK = "a mark from 0 to 10"

Table = Mapping[str, Any]
_Cost = tuple[Decimal, Decimal, str]


def read_work(entry: Any, faults: list[Wrong]) -> tuple[Work, ...]:
    """Read the tables ``[[work]]`` of a car file.

    Parameters
    ----------
    entry : object
        What stands under ``work``: a list of tables.  Each says ``what`` is to be done and what it
        costs, ``low`` and ``high`` or ``cost``; ``zone`` with its ``mark`` after the work, or
        ``attribute`` with its ``value`` after the work, or neither; ``days`` and ``currency``.
    faults : list of Wrong
        Every wrong entry is appended.

    Returns
    -------
    tuple of Work
        The lines; none if one of them is wrong.

    Examples
    --------
    >>> table = {"what": "respray", "low": 4000, "high": "6,000 EUR", "zone": "paint", "mark": 8.5}
    >>> (line,) = read_work([table], [])
    >>> line.low, line.high, line.currency, line.mark
    (Decimal('4000'), Decimal('6000'), 'EUR', 8.5)
    """
    before, out = len(faults), []
    for place, table in tables_of(entry, "work", WORK_KEYS, faults):
        what = text_at(table, "what", place, faults)
        if not what and isinstance(table.get("what", ""), str):
            faults.append(Wrong(f"{place}.what", "nothing", "what is to be done"))
        cost = _cost(table, place, faults, wanted=True)
        zone, mark = _restored(table, place, faults)
        attribute, value = _changed(table, place, faults)
        if "zone" in table and "attribute" in table:
            allowed = "left out beside a zone: a line puts right a zone or changes an attribute"
            faults.append(Wrong(f"{place}.attribute", str(table["attribute"]), allowed))
        days = number_at(table, "days", place, _LONG, _DAYS, faults)
        if cost is not None and len(faults) == before:
            out.append(Work(what, *cost, zone, mark, attribute, value, days))
    return tuple(out) if len(faults) == before else ()


def _restored(table: Table, place: str, faults: list[Wrong]) -> tuple[str, float | None]:
    """Return the zone a line puts right and its mark after the work."""
    zone = text_at(table, "zone", place, faults)
    mark = number_at(table, "mark", place, _BEST_MARK, _MARK, faults)
    if "zone" in table and "mark" not in table:
        faults.append(
            Wrong(f"{place}.mark", "nothing", f"{_MARK}: that of the zone after the work")
        )
    elif "mark" in table and not zone:
        allowed = "the zone whose mark it is, such as paint"
        faults.append(Wrong(f"{place}.zone", zone or "nothing", allowed))
    return zone, mark


def _changed(table: Table, place: str, faults: list[Wrong]) -> tuple[str, Value | None]:
    """Return the attribute a line changes and what it is after the work."""
    if "attribute" not in table:
        if "value" in table:
            allowed = "the attribute whose value it is, such as colour"
            faults.append(Wrong(f"{place}.attribute", "nothing", allowed))
        return "", None
    name = table["attribute"]
    if not isinstance(name, str) or name not in BY_NAME:
        faults.append(Wrong(f"{place}.attribute", str(name), "an attribute such as colour"))
        return "", None
    if "value" not in table:
        allowed = f"the {BY_NAME[name].label.lower()} after the work"
        faults.append(Wrong(f"{place}.value", "nothing", allowed))
        return name, None
    wrong: list[Wrong] = []
    value = read_value(name, table["value"], wrong, []).get(name)
    faults += [Wrong(f"{place}.value", w.got, w.allowed) for w in wrong]
    if value is None and not wrong:
        allowed = f"a known {BY_NAME[name].label.lower()}"
        faults.append(Wrong(f"{place}.value", str(table["value"]), allowed))
    return name, value


def _cost(table: Table, place: str, faults: list[Wrong], *, wanted: bool) -> _Cost | None:
    """Return low end, high end and currency of what something costs; one end alone is both."""
    ends = [key for key in ("low", "high") if key in table]
    if "cost" in table and ends:
        faults.append(Wrong(f"{place}.cost", str(table["cost"]), "left out beside low and high"))
        return None
    keys = ends or [key for key in ("cost",) if key in table]
    currency = _currency(table, place, faults)
    amounts = []
    for key in keys:
        amount, named = read_amount(table[key])
        if amount is None:
            faults.append(Wrong(f"{place}.{key}", str(table[key]), AMOUNT_ALLOWED))
        elif named and currency and named != currency:
            faults.append(Wrong(f"{place}.{key}", str(table[key]), f"in {currency}"))
        else:
            amounts.append(amount)
            currency = currency or named
    if not keys and wanted:
        faults.append(Wrong(f"{place}.low", "nothing", f"{AMOUNT_ALLOWED}: what the work costs"))
    if not amounts or len(amounts) < len(keys):
        return None
    if amounts[0] > amounts[-1]:
        allowed = f"at least the low end, {amounts[0]:,f}"
        faults.append(Wrong(f"{place}.high", str(table["high"]), allowed))
        return None
    return amounts[0], amounts[-1], currency


def _currency(table: Table, place: str, faults: list[Wrong]) -> str:
    code = text_at(table, "currency", place, faults).upper()
    if code and code not in CURRENCIES:
        allowed = "a three-letter ISO 4217 code such as EUR"
        faults.append(Wrong(f"{place}.currency", code, allowed))
        return ""
    return code


def read_zone_marks(entry: Any, faults: list[Wrong]) -> dict[str, ZoneMark]:
    """Read the table ``[marks]`` of a car file.

    Parameters
    ----------
    entry : object
        What stands under ``marks``: a mapping of zones to a mark from 0 to 10, to the lowest and
        the highest mark, to ``not on this car`` or to ``not looked at``.
    faults : list of Wrong
        Every wrong entry is appended.

    Returns
    -------
    dict of str to ZoneMark
        Marks that can be used; a zone that was not looked at is not among them.
    """
    if not isinstance(entry, Mapping):
        faults.append(Wrong("marks", str(entry), "a table [marks]"))
        return {}
    out: dict[str, ZoneMark] = {}
    for zone, given in entry.items():
        mark = _zone_mark(given)
        if mark is not None:
            out[zone] = mark
        elif given != NOT_LOOKED_AT:
            allowed = (
                f"{_MARK}, the lowest and the highest mark such as [4, 7], or "
                f"{NOT_LOOKED_AT}, {NOT_ON_THIS_CAR}"
            )
            faults.append(Wrong(f"marks.{zone}", str(given), allowed))
    return out


def _zone_mark(given: Any) -> ZoneMark | None:
    if isinstance(given, str):
        return given if given == NOT_ON_THIS_CAR else None
    ends = list(given) if is_list(given) else [given]
    numbers = all(isinstance(e, int | float) and not isinstance(e, bool) for e in ends)
    if not numbers or not all(0 <= e <= _BEST_MARK for e in ends) or sorted(ends) != ends:
        return None
    if not is_list(given):
        return float(given)
    return (float(ends[0]), float(ends[1])) if len(ends) == 2 else None


def read_cure(entry: Any, faults: list[Wrong]) -> Cure | None:
    """Read the table ``[cure]`` of a car file.

    Parameters
    ----------
    entry : object
        What stands under ``cure``: a mapping with ``days``, and ``low`` and ``high`` or ``cost``;
        None if there is no such table.
    faults : list of Wrong
        Every wrong entry is appended.

    Returns
    -------
    Cure or None
        The cure; None if nothing is said or an entry is wrong.
    """
    if entry is None:
        return None
    if not isinstance(entry, Mapping):
        faults.append(Wrong("cure", str(entry), "a table [cure]"))
        return None
    before = len(faults)
    check_keys(entry, "cure", CURE_KEYS, faults)
    days = number_at(entry, "days", "cure", _LONG, _DAYS, faults)
    cost = _cost(entry, "cure", faults, wanted=False)
    if len(faults) > before or (days is None and cost is None):
        return None
    return Cure(days, *(cost or (None, None, "")))


def read_stops(entry: Any, faults: list[Wrong]) -> tuple[str, ...]:
    """Read the list ``stops`` of a car file.

    Parameters
    ----------
    entry : object
        What stands under ``stops``: a list of sentences.
    faults : list of Wrong
        A wrong entry is appended.

    Returns
    -------
    tuple of str
        The sentences; none if the entry is wrong.
    """
    if not is_list(entry) or not all(isinstance(s, str) and s.strip() for s in entry):
        faults.append(Wrong("stops", str(entry), 'a list of sentences, such as ["Two numbers."]'))
        return ()
    return tuple(s.strip() for s in entry)


def add_plan(doc: TOMLDocument, car: Car) -> None:
    """Add marks, cure and work of a car to its file, as they are read back.

    Parameters
    ----------
    doc : tomlkit.TOMLDocument
        The file.
    car : Car
        The car.
    """
    if car.marks:
        marks = tomlkit.table()
        for zone, mark in car.marks.items():
            marks.add(zone, _mark_entry(mark))
        doc.add("marks", marks)
    if car.cure is not None:
        cure = tomlkit.table()
        if car.cure.days is not None:
            cure.add("days", plain_number(car.cure.days))
        if car.cure.low is not None and car.cure.high is not None:
            _add_cost(cure, car.cure.low, car.cure.high, car.cure.currency)
        doc.add("cure", cure)
    if car.work:
        lines = tomlkit.aot()
        for line in car.work:
            lines.append(_work_table(line))
        doc.add("work", lines)


def _mark_entry(mark: ZoneMark) -> Any:
    if isinstance(mark, str):
        return mark
    return [plain_number(m) for m in mark] if isinstance(mark, tuple) else plain_number(mark)


def _work_table(line: Work) -> tomlkit.items.Table:
    table = tomlkit.table()
    table.add("what", line.what)
    _add_cost(table, line.low, line.high, line.currency)
    if line.zone and line.mark is not None:
        table.add("zone", line.zone)
        table.add("mark", plain_number(line.mark))
    if line.attribute and line.value is not None:
        value = line.value
        table.add("attribute", line.attribute)
        plain = value if isinstance(value, str | tuple) else plain_number(value)
        table.add("value", list(plain) if isinstance(plain, tuple) else plain)
    if line.days is not None:
        table.add("days", plain_number(line.days))
    return table


def _add_cost(table: tomlkit.items.Table, low: Decimal, high: Decimal, currency: str) -> None:
    if low == high:
        table.add("cost", _amount_entry(low))
    else:
        table.add("low", _amount_entry(low))
        table.add("high", _amount_entry(high))
    if currency:
        table.add("currency", currency)


def _amount_entry(amount: Decimal) -> int | float:
    return int(amount) if amount == math.floor(amount) else float(amount)

"""What a person types in place of a value of a sale, checked as a car file is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from valuation.errors import EvidenceError
from valuation.importing.car_value import Wrong, all_wrong, read_value
from valuation.importing.sales import NO_CURRENCY
from valuation.reading.dates import read_dates
from valuation.reading.money import read_money
from valuation.reading.text import fold
from valuation.reading.vocabulary import levels_of, read_level
from valuation.records import Value
from valuation.schema import ATTRIBUTES, BY_FIELD, BY_NAME

__all__ = ["NOT_STATED", "FixedValue", "fixed_values"]

FixedValue = Value | date | None
"""What a fixed field holds from then on; None for not stated."""

NOT_STATED = "not stated"
"""Typed in place of a value that the sale does not state at all."""

_FIXABLE = tuple(f for f in BY_FIELD if f not in ("sale_id", "currency"))


def fixed_values(
    typed: Mapping[str, str], *, currency: str, where: str
) -> dict[str, tuple[FixedValue, str]]:
    """Read what a person typed in place of values of a sale.

    Parameters
    ----------
    typed : mapping of str to str
        Text by attribute or sale field; ``not stated`` takes a value away.
    currency : str
        Currency of the evidence, in which a price has to be.
    where : str
        Which sale, for the message.

    Returns
    -------
    dict of str to (value, str)
        Each field that changes, with its value and what was typed for it.  One entry may tell of
        two fields, such as ``mileage = "TMU"``.

    Raises
    ------
    EvidenceError
        Naming every wrong entry, what came, and what is allowed.

    Examples
    --------
    >>> fixed_values({"price": "41.250 EUR"}, currency="EUR", where="sale")
    {'price': (41250.0, '41.250 EUR')}
    """
    faults: list[Wrong] = []
    out: dict[str, tuple[FixedValue, str]] = {}
    for name, text in typed.items():
        for field, value in _read(name, text.strip(), currency, faults).items():
            out[field] = (value, text.strip())
    if faults or not out:
        what, remedy = all_wrong(faults) if faults else ("nothing is fixed", "Name a value")
        raise EvidenceError(where, what, remedy=remedy)
    return out


def _read(name: str, text: str, currency: str, faults: list[Wrong]) -> dict[str, FixedValue]:
    if not text:
        faults.append(Wrong(name, text, f'some text, or "{NOT_STATED}"'))
        return {}
    if name in BY_NAME:
        if fold(text) == NOT_STATED and BY_NAME[name].when_silent != "required":
            return {name: None}
        return dict(read_value(name, text, faults, []))
    if name == "price":
        return _price(text, currency, faults)
    if name in _SALE_READERS:
        return {name: _SALE_READERS[name](text, faults)}
    if name not in _FIXABLE:
        known = ", ".join((*_FIXABLE, *(a.name for a in ATTRIBUTES)))
        faults.append(Wrong(name, name, f"one of the names {known}"))
        return {}
    if levels := levels_of(name):
        level = read_level(name, text)
        if level is None:
            faults.append(Wrong(name, text, "one of " + ", ".join(levels)))
        return {name: level}
    return {name: None if fold(text) == NOT_STATED else text}


def _price(text: str, currency: str, faults: list[Wrong]) -> dict[str, FixedValue]:
    read = read_money(text)
    other = read.currency and NO_CURRENCY != currency != read.currency
    if read.amount is None or read.amount <= 0 or other:
        unit = "" if currency == NO_CURRENCY else f" in {currency}"
        faults.append(Wrong("price", text, f"one amount above zero{unit}, such as 41250"))
    return {"price": read.amount}


def _day(text: str, faults: list[Wrong]) -> FixedValue:
    read = read_dates([text])
    day = read.values[0]
    if day is None or read.ambiguous[0]:
        faults.append(Wrong("sale_date", text, "a day such as 2025-06-14"))
    return day


_SALE_READERS: dict[str, Callable[[str, list[Wrong]], FixedValue]] = {"sale_date": _day}

"""Odometer readings: "48,200 km", "TMU", "00012 (exempt)", "70000 - 79999 km", "23k miles"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from valuation.reading.numbers import NUMBER, plain_number
from valuation.reading.text import fold, is_blank

__all__ = ["MILES_PER_KM", "Mileage", "find_mileage", "is_placeholder", "read_mileage"]

MILES_PER_KM = 1 / 1.609344

_KM = re.compile(r"(?<![a-z])(?:km|kms|kilometers?|kilometres?|kilometer|kilometros|chilometri)\b")
_MILES = re.compile(r"(?<![a-z])(?:mi|mil|miles?|mls|meilen)\b")
_VALUE = re.compile(rf"({NUMBER})\s?(k|tkm|tsd|tys|thousand)?(?![a-z]*[0-9])(?=[^a-z]|km|mi|$)")
_RANGE = re.compile(rf"({NUMBER})\s?(k(?!m))?\s?(?:-|to|bis)\s?({NUMBER})\s?(k(?!m))?")
_EXEMPT = re.compile(r"\bexempt\b")
_UNKNOWN = re.compile(
    r"\b(?:tmu|unknown|not actual|tfu|rolled over|inoperative|broken|replaced|undocumented|"
    r"unbekannt|inconnu|desconocido|sconosciuto|onbekend|nieznany|okand)\b"
)
_PROVEN = re.compile(r"\b(?:proven|documented|verified|actual|belegt|nachweisbar|certifie)\b")
_IN_TITLE = re.compile(
    rf"(?<![\w.$€£])({NUMBER})\s?(k)?[\s-]?(miles?|mi|kilometers?|kilometres?|kms?)\b"
)


@dataclass(frozen=True, slots=True)
class Mileage:
    """What an odometer cell says.

    Parameters
    ----------
    value : float, optional
        Distance in the unit of the cell.
    unit : {"", "km", "miles"}
        Unit the cell itself names.
    status : str
        ``unknown``, ``exempt`` or ``proven`` if the cell says so, else empty.
    problem : {"", "range", "at least", "unreadable", "placeholder"}
        What is special: the middle of a range, a lower bound, no number at all, or a number that
        stands for nothing.
    """

    value: float | None
    unit: str = ""
    status: str = ""
    problem: str = ""


def is_placeholder(value: float) -> bool:
    """Tell whether an odometer figure is one that people type when they have none.

    Examples
    --------
    >>> [is_placeholder(x) for x in (0, 1, 999999, 123456, 48200)]
    [True, True, True, True, False]
    """
    digits = f"{value:.0f}"
    typed = len(digits) >= 5 and set(digits) in ({"1"}, {"9"})
    return value <= 1 or typed or digits in ("12345", "123456", "1234567")


def _unit(plain: str) -> str:
    if _KM.search(plain) or re.search(r"\d\s?t?km\b", plain):
        return "km"
    return "miles" if _MILES.search(plain) else ""


def _status(plain: str) -> str:
    if _EXEMPT.search(plain):
        return "exempt"
    if _UNKNOWN.search(plain):
        return "unknown"
    return "proven" if _PROVEN.search(plain) else ""


def _amount(number: str, factor: str | None, decimal: str) -> float:
    return plain_number(number, decimal) * (1000.0 if factor else 1.0)


@lru_cache(maxsize=200_000)
def read_mileage(text: str, decimal: str = "", *, thousands: bool = False) -> Mileage:
    """Read an odometer cell.

    Parameters
    ----------
    text : str
        The cell.
    decimal : {"", ".", ","}
        Decimal sign of the column, nothing if unsettled.
    thousands : bool
        Whether the column counts in thousands, so that 1 is a reading like any other.

    Examples
    --------
    >>> read_mileage("70000 - 79999 km")
    Mileage(value=74999.5, unit='km', status='', problem='range')
    >>> read_mileage("TMU").status, read_mileage("00012 (exempt)").status
    ('unknown', 'exempt')
    """
    plain = fold(text)
    status = _status(plain)
    if is_blank(text) and not status:
        return Mileage(None)
    unit = _unit(plain)
    if pair := _RANGE.search(plain):
        low = _amount(pair[1], pair[2] or pair[4], decimal)
        high = _amount(pair[3], pair[4], decimal)
        if low < high:
            return Mileage((low + high) / 2, unit, status, "range")
        return Mileage(None, unit, status, "unreadable")
    found = _VALUE.search(plain)
    if not found or re.match(r"[£$€]", plain):
        return Mileage(None, unit, status, "" if status else "unreadable")
    value = _amount(found[1], found[2], decimal)
    if (
        value <= 0
        or (is_placeholder(value) and not thousands)
        or (status == "exempt" and value < 1000)
    ):
        return Mileage(None, unit, status, "placeholder")
    bound = "at least" if re.search(r"[+>]\s?$|\+", plain[: found.start()]) else ""
    return Mileage(value, unit, status, bound)


def find_mileage(text: str) -> Mileage:
    """Find a distance with its unit in a heading, such as "15k-Mile" or "3,700-Mile".

    Examples
    --------
    >>> find_mileage("3,700-Mile 1967 Torvane GT").value
    3700.0
    """
    plain = fold(text)
    found = _IN_TITLE.search(plain)
    if not found:
        return Mileage(None)
    value = _amount(found[1], found[2], "")
    unit = "km" if found[3].startswith("k") else "miles"
    return Mileage(None if is_placeholder(value) else value, unit)

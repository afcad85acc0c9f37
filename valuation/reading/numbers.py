"""Numbers as people write them: which sign is the decimal one, thousands, "k", ranges."""

from __future__ import annotations

import re
from collections.abc import Iterable

from valuation.reading.text import fold

__all__ = ["NUMBER", "plain_number", "read_number", "settle_decimal"]

NUMBER = r"\d{1,3}(?:[ .,']\d{3})+(?:[.,]\d{1,2})?(?!\d)|\d+(?:[.,]\d+)*"
"""Pattern of a number with or without thousands separators, in folded text."""

_NUMBER = re.compile(NUMBER)
_ALONE = re.compile(r"[~<>+=]*\s*([+-]?)\s*(" + NUMBER + r")\s*([a-z%/0-9. ]*)")


def _sign(text: str) -> str:
    """Return the sign that must be the decimal one in `text`, or nothing if it can't be told."""
    dots, commas = text.count("."), text.count(",")
    if dots and commas:
        last = "." if text.rfind(".") > text.rfind(",") else ","
        return last if text.count(last) == 1 else ""
    if dots + commas != 1:
        return ""
    mark = "." if dots else ","
    head, tail = text.split(mark)
    return mark if len(tail) != 3 or head in ("", "0") or len(head) > 3 else ""


def settle_decimal(cells: Iterable[str]) -> str:
    """Settle over a whole column which sign is the decimal one.

    Parameters
    ----------
    cells : iterable of str
        Cells of one column.

    Returns
    -------
    {".", ",", ""}
        The decimal sign, or nothing where no cell tells: then three digits behind a single sign
        are thousands.

    Examples
    --------
    >>> settle_decimal(["41.250,00", "8.000"]), settle_decimal(["150.0"]), settle_decimal(["9.500"])
    (',', '.', '')
    """
    votes = {".": 0, ",": 0}
    for cell in cells:
        found = _NUMBER.search(fold(cell))
        sign = _sign(found.group().replace(" ", "").replace("'", "")) if found else ""
        if sign:
            votes[sign] += 1
    if votes["."] == votes[","]:
        return ""
    return "." if votes["."] > votes[","] else ","


def plain_number(text: str, decimal: str = "") -> float:
    """Turn the digits and signs of one number into a float.

    Parameters
    ----------
    text : str
        A match of :data:`NUMBER`.
    decimal : {"", ".", ","}
        Decimal sign of the column, nothing if unsettled.

    Examples
    --------
    >>> [plain_number(x) for x in ("41.250,00", "26.000", "7,4", "0.999")]
    [41250.0, 26000.0, 7.4, 0.999]
    """
    digits = text.replace(" ", "").replace("'", "")
    sign = _sign(digits)
    if not sign and digits.count(".") + digits.count(",") == 1 and decimal in digits:
        sign = decimal
    for mark in ".,":
        if mark != sign:
            digits = digits.replace(mark, "")
    return float(digits.replace(",", "."))


def read_number(text: str, decimal: str = "") -> float | None:
    """Read a cell that holds one number, perhaps with a unit behind it.

    Returns
    -------
    float or None
        None if the cell holds no number, or more than one.

    Examples
    --------
    >>> read_number("1.250 hp"), read_number("-3"), read_number("red")
    (1250.0, -3.0, None)
    """
    found = _ALONE.fullmatch(fold(text))
    if not found or re.search(r"\d", found.group(3)):
        return None
    value = plain_number(found.group(2), decimal)
    return -value if found.group(1) == "-" else value

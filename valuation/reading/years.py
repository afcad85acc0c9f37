"""Years: "1967", "1967½", "c.1968", "'67", "67", "1967.0", "1967/68"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from valuation.reading.text import each_once, fold, is_blank

__all__ = ["FIRST_YEAR", "Years", "read_year", "read_years"]

FIRST_YEAR = 1885
"""No car is older."""

_FULL = re.compile(r"(?<!\d)(1[89]\d\d|20\d\d)(?:\.0+)?(?!\d)")
_RANGE = re.compile(r"(1[89]\d\d|20\d\d)\s?[-/]\s?(1[89]\d\d|20\d\d|\d\d)(?!\d)")
_SHORT = re.compile(r"(?:c\.?|ca\.?|circa)?\s?(')?(\d\d)(?:\.0+)?")
_ONLY = re.compile(
    r"(?:(?:c|ca|circa|approx|about|est|my|model year|um|vers|hacia)\.?\s?)?"
    r"(?:1[89]\d\d|20\d\d)(?:\.[05]0*|½| ?1/2)?\s?(?:½|1/2|est\.?|\?|my|model year|model)?"
)


def _from_two_digits(two: int, latest: int) -> int:
    return (2000 if two <= latest % 100 else 1900) + two


@lru_cache(maxsize=50_000)
def read_year(text: str, latest: int = 2030, *, bare: bool = True) -> int | None:
    """Read one year.

    Parameters
    ----------
    text : str
        The cell.
    latest : int
        Years of two digits above it belong to the century before.
    bare : bool
        Whether two digits without an apostrophe are a year.

    Returns
    -------
    int or None
        The year; of two neighbouring years the first; None for a wider range or no year.

    Examples
    --------
    >>> [read_year(x) for x in ("1967½", "c.1968", "'67", "67", "1967.0", "1967/68", "1967-1975")]
    [1967, 1968, 1967, 1967, 1967, 1967, None]
    """
    plain = fold(text)
    if _ONLY.fullmatch(plain):
        found = re.search(r"\d{4}", plain)
        return int(found.group()) if found else None
    if pair := _RANGE.fullmatch(plain):
        first, second = int(pair[1]), int(pair[2])
        second += first // 100 * 100 if second < 100 else 0
        return first if 0 <= second - first <= 2 else None
    if short := _SHORT.fullmatch(plain):
        return _from_two_digits(int(short[2]), latest) if bare or short[1] else None
    full = _FULL.findall(plain)
    # A day of registration such as 03/1968 or 1968-03-14 still tells its year.
    dated = re.fullmatch(r"[\d./\- :t]+|[a-z]{3,9}\.? \d{4}", plain)
    return int(full[0]) if len(full) == 1 and dated and len(plain) > 4 else None


@dataclass(frozen=True, slots=True)
class Years:
    """A column of years.

    Parameters
    ----------
    values : list of (int or None), length n
        Year of each row.
    unreadable : list of bool, length n
        True where something stands that is no year.
    """

    values: list[int | None]
    unreadable: list[bool]


def read_years(cells: Sequence[str], latest: int = 2030) -> Years:
    """Read a column of years.

    Two bare digits are years only if at least a fifth of the stated cells are written so;
    elsewhere they are a slip of the columns.
    """
    stated = [c for c in cells if not is_blank(c)]
    short = sum(1 for c in stated if re.fullmatch(r"\d\d(?:\.0+)?", fold(c)))
    bare = short >= 0.2 * len(stated)
    values = each_once(cells, lambda c: read_year(c, latest, bare=bare))
    wrong = [v is None and not b for v, b in zip(values, each_once(cells, is_blank), strict=True)]
    return Years(values, wrong)

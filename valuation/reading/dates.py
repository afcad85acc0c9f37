"""Dates of a column, with the order of day and month settled over the whole of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

from valuation.reading.text import each_once, fold, is_blank

__all__ = ["DATE_ORDERS", "MONTHS", "Dates", "read_dates"]

DATE_ORDERS = ("day first", "month first")

MONTHS: dict[str, int] = {}
"""Number of the month by its name, folded, in several languages."""
for _number, _names in enumerate(
    (
        "january januar jan janvier janv enero ene gennaio gen januari styczen stycznia sty "
        "janeiro jaenner janner",
        "february februar feb fevrier fevr fev febrero febbraio februari luty lutego lut fevereiro",
        "march marz maerz mar mars marzo maart mrt marzec marca marco mrz",
        "april apr avril avr abril abr aprile kwiecien kwietnia kwi",
        "may mai mayo maggio mag mei maj maja maio",
        "june juni jun juin junio giugno giu czerwiec czerwca cze junho",
        "july juli jul juillet juil julio luglio lug lipiec lipca lip julho",
        "august aug aout agosto ago augustus sierpien sierpnia sie augusti",
        "september sept sep septembre septiembre settembre set wrzesien wrzesnia wrz setembro",
        "october oktober okt oct octobre octubre ottobre ott pazdziernik pazdziernika paz "
        "outubro out",
        "november nov novembre noviembre listopad listopada lis novembro",
        "december dezember dez dec decembre diciembre dic dicembre grudzien grudnia gru dezembro",
    ),
    start=1,
):
    MONTHS.update(dict.fromkeys(_names.split(), _number))

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[t ].*)?")
_RUN = re.compile(r"(1[89]\d\d|20\d\d)(\d\d)(\d\d)(?:\.0+)?")
_PAIR = re.compile(r"(\d{1,2})([-/. ])(\d{1,2})[-/. ](\d{4}|'?\d\d)(?:[ ,t].*)?")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_WORD = re.compile(r"[a-z]{3,}")
_MONTH_YEAR = re.compile(r"(\d{1,2})[-/.](\d{4})|(\d{4})[-/.](\d{1,2})")
# Excel counts days from the end of 1899; day 60 is the famous day that never was.
# Days that programs write where they have none.
_NEVER = frozenset({date(1900, 1, 1), date(1899, 12, 30), date(1899, 12, 31), date(1970, 1, 1)})
_EXCEL_ZERO = date(1899, 12, 30)


@dataclass(frozen=True, slots=True)
class _Pending:
    """Two numbers and a year whose order is to be settled by the column."""

    first: int
    second: int
    year: int
    dotted: bool


@dataclass(frozen=True, slots=True)
class Dates:
    """A column of dates.

    Parameters
    ----------
    values : list of (datetime.date or None), length n
        Date of each row.
    unreadable : list of bool, length n
        True where something stands that is no date, or a date in the other order.
    ambiguous : list of bool, length n
        True where day and month can't be told apart in the whole column.
    order : str
        Order used, one of :data:`DATE_ORDERS`, or empty if none was needed or none could be told.
    months_only : int
        Cells that name only a month; the middle of it stands for them.
    """

    values: list[date | None]
    unreadable: list[bool]
    ambiguous: list[bool]
    order: str
    months_only: int


def _make(year: int, month: int, day: int) -> date | None:
    try:
        made = date(year, month, day)
    except ValueError:
        return None
    return made if 1885 <= year <= 2098 and made not in _NEVER else None


def _full_year(text: str) -> int:
    year = int(text.lstrip("'"))
    return year if year > 99 else (2000 if year < 70 else 1900) + year


def _from_number(value: float) -> date | None:
    if 20_000 <= value < 80_000:
        return _EXCEL_ZERO + timedelta(days=int(value))
    for scale in (1.0, 1000.0):
        if 1e8 * scale <= value < 4.2e9 * scale:
            return datetime.fromtimestamp(value / scale, tz=UTC).date()
    return None


def _from_words(plain: str) -> tuple[date | None, bool]:
    """Read a date with the name of a month in it; the flag says that no day is given."""
    months = [MONTHS[w] for w in _WORD.findall(plain) if w in MONTHS]
    if len(set(months)) != 1:
        return None, False
    year = re.search(r"(?<!\d)(1[89]\d\d|20\d\d)(?!\d)", plain)
    if not year:
        tail = re.search(r"[a-z.\- ]'?(\d\d)$", plain)
        if not tail:
            return None, False
        year_number, before = _full_year(tail[1]), plain[: tail.start(1)]
    else:
        year_number, before = int(year[1]), plain[: year.start()] + " " + plain[year.end() :]
    day = re.search(r"(?<![\d:])(\d{1,2})(?![\d:])", before)
    if not day:
        return _make(year_number, months[0], 15), True
    return _make(year_number, months[0], int(day[1])), False


@lru_cache(maxsize=100_000)
def _parse(text: str) -> date | _Pending | tuple[date] | None:
    """Read one cell: a date, a pending pair, a month (a tuple of its middle), or nothing."""
    plain = fold(text)
    if found := _ISO.fullmatch(plain):
        return _make(int(found[1]), int(found[2]), int(found[3]))
    if found := _PAIR.fullmatch(plain):
        return _Pending(int(found[1]), int(found[3]), _full_year(found[4]), found[2] == ".")
    if found := _RUN.fullmatch(plain):
        return _make(int(found[1]), int(found[2]), int(found[3]))
    if _NUMBER.fullmatch(plain):
        return _from_number(float(plain))
    if found := _MONTH_YEAR.fullmatch(plain):
        year, month = (found[2], found[1]) if found[2] else (found[3], found[4])
        middle = _make(int(year), int(month), 15)
        return (middle,) if middle else None
    made, month_only = _from_words(plain)
    return (made,) if made and month_only else made


def _settle(pending: Sequence[_Pending]) -> str:
    day_first = sum(1 for p in pending if p.first > 12 >= p.second)
    month_first = sum(1 for p in pending if p.second > 12 >= p.first)
    if day_first == month_first:
        # Dots between day and month are used by languages that put the day first.
        return DATE_ORDERS[0] if pending and all(p.dotted for p in pending) else ""
    return DATE_ORDERS[0] if day_first > month_first else DATE_ORDERS[1]


def _resolve(p: _Pending, order: str) -> date | None:
    day, month = (p.second, p.first) if order == DATE_ORDERS[1] else (p.first, p.second)
    return _make(p.year, month, day)


def read_dates(cells: Sequence[str], order: str = "") -> Dates:
    """Read a column of dates.

    Parameters
    ----------
    cells : sequence of str, length n
        ISO dates and timestamps, ``14/6/2025``, ``6/14/25``, ``14. Juni 2025``, ``45822``
        (a spreadsheet's day number), ``Jun 2025``.
    order : {"", "day first", "month first"}
        Order of day and month if it is known; otherwise the column settles it.

    Returns
    -------
    Dates
        Values, and which cells could not be read.

    Examples
    --------
    >>> read = read_dates(["14/06/2025", "03/04/2025"])
    >>> read.order, str(read.values[1])
    ('day first', '2025-04-03')
    """
    parsed = each_once(cells, _parse)
    pending = [p for p in parsed if isinstance(p, _Pending)]
    order = order or _settle(pending)
    values: list[date | None] = []
    ambiguous: list[bool] = []
    for p in parsed:
        unclear = isinstance(p, _Pending) and not order and p.first != p.second
        ambiguous.append(unclear)
        if isinstance(p, _Pending):
            values.append(None if unclear else _resolve(p, order))
        else:
            values.append(p[0] if isinstance(p, tuple) else p)
    blank = each_once(cells, is_blank)
    unreadable = [
        v is None and not a and not b for v, a, b in zip(values, ambiguous, blank, strict=True)
    ]
    months = sum(isinstance(p, tuple) for p in parsed)
    return Dates(values, unreadable, ambiguous, order if pending else "", months)

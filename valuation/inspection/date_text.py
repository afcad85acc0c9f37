"""Dates as people write them on a sheet, to every day they may mean."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

from valuation.errors import SheetError
from valuation.inspection.dates import MONTH_NAMES, Days, Precision, WrittenDate, show_day
from valuation.reading.dates import MONTHS
from valuation.reading.text import fold

__all__ = ["DATE_FORMS", "MODEL_YEAR_STARTS", "model_year", "read_date"]

MODEL_YEAR_STARTS = (8, 1)
"""Month and day, in the year before, on which a model year starts unless settings say otherwise."""

DATE_FORMS = (
    "12 March 1969, March 1969, week 12 of 1969, model year 1969 or 14 March of a year ending in 9"
)
"""Ways to write a date that are always understood."""

_FIRST, _LAST = 1885, 2098
_HALF_CENTURY = 50
_YEAR = r"(1[89]\d\d|20\d\d|'?\d\d)"
_MONTH = r"([a-z]{3,})\.?"
_DAY = r"(\d{1,2})(?:st|nd|rd|th|\.)?"
_ENDING = r"(?:of )?(?:a |the )?year ending (?:in|with) (\d)"

Made = tuple[str, Precision, list[Days]]


def model_year(year: int, starts: tuple[int, int] = MODEL_YEAR_STARTS) -> WrittenDate:
    """Return a model year as the days on which its cars were built.

    Parameters
    ----------
    year : int
        The model year.
    starts : (int, int)
        Month and day, in the year before, on which it starts.

    Returns
    -------
    WrittenDate
        From the start to the day before the next model year.

    Examples
    --------
    >>> days = model_year(1969).readings[0]
    >>> str(days.first), str(days.last)
    ('1968-08-01', '1969-07-31')
    """
    first, after = date(year - 1, *starts), date(year, *starts)
    return WrittenDate(
        f"model year {year}", "model year", (Days(first, after - timedelta(days=1)),)
    )


def read_date(
    text: str, *, starts: tuple[int, int] = MODEL_YEAR_STARTS, where: str = "date"
) -> WrittenDate:
    """Read a date as it is written on a sheet.

    Parameters
    ----------
    text : str
        ``12 March 1969``, ``1969-03-12``, ``March 1969``, ``week 12 of 1969``, ``1969``,
        ``model year 1969``, ``14 March of a year ending in 9``.  A code may stand before its
        meaning: ``C14 9 = 14 March of a year ending in 9``.  Two figures of a year from 50 on are
        of the twentieth century.
    starts : (int, int)
        Month and day on which a model year starts in the year before.
    where : str
        Name for messages.

    Returns
    -------
    WrittenDate
        With every interval of days it may mean; nothing is guessed.

    Raises
    ------
    SheetError
        If it can't be read, names no day, or may be read in two orders.

    Examples
    --------
    >>> read_date("Week 12 of 1969").readings[0]
    Days(first=datetime.date(1969, 3, 17), last=datetime.date(1969, 3, 23))
    >>> [d.first.year for d in read_date("14 March of a year ending in 9").readings][-3:]
    [1909, 1899, 1889]
    """
    code, sign, meaning = text.rpartition("=")
    plain = fold(meaning).replace(",", " ")
    plain = re.sub(r"\s+", " ", plain).strip()
    if found := re.fullmatch(r"(?:model year|my) ?" + _YEAR, plain):
        made = model_year(_year(found[1], text, where), starts)
        return WrittenDate(made.shown, made.precision, made.readings, code.strip())
    for pattern, maker in _FORMS:
        if found := pattern.fullmatch(plain):
            shown, precision, readings = maker(found, text, where)
            if not readings:
                raise _wrong(where, "there is no such day", text)
            return WrittenDate(shown, precision, tuple(readings), code.strip() if sign else "")
    raise _wrong(where, "this can't be read as a date", text)


def _wrong(where: str, problem: str, text: str) -> SheetError:
    return SheetError(
        where,
        problem,
        got=text.strip() or "nothing",
        remedy=f"Write it out, such as {DATE_FORMS}",
    )


def _year(digits: str, text: str, where: str) -> int:
    year = int(digits.lstrip("'"))
    if year >= 100:
        return year
    if year < _HALF_CENTURY:
        raise _wrong(where, "the century of the year is missing", text)
    return 1900 + year


def _month(word: str, text: str, where: str) -> int:
    if word not in MONTHS:
        raise _wrong(where, "there is no month of this name", text)
    return MONTHS[word]


def _single(year: int, month: int, day: int) -> list[Days]:
    try:
        made = date(year, month, day)
    except ValueError:
        return []
    return [Days(made, made)] if _FIRST <= year <= _LAST else []


def _whole_month(year: int, month: int) -> list[Days]:
    if not (_FIRST <= year <= _LAST and 1 <= month <= 12):
        return []
    after = date(year + month // 12, month % 12 + 1, 1)
    return [Days(date(year, month, 1), after - timedelta(days=1))]


def _week(year: int, week: int) -> list[Days]:
    try:
        first = date.fromisocalendar(year, week, 1)
    except ValueError:
        return []
    return [Days(first, first + timedelta(days=6))]


def _named(days: list[Days], precision: Precision) -> Made:
    if not days:
        return "", precision, []
    first = days[0].first
    month = f"{MONTH_NAMES[first.month - 1]} {first.year}"
    return (show_day(first) if precision == "day" else month), precision, days


def _years_ending(digit: str) -> list[int]:
    return [y for y in range(_LAST, _FIRST - 1, -1) if y % 10 == int(digit)]


def _from_day_words(found: re.Match[str], text: str, where: str) -> Made:
    month = _month(found["month"], text, where)
    return _named(_single(_year(found["year"], text, where), month, int(found["day"])), "day")


def _from_month_words(found: re.Match[str], text: str, where: str) -> Made:
    month = _month(found[1], text, where)
    return _named(_whole_month(_year(found[2], text, where), month), "month")


def _from_iso_day(found: re.Match[str], text: str, where: str) -> Made:
    return _named(_single(int(found[1]), int(found[2]), int(found[3])), "day")


def _from_pair(found: re.Match[str], text: str, where: str) -> Made:
    first, second, year = int(found[1]), int(found[3]), _year(found[4], text, where)
    day_first = found[2] == "." or first > 12 or first == second
    if not day_first and second <= 12:
        raise _wrong(where, "day and month can't be told apart", text)
    day, month = (first, second) if day_first else (second, first)
    return _named(_single(year, month, day), "day")


def _from_month_numbers(found: re.Match[str], text: str, where: str) -> Made:
    year, month = (found[2], found[1]) if found[2] else (found[3], found[4])
    return _named(_whole_month(int(year), int(month)), "month")


def _from_week(found: re.Match[str], text: str, where: str) -> Made:
    week, digits = (found[1], found[2]) if found[1] else (found[4], found[3])
    year = _year(digits, text, where)
    return f"week {int(week)} of {year}", "week", _week(year, int(week))


def _from_year(found: re.Match[str], text: str, where: str) -> Made:
    year = _year(found[1], text, where)
    inside = _FIRST <= year <= _LAST
    return str(year), "year", [Days(date(year, 1, 1), date(year, 12, 31))] if inside else []


def _day_without_decade(found: re.Match[str], text: str, where: str) -> Made:
    month, day = _month(found["month"], text, where), int(found["day"])
    readings = [d for y in _years_ending(found["digit"]) for d in _single(y, month, day)]
    shown = f"{day} {MONTH_NAMES[month - 1]} of a year ending in {found['digit']}"
    return shown, "day", readings


def _month_without_decade(found: re.Match[str], text: str, where: str) -> Made:
    month = _month(found[1], text, where)
    readings = [d for y in _years_ending(found[2]) for d in _whole_month(y, month)]
    return f"{MONTH_NAMES[month - 1]} of a year ending in {found[2]}", "month", readings


def _week_without_decade(found: re.Match[str], text: str, where: str) -> Made:
    readings = [d for y in _years_ending(found[2]) for d in _week(y, int(found[1]))]
    return f"week {int(found[1])} of a year ending in {found[2]}", "week", readings


def _year_without_decade(found: re.Match[str], text: str, where: str) -> Made:
    readings = [Days(date(y, 1, 1), date(y, 12, 31)) for y in _years_ending(found[1])]
    return f"a year ending in {found[1]}", "year", readings


_DAY_NAMED = _DAY.replace("(", "(?P<day>", 1)
_MONTH_NAMED = _MONTH.replace("(", "(?P<month>", 1)
_YEAR_NAMED = _YEAR.replace("(", "(?P<year>", 1)
_ENDING_NAMED = _ENDING.replace(r"(\d)", r"(?P<digit>\d)")

_FORMS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str], str, str], Made]], ...] = (
    (re.compile(rf"{_DAY_NAMED} (?:of )?{_MONTH_NAMED} {_YEAR_NAMED}"), _from_day_words),
    (re.compile(rf"{_MONTH_NAMED} {_DAY_NAMED} {_YEAR_NAMED}"), _from_day_words),
    (re.compile(rf"{_MONTH} {_YEAR}"), _from_month_words),
    (re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?: 00:00:00)?"), _from_iso_day),
    (re.compile(rf"(\d{{1,2}})([-/.]) ?(\d{{1,2}})[-/.] ?{_YEAR}"), _from_pair),
    (re.compile(r"(\d{1,2})[-/.](\d{4})|(\d{4})[-/.](\d{1,2})"), _from_month_numbers),
    (
        re.compile(rf"(?:week|w) ?(\d{{1,2}}) (?:of )?{_YEAR}|(\d{{4}})-?w(\d{{1,2}})"),
        _from_week,
    ),
    (re.compile(_YEAR), _from_year),
    (re.compile(rf"(?:week|w) ?(\d{{1,2}}) {_ENDING}"), _week_without_decade),
    (re.compile(rf"{_DAY_NAMED} (?:of )?{_MONTH_NAMED} {_ENDING_NAMED}"), _day_without_decade),
    (re.compile(rf"{_MONTH_NAMED} {_DAY_NAMED} {_ENDING_NAMED}"), _day_without_decade),
    (re.compile(rf"{_MONTH} {_ENDING}"), _month_without_decade),
    (re.compile(_ENDING), _year_without_decade),
)

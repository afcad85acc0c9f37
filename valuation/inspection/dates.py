"""Was this part there when the car was built?  Dates as intervals of days.

A date on metal or paper names a day, a week, a month, a year or a model year, or lacks its decade.
Each is kept as every day it may mean, and a comparison holds for all pairs of such days or is
undecided.

References
----------
Allen, J. F. (1983). Maintaining knowledge about temporal intervals. Communications of the ACM 26,
832-843.  ISO 8601-1:2019 for weeks.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

__all__ = [
    "MONTH_NAMES",
    "OUTCOMES",
    "DateOutcome",
    "DateVerdict",
    "Days",
    "Precision",
    "ReadingVerdict",
    "Window",
    "WrittenDate",
    "compare",
    "show_day",
]

Precision = Literal["day", "week", "month", "year", "model year"]
"""How closely a date is known."""

DateOutcome = Literal["strong", "acceptable", "doubtful", "impossible", "undecided"]
"""What a date says on whether a part was born with the car."""

OUTCOMES: tuple[DateOutcome, ...] = ("strong", "acceptable", "doubtful", "impossible")
"""What two single days can say, from the best to the worst."""

MONTH_NAMES = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
"""Months as they are shown."""


@dataclass(frozen=True, slots=True)
class Days:
    """Every day from `first` to `last`, both counted.

    Parameters
    ----------
    first, last : datetime.date
        Ends, in order.

    Raises
    ------
    ValueError
        If `last` comes before `first`.
    """

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"Days: the last day comes before the first (got: {self})")


@dataclass(frozen=True, slots=True)
class WrittenDate:
    """A date as it was read, with every interval it may mean.

    Parameters
    ----------
    shown : str
        The date for people, such as ``March 1969`` or ``14 March of a year ending in 9``.
    precision : {"day", "week", "month", "year", "model year"}
        How closely it is known within one reading.
    readings : tuple of Days
        What it may mean, the latest first; one unless the decade is missing.
    as_read : str
        The code on the metal, if it was written down beside its meaning.
    """

    shown: str
    precision: Precision
    readings: tuple[Days, ...]
    as_read: str = ""

    @property
    def when(self) -> str:
        """The date with the word before it: ``on 12 March 1969``, ``in model year 1969``."""
        return f"{'on' if self.precision == 'day' else 'in'} {self.shown}"


@dataclass(frozen=True, slots=True)
class Window:
    """How long before the car a part may have been made.

    Parameters
    ----------
    strong, acceptable : int
        Days up to which a part's date is strong, and acceptable; beyond it is doubtful.
    tells : bool
        False where the maker used parts in no order of date: then dates say nothing.
    years_before, years_after : int
        Years round the build date that a date without its decade may mean.
    """

    strong: int = 90
    acceptable: int = 183
    tells: bool = True
    years_before: int = 14
    years_after: int = 5

    def outcome(self, days: int) -> DateOutcome:
        """Return what a part says that was made so many days before the car."""
        if days < 0:
            return "impossible"
        if days <= self.strong:
            return "strong"
        return "acceptable" if days <= self.acceptable else "doubtful"


@dataclass(frozen=True, slots=True)
class ReadingVerdict:
    """What one reading of a part's date says.

    Parameters
    ----------
    days : Days
        The reading.
    least, most : int
        Days from the part to the car, at least and at most; below zero the part is later.
    possible : tuple of str
        What it may come to, from the best to the worst.
    """

    days: Days
    least: int
    most: int
    possible: tuple[DateOutcome, ...]

    @property
    def outcome(self) -> DateOutcome:
        """The one thing it can come to, or ``undecided``."""
        return self.possible[0] if len(self.possible) == 1 else "undecided"


@dataclass(frozen=True, slots=True)
class DateVerdict:
    """What a part's date says on whether the part was born with the car.

    Parameters
    ----------
    outcome : {"strong", "acceptable", "doubtful", "impossible", "undecided"}
        The answer over all readings.
    possible : tuple of str
        What it may come to, from the best to the worst; empty where dates say nothing.
    least, most : int or None
        Days from the part to the car over all readings; None without a build date.
    sentence : str
        The answer for people, with both dates.
    readings : tuple of ReadingVerdict
        Reading by reading, the latest first.
    """

    outcome: DateOutcome
    possible: tuple[DateOutcome, ...]
    least: int | None
    most: int | None
    sentence: str
    readings: tuple[ReadingVerdict, ...] = ()

    @property
    def plausible(self) -> bool:
        """Whether every reading is strong or acceptable."""
        return bool(self.possible) and set(self.possible) <= {"strong", "acceptable"}


def show_day(day: date) -> str:
    """Return a day for people.

    Examples
    --------
    >>> show_day(date(1969, 3, 12))
    '12 March 1969'
    """
    return f"{day.day} {MONTH_NAMES[day.month - 1]} {day.year}"


def compare(
    built: WrittenDate | None,
    dated: WrittenDate,
    window: Window,
    *,
    made: tuple[int, int] | None = None,
    verb: str = "dated",
) -> DateVerdict:
    """Say whether a part was there when the car was built.

    Parameters
    ----------
    built : WrittenDate or None
        Build date of the car, None if it isn't known.
    dated : WrittenDate
        Date on the part.
    window : Window
        How long before the car the part may have been made.
    made : (int, int), optional
        First and last year in which such parts were made; narrows a date without its decade.
    verb : str
        What the date tells: ``cast``, ``assembled``, ``made``, ``dated``.

    Returns
    -------
    DateVerdict
        A part that is later than the car on every pair of days is ``impossible``; one that is later
        on some is never called better than ``undecided``.

    Examples
    --------
    >>> day = lambda *d: WrittenDate(show_day(date(*d)), "day", (Days(date(*d), date(*d)),))
    >>> found = compare(day(1969, 3, 12), day(1969, 1, 20), Window(), verb="cast")
    >>> found.outcome, found.least, found.most
    ('strong', 51, 51)
    >>> found.sentence
    'Cast on 20 January 1969, 51 days before the car was built on 12 March 1969: strong.'
    """
    start = f"{verb.capitalize()} {dated.when}"
    if built is None or len(built.readings) != 1:
        why = "the build date of the car isn't known" if built is None else (
            f"the build date of the car, {built.shown}, has several readings"
        )  # fmt: skip
        return DateVerdict("undecided", OUTCOMES, None, None, f"{start}: can't be decided; {why}.")
    car = built.readings[0]
    near = _near(car, dated.readings, window, made)
    readings = tuple(_one(car, days, window) for days in near)
    least, most = min(r.least for r in readings), max(r.most for r in readings)
    if not window.tells:
        sentence = (
            f"{start}, {_distance(least, most)} the car was built {built.when}: can't be decided; "
            "for this maker and these years dates say nothing."
        )
        return DateVerdict("undecided", (), least, most, sentence, readings)
    possible = tuple(o for o in OUTCOMES if any(o in r.possible for r in readings))
    outcome = possible[0] if len(possible) == 1 else "undecided"
    if len(readings) > 1:
        sentence = f"{start}, the car built {built.when}; {_reading_by_reading(readings)}."
    else:
        told = _conclusion(readings[0], car, window)
        sentence = f"{start}, {_distance(least, most)} the car was built {built.when}: {told}."
    return DateVerdict(outcome, possible, least, most, sentence, readings)


def _near(
    car: Days, readings: tuple[Days, ...], window: Window, made: tuple[int, int] | None
) -> tuple[Days, ...]:
    """Keep the readings of a date that the car or the years of the part allow."""
    if len(readings) == 1:
        return readings
    near_car = (car.first.year - window.years_before, car.last.year + window.years_after)
    for low, high in (made or near_car, near_car):
        kept = tuple(r for r in readings if r.last.year >= low and r.first.year <= high)
        if kept:
            return kept
    return (min(readings, key=lambda r: abs((car.first - r.first).days)),)


def _one(car: Days, part: Days, window: Window) -> ReadingVerdict:
    least, most = (car.first - part.last).days, (car.last - part.first).days
    limits = {
        "strong": (0, window.strong),
        "acceptable": (window.strong + 1, window.acceptable),
        "doubtful": (window.acceptable + 1, most),
        "impossible": (least, -1),
    }
    possible = tuple(o for o in OUTCOMES if max(least, limits[o][0]) <= min(most, limits[o][1]))
    return ReadingVerdict(part, least, most, possible)


def _count(days: int) -> str:
    return f"{days:,} day" + ("" if days == 1 else "s")


def _distance(least: int, most: int) -> str:
    if least == most:
        if least == 0:
            return "the same day as"
        return f"{_count(abs(least))} {'before' if least > 0 else 'after'}"
    if least >= 0:
        return f"{least:,} to {_count(most)} before"
    if most <= 0:
        return f"{-most:,} to {_count(-least)} after"
    return f"from {_count(-least)} after to {_count(most)} before"


def _conclusion(reading: ReadingVerdict, car: Days, window: Window) -> str:
    if reading.outcome == "impossible":
        return "impossible for a part born with the car"
    if reading.outcome != "undecided":
        return reading.outcome
    hints = []
    if reading.least < 0:
        hints.append(
            f"possible only if the car was built on {show_day(reading.days.first)} or later"
        )
    latest = reading.days.last + timedelta(days=window.strong)
    if "strong" in reading.possible and car.first <= latest < car.last:
        hints.append(
            f"strong only if the car was built by {show_day(latest)}, counted from the last day "
            "that the part may date from"
        )
    hints = hints or [" or ".join(reading.possible)]
    return "can't be decided; " + "; ".join(hints)


def _reading_by_reading(readings: tuple[ReadingVerdict, ...]) -> str:
    told = [
        f"read as {r.days.first.year}, {_distance(r.least, r.most)}: {r.outcome}" for r in readings
    ]
    return "; ".join(told) + "; the date alone doesn't tell which"

"""Courses that the market may take until a car is sold again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

import numpy as np

from valuation.appraisal.data import make_and_line
from valuation.appraisal.levels import LevelPath
from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.features.table import day_number
from valuation.records import Car

__all__ = ["COURSES", "Course", "market_courses", "market_courses_all"]

COURSES = ("held", "last three months' rate", "worst fall on record")
"""Names of the courses, in the order in which they are given."""

RECENT = 91.0
"""Days over which the present rate of the market is taken."""

_WHOSE = {"market": "the market", "make": "this make", "line": "this model line"}


@dataclass(frozen=True, slots=True)
class Course:
    """A course of the market between the last sale of the evidence and the sale to come.

    Parameters
    ----------
    name : str
        One of :data:`COURSES`.
    log_change : float
        What it adds to the log price of a valuation, which holds the market at its last level.
    explanation : str
        What it rests on, in a sentence.
    """

    name: str
    log_change: float
    explanation: str

    def summary(self) -> str:
        """Return the course as plain text."""
        return f"{self.name}: {100 * np.expm1(self.log_change):+.1f}%. {self.explanation}"

    def to_dict(self) -> dict[str, Any]:
        """Return the fields by name."""
        return asdict(self)


def market_courses(
    market: MarketModel, car: Car, *, as_of: date | None = None, days_ahead: float
) -> tuple[Course, ...]:
    """Say what the market of a car may do until it is sold again.

    The level of a car is what the fit gives the market of all cars, and what it adds for the make
    and the model line; neither the age of a car nor the selection of sales in some days counts.
    It is smoothed already: a step rests on the sales after it as well as on those before, and the
    few sales after the newest steps draw these towards no change.  The present rate is therefore
    careful, and may lag behind a market that has just turned; it is no average of raw prices,
    which a month of odd sales would move.  What a make and a model line add ends before the last
    fiftieth of the sales, so the newest three months of each part are those that it knows.

    A valuation holds the market at the level of the last sale, so every course runs from there, or
    from `as_of` if sales after it are known, to `days_ahead` days after `as_of`.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    car : Car
        The car; only its make and model line count.
    as_of : datetime.date, optional
        Day of the valuation; the day of the model by default.
    days_ahead : float
        Days from then until the car is sold again.

    Returns
    -------
    tuple of Course
        ``held``; ``last three months' rate``, at which the level goes on as it moved last; and
        ``worst fall on record``, its lowest change over as many days, at most zero.  Only the
        first if the list is undated or its sales don't show how the market moved.

    Raises
    ------
    SettingsError
        If `days_ahead` is negative, or a day is given for an undated list.
    """
    return market_courses_all(market, [car], as_of=as_of, days_ahead=days_ahead)[0]


def market_courses_all(
    market: MarketModel, cars: Sequence[Car], *, as_of: date | None = None, days_ahead: float
) -> list[tuple[Course, ...]]:
    """Say for many cars what :func:`market_courses` says for one, in less time.

    Parameters
    ----------
    market, as_of, days_ahead
        As there.
    cars : sequence of Car
        The cars.

    Returns
    -------
    list of tuple of Course
        In the order of the cars.

    Raises
    ------
    SettingsError
        As there.
    """
    _check(market, as_of, days_ahead)
    day = as_of or market.as_of
    if not market.dated or day is None:
        why = "The sales have no dates, so they don't show how the market moved."
        return [(Course(COURSES[0], 0.0, why),)] * len(cars)
    found: dict[tuple[str, str], tuple[Course, ...]] = {}
    out = []
    for car in cars:
        words = make_and_line(car)
        if words not in found:
            found[words] = _courses(market, *words, day_number(day), days_ahead)
        out.append(found[words])
    return out


def _check(market: MarketModel, as_of: date | None, days_ahead: float) -> None:
    if as_of is not None and not market.dated:
        raise SettingsError(
            "as_of", "an undated list has no day", got=as_of.isoformat(), remedy="Leave it out"
        )
    if not 0 <= days_ahead < np.inf:
        raise SettingsError(
            "days ahead",
            "a car can't be sold before it is bought",
            got=f"{days_ahead:g}",
            remedy="Give the days from the valuation to the sale, 0 or more",
        )


def _courses(
    market: MarketModel, make: str, line: str, day: float, days_ahead: float
) -> tuple[Course, ...]:
    path = market.levels.of(make, line)
    until = min(day, market.fitted.last_day)
    if not path.parts or until <= path.days[0]:
        why = "The sales don't show how the market moved."
        return (Course(COURSES[0], 0.0, why),)
    ahead = day - until + days_ahead
    held = f"The market stays at its level of {_date(until)}."
    return (Course(COURSES[0], 0.0, held), _rate(path, until, ahead), _worst(path, until, ahead))


def _rate(path: LevelPath, until: float, ahead: float) -> Course:
    """Let the level go on as it moved last."""
    whose = _WHOSE[path.parts[-1].of]
    span = min(RECENT, until - float(path.days[0]))
    rate = path.rate(until, RECENT)
    why = (
        f"The level of {whose} {_moved(rate * span)} over its last {span:.0f} days on record; it "
        f"goes on at that rate for the {ahead:.0f} days from {_date(until)} to the sale."
    )
    return Course(COURSES[1], rate * ahead, why)


def _worst(path: LevelPath, until: float, ahead: float) -> Course:
    """Let the level fall as far as it ever fell in as many days."""
    whose, record = _WHOSE[path.parts[-1].of], until - float(path.days[0])
    if ahead > record:
        return _scaled(path, until, ahead, record)
    change, end = path.worst_change(until, ahead)
    if change >= 0:
        why = f"The level of {whose} never fell over {ahead:.0f} days of the record."
    else:
        why = (
            f"The level of {whose} {_moved(change)} over the {ahead:.0f} days up to {_date(end)}, "
            "more than over any others on record."
        )
    return Course(COURSES[2], min(change, 0.0), why)


def _scaled(path: LevelPath, until: float, ahead: float, record: float) -> Course:
    """Stretch the largest fall of a short record, as far as a random walk would go."""
    fall, start, end = path.worst_fall(until)
    short = f"The record is {record:.0f} days long and the sale {ahead:.0f} days ahead"
    if fall >= 0:
        why = f"{short}; the level of {_WHOSE[path.parts[-1].of]} never fell in it."
        return Course(COURSES[2], 0.0, why)
    why = (
        f"{short}. The largest fall in it, {_percent(fall)} from {_date(start)} to {_date(end)}, "
        "is taken larger by the square root of the ratio of the two, as chance would have it."
    )
    return Course(COURSES[2], fall * float(np.sqrt(ahead / record)), why)


def _moved(change: float) -> str:
    if abs(change) < 0.0005:
        return "did not move"
    return f"{'rose' if change > 0 else 'fell'} by {_percent(change)}"


def _percent(change: float) -> str:
    return f"{abs(100 * np.expm1(change)):.1f}%"


def _date(day: float) -> str:
    return str(np.datetime64("1970-01-01", "D") + int(day))

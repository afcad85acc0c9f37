"""Courses of the market, found in invented markets that took a known course."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import pytest
from numpy.typing import NDArray

from valuation.appraisal.courses import COURSES, Course, market_courses, market_courses_all
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError
from valuation.records import Car, SalesBook
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

Floats = NDArray[np.float64]

LAST = date(2024, 12, 31)
WORLD = MarketSettings(
    sales=1200,
    lines=4,
    start=date(2021, 1, 1),
    end=LAST,
    level_sd=0.0,
    noise_sd=0.08,
    line_spread=0.0,
    openness=30.0,
    plain=True,
)
"""Cars alike but for what is stated, so that 90 sales tell the level of three months."""


@pytest.fixture(scope="module")
def book() -> SalesBook:
    """Return sales of four years in a market that moves by a slow drift alone."""
    return make_market(WORLD, seed=4).book()


def _moved(book: SalesBook, course: Callable[[Floats], Floats], make: str = "") -> SalesBook:
    """Let the market, or one make, take a course: its log level by the days before the last."""
    t = book.table
    before = (np.datetime64(LAST, "D") - t["sale_date"].to_numpy().astype("datetime64[D]")).astype(
        float
    )
    factor = np.exp(course(before))
    if make:
        factor = np.where(t["make"] == make, factor, 1.0)
    return SalesBook(t.assign(price=t["price"] * factor), book.currency, True)


@pytest.fixture(scope="module")
def falling(book: SalesBook, lean: ModelSettings) -> MarketModel:
    """Return a market that lost a third of its level over the last 200 days."""
    return fit_market(_moved(book, lambda d: -0.4 * np.clip(1 - d / 200, 0, 1)), settings=lean)


@pytest.fixture(scope="module")
def recovered(book: SalesBook, lean: ModelSettings) -> MarketModel:
    """Return a market that fell for 120 days, 720 days ago, and rose again over a year."""
    known, level = [0.0, 200.0, 600.0, 720.0], [0.0, 0.0, -0.35, 0.0]
    return fit_market(_moved(book, lambda d: np.interp(d, known, level)), settings=lean)


@pytest.fixture(scope="module")
def car(falling: MarketModel) -> Car:
    """Return a car of the first line."""
    row = falling.frame.iloc[0]
    return Car({"make": row["make"], "model": row["model"], "year": row["year"]})


def _changes(courses: tuple[Course, ...]) -> list[float]:
    assert tuple(c.name for c in courses) == COURSES
    return [c.log_change for c in courses]


def test_a_falling_market_falls_on(falling: MarketModel, car: Car) -> None:
    held, rate, worst = _changes(market_courses(falling, car, days_ahead=91))
    assert held == 0.0
    # The true level fell by 0.18 in the last 91 days; the fit draws the newest steps to no change.
    assert -0.20 < rate < -0.11
    assert -0.23 < worst <= rate


def test_the_rate_goes_on_for_the_days_ahead(falling: MarketModel, car: Car) -> None:
    short, long = (market_courses(falling, car, days_ahead=d)[1] for d in (60, 180))
    assert long.log_change == pytest.approx(3 * short.log_change)
    assert "over its last 91 days on record; it goes on at that rate for the 180 days from" in (
        long.explanation
    )


def test_days_since_the_last_sale_count_too(falling: MarketModel, car: Car) -> None:
    later = LAST + timedelta(30)
    waited = market_courses(falling, car, as_of=later, days_ahead=60)
    last = falling.fitted.last_day - np.datetime64(LAST, "D").astype(float)
    straight = market_courses(falling, car, days_ahead=90 - last)
    assert _changes(waited) == pytest.approx(_changes(straight))


def test_of_a_day_before_the_last_sale_only_the_past_counts(falling: MarketModel, car: Car) -> None:
    _, rate, worst = _changes(
        market_courses(falling, car, as_of=LAST - timedelta(260), days_ahead=91)
    )
    assert abs(rate) < 0.03
    assert -0.04 < worst <= 0.0


def test_the_worst_fall_is_found_where_it_was(recovered: MarketModel, car: Car) -> None:
    courses = market_courses(recovered, car, days_ahead=120)
    _, rate, worst = _changes(courses)
    assert abs(rate) < 0.03
    assert -0.38 < worst < -0.25
    ended = date.fromisoformat(courses[2].explanation.split("up to ")[1][:10])
    assert abs((LAST - ended).days - 600) < 40
    # Two months hold about half of the fall.
    assert 0.35 < market_courses(recovered, car, days_ahead=60)[2].log_change / worst < 0.75


def test_a_market_that_only_rose_has_no_worst_fall(
    book: SalesBook, lean: ModelSettings, car: Car
) -> None:
    risen = fit_market(_moved(book, lambda d: -0.5 * d / 365), settings=lean)
    _, rate, worst = market_courses(risen, car, days_ahead=180)
    assert rate.log_change == pytest.approx(0.5 * 180 / 365, rel=0.3)
    assert worst.log_change == 0.0
    assert "never fell over 180 days of the record" in worst.explanation


def test_a_make_has_a_course_of_its_own(book: SalesBook, lean: ModelSettings) -> None:
    makes = book.table["make"].value_counts()
    one, other = makes.index[0], makes.index[1]
    assert makes[other] > 100
    market = fit_market(
        _moved(book, lambda d: -0.8 * np.clip(1 - d / 365, 0, 1), one), settings=lean
    )
    cars = [Car({"make": m, "model": "Unseen", "year": 1966.0}) for m in (one, other)]
    fallen, calm = market_courses_all(market, cars, days_ahead=91)
    assert fallen[1].log_change < -0.05
    assert calm[1].log_change > fallen[1].log_change + 0.05
    assert "The level of this make fell by" in fallen[1].explanation


def test_a_sale_farther_ahead_than_the_record_is_long_is_said_to_be(
    falling: MarketModel, car: Car
) -> None:
    worst = market_courses(falling, car, days_ahead=4000)[2]
    path = falling.levels.of("", "")
    record = falling.fitted.last_day - path.days[0]
    whole = market_courses(falling, car, days_ahead=record)[2].log_change
    assert worst.log_change < whole
    assert worst.explanation.startswith(
        f"The record is {record:.0f} days long and the sale 4000 days ahead. The largest fall"
    )


def test_no_day_ahead_is_no_change(falling: MarketModel, car: Car) -> None:
    assert _changes(market_courses(falling, car, days_ahead=0)) == [0.0, 0.0, 0.0]


def test_an_undated_market_is_held(
    book: SalesBook,
    lean: ModelSettings,
    undate: Callable[[SalesBook], SalesBook],
    car: Car,
) -> None:
    market = fit_market(undate(book), settings=lean)
    assert market_courses(market, car, days_ahead=100) == (
        Course("held", 0.0, "The sales have no dates, so they don't show how the market moved."),
    )
    with pytest.raises(SettingsError, match="an undated list has no day"):
        market_courses(market, car, as_of=LAST, days_ahead=100)


def test_before_the_first_sale_nothing_is_known(falling: MarketModel, car: Car) -> None:
    (only,) = market_courses(falling, car, as_of=date(2010, 1, 1), days_ahead=100)
    assert only == Course("held", 0.0, "The sales don't show how the market moved.")


@pytest.mark.parametrize("days", [-1.0, float("nan"), float("inf")])
def test_a_car_is_sold_after_it_was_bought(falling: MarketModel, car: Car, days: float) -> None:
    with pytest.raises(SettingsError) as caught:
        market_courses(falling, car, days_ahead=days)
    assert str(caught.value) == (
        f"days ahead: a car can't be sold before it is bought (got: {days:g}). Give the days "
        "from the valuation to the sale, 0 or more."
    )


def test_many_cars_at_once_get_what_each_gets_alone(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    many = market_courses_all(small_market, sold_cars, days_ahead=150)
    assert many == [market_courses(small_market, c, days_ahead=150) for c in sold_cars]
    assert len({c[1].log_change for c in many}) > 5


def test_a_course_says_what_it_is() -> None:
    course = Course("worst fall on record", float(np.log(0.9)), "It fell.")
    assert course.summary() == "worst fall on record: -10.0%. It fell."
    assert course.to_dict() == {
        "name": "worst fall on record",
        "log_change": course.log_change,
        "explanation": "It fell.",
    }

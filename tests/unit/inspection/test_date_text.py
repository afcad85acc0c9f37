"""Dates as people write them on a sheet."""

from __future__ import annotations

from datetime import date

import pytest

from valuation.errors import SheetError
from valuation.inspection.date_text import model_year, read_date


@pytest.mark.parametrize(
    ("text", "shown", "precision", "first", "last"),
    [
        ("12 March 1969", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("12th of March, 1969", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("March 12, 1969", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("12. März 1969", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("1969-03-12", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("1969-03-12 00:00:00", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("12.3.1969", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("3.4.69", "3 April 1969", "day", "1969-04-03", "1969-04-03"),
        ("25/3/1969", "25 March 1969", "day", "1969-03-25", "1969-03-25"),
        ("3/25/1969", "25 March 1969", "day", "1969-03-25", "1969-03-25"),
        ("4/4/1969", "4 April 1969", "day", "1969-04-04", "1969-04-04"),
        ("12 March '69", "12 March 1969", "day", "1969-03-12", "1969-03-12"),
        ("March 1969", "March 1969", "month", "1969-03-01", "1969-03-31"),
        ("Feb. 1968", "February 1968", "month", "1968-02-01", "1968-02-29"),
        ("1969-12", "December 1969", "month", "1969-12-01", "1969-12-31"),
        ("3/1969", "March 1969", "month", "1969-03-01", "1969-03-31"),
        ("week 12 of 1969", "week 12 of 1969", "week", "1969-03-17", "1969-03-23"),
        ("1969-W12", "week 12 of 1969", "week", "1969-03-17", "1969-03-23"),
        ("W1 1969", "week 1 of 1969", "week", "1968-12-30", "1969-01-05"),
        ("week 53 of 1970", "week 53 of 1970", "week", "1970-12-28", "1971-01-03"),
        ("1969", "1969", "year", "1969-01-01", "1969-12-31"),
        ("model year 1969", "model year 1969", "model year", "1968-08-01", "1969-07-31"),
        ("MY69", "model year 1969", "model year", "1968-08-01", "1969-07-31"),
    ],
)
def test_one_reading(text: str, shown: str, precision: str, first: str, last: str) -> None:
    read = read_date(text)
    (days,) = read.readings
    assert (read.shown, read.precision) == (shown, precision)
    assert (days.first, days.last) == (date.fromisoformat(first), date.fromisoformat(last))
    assert read.as_read == ""


@pytest.mark.parametrize(
    ("text", "shown", "precision", "count"),
    [
        ("14 March of a year ending in 9", "14 March of a year ending in 9", "day", 21),
        ("March 14 of a year ending with 9", "14 March of a year ending in 9", "day", 21),
        ("14 March year ending in 9", "14 March of a year ending in 9", "day", 21),
        ("March of a year ending in 9", "March of a year ending in 9", "month", 21),
        ("week 12 of a year ending in 9", "week 12 of a year ending in 9", "week", 21),
        ("a year ending in 9", "a year ending in 9", "year", 21),
        ("29 February of a year ending in 8", "29 February of a year ending in 8", "day", 11),
        ("week 53 of a year ending in 0", "week 53 of a year ending in 0", "week", 4),
    ],
)
def test_all_readings_of_a_date_without_its_decade(
    text: str, shown: str, precision: str, count: int
) -> None:
    read = read_date(text)
    assert (read.shown, read.precision, len(read.readings)) == (shown, precision, count)
    firsts = [d.first for d in read.readings]
    assert firsts == sorted(firsts, reverse=True)


def test_a_code_stands_before_its_meaning() -> None:
    read = read_date("C14 9 = 14 March of a year ending in 9")
    assert (read.as_read, read.when) == ("C14 9", "on 14 March of a year ending in 9")
    assert read_date("X = model year 1969").as_read == "X"


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("C14 9", "this can't be read as a date"),
        ("3/4/1969", "day and month can't be told apart"),
        ("12 March 32", "the century of the year is missing"),
        ("31 April 1969", "there is no such day"),
        ("29 February of a year ending in 9", "there is no such day"),
        ("week 53 of 1969", "there is no such day"),
        ("13/1969", "there is no such day"),
        ("12 Marchember 1969", "there is no month of this name"),
        ("about 1968", "there is no month of this name"),
        ("1968½", "this can't be read as a date"),
        ("12 March", "this can't be read as a date"),
        ("1850", "there is no such day"),
        ("", "this can't be read as a date"),
    ],
)
def test_nothing_is_guessed(text: str, problem: str) -> None:
    with pytest.raises(SheetError) as caught:
        read_date(text, where="Components, B4")
    assert str(caught.value) == (
        f"Components, B4: {problem} (got: {text or 'nothing'}). Write it out, such as 12 March "
        "1969, March 1969, week 12 of 1969, model year 1969 or 14 March of a year ending in 9."
    )


def test_a_model_year_may_start_on_another_day() -> None:
    (days,) = model_year(1969, (10, 1)).readings
    assert (days.first, days.last) == (date(1968, 10, 1), date(1969, 9, 30))
    assert read_date("model year 1969", starts=(10, 1)).readings == (days,)


@pytest.mark.parametrize(
    ("text", "when"),
    [("12 March 1969", "on 12 March 1969"), ("March 1969", "in March 1969"),
     ("week 12 of 1969", "in week 12 of 1969"), ("model year 1969", "in model year 1969")],
)  # fmt: skip
def test_the_word_before_a_date(text: str, when: str) -> None:
    assert read_date(text).when == when

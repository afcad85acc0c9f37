"""Was the part there when the car was built?"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.inspection.date_text import read_date
from valuation.inspection.dates import OUTCOMES, Days, Window, WrittenDate, compare

WINDOW = Window(90, 183)


@pytest.mark.parametrize(
    ("built", "part", "outcome", "least", "most", "sentence"),
    [
        ("12 March 1969", "20 January 1969", "strong", 51, 51,
         "Cast on 20 January 1969, 51 days before the car was built on 12 March 1969: strong."),
        ("12 March 1969", "1 July 1968", "doubtful", 254, 254,
         "Cast on 1 July 1968, 254 days before the car was built on 12 March 1969: doubtful."),
        ("12 March 1969", "2 April 1969", "impossible", -21, -21,
         "Cast on 2 April 1969, 21 days after the car was built on 12 March 1969: impossible for "
         "a part born with the car."),
        ("March 1969", "20 March 1969", "undecided", -19, 11,
         "Cast on 20 March 1969, from 19 days after to 11 days before the car was built in March "
         "1969: can't be decided; possible only if the car was built on 20 March 1969 or later."),
        ("model year 1969", "May 1968", "undecided", 62, 456,
         "Cast in May 1968, 62 to 456 days before the car was built in model year 1969: can't be "
         "decided; strong only if the car was built by 29 August 1968, counted from the last day "
         "that the part may date from."),
        ("2 June 1969", "14 March of a year ending in 9", "undecided", 80, 3733,
         "Cast on 14 March of a year ending in 9, the car built on 2 June 1969; read as 1969, 80 "
         "days before: strong; read as 1959, 3,733 days before: doubtful; the date alone doesn't "
         "tell which."),
        ("12 March 1969", "12 March 1969", "strong", 0, 0,
         "Cast on 12 March 1969, the same day as the car was built on 12 March 1969: strong."),
        ("12 March 1969", "11 March 1969", "strong", 1, 1,
         "Cast on 11 March 1969, 1 day before the car was built on 12 March 1969: strong."),
        ("12 March 1969", "April 1969", "impossible", -49, -20,
         "Cast in April 1969, 20 to 49 days after the car was built on 12 March 1969: impossible "
         "for a part born with the car."),
        ("June 1969", "10 March 1969", "undecided", 83, 112,
         "Cast on 10 March 1969, 83 to 112 days before the car was built in June 1969: can't be "
         "decided; strong only if the car was built by 8 June 1969, counted from the last day "
         "that the part may date from."),
        ("12 June 1969", "March 1969", "undecided", 73, 103,
         "Cast in March 1969, 73 to 103 days before the car was built on 12 June 1969: can't be "
         "decided; strong or acceptable."),
    ],
)  # fmt: skip
def test_cases(built: str, part: str, outcome: str, least: int, most: int, sentence: str) -> None:
    verdict = compare(read_date(built), read_date(part), WINDOW, verb="cast")
    assert (verdict.outcome, verdict.least, verdict.most) == (outcome, least, most)
    assert verdict.sentence == sentence


def test_readings_of_a_date_without_its_decade_are_kept() -> None:
    built, code = read_date("2 June 1969"), read_date("14 March of a year ending in 9")
    verdict = compare(built, code, WINDOW)
    assert [(r.days.first.year, r.outcome) for r in verdict.readings] == [
        (1969, "strong"),
        (1959, "doubtful"),
    ]
    assert verdict.possible == ("strong", "doubtful")
    assert not verdict.plausible


def test_the_years_of_a_part_number_tell_the_decade() -> None:
    built, code = read_date("2 June 1969"), read_date("14 March of a year ending in 9")
    assert compare(built, code, WINDOW, made=(1966, 1974)).outcome == "strong"
    assert compare(built, code, WINDOW, made=(1955, 1962)).outcome == "doubtful"
    # Years that no reading falls in tell nothing.
    assert compare(built, code, WINDOW, made=(1961, 1962)).outcome == "undecided"


def test_a_later_reading_is_kept_too() -> None:
    verdict = compare(read_date("2 June 1966"), read_date("May of a year ending in 9"), WINDOW)
    assert [(r.days.first.year, r.outcome) for r in verdict.readings] == [
        (1969, "impossible"),
        (1959, "doubtful"),
    ]


def test_a_day_that_few_years_have() -> None:
    verdict = compare(read_date("2 June 1960"), read_date("29 February of a year ending in 6"),
                      replace(WINDOW, years_before=1, years_after=1))  # fmt: skip
    assert [r.days.first.year for r in verdict.readings] == [1956]


def test_a_build_date_that_isnt_known_decides_nothing() -> None:
    verdict = compare(None, read_date("2 June 1969"), WINDOW)
    assert (verdict.outcome, verdict.possible, verdict.least) == ("undecided", OUTCOMES, None)
    assert verdict.sentence == (
        "Dated on 2 June 1969: can't be decided; the build date of the car isn't known."
    )
    verdict = compare(read_date("May of a year ending in 9"), read_date("2 June 1969"), WINDOW)
    assert verdict.sentence == (
        "Dated on 2 June 1969: can't be decided; the build date of the car, May of a year ending "
        "in 9, has several readings."
    )


def test_where_dates_say_nothing_they_decide_nothing() -> None:
    window = replace(WINDOW, tells=False)
    verdict = compare(read_date("12 March 1969"), read_date("2 April 1969"), window)
    assert (verdict.outcome, verdict.possible, verdict.plausible) == ("undecided", (), False)
    assert verdict.sentence == (
        "Dated on 2 April 1969, 21 days after the car was built on 12 March 1969: can't be "
        "decided; for this maker and these years dates say nothing."
    )


@pytest.mark.parametrize(
    ("days", "outcome"),
    [(-1, "impossible"), (0, "strong"), (90, "strong"), (91, "acceptable"), (183, "acceptable"),
     (184, "doubtful")],
)  # fmt: skip
def test_the_window(days: int, outcome: str) -> None:
    assert WINDOW.outcome(days) == outcome


def test_days_run_forwards() -> None:
    with pytest.raises(ValueError, match="the last day comes before the first"):
        Days(date(1969, 3, 2), date(1969, 3, 1))


def test_a_span_of_strong_and_acceptable_is_plausible() -> None:
    verdict = compare(read_date("12 June 1969"), read_date("March 1969"), WINDOW)
    assert verdict.possible == ("strong", "acceptable")
    assert verdict.plausible


day = st.dates(date(1960, 1, 1), date(1975, 12, 31))


@st.composite
def written(draw: st.DrawFn) -> WrittenDate:
    first = draw(day)
    last = first + timedelta(days=draw(st.integers(0, 400)))
    return WrittenDate("then", "day", (Days(first, last),))


windows = st.builds(
    lambda strong, more, tells: Window(strong, strong + more, tells=tells),
    st.integers(0, 200), st.integers(0, 300), st.booleans(),
)  # fmt: skip


@given(written(), written(), windows, st.data())
def test_an_answer_holds_for_every_pair_of_days(
    built: WrittenDate, part: WrittenDate, window: Window, data: st.DataObject
) -> None:
    verdict = compare(built, part, window)
    car_days, part_days = built.readings[0], part.readings[0]
    one = data.draw(st.dates(car_days.first, car_days.last))
    other = data.draw(st.dates(part_days.first, part_days.last))
    gap = (one - other).days
    assert verdict.least is not None
    assert verdict.most is not None
    assert verdict.least <= gap <= verdict.most
    if window.tells:
        assert window.outcome(gap) in verdict.possible
        assert verdict.outcome in ("undecided", window.outcome(gap))
    # A part that may be later than the car is never called born with it.
    if gap < 0:
        assert verdict.outcome in ("impossible", "undecided")
        assert not verdict.plausible


@given(written(), windows, st.integers(1, 12), st.integers(0, 9))
def test_a_date_without_its_decade_is_plausible_only_if_all_its_readings_are(
    built: WrittenDate, window: Window, month: int, digit: int
) -> None:
    months = "January March April May June July August September October November December May"
    code = read_date(f"{months.split()[month - 1]} of a year ending in {digit}")
    verdict = compare(built, code, window)
    assert verdict.readings
    assert {r.days for r in verdict.readings} <= set(code.readings)
    if any(r.least < 0 for r in verdict.readings):
        assert not verdict.plausible

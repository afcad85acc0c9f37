from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.reading.dates import read_dates

DAY = date(2025, 6, 14)


@pytest.mark.parametrize(
    "text",
    [
        "2025-06-14",
        "2025-6-14",
        "2025/06/14",
        "2025-06-14 12:30:00",
        "2025-06-14T12:30:00Z",
        "20250614",
        "14/06/2025",
        "14.6.25",
        "14-06-2025",
        "06/14/2025",
        "6/14/25",
        "45822",
        "45822.5",
        "14 June 2025",
        "June 14, 2025",
        "14-Jun-25",
        "Sat Jun 14 2025 12:30:00 GMT-0800 (PST)",
        "14. Juni 2025",
        "14 juin 2025",
        "14 de junio de 2025",
        "14 giugno 2025",
        "14 juni 2025",
        "14 czerwca 2025",
        "14 de junho de 2025",
        "1749859200",
        "1749859200000",
    ],
)
def test_one_day_in_many_notations(text: str) -> None:
    read = read_dates([text])
    assert read.values == [DAY]
    assert not read.unreadable[0]
    assert not read.ambiguous[0]


@pytest.mark.parametrize("text", ["soon", "31/02/2025", "2025-13-40", "3025-01-01", "12", "Juneau"])
def test_what_is_no_date(text: str) -> None:
    read = read_dates([text])
    assert read.values == [None]
    assert read.unreadable == [True]


@pytest.mark.parametrize("text", ["", "n/a", "-"])
def test_blank_cells_are_not_unreadable(text: str) -> None:
    assert read_dates([text]).unreadable == [False]


def test_the_order_is_settled_over_the_whole_column() -> None:
    read = read_dates(["03/04/2025", "14/06/2025"])
    assert read.order == "day first"
    assert read.values[0] == date(2025, 4, 3)
    read = read_dates(["03/04/2025", "06/14/2025"])
    assert read.order == "month first"
    assert read.values[0] == date(2025, 3, 4)


def test_a_date_in_the_other_order_is_unreadable_and_not_turned_round() -> None:
    read = read_dates(["14/06/2025", "15/06/2025", "06/16/2025"])
    assert read.order == "day first"
    assert read.unreadable == [False, False, True]


def test_an_order_nobody_can_tell_is_reported() -> None:
    read = read_dates(["03/04/2025", "05/06/2025", "07/07/2025"])
    assert read.order == ""
    assert read.ambiguous == [True, True, False]
    assert read.values == [None, None, date(2025, 7, 7)]


def test_as_many_cells_for_one_order_as_for_the_other_settle_nothing() -> None:
    read = read_dates(["14/06/2025", "06/14/2025", "03/04/2025"])
    assert read.ambiguous[2]


def test_dots_put_the_day_first() -> None:
    assert read_dates(["03.04.2025"]).values == [date(2025, 4, 3)]


def test_an_order_that_is_given_is_kept() -> None:
    read = read_dates(["03/04/2025"], "month first")
    assert read.values == [date(2025, 3, 4)]
    assert read.order == "month first"


def test_a_month_alone_stands_for_its_middle() -> None:
    read = read_dates(["Jun 2025", "06/2025", "2025-06"])
    assert read.values == [date(2025, 6, 15)] * 3
    assert read.months_only == 3


@given(st.lists(st.dates(date(1971, 1, 1), date(2068, 12, 31)), min_size=1, max_size=20))
def test_day_first_columns_come_back_or_are_called_ambiguous(days: list[date]) -> None:
    read = read_dates([d.strftime("%d/%m/%Y") for d in days])
    for day, value, unclear in zip(days, read.values, read.ambiguous, strict=True):
        assert value == day or unclear

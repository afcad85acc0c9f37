from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.reading.mileage import find_mileage, is_placeholder, read_mileage


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("48,200", 48_200, ""),
        ("48.200 km", 48_200, "km"),
        ("26.000", 26_000, ""),
        ("92480 mi", 92_480, "miles"),
        ("23k miles", 23_000, "miles"),
        ("23K", 23_000, ""),
        ("120 tkm", 120_000, "km"),
        ("48 200 km", 48_200, "km"),
        ("shows 48,200 miles", 48_200, "miles"),
        ("13255.0", 13_255, ""),
        ("320", 320, ""),
    ],
)
def test_readings(text: str, value: float, unit: str) -> None:
    read = read_mileage(text)
    assert read.value == value
    assert read.unit == unit
    assert read.problem == ""


@pytest.mark.parametrize(
    ("text", "value", "status"),
    [
        ("TMU", None, "unknown"),
        ("unknown", None, "unknown"),
        ("00012 (exempt)", None, "exempt"),
        ("exempt", None, "exempt"),
        ("61,000 (exempt)", 61_000, "exempt"),
        ("48,200 TMU", 48_200, "unknown"),
        ("48,200 documented", 48_200, "proven"),
        ("48,200 not actual", 48_200, "unknown"),
    ],
)
def test_status_words(text: str, value: float | None, status: str) -> None:
    read = read_mileage(text)
    assert read.value == value
    assert read.status == status


def test_a_range_is_its_middle_and_a_bound_the_figure_it_names() -> None:
    assert read_mileage("70000 - 79999 km").value == 74_999.5
    assert read_mileage("70000 - 79999 km").problem == "range"
    assert read_mileage("20-30k miles").value == 25_000
    assert read_mileage("+200000 km").problem == "at least"
    assert read_mileage("200000+ km").value == 200_000


@pytest.mark.parametrize("text", ["0", "1", "999999", "999,999 km", "0000", "123456", "111111"])
def test_placeholders_state_nothing(text: str) -> None:
    read = read_mileage(text)
    assert read.value is None
    assert read.problem == "placeholder"


def test_one_is_a_reading_in_a_column_of_thousands() -> None:
    assert read_mileage("1", thousands=True).value == 1
    assert read_mileage("0", thousands=True).value is None


@pytest.mark.parametrize("text", ["Noir", "£145", "manual"])
def test_what_is_no_reading(text: str) -> None:
    read = read_mileage(text)
    assert read.value is None
    assert read.problem == "unreadable"


def test_blank_is_neither_unreadable_nor_a_status() -> None:
    assert read_mileage("n/a") == read_mileage("")
    assert read_mileage("").problem == ""


def test_is_placeholder() -> None:
    assert not is_placeholder(9_999)
    assert not is_placeholder(88_888)


@pytest.mark.parametrize(
    ("title", "value", "unit"),
    [
        ("15k-Mile 1967 Kora GT", 15_000, "miles"),
        ("3,700-Mile 1967 Kora GT", 3_700, "miles"),
        ("1967 Kora GT, 12.000 km", 12_000, "km"),
        ("1967 Kora GT", None, ""),
        ("1967 Kora 2000 GT", None, ""),
    ],
)
def test_distance_in_a_title(title: str, value: float | None, unit: str) -> None:
    read = find_mileage(title)
    assert read.value == value
    assert read.unit == unit


@given(st.integers(1001, 999_998), st.sampled_from(["{:,} miles", "{} mi", "{:,}"]))
def test_whole_readings_come_back(miles: int, frame: str) -> None:
    read = read_mileage(frame.format(miles))
    assert read.value == miles or is_placeholder(miles)

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.reading.years import read_year, read_years


@pytest.mark.parametrize(
    ("text", "year"),
    [
        ("1967", 1967),
        ("1967½", 1967),
        ("1967 1/2", 1967),
        ("c.1968", 1968),
        ("ca. 1968", 1968),
        ("circa 1968", 1968),
        ("'67", 1967),
        ("’67", 1967),
        ("67", 1967),
        ("05", 2005),
        ("1967.0", 1967),
        ("1967/68", 1967),
        ("1967-1968", 1967),
        ("1967-1975", None),
        ("1968-66", None),
        ("03/1968", 1968),
        ("1968-03-14", 1968),
        ("March 1968", 1968),
        ("2060", 2060),
        ("1769", None),
        ("9", None),
        ("", None),
        ("n/a", None),
        ("Noir", None),
        ("163000", None),
        ("1967 1968 1969", None),
    ],
)
def test_years(text: str, year: int | None) -> None:
    assert read_year(text) == year


def test_two_digits_above_the_latest_year_belong_to_the_century_before() -> None:
    assert read_year("26", 2025) == 1926
    assert read_year("25", 2025) == 2025


def test_two_bare_digits_are_years_only_where_the_column_writes_them_so() -> None:
    assert read_years(["67", "71", "1968"]).values == [1967, 1971, 1968]
    slipped = read_years(["80"] + ["1968"] * 9)
    assert slipped.values[0] is None
    assert slipped.unreadable[0]
    assert read_years(["'80"] + ["1968"] * 9).values[0] == 1980


def test_blank_cells_are_not_unreadable() -> None:
    read = read_years(["", "n/a", "x", "1967"])
    assert read.values == [None, None, None, 1967]
    assert read.unreadable == [False, False, True, False]


@given(st.integers(1885, 2099), st.sampled_from(["{}", "{}.0", "c.{}", " {} ", "{}½"]))
def test_every_year_in_every_notation(year: int, frame: str) -> None:
    assert read_year(frame.format(year)) == year

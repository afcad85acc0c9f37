from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.reading.numbers import plain_number, read_number, settle_decimal


@pytest.mark.parametrize(
    ("cells", "sign"),
    [
        (["41.250,00", "8.000"], ","),
        (["41,250.00", "8,000"], "."),
        (["15000.0", "12000.0"], "."),
        (["7,4", "6,3"], ","),
        (["9.500", "12.000"], ""),
        (["0.999", "1.499"], "."),
        (["1.250.000", "3.000"], ""),
        (["a", ""], ""),
        (["7,4", "7.4"], ""),
        ([], ""),
    ],
)
def test_decimal_sign_is_settled_over_the_column(cells: list[str], sign: str) -> None:
    assert settle_decimal(cells) == sign


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("41.250,00", "", 41_250.0),
        ("41,250.00", "", 41_250.0),
        ("1.250.000", "", 1_250_000.0),
        ("26.000", "", 26_000.0),
        ("26.000", ",", 26_000.0),
        ("26.000", ".", 26.0),
        ("0.999", "", 0.999),
        ("7,4", "", 7.4),
        ("41 250", "", 41_250.0),
        ("41'250.50", "", 41_250.5),
        ("15000.0", "", 15_000.0),
        ("1500.125", "", 1500.125),
        ("3", "", 3.0),
    ],
)
def test_plain_number(text: str, decimal: str, value: float) -> None:
    assert plain_number(text, decimal) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("150 hp", 150.0),
        ("-5", -5.0),
        ("+12", 12.0),
        ("~300", 300.0),
        ("12,5 %", 12.5),
        ("3 of 5", None),
        ("red", None),
        ("", None),
        ("£145", None),
    ],
)
def test_read_number(text: str, value: float | None) -> None:
    assert read_number(text) == value


@given(st.integers(0, 10**9), st.sampled_from([",", ".", " ", "'", ""]))
def test_whole_numbers_survive_any_thousands_sign(number: int, sign: str) -> None:
    assert plain_number(f"{number:,}".replace(",", sign)) == number

"""Exact money: the logarithmic mean, the split, whole units, and how amounts are written."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.money import format_money, log_mean, split_in_money, whole_units

STEADY = settings(max_examples=150, deadline=None, derandomize=True)
AMOUNTS = st.floats(0.01, 1e9)
EFFECTS = st.lists(st.floats(-1.5, 1.5), max_size=15)
LINES = st.lists(st.floats(-1e8, 1e8), max_size=25)


@STEADY
@given(AMOUNTS, AMOUNTS)
def test_log_mean_lies_between_and_is_symmetric(p0: float, p1: float) -> None:
    found = log_mean(p0, p1)
    assert found == pytest.approx(log_mean(p1, p0), rel=1e-12)
    assert min(p0, p1) * (1 - 1e-12) <= found <= max(p0, p1) * (1 + 1e-12)


@STEADY
@given(AMOUNTS, AMOUNTS)
def test_log_mean_lies_between_the_other_means(p0: float, p1: float) -> None:
    found = log_mean(p0, p1)
    assert math.sqrt(p0 * p1) * (1 - 1e-12) <= found <= (p0 + p1) / 2 * (1 + 1e-12)


@STEADY
@given(AMOUNTS, AMOUNTS, st.floats(0.01, 1000))
def test_log_mean_knows_no_currency(p0: float, p1: float, rate: float) -> None:
    assert log_mean(rate * p0, rate * p1) == pytest.approx(rate * log_mean(p0, p1), rel=1e-11)


def test_log_mean_of_equal_amounts() -> None:
    assert log_mean(500.0, 500.0) == pytest.approx(500.0)


@pytest.mark.parametrize("step", [1e-3, 1e-6, 1e-7, 1e-9, 1e-12])
def test_log_mean_of_nearly_equal_amounts(step: float) -> None:
    """The direct quotient would lose all its digits here."""
    expected = 40_000 * (1 + step / 2 - step**2 / 12)
    assert log_mean(40_000, 40_000 * (1 + step)) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize(("p0", "p1"), [(0.0, 1.0), (1.0, 0.0), (-1.0, 2.0), (1.0, math.nan)])
def test_log_mean_needs_positive_amounts(p0: float, p1: float) -> None:
    with pytest.raises(ValueError, match="log_mean: both amounts must be positive") as caught:
        log_mean(p0, p1)
    assert str(caught.value).endswith(f"(got: {p0!r}, {p1!r})")


@STEADY
@given(st.floats(100, 1e7), EFFECTS)
def test_a_split_adds_up(p0: float, effects: list[float]) -> None:
    whole = p0 * math.expm1(math.fsum(effects))
    amounts = split_in_money(p0, effects)
    size = p0 + abs(whole) + sum(abs(a) for a in amounts)
    assert math.fsum(amounts) == pytest.approx(whole, abs=1e-10 * size)


@STEADY
@given(st.floats(100, 1e7), EFFECTS)
def test_every_line_has_the_sign_of_its_effect(p0: float, effects: list[float]) -> None:
    for amount, effect in zip(split_in_money(p0, effects), effects, strict=True):
        assert math.copysign(1, amount) == math.copysign(1, effect) or amount == 0


def test_a_split_of_nothing() -> None:
    assert split_in_money(40_000, []) == []
    assert split_in_money(40_000, [0.0, 0.0]) == [0.0, 0.0]


def test_effects_that_cancel_are_shown_at_the_start_price() -> None:
    assert split_in_money(40_000, [0.1, -0.1]) == pytest.approx([4000, -4000])


@STEADY
@given(LINES)
def test_whole_units_add_up_and_stay_within_a_unit(amounts: list[float]) -> None:
    whole = whole_units(amounts)
    assert sum(whole) == math.floor(math.fsum(amounts) + 0.5)
    assert all(abs(w - a) < 1 for w, a in zip(whole, amounts, strict=True))


@STEADY
@given(st.lists(st.integers(-(10**9), 10**9), max_size=20))
def test_whole_amounts_stay_as_they_are(amounts: list[int]) -> None:
    assert whole_units([float(a) for a in amounts]) == amounts


def test_the_largest_remainders_are_rounded_up() -> None:
    assert whole_units([10.2, 20.7, 30.6]) == [10, 21, 31]
    assert whole_units([0.3, 0.4, 0.3]) == [0, 1, 0]
    assert whole_units([-0.6, -0.6, -0.6]) == [0, -1, -1]


def test_of_equal_remainders_the_first_is_rounded_up() -> None:
    assert whole_units([0.5, 0.5]) == [1, 0]
    assert whole_units([]) == []


@pytest.mark.parametrize(
    ("amount", "signed", "text"),
    [
        (1234.4, False, "1,234 EUR"),
        (1234.5, False, "1,235 EUR"),
        (-1234.5, False, "-1,235 EUR"),
        (1234.4, True, "+1,234 EUR"),
        (-1234.4, True, "-1,234 EUR"),
        (0.0, True, "0 EUR"),
        (0.4, True, "0 EUR"),
        (-0.4, True, "0 EUR"),
        (2_500_000, False, "2,500,000 EUR"),
    ],
)
def test_how_money_is_written(amount: float, signed: bool, text: str) -> None:
    assert format_money(amount, "EUR", signed=signed) == text


def test_money_in_a_column_has_no_currency() -> None:
    assert format_money(1234, "") == "1,234"
    assert format_money(0, "") == "0"

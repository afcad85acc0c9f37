"""Spreads: exact means, whole weights, and no point that moves the wrong way."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.bidding.spread import POINTS, Spread, even_days, total_of

CENTS = st.integers(0, 10_000_000)


def test_points_keep_their_probabilities() -> None:
    spread = Spread.of_points(
        [(Decimal(5), Fraction(1, 2)), (Decimal(2), Fraction(1, 3)), (Decimal(5), Fraction(1, 6))]
    )
    assert spread.values.tolist() == [200, 500]
    assert [Fraction(int(w), spread.total) for w in spread.weights] == [
        Fraction(1, 3),
        Fraction(2, 3),
    ]
    assert spread.mean == 400


def test_quantiles_are_the_least_amount_that_is_reached() -> None:
    spread = Spread.weighed([100, 200, 300], [1, 1, 1])
    shares = (Fraction(1, 10), Fraction(1, 3), Fraction(34, 100), Fraction(9, 10), Fraction(1))
    assert [spread.quantile(s) for s in shares] == [100, 100, 200, 300, 300]


@given(CENTS, CENTS)
def test_an_even_spread_has_its_mean_in_the_middle_and_stays_inside(a: int, b: int) -> None:
    low, high = sorted((a, b))
    spread = Spread.even(low, high)
    assert spread.mean == Fraction(low + high, 2)
    assert low <= spread.values[0] <= spread.values[-1] <= high
    assert abs(float(spread.values.mean()) - float(spread.mean)) <= 0.5


def test_the_sum_of_two_even_amounts_is_their_convolution() -> None:
    both = Spread.even(0, 160_000).plus(Spread.even(0, 160_000))
    assert len(both.values) == POINTS
    assert both.mean == 160_000
    # The sum of two even amounts up to 1 lies below x with probability x²/2: its lower eighth
    # ends at a half, and the mean of that part is a third of 1.
    lowest = both.values[:2].mean() / 160_000
    assert lowest == pytest.approx(1 / 3, abs=0.01)
    assert both.values.tolist() == sorted(both.values.tolist())


@given(st.lists(st.tuples(CENTS, CENTS), min_size=1, max_size=4), st.integers(0, 3), CENTS)
def test_a_greater_cost_makes_no_point_smaller(
    lines: list[tuple[int, int]], at: int, more: int
) -> None:
    ends = [tuple(sorted(line)) for line in lines]
    at %= len(ends)
    dearer = [(a, b + more) if i == at else (a, b) for i, (a, b) in enumerate(ends)]
    one = total_of(Spread.even(a, b) for a, b in ends)
    other = total_of(Spread.even(a, b) for a, b in dearer)
    grid = [Fraction(2 * k + 1, 2 * 3 * POINTS) for k in range(3 * POINTS)]
    assert all(one.quantile(p) <= other.quantile(p) for p in grid)
    assert other.mean == one.mean + Fraction(more, 2)


@given(st.lists(CENTS, min_size=1, max_size=60))
def test_amounts_that_are_known_add_up_exactly(amounts: list[int]) -> None:
    whole = total_of(Spread.certain(a) for a in amounts)
    assert whole.values.tolist() == [sum(amounts)]
    assert whole.mean == sum(amounts)


def test_a_factor_rounds_half_up() -> None:
    spread = Spread.weighed([1, 3, -3], [1, 1, 1]).times(Fraction(1, 2))
    assert spread.values.tolist() == [-2, 1, 2]


def test_days_stand_for_equal_parts() -> None:
    assert even_days(30, 30) == (Fraction(30),)
    days = even_days(30, 120)
    assert len(days) == 9
    assert np.mean([float(d) for d in days]) == pytest.approx(75)
    assert days[0] == 35

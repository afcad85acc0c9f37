"""Measures of one method, and ranges brought to one coverage."""

from __future__ import annotations

import numpy as np
import pytest
from accuracy_measures import Predictions, measure, rescaled, rescaling, width_held

CENTRAL = np.full(5, 100.0)
LOW, HIGH = CENTRAL / 1.2, CENTRAL * 1.2
# Off by 0, 1, 2, 3 and 4 half-widths of the range, above and below in turn.
PRICE = 100.0 * 1.2 ** np.array([0.0, 1.0, -2.0, 3.0, -4.0])


@pytest.mark.parametrize(
    ("held", "factor"), [(0.2, 0.0), (0.4, 1.0), (0.6, 2.0), (0.61, 3.0), (0.8, 3.0), (1.0, 4.0)]
)
def test_one_factor_makes_a_share_of_the_ranges_hold(held: float, factor: float) -> None:
    assert rescaling(PRICE, CENTRAL, LOW, HIGH, held) == pytest.approx(factor)


def test_stretched_ranges_hold_as_often_as_asked() -> None:
    rng = np.random.default_rng(3)
    central = np.exp(rng.normal(10, 1, 1000))
    price = central * np.exp(rng.normal(0, 0.3, 1000))
    low, high = central * np.exp(-rng.random(1000)), central * np.exp(rng.random(1000) / 2)
    factor = rescaling(price, central, low, high, 0.8)
    lower, upper = rescaled(central, low, high, factor * (1 + 1e-12))
    assert ((lower <= price) & (price <= upper)).sum() == 800
    lower, upper = rescaled(central, low, high, factor * (1 - 1e-9))
    assert ((lower <= price) & (price <= upper)).sum() == 799


def test_each_side_is_stretched_in_its_own_proportion() -> None:
    low, high = rescaled(np.array([100.0]), np.array([50.0]), np.array([110.0]), 2.0)
    np.testing.assert_allclose([low[0], high[0]], [25.0, 121.0])


def test_an_estimate_outside_its_range_is_taken_as_the_nearer_bound() -> None:
    low, high = rescaled(np.array([90.0]), np.array([100.0]), np.array([110.0]), 2.0)
    np.testing.assert_allclose([low[0], high[0]], [100.0, 121.0])


def test_a_range_without_width_can_not_be_stretched_to_a_price_beside_it() -> None:
    one = np.array([100.0])
    assert rescaling(np.array([101.0]), one, one, one, 0.8) == np.inf
    assert rescaling(one, one, one, one, 0.8) == 0.0


def test_width_at_80_percent_is_that_of_the_stretched_ranges() -> None:
    width = 100 * (1.2**3 - 1.2**-3)
    assert width_held(PRICE, CENTRAL, LOW, HIGH) == pytest.approx(width)


def test_the_coverage_of_ranges_that_hold_at_80_percent_already_leaves_their_width() -> None:
    price = np.array([100.0, 100.0, 100.0, 120.0, 300.0])
    width = 100 * (1.2 - 1 / 1.2)
    assert width_held(price, CENTRAL, LOW, HIGH) == pytest.approx(width)


def test_a_method_without_ranges_is_measured_by_its_estimates() -> None:
    m = measure(Predictions(np.array([100.0, 200.0, 400.0]), np.array([110.0, 150.0, 400.0])))
    assert (m.tested, m.error, m.within_10, m.within_20) == (
        3, pytest.approx(10.0), pytest.approx(200 / 3), pytest.approx(200 / 3)
    )  # fmt: skip
    assert m.ratio == pytest.approx(1.0)
    assert m.cod == pytest.approx(100 * (0.1 + 0.25 + 0.0) / 3)
    assert m.prd == pytest.approx((1.1 + 0.75 + 1.0) / 3 / (660 / 700))
    assert [m.held, m.width, m.width_held, m.score, m.priced, m.held_50, m.held_95] == [None] * 7


def test_ranges_are_measured_over_the_cars_that_have_one() -> None:
    nan = np.nan
    low, high = np.array([90.0, nan, 300.0]), np.array([120.0, nan, 390.0])
    price, central = np.array([100.0, 200.0, 400.0]), np.array([105.0, 150.0, 330.0])
    m = measure(Predictions(price, central, {80: (low, high), 95: (low, high)}))
    assert m.priced == pytest.approx(200 / 3)
    assert (m.held, m.held_95, m.held_50) == (50.0, 50.0, None)
    assert m.width == pytest.approx((100 * 30 / 105 + 100 * 90 / 330) / 2)
    outside = 10 * np.log(400 / 390)
    assert m.score == pytest.approx((np.log(120 / 90) + np.log(390 / 300) + outside) / 2)


def test_no_range_at_all_leaves_no_width() -> None:
    blank = np.full(3, np.nan)
    m = measure(Predictions(np.arange(1.0, 4.0), np.arange(1.0, 4.0), {80: (blank, blank)}))
    assert (m.held, m.width_held, m.score, m.priced) == (None, None, None, 0.0)


def test_two_cars_tell_nothing_of_spread() -> None:
    m = measure(Predictions(np.array([100.0, 200.0]), np.array([100.0, 210.0])))
    assert (m.tested, m.cod, m.prd, m.prb) == (2, None, None, None)


def test_equal_values_have_no_price_related_bias() -> None:
    m = measure(Predictions(np.full(4, 100.0), np.full(4, 100.0)))
    assert (m.cod, m.prd, m.prb) == (0.0, 1.0, None)


def test_rows_are_taken_from_ranges_too() -> None:
    p = Predictions(PRICE, CENTRAL, {80: (LOW, HIGH)}).take(np.array([True] * 2 + [False] * 3))
    assert measure(p).tested == 2
    np.testing.assert_array_equal(p.ranges[80][1], HIGH[:2])

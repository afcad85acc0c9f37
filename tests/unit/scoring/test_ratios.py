"""Level and spread of the ratios, outliers and sales chasing."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from valuation.scoring.checks import ScoreInputError, ScoreUndefinedError
from valuation.scoring.ratios import (
    cod,
    cod_interval,
    cov,
    mean_ratio,
    median_interval,
    median_ratio,
    rank_interval,
    ratios,
    weighted_mean_ratio,
)
from valuation.scoring.screens import outlier_mask, sales_chasing

money = st.integers(min_value=1_000, max_value=900_000)
sales = st.lists(st.tuples(money, money), min_size=5, max_size=40)
scales = st.floats(min_value=0.01, max_value=100.0)


def market(n: int, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    price = np.exp(rng.normal(10.5, 0.6, n))
    return price, price * np.exp(rng.normal(0.0, 0.2, n))


def test_level_by_hand() -> None:
    price, estimate = [100, 200, 700], [90, 220, 560]
    assert ratios(price, estimate) == pytest.approx([0.9, 1.1, 0.8])
    assert median_ratio(price, estimate) == pytest.approx(0.9)
    assert mean_ratio(price, estimate) == pytest.approx(2.8 / 3)
    assert weighted_mean_ratio(price, estimate) == pytest.approx(0.87)


def test_spread_by_hand() -> None:
    price, estimate = [100, 100, 100], [80, 100, 150]
    assert cod(price, estimate) == pytest.approx(100 * 0.7 / 3)
    assert cov(price, estimate) == pytest.approx(100 * np.std([0.8, 1, 1.5], ddof=1) / 1.1)


@given(sales, scales)
def test_scaling_estimates_scales_the_level_and_leaves_the_spread(
    cars: list[tuple[int, int]], k: float
) -> None:
    price, estimate = np.array(cars, dtype=float).T
    for level in (median_ratio, mean_ratio, weighted_mean_ratio):
        assert level(price, k * estimate) == pytest.approx(k * level(price, estimate))
    for spread in (cod, cov):
        assert spread(price, k * estimate) == pytest.approx(spread(price, estimate), abs=1e-9)


@given(sales)
def test_order_of_rows_does_not_matter(cars: list[tuple[int, int]]) -> None:
    turned = cars[::-1]
    (p, e), (q, f) = np.array(cars, dtype=float).T, np.array(turned, dtype=float).T
    for measure in (median_ratio, mean_ratio, weighted_mean_ratio, cod, cov):
        assert measure(p, e) == pytest.approx(measure(q, f), rel=1e-12)


@given(sales)
def test_median_interval_holds_the_median_between_observed_ratios(
    cars: list[tuple[int, int]],
) -> None:
    price, estimate = np.array(cars, dtype=float).T
    found = median_interval(price, estimate)
    assert found.lower <= median_ratio(price, estimate) <= found.upper
    assert {found.lower, found.upper} <= set(ratios(price, estimate).tolist())


@pytest.mark.parametrize(
    ("n", "level", "first", "last"),
    [(14, 0.90, 4, 11), (14, 0.95, 4, 11), (3, 0.90, 1, 3), (4, 0.95, 1, 4), (100, 0.95, 41, 60)],
)
def test_ranks(n: int, level: float, first: int, last: int) -> None:
    found = rank_interval(np.arange(n, 0, -1.0), level=level)
    assert (found.lower, found.upper) == (first, last)


def test_too_few_for_ranks() -> None:
    with pytest.raises(ScoreUndefinedError) as caught:
        median_interval([1, 2, 3], [1, 2, 3])
    assert str(caught.value) == (
        "median interval: a 95% interval of a median needs at least 4 sales (got: 3). "
        "Pool more sales or leave this measure out."
    )


def test_bootstrap_holds_the_cod_and_repeats() -> None:
    price, estimate = market(200)
    first = cod_interval(price, estimate, seed=5)
    assert first == cod_interval(price, estimate, seed=5)
    assert first != cod_interval(price, estimate, seed=6)
    assert first.lower < cod(price, estimate) < first.upper
    assert first.level == 0.95


def test_bootstrap_agrees_with_a_loop_and_narrows_with_sales() -> None:
    price, estimate = market(60)
    rng = np.random.default_rng(5)
    draws = [rng.integers(60, size=60) for _ in range(400)]
    slow = np.quantile([cod(price[d], estimate[d]) for d in draws], [0.025, 0.975])
    fast = cod_interval(price, estimate, seed=5, replications=400)
    assert (fast.lower, fast.upper) == pytest.approx(tuple(slow), rel=1e-12)
    many = cod_interval(*market(2_000), seed=5, replications=400)
    assert many.upper - many.lower < (fast.upper - fast.lower) / 2


def test_bootstrap_in_blocks_is_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    price, estimate = market(50)
    whole = cod_interval(price, estimate, seed=5, replications=101)
    monkeypatch.setattr("valuation.scoring.ratios._CELLS", 700)
    assert cod_interval(price, estimate, seed=5, replications=101) == whole


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: cod_interval([1] * 4, [1] * 4, seed=1),
            "COD interval: this measure needs at least 5 sales (got: 4). "
            "Pool more sales or leave this measure out.",
        ),
        (
            lambda: cod_interval([1] * 5, [1] * 5, seed=1, replications=99),
            "COD interval: percentiles need at least 100 redrawn samples (got: 99). "
            "Raise the number of replications.",
        ),
        (
            lambda: cov([1], [1]),
            "coefficient of variation: this measure needs at least 2 sales (got: 1). "
            "Pool more sales or leave this measure out.",
        ),
        (
            lambda: median_ratio([], []),
            "ratios: this measure needs at least 1 sales (got: 0). "
            "Pool more sales or leave this measure out.",
        ),
        (
            lambda: cod([1, 2], [1]),
            "ratios: the inputs have different lengths (got: price 2, estimate 1). "
            "Give one value a car in each.",
        ),
        (
            lambda: weighted_mean_ratio([1, 2], [1, -2]),
            "weighted mean ratio: each estimate must be a finite amount above zero (got: -2 at "
            "position 1; 1 of 2 are wrong). Leave these cars out or mend the amounts.",
        ),
        (
            lambda: outlier_mask([1] * 4, [1] * 4, multiple=0.0),
            "outliers: the multiple must be above zero (got: 0). Use 3, or 1.5 to mark more.",
        ),
        (
            lambda: sales_chasing([1] * 30, [2] * 30),
            "sales chasing: all ratios are the same (got: 2). "
            "Test on sales the estimates have not seen.",
        ),
        (
            lambda: sales_chasing([1] * 29, [2] * 29),
            "sales chasing: this measure needs at least 30 sales (got: 29). "
            "Pool more sales or leave this measure out.",
        ),
    ],
)
def test_wrong_input(call: Callable[[], object], message: str) -> None:
    with pytest.raises(ScoreInputError) as caught:
        call()
    assert str(caught.value) == message


def test_outliers_on_both_sides() -> None:
    price = np.full(12, 100.0)
    estimate = np.array([10, 90, 95, 98, 99, 100, 100, 101, 102, 105, 110, 400.0])
    assert np.flatnonzero(outlier_mask(price, estimate)).tolist() == [0, 11]
    assert outlier_mask(price, estimate, multiple=100.0).sum() == 0


def test_equal_ratios_are_no_outliers() -> None:
    price = np.arange(1.0, 200.0)
    assert np.unique(price * 1.3 / price).size > 1  # equal but for rounding
    assert not outlier_mask(price, price * 1.3).any()


@given(sales, scales)
def test_outliers_do_not_depend_on_the_level(cars: list[tuple[int, int]], k: float) -> None:
    price, estimate = np.array(cars, dtype=float).T
    power = 2.0 ** round(np.log2(k))
    marked = outlier_mask(price, estimate)
    assert outlier_mask(price, power * estimate).tolist() == marked.tolist()
    assert not marked.all()


def test_honest_estimates_are_not_suspected() -> None:
    found = sales_chasing(*market(500))
    assert not found.suspected
    assert abs(found.share_near_one - found.share_expected) < 5


def test_estimates_set_to_the_price_are_suspected() -> None:
    price, estimate = market(500)
    estimate[:100] = price[:100]
    found = sales_chasing(price, estimate)
    assert found.suspected
    assert found.largest_step >= 20
    assert found.share_near_one > found.share_expected + 5


@pytest.mark.parametrize(("exact", "suspected"), [(13, False), (15, True)])
def test_both_signs_need_five_points(exact: int, suspected: bool) -> None:
    rest = 100 - exact
    ratio = np.concatenate([np.ones(exact), 1.0 + np.tile([-0.2, 0.2], 50)[:rest]])
    found = sales_chasing(np.full(100, 1_000.0), 1_000.0 * ratio)
    mean, spread = ratio.mean(), ratio.std(ddof=1)
    share = 100 * (stats.norm.cdf(1.02, mean, spread) - stats.norm.cdf(0.98, mean, spread))
    assert found.share_expected == pytest.approx(share, rel=1e-12)
    assert (found.share_near_one, found.largest_step) == (exact, exact)
    assert 3 < exact - share < 7
    assert found.suspected is suspected


def test_a_peak_without_a_step_is_not_suspected() -> None:
    price, estimate = market(500)
    estimate[:100] = price[:100] * np.linspace(0.981, 1.019, 100)
    found = sales_chasing(price, estimate)
    assert found.share_near_one > found.share_expected + 5
    assert found.largest_step < 5
    assert not found.suspected


def test_nothing_near_one_has_no_step() -> None:
    price, estimate = market(60)
    found = sales_chasing(price, 5 * estimate)
    assert (found.share_near_one, found.largest_step, found.suspected) == (0.0, 0.0, False)

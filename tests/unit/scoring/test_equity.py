"""Vertical equity: PRD, PRB, MKI and VEI."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import assume, given
from hypothesis import strategies as st

from valuation.scoring.checks import ScoreUndefinedError
from valuation.scoring.equity import mki, prb, prd, value_proxy, vei

money = st.integers(min_value=1_000, max_value=900_000)
sales = st.lists(st.tuples(money, money), min_size=20, max_size=60, unique=True)
scales = st.floats(min_value=0.01, max_value=100.0)


def market(n: int, tilt: float = 0.0, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """Estimates with noise of their own; a tilt below zero undervalues the dear."""
    rng = np.random.default_rng(seed)
    log = rng.normal(10.5, 0.6, n)
    return np.exp(log), np.exp(log + tilt * (log - 10.5) + rng.normal(0.0, 0.08, n))


def test_prd_by_hand() -> None:
    assert prd([100, 300], [100, 150]) == pytest.approx(0.75 / 0.625)


def test_proxy_is_half_price_half_estimate_at_the_level_of_prices() -> None:
    assert value_proxy([100, 200], [50, 100]) == pytest.approx([100, 200])
    assert value_proxy([100, 100, 100], [50, 100, 200]) == pytest.approx([75, 100, 150])


def test_mki_by_hand() -> None:
    # Ordered by price the estimates are 10, 20: Gini 1/6; prices 10, 30: Gini 1/4.
    assert mki([30, 10], [20, 10]) == pytest.approx((1 / 6) / (1 / 4))


def test_mki_does_not_depend_on_the_order_of_equal_prices() -> None:
    price = [10, 10, 10, 40, 40]
    assert mki(price, [8, 12, 9, 30, 50]) == mki(price, [12, 9, 8, 50, 30])


def test_prb_is_plain_least_squares() -> None:
    price, estimate = market(80, -0.2)
    ratio = estimate / price
    m = np.median(ratio)
    fit = sm.OLS((ratio - m) / m, sm.add_constant(np.log2(value_proxy(price, estimate)))).fit()
    found = prb(price, estimate, level=0.9)
    assert found.value == pytest.approx(fit.params[1])
    bounds = (found.interval.lower, found.interval.upper)
    assert bounds == pytest.approx(tuple(fit.conf_int(0.1)[1]))


@given(sales, scales)
def test_scaling_all_estimates_changes_nothing(cars: list[tuple[int, int]], k: float) -> None:
    price, estimate = np.array(cars, dtype=float).T
    assume(np.ptp(price) > 0)
    for measure in (prd, mki, lambda p, e: prb(p, e).value):
        here, there = measure(price, estimate), measure(price, k * estimate)
        assert there == pytest.approx(here, rel=1e-7, abs=1e-9)
    try:
        here_vei = vei(price, estimate)
    except ScoreUndefinedError:
        assume(False)
    there_vei = vei(price, k * estimate)
    assert there_vei.value == pytest.approx(here_vei.value, rel=1e-7, abs=1e-7)
    assert there_vei.significance == pytest.approx(here_vei.significance, rel=1e-7, abs=1e-7)
    assert [g.sales for g in there_vei.groups] == [g.sales for g in here_vei.groups]


@given(sales)
def test_order_of_rows_does_not_matter(cars: list[tuple[int, int]]) -> None:
    (p, e), (q, f) = np.array(cars, dtype=float).T, np.array(cars[::-1], dtype=float).T
    assume(np.ptp(p) > 0)
    assert mki(p, e) == pytest.approx(mki(q, f), rel=1e-9)
    assert prb(p, e).value == pytest.approx(prb(q, f).value, rel=1e-7, abs=1e-9)


@given(sales, scales)
def test_estimates_in_proportion_are_fair(cars: list[tuple[int, int]], k: float) -> None:
    price = np.array([p for p, _ in cars], dtype=float)
    assume(np.unique(price).size >= 20)
    assert prd(price, k * price) == pytest.approx(1.0)
    assert mki(price, k * price) == pytest.approx(1.0)
    assert prb(price, k * price).value == pytest.approx(0.0, abs=1e-9)
    assert vei(price, k * price).value == pytest.approx(0.0, abs=1e-9)


def test_all_four_see_the_direction() -> None:
    fair, low, high = (market(400, tilt) for tilt in (0.0, -0.3, 0.3))
    assert prd(*high) < prd(*fair) < prd(*low)
    for rising in (mki, lambda p, e: prb(p, e).value, lambda p, e: vei(p, e).value):
        assert rising(*low) < rising(*fair) < rising(*high)
    assert vei(*low).significance > 10
    assert vei(*fair).significance < 10


def test_noise_in_prices_alone_looks_regressive() -> None:
    rng = np.random.default_rng(8)
    value = np.exp(rng.normal(10.5, 0.4, 2_000))
    price = value * np.exp(rng.normal(0.0, 0.25, 2_000))
    assert prd(price, value) > 1.03
    by_price = np.polyfit(np.log2(price), value / price, 1)[0]
    assert by_price < prb(price, value).value  # the proxy softens it


@pytest.mark.parametrize(
    ("n", "groups"), [(20, 2), (50, 2), (51, 4), (500, 4), (501, 10), (2_000, 10)]
)
def test_number_of_groups(n: int, groups: int) -> None:
    found = vei(*market(n)).groups
    sizes = [g.sales for g in found]
    assert len(sizes) == groups
    assert sum(sizes) == n
    assert max(sizes) - min(sizes) <= 1


def test_cuts_follow_numpy_linear_quantiles() -> None:
    for n in (51, 54, 97, 333, 501, 1_001):
        price, _ = market(n)
        cuts = np.quantile(price, np.linspace(0, 1, 5 if n <= 500 else 11)[1:-1])
        expected = np.bincount(np.searchsorted(cuts * (1 + 1e-9), price))
        assert [g.sales for g in vei(price, price).groups] == expected.tolist()


@pytest.mark.parametrize("k", [1.0, 0.1, 0.3, 0.7, 1.1, 3.3, 7.7])
def test_sales_tied_on_a_cut_stay_together_whatever_the_rounding(k: float) -> None:
    price = np.array([*range(10, 90, 10), 77, 83, 91, 100, 103, *range(110, 190, 10)], dtype=float)
    estimate = price.copy()
    estimate[8:13] = 200 - price[8:13]  # five sales of the value 100 around the median
    groups = vei(price, k * estimate).groups
    assert [g.sales for g in groups] == [13, 8]


def test_groups_that_overlap_have_no_gap() -> None:
    assert vei(*market(30)).significance == 0.0


def test_group_medians_and_intervals_are_those_of_their_sales() -> None:
    price = np.arange(1.0, 41.0) * 1_000
    ratio = np.where(price <= 20_000, 0.8, 1.2)
    found = vei(price, price * ratio)
    assert [g.median for g in found.groups] == pytest.approx([0.8, 1.2])
    assert found.value == pytest.approx(40.0)
    assert found.significance == pytest.approx(40.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: prb([1, 2], [1, 2]),
            "price-related bias: this measure needs at least 3 sales (got: 2). "
            "Pool more sales or leave this measure out.",
        ),
        (
            lambda: prb([5, 5, 5], [5, 5, 5]),
            "price-related bias: all sales have the same value (got: 5). "
            "Add sales of other values or leave this measure out.",
        ),
        (
            lambda: mki([5, 5, 5], [4, 5, 6]),
            "modified Kakwani index: all sales have the same value (got: 5). "
            "Add sales of other values or leave this measure out.",
        ),
        (
            lambda: vei(range(1, 20), range(1, 20)),
            "vertical equity indicator: cutting by value needs at least 20 sales (got: 19). "
            "Pool more sales or leave this measure out.",
        ),
        (
            lambda: vei([5] * 20, [5] * 20),
            "vertical equity indicator, one group: a 90% interval of a median needs at least 3 "
            "sales (got: 0). Pool more sales or leave this measure out.",
        ),
    ],
)
def test_undefined(call: Callable[[], object], message: str) -> None:
    with pytest.raises(ScoreUndefinedError) as caught:
        call()
    assert str(caught.value) == message

"""Mixtures over what such cars have: the mean is reached, the shares stay shares."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.appraisal.unknowns import LEAST_STATED, Mixture, span_variance, tilted


def of_sales(effects: np.ndarray, mean: float) -> Mixture:
    """Tilt the effects of sales, each sale counting once."""
    values, counts = np.unique(np.round(effects, 6), return_counts=True)
    return tilted(values, counts.astype(float), mean)


EFFECTS = st.lists(st.floats(-1.0, 1.0).map(lambda x: round(x, 3)), min_size=1, max_size=60)


@given(effects=EFFECTS, at=st.floats(0.03, 0.97))
def test_the_mean_is_reached_by_shares_that_sum_to_one(effects: list[float], at: float) -> None:
    x = np.array(effects)
    wanted = float(x.min() + at * np.ptp(x))
    mixture = of_sales(x, wanted)
    assert mixture.shares.sum() == pytest.approx(1.0)
    assert (mixture.shares >= 0).all()
    assert mixture.mean == pytest.approx(wanted, abs=1e-6)
    assert mixture.effects.tolist() == sorted(set(np.round(x, 6).tolist()))


@given(effects=EFFECTS, mean=st.floats(-5.0, 5.0))
def test_the_mean_stays_between_the_extremes(effects: list[float], mean: float) -> None:
    mixture = of_sales(np.array(effects), mean)
    assert min(effects) - 1e-9 <= mixture.mean <= max(effects) + 1e-9
    assert 0.0 <= mixture.variance <= (np.ptp(effects) / 2) ** 2 + 1e-9


def test_a_mean_out_of_reach_is_drawn_to_the_end() -> None:
    x = np.array([0.0, 0.0, 0.1, 0.4])
    assert of_sales(x, 9.0).mean == pytest.approx(0.4 - 0.02 * 0.4)
    assert of_sales(x, -9.0).mean == pytest.approx(0.02 * 0.4)


def test_the_observed_mean_needs_no_tilt() -> None:
    x = np.array([-0.2, 0.0, 0.0, 0.1])
    mixture = of_sales(x, float(x.mean()))
    assert mixture.shares == pytest.approx([0.25, 0.5, 0.25])
    assert mixture.variance == pytest.approx(float(x.var()))


def test_shares_are_counts_times_an_exponential() -> None:
    mixture = of_sales(np.array([0.0, 0.0, 0.0, 0.1, 0.3]), 0.2)
    tilt = np.log(mixture.shares / np.array([3, 1, 1]))
    steps = np.diff(tilt) / np.diff(mixture.effects)
    assert steps[0] == pytest.approx(steps[1])
    assert mixture.mean == pytest.approx(0.2)


def test_a_fact_that_is_always_the_same_adds_nothing() -> None:
    mixture = of_sales(np.full(12, 0.07), 0.3)
    assert (mixture.mean, mixture.variance) == (pytest.approx(0.07), 0.0)
    assert mixture.shares.tolist() == [1.0]


def test_what_no_sale_states_has_no_share() -> None:
    mixture = tilted(np.array([-9.0, 0.0, 0.2, 9.0]), np.array([0.0, 3.0, 1.0, 0.0]), 0.1)
    assert mixture.shares == pytest.approx([0.0, 0.5, 0.5, 0.0])


POINTS = st.lists(
    st.tuples(st.floats(-1.0, 1.0), st.integers(0, 12), st.integers(0, 12)), min_size=2, max_size=25
)


def _sales(points: list[tuple[float, int, int]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    f, mine, others = (np.array(column, dtype=float) for column in zip(*points, strict=True))
    return f, mine, mine + others


@given(points=POINTS, data=st.data())
def test_a_wider_span_is_never_less_spread(
    points: list[tuple[float, int, int]], data: st.DataObject
) -> None:
    start = data.draw(st.integers(0, len(points) - 2))
    stop = data.draw(st.integers(start + 2, len(points)))
    f, mine, everybody = _sales(points)
    part = slice(start, stop)
    narrow = span_variance(f[part], mine[part], everybody[part])
    assert narrow <= span_variance(f, mine, everybody) + 1e-12


@given(points=POINTS)
def test_a_span_is_spread_at_least_as_what_is_stated_within(
    points: list[tuple[float, int, int]],
) -> None:
    f, mine, everybody = _sales(points)
    weights = mine if mine.sum() >= LEAST_STATED else everybody
    found = span_variance(f, mine, everybody)
    if weights.sum() >= LEAST_STATED:
        assert found >= Mixture(f, weights / weights.sum()).variance - 1e-12
    else:
        assert found >= np.ptp(f) ** 2 / 12 - 1e-12
    assert found <= np.ptp(f) ** 2 / 4 + 1e-12


def test_a_span_without_sales_is_even() -> None:
    f, none = np.linspace(0.0, 0.6, 7), np.zeros(7)
    assert span_variance(f, none, none) == pytest.approx(0.6**2 / 12)


def test_the_sales_of_the_make_go_before_all_sales() -> None:
    f = np.array([0.0, 0.1, 0.2])
    mine, everybody = np.array([5.0, 5.0, 0.0]), np.array([500.0, 15.0, 500.0])
    assert span_variance(f, mine, everybody) == pytest.approx(0.05**2, abs=1e-9)

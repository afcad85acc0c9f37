"""A cost beside a change."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import norm

from valuation.selling.pay_back import pay_back


def test_one_cost_has_a_closed_form() -> None:
    found = pay_back(50_000.0, 0.10, 0.04, low=3_000.0, high=3_000.0)
    assert found.sure
    assert found.net == round(50_000 * math.expm1(0.10) - 3_000)
    assert found.chance == pytest.approx(norm.sf((math.log1p(0.06) - 0.10) / 0.04))
    for end, share in ((found.lower, 0.05), (found.upper, 0.95)):
        at = 50_000 * math.expm1(norm.ppf(share, 0.10, 0.04)) - 3_000
        assert end == pytest.approx(at, abs=0.01)


def test_a_cost_between_two_ends_is_summed_over() -> None:
    found = pay_back(50_000.0, 0.05, 0.03, low=1_000.0, high=4_000.0)

    def below(cost: float) -> float:
        return float(norm.cdf(math.log1p(cost / 50_000), 0.05, 0.03))

    mean = quad(below, 1_000, 4_000)[0] / 3_000
    assert found.chance == pytest.approx(1 - mean, abs=1e-4)
    draws = np.random.default_rng(3)
    change = 50_000 * np.expm1(draws.normal(0.05, 0.03, 400_000))
    net = change - draws.uniform(1_000, 4_000, 400_000)
    assert found.lower == pytest.approx(np.quantile(net, 0.05), abs=25)
    assert found.upper == pytest.approx(np.quantile(net, 0.95), abs=25)


def test_what_is_certain_leaves_only_the_cost_open() -> None:
    found = pay_back(10_000.0, math.log(1.1), 0.0, low=500.0, high=1_500.0)
    assert (round(found.lower), round(found.upper)) == (-450, 450)
    assert found.chance == pytest.approx(0.5)
    assert pay_back(10_000.0, 0.0, 0.0, low=1.0, high=1.0).chance == 0.0


def test_ends_of_a_cost_rise() -> None:
    with pytest.raises(ValueError, match="have to rise"):
        pay_back(1.0, 0.0, 0.1, low=2.0, high=1.0)


@given(
    effect=st.floats(-0.5, 0.5),
    sd=st.floats(0.001, 0.5),
    low=st.floats(0, 20_000),
    wider=st.floats(0, 20_000),
    more=st.floats(1, 5_000),
)
def test_a_higher_cost_never_pays_back_better(
    effect: float, sd: float, low: float, wider: float, more: float
) -> None:
    one = pay_back(30_000.0, effect, sd, low=low, high=low + wider)
    other = pay_back(30_000.0, effect, sd, low=low + more, high=low + wider + more)
    assert 0.0 <= other.chance <= one.chance <= 1.0
    assert other.lower < one.lower < one.upper

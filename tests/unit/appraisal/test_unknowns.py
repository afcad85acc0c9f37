"""Mixtures over what such cars have: the mean is reached, the shares stay shares."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.appraisal.unknowns import tilted

EFFECTS = st.lists(st.floats(-1.0, 1.0).map(lambda x: round(x, 3)), min_size=1, max_size=60)


@given(effects=EFFECTS, at=st.floats(0.03, 0.97))
def test_the_mean_is_reached_by_shares_that_sum_to_one(effects: list[float], at: float) -> None:
    x = np.array(effects)
    wanted = float(x.min() + at * np.ptp(x))
    mixture = tilted(x, wanted)
    assert mixture.shares.sum() == pytest.approx(1.0)
    assert (mixture.shares >= 0).all()
    assert mixture.mean == pytest.approx(wanted, abs=1e-6)
    assert mixture.effects.tolist() == sorted(set(np.round(x, 6).tolist()))


@given(effects=EFFECTS, mean=st.floats(-5.0, 5.0))
def test_the_mean_stays_between_the_extremes(effects: list[float], mean: float) -> None:
    mixture = tilted(np.array(effects), mean)
    assert min(effects) - 1e-9 <= mixture.mean <= max(effects) + 1e-9
    assert 0.0 <= mixture.variance <= (np.ptp(effects) / 2) ** 2 + 1e-9


def test_a_mean_out_of_reach_is_drawn_to_the_end() -> None:
    x = np.array([0.0, 0.0, 0.1, 0.4])
    assert tilted(x, 9.0).mean == pytest.approx(0.4 - 0.02 * 0.4)
    assert tilted(x, -9.0).mean == pytest.approx(0.02 * 0.4)


def test_the_observed_mean_needs_no_tilt() -> None:
    x = np.array([-0.2, 0.0, 0.0, 0.1])
    mixture = tilted(x, float(x.mean()))
    assert mixture.shares == pytest.approx([0.25, 0.5, 0.25])
    assert mixture.variance == pytest.approx(float(x.var()))


def test_shares_are_counts_times_an_exponential() -> None:
    mixture = tilted(np.array([0.0, 0.0, 0.0, 0.1, 0.3]), 0.2)
    tilt = np.log(mixture.shares / np.array([3, 1, 1]))
    steps = np.diff(tilt) / np.diff(mixture.effects)
    assert steps[0] == pytest.approx(steps[1])
    assert mixture.mean == pytest.approx(0.2)


def test_a_fact_that_is_always_the_same_adds_nothing() -> None:
    mixture = tilted(np.full(12, 0.07), 0.3)
    assert (mixture.mean, mixture.variance) == (pytest.approx(0.07), 0.0)
    assert mixture.shares.tolist() == [1.0]

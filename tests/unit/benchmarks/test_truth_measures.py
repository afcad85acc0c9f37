"""Arithmetic of the benchmark against the truth, on hand numbers."""

from __future__ import annotations

import numpy as np
import pytest
from truth_measures import (
    clustered_share,
    clustered_shift,
    noise_scale,
    path_error,
    pooled_ratio,
    rms,
    slope,
)


def test_a_share_is_that_of_all_tries_with_seeds_as_clusters() -> None:
    share, low, high = clustered_share([8, 10, 9], [10, 10, 10])
    # Deviations -1, 1, 0 of 30 tries: se = sqrt(2 * 3 / 2) / 30; t with 2 degrees is 4.3027.
    assert share == 0.9
    assert (low, high) == pytest.approx((0.9 - 4.30265 * np.sqrt(3) / 30, 1.0), abs=1e-5)
    assert clustered_share([1, 0], [1, 0])[0] == 1.0
    assert np.isnan(clustered_share([1], [2])[1])
    assert np.isnan(clustered_share([], [])[0])


def test_whole_markets_that_miss_widen_the_interval() -> None:
    spread = clustered_share([9, 9, 9, 9], [10] * 4)
    lumped = clustered_share([10, 10, 10, 6], [10] * 4)
    assert spread == pytest.approx((0.9, 0.9, 0.9))
    assert lumped[0] == 0.9
    assert lumped[2] - lumped[1] > 0.2


def test_a_ratio_is_that_of_the_mean_squares() -> None:
    assert pooled_ratio([3.0, 4.0], [1.0, 2.0])[0] == pytest.approx(np.sqrt(25 / 5))
    ratio, low, high = pooled_ratio([1.1, 2.2, 3.3], [1.0, 2.0, 3.0])
    assert (ratio, low, high) == pytest.approx((1.1, 1.1, 1.1))
    low, high = pooled_ratio([1.0, 1.3, 0.9], [1.0, 1.0, 1.0])[1:]
    assert low < 1.08 < high
    assert np.isnan(pooled_ratio([1.0], [1.0])[1])


def test_a_shift_is_the_mean_of_the_pairs() -> None:
    shift, low, high = clustered_shift([2.0, 4.0], [1.0, 1.0])
    assert (shift, low, high) == pytest.approx((2.0, 2 - 12.7062, 2 + 12.7062), abs=1e-3)
    assert np.isnan(clustered_shift([1.0], [0.0])[1])


def test_a_path_is_measured_from_its_own_mean() -> None:
    error, share = path_error([5.0, 6.0, 7.0, 8.0], [1.0, 2.0, 3.0, 6.0], [0.1, 0.1, 0.2, 1.0])
    # Less 3.5 on average: 0.5, 0.5, 0.5, -1.5, of which the second lies 5 sd out, the last 1.5.
    assert error == pytest.approx(np.sqrt((3 * 0.25 + 2.25) / 4))
    assert share == 0.25


def test_a_fall_with_the_root_of_the_sales_has_a_slope_of_a_half() -> None:
    assert slope([300, 1200], [0.2, 0.1]) == pytest.approx(-0.5)
    assert np.isnan(slope([300], [0.2]))


def test_the_scale_of_known_noise() -> None:
    noise = np.random.default_rng(1).standard_t(4.0, 200_000) * 0.2
    assert noise_scale(noise, None) == rms(noise)
    assert noise_scale(noise, 4.0) == pytest.approx(0.2, rel=0.01)
    assert noise_scale(np.append(noise, 50.0), 4.0) == pytest.approx(0.2, rel=0.01)

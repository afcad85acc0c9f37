"""Conformal correction, by hand and by its promise."""

from __future__ import annotations

import numpy as np
import pytest
from peer_ranges import _ordered, conformal_correction, conformal_scores, pinball


def test_a_score_is_the_distance_to_the_nearer_bound_negative_inside() -> None:
    y = np.array([1.0, 5.0, 2.0, 9.0])
    low, high = np.full(4, 2.0), np.full(4, 8.0)
    np.testing.assert_array_equal(conformal_scores(y, low, high), [1.0, -3.0, 0.0, 1.0])


@pytest.mark.parametrize(
    ("level", "rank"),
    # Of nine scores the (9 + 1)·level-th smallest, rounded up.
    [(0.8, 8), (0.5, 5), (0.55, 6), (0.1, 1), (0.9, 9)],
)
def test_the_correction_is_the_score_of_its_rank(level: float, rank: int) -> None:
    scores = np.array([0.7, -0.1, 0.3, 0.0, 0.9, 0.2, 0.4, 0.5, -0.3])
    assert conformal_correction(scores, level) == np.sort(scores)[rank - 1]


def test_too_few_scores_give_the_largest() -> None:
    assert conformal_correction(np.array([0.2, 0.1]), 0.8) == 0.2


def test_a_correction_can_narrow_ranges() -> None:
    assert conformal_correction(np.full(20, -0.25), 0.8) == -0.25


def test_corrected_ranges_hold_on_average_as_often_as_promised() -> None:
    rng = np.random.default_rng(1)
    held = []
    for _ in range(400):
        known, new = rng.normal(size=99), rng.normal(size=50)
        more = conformal_correction(
            conformal_scores(known, np.full(99, -0.5), np.full(99, 0.5)), 0.8
        )
        held.append(float(((-0.5 - more <= new) & (new <= 0.5 + more)).mean()))
    assert np.mean(held) == pytest.approx(0.8, abs=0.01)


def test_the_quantile_loss_weighs_both_sides() -> None:
    assert pinball(np.array([2.0, -2.0]), 0.1) == pytest.approx((0.2 + 1.8) / 2)
    assert pinball(np.array([2.0, -2.0]), 0.9) == pytest.approx((1.8 + 0.2) / 2)
    assert pinball(np.array([3.0]), 0.9) == pytest.approx(2.7)


def test_a_quantile_minimises_its_loss() -> None:
    y = np.arange(1001.0)
    losses = {q: pinball(y - q, 0.9) for q in (800.0, 900.0, 950.0)}
    assert min(losses, key=losses.__getitem__) == 900.0


def test_a_correction_does_not_turn_a_range_inside_out() -> None:
    both = _ordered(np.array([3.0, 1.0]), np.array([1.0, 2.0]))
    np.testing.assert_array_equal(both, [[2.0, 2.0], [1.0, 2.0]])

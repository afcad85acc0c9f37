"""Ratios to the best peer."""

from __future__ import annotations

import numpy as np
import pytest
from accuracy_against import against_peers
from accuracy_measures import Predictions

PRICE = np.linspace(100.0, 900.0, 60)
OFF = np.tile([0.8, 1.1, 1.25], 20)


def said(factor: float, width: float | None = None) -> Predictions:
    """Return estimates that err by a factor of OFF, with ranges of a width around them."""
    central = PRICE * OFF**factor
    ranges = {} if width is None else {80: (central / width, central * width)}
    return Predictions(PRICE, central, ranges)


def test_the_best_peer_is_the_one_that_errs_least() -> None:
    (r,) = against_peers(said(0.5), {"near": said(1.0), "far": said(2.0)}, draws=50)
    assert (r.of, r.peer) == ("median absolute error", "near")
    assert r.theirs == pytest.approx(20.0)
    assert r.ours == pytest.approx(100 * (1 - 0.8**0.5), abs=0.5)
    assert r.value == pytest.approx(r.ours / r.theirs)
    assert r.low <= r.value <= r.high < 1.0


def test_widths_are_compared_once_four_fifths_of_them_hold() -> None:
    # Ranges twice as wide cost nothing: all are brought to the same share held.
    found = against_peers(said(1.0, 1.5), {"wide": said(1.0, 3.0)}, draws=20)
    width = found[1]
    assert width.of == "width at 80 % held"
    assert width.value == pytest.approx(1.0, rel=1e-6)
    assert against_peers(said(0.5, 1.5), {"wide": said(1.0, 1.5)}, draws=20)[1].value < 0.8


def test_cars_without_a_range_are_left_out_of_widths_alone() -> None:
    ours = said(1.0, 1.5)
    low = ours.ranges[80][0].copy()
    low[:9] = np.nan
    ours = Predictions(ours.price, ours.central, {80: (low, ours.ranges[80][1])})
    error, width = against_peers(ours, {"peer": said(1.0, 1.5)}, draws=20)
    assert error.value == width.value == pytest.approx(1.0)


def test_the_same_predictions_give_the_same_interval() -> None:
    one, other = (against_peers(said(0.5), {"peer": said(1.0)}, draws=30) for _ in range(2))
    assert one == other


def test_no_peers_no_ratio() -> None:
    assert against_peers(said(1.0), {}) == []

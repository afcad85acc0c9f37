"""Ranges: quantiles of a weighted sample, and what past errors teach."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.models.ranges import (
    DIFFICULTY,
    FEW_REVISIONS,
    GRID,
    LEAST_ERRORS,
    Calibration,
    PastErrors,
    Revisions,
    calibrate,
    weighted_quantiles,
)

K = len(DIFFICULTY)
STEADY = settings(max_examples=40, deadline=None, derandomize=True)
# Ties take their weights in the order they come: there are none here.
SAMPLES = st.lists(
    st.tuples(st.integers(-3000, 3000), st.floats(0.05, 5.0)),
    min_size=1,
    max_size=40,
    unique_by=lambda pair: pair[0],
).map(lambda pairs: (np.array([x / 1000 for x, _ in pairs]), np.array([w for _, w in pairs])))


def errors(
    n: int, *, seed: int = 0, scale: float = 0.2, day: np.ndarray | None = None
) -> PastErrors:
    rng = np.random.default_rng(seed)
    when = np.linspace(0.0, 300.0, n) if day is None else day
    return PastErrors(rng.normal(0, scale, n), np.zeros(n), rng.normal(size=(n, K)), when)


# Quantiles


def test_equal_weights_are_the_ranks_of_a_sample_with_one_more() -> None:
    """The i-th of n stands for i / (n + 1), as numpy's method of Weibull."""
    rng = np.random.default_rng(1)
    for n in (1, 2, 9, 40):
        x = rng.normal(size=n)
        p = np.linspace(0.01, 0.99, 37)
        expected = np.quantile(x, p, method="weibull")
        np.testing.assert_allclose(weighted_quantiles(x, np.full(n, 0.3), p), expected, atol=1e-12)


def test_beyond_the_sample_its_ends() -> None:
    x = np.array([3.0, 1.0, 2.0])
    assert weighted_quantiles(x, np.ones(3), np.array([0.0, 0.01, 0.99, 1.0])).tolist() == [
        1.0, 1.0, 3.0, 3.0,
    ]  # fmt: skip


def test_an_old_error_counts_less() -> None:
    x, p = np.array([-1.0, 0.0, 1.0]), np.array([0.5])
    high = weighted_quantiles(x, np.array([0.1, 1.0, 2.0]), p)
    low = weighted_quantiles(x, np.array([2.0, 1.0, 0.1]), p)
    assert low[0] < 0 < high[0]


@STEADY
@given(SAMPLES, st.floats(0.1, 10.0))
def test_quantiles_rise_stay_inside_and_know_no_unit(
    sample: tuple[np.ndarray, np.ndarray], factor: float
) -> None:
    x, w = sample
    q = weighted_quantiles(x, w, GRID)
    assert (np.diff(q) >= 0).all()
    assert x.min() <= q[0]
    assert q[-1] <= x.max()
    np.testing.assert_allclose(weighted_quantiles(x, factor * w, GRID), q, atol=1e-9)
    np.testing.assert_allclose(weighted_quantiles(2 * x + 1, w, GRID), 2 * q + 1, atol=1e-9)


@STEADY
@given(SAMPLES)
def test_quantiles_of_the_mirrored_sample_are_mirrored(
    sample: tuple[np.ndarray, np.ndarray],
) -> None:
    x, w = sample
    forth = weighted_quantiles(x, w, GRID)
    back = weighted_quantiles(-x[::-1], w[::-1], 1 - GRID)
    np.testing.assert_allclose(back, -forth, atol=1e-6)


@pytest.mark.parametrize("level", [0.5, 0.8, 0.9])
@pytest.mark.parametrize("n", [19, 20, 60])
def test_the_rank_property(n: int, level: float) -> None:
    """Of a new exchangeable error, the interval holds at least its nominal share.

    With 4,000 trials the standard error of a share is below 0.008.
    """
    rng = np.random.default_rng(n)
    draws = rng.standard_t(3, size=(4000, n + 1))
    tail = np.array([(1 - level) / 2, (1 + level) / 2])
    bounds = np.array([weighted_quantiles(d[:n], np.ones(n), tail) for d in draws])
    held = (bounds[:, 0] <= draws[:, n]) & (draws[:, n] <= bounds[:, 1])
    assert level - 0.02 < held.mean() < level + 0.03


# Past errors


def test_until_a_day() -> None:
    past = errors(4, day=np.array([10.0, 20.0, 30.0, np.nan]))
    found = past.until(30.0)
    assert found.day.tolist() == [10.0, 20.0]
    assert found.error.tolist() == past.error[:2].tolist()
    assert found.difficulty.shape == (2, K)
    assert len(found.deviation) == len(found) == 2


def test_with_too_few_errors_there_is_no_distribution() -> None:
    few = calibrate(errors(LEAST_ERRORS - 1), day=300.0)
    assert len(few.quantiles) == 0
    assert (few.share, few.centre, few.n) == (0.5, 0.0, LEAST_ERRORS - 1)
    assert few.difficulty(np.zeros(K)).tolist() == [1.0]
    enough = calibrate(errors(LEAST_ERRORS), day=300.0)
    assert len(enough.quantiles) == len(GRID)


def test_difficult_cars_get_wider_ranges_but_damped() -> None:
    """Errors grow by the factor e for each step of difficulty: the range follows most of it."""
    rng = np.random.default_rng(4)
    columns = np.zeros((4000, K))
    columns[:, 1] = rng.normal(size=4000)
    error = rng.normal(size=4000) * np.exp(columns[:, 1] - 2)
    learned = calibrate(PastErrors(error, np.zeros(4000), columns, np.full(4000, np.nan)), day=0.0)
    easy, middling, hard = learned.difficulty(np.eye(K)[[1, 1, 1]] * [[-1.0], [0.0], [1.0]])
    # The whole of it would be e, 2.72; to the power of 0.85 it is 2.34.
    assert 2.0 < hard / middling < 2.6
    assert 2.0 < middling / easy < 2.6


@pytest.mark.parametrize("name", ["comparables", "distance", "age of evidence"])
def test_worse_evidence_never_makes_an_error_look_smaller(name: str) -> None:
    """In this record old, distant or thin evidence made the smaller errors: an accident."""
    rng = np.random.default_rng(12)
    at, worse = DIFFICULTY.index(name), -1.0 if name == "comparables" else 1.0
    z = rng.normal(size=(300, K))
    error = rng.normal(size=300) * np.exp(-0.8 * worse * z[:, at] + 0.5 * z[:, 4])
    learned = calibrate(PastErrors(error, np.zeros(300), z, np.full(300, np.nan)), day=0.0)
    good, bad, dear = learned.difficulty(np.eye(K)[[at, at, 4]] * [[-worse], [worse], [1.0]])
    assert bad >= good
    assert dear > 1.1 * good  # what may have either sign keeps the sign it has


def test_a_car_beyond_all_cars_is_not_beyond_all_difficulty() -> None:
    learned = calibrate(errors(200), day=300.0)
    far, farther = learned.difficulty(np.full((2, K), 1.0) * [[50.0], [5000.0]])
    assert far == farther
    assert np.isfinite(far)


def test_coverage_of_errors_to_come() -> None:
    rng = np.random.default_rng(9)
    z = rng.normal(size=(3000, K))
    error = rng.standard_t(5, 3000) * 0.2 * np.exp(0.3 * z[:, 0])
    past, new = slice(0, 1500), slice(1500, 3000)
    learned = calibrate(
        PastErrors(error[past], np.zeros(1500), z[past], np.full(1500, np.nan)), day=0.0
    )
    for level in (0.5, 0.8, 0.95):
        bounds = [
            learned.interval(learned.offsets(float(d)), level) for d in learned.difficulty(z[new])
        ]
        low, high = np.array(bounds).T
        assert ((low <= error[new]) & (error[new] <= high)).mean() == pytest.approx(level, abs=0.03)


def test_recent_errors_decide() -> None:
    """A market that grew wilder: half of the errors a year old were small."""
    day = np.repeat([0.0, 1000.0], 400)
    rng = np.random.default_rng(2)
    error = rng.normal(size=800) * np.where(day > 0, 0.4, 0.1)
    past = PastErrors(error, np.zeros(800), np.zeros((800, K)), day)

    def width(half_life: float) -> float:
        learned = calibrate(past, day=1000.0, half_life=half_life)
        difficulty = float(learned.difficulty(np.zeros(K))[0])
        low, high = learned.interval(learned.offsets(difficulty), 0.8)
        return high - low

    assert width(30.0) > 1.3 * width(1e6)
    assert width(30.0) == pytest.approx(2 * 1.2816 * 0.4, rel=0.15)


def test_a_bias_of_the_past_moves_the_centre_as_far_as_it_is_known() -> None:
    for n in (20, 450):
        past = errors(n, scale=0.1)
        shifted = PastErrors(past.error + 0.5, past.deviation, past.difficulty * 0.0, past.day)
        learned = calibrate(shifted, day=300.0, half_life=1e9)
        median = learned.quantiles[np.argmin(np.abs(GRID - 0.5))]
        assert learned.centre == pytest.approx(median * n / (n + 50))
        assert learned.centre > 0


def test_the_share_of_the_deviation_is_what_the_past_confirms() -> None:
    rng = np.random.default_rng(3)
    deviation = rng.normal(0, 0.2, 600)
    noise = rng.normal(0, 0.1, 600)
    flat, day = np.zeros((600, K)), np.full(600, np.nan)

    def share(truth: float) -> float:
        return calibrate(PastErrors(truth * deviation + noise, deviation, flat, day), day=0.0).share

    assert share(0.0) < 0.1
    assert share(0.5) == pytest.approx(0.5, abs=0.1)
    assert share(1.0) > 0.85
    assert share(-1.0) == 0.0


def test_no_errors_at_all_are_not_a_fault() -> None:
    assert calibrate(errors(0), day=0.0).n == 0


# The predictive distribution


@pytest.fixture(scope="module")
def learned() -> Calibration:
    return calibrate(errors(500), day=300.0)


def test_extra_variance_adds_up(learned: Calibration) -> None:
    at16, at84 = (int(np.argmin(np.abs(GRID - p))) for p in (0.16, 0.84))
    base = learned.offsets(1.0)
    wide = learned.offsets(1.0, extra=0.09)
    before, after = (base[at84] - base[at16]) / 2, (wide[at84] - wide[at16]) / 2
    assert after**2 == pytest.approx(before**2 + 0.09)
    half = int(np.argmin(np.abs(GRID - 0.5)))
    assert wide[half] == pytest.approx(base[half])


def test_no_extra_variance_changes_nothing(learned: Calibration) -> None:
    np.testing.assert_allclose(
        learned.offsets(0.7, extra=1e-12), learned.offsets(0.7), rtol=1e-9, atol=1e-12
    )
    assert learned.offsets(0.7, extra=-1.0).tolist() == learned.offsets(0.7).tolist()


@STEADY
@given(difficulty=st.floats(0.01, 5.0), extra=st.floats(0.0, 2.0))
def test_ranges_are_ordered_and_nested(
    learned: Calibration, difficulty: float, extra: float
) -> None:
    offsets = learned.offsets(difficulty, extra=extra)
    assert (np.diff(offsets) >= 0).all()
    bounds = [learned.interval(offsets, level) for level in (0.5, 0.8, 0.95, 0.99)]
    for (low, high), (lower, higher) in pairwise(bounds):
        assert lower <= low <= high <= higher


@STEADY
@given(difficulty=st.floats(0.01, 5.0), extra=st.floats(0.0, 1.0), more=st.floats(0.001, 1.0))
def test_more_doubt_never_narrows(
    learned: Calibration, difficulty: float, extra: float, more: float
) -> None:
    def width(d: float, e: float) -> float:
        low, high = learned.interval(learned.offsets(d, extra=e), 0.8)
        return high - low

    assert width(difficulty, extra + more) >= width(difficulty, extra) - 1e-12
    assert width(difficulty + more, 0.0) >= width(difficulty, 0.0) - 1e-12


# Months ahead


def _revised(
    n: int, rate: float, *, seed: int = 0, deviation: float = 0.0, wild: float = 0.0
) -> Calibration:
    """Calibrate on revisions of a random walk, a share of them ten times as large."""
    rng = np.random.default_rng(seed)
    days = rng.choice([30.0, 60.0, 120.0, 270.0], n)
    moved = rng.normal(0, np.sqrt(rate * days)) * np.where(rng.random(n) < wild, 10.0, 1.0)
    made = Revisions(moved, np.full(n, deviation), days, 300.0 - days)
    return calibrate(replace(errors(200), revisions=made), day=300.0)


@pytest.mark.parametrize("rate", [1e-6, 1e-5, 1e-3])
def test_the_growth_is_that_of_the_walk(rate: float) -> None:
    learned = _revised(4000, rate)
    assert learned.ahead_rate == pytest.approx(rate, rel=0.1)
    assert learned.ahead_from == 30.0


def test_wild_revisions_of_some_cars_decide_little() -> None:
    assert _revised(4000, 1e-5, wild=0.15).ahead_rate < 1.6 * _revised(4000, 1e-5).ahead_rate


def test_few_revisions_are_half_believed() -> None:
    few = [_revised(FEW_REVISIONS, 1e-5, seed=s).ahead_rate for s in range(60)]
    assert np.mean(few) == pytest.approx(0.5e-5, rel=0.15)


def test_the_local_deviation_counts_as_far_as_it_is_believed() -> None:
    plain, moved = _revised(500, 1e-9), _revised(500, 1e-9, deviation=0.1)
    assert 0.0 < moved.share < 1.0
    assert moved.ahead_rate > 100 * plain.ahead_rate
    # The median of 0.1 * share over the root of 30 to 270 days.
    least, most = (1.4826 * 0.1 * moved.share / np.sqrt(d) for d in (120.0, 60.0))
    assert least <= np.sqrt(moved.ahead_rate * 530 / 500) <= most + 1e-3


@STEADY
@given(
    rate=st.floats(0, 1e-2),
    start=st.floats(0, 60),
    days=st.lists(st.floats(-50, 400), min_size=2, max_size=9).map(sorted),
)
def test_the_variance_ahead_never_falls(rate: float, start: float, days: list[float]) -> None:
    learned = replace(calibrate(errors(200), day=300.0), ahead_rate=rate, ahead_from=start)
    added = [learned.ahead_variance(d) for d in days]
    assert all(b >= a >= 0.0 for a, b in pairwise(added))
    assert learned.ahead_variance(start) == 0.0
    assert learned.ahead_variance(start + 10) == pytest.approx(10 * rate)


def test_without_revisions_nothing_grows() -> None:
    learned = calibrate(errors(200), day=300.0)
    assert (learned.ahead_rate, learned.ahead_from) == (0.0, 0.0)
    assert learned.ahead_variance(500.0) == 0.0


def test_revisions_known_before_a_day() -> None:
    made = Revisions(np.arange(3.0), np.zeros(3), np.full(3, 30.0), np.array([10.0, 20.0, 30.0]))
    past = replace(errors(4, day=np.array([10.0, 20.0, 30.0, 40.0])), revisions=made)
    assert past.until(25.0).revisions.fitted.tolist() == [0.0, 1.0]
    both = Revisions.joined([made, Revisions(), made])
    assert len(both) == 6
    assert both.day.tolist() == [10.0, 20.0, 30.0] * 2
    assert len(Revisions.joined([])) == 0

"""The interval score and clustered coverage."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from valuation.scoring.checks import ScoreInputError, ScoreUndefinedError
from valuation.scoring.intervals import coverage_interval, interval_score

NAN = float("nan")


def test_score_in_money_by_hand() -> None:
    score = interval_score([100, 80, 130], [90] * 3, [120] * 3, level=0.8, scale="money")
    assert score == pytest.approx([30, 30 + 10 * 10, 30 + 10 * 10])


def test_score_on_the_log_scale_by_hand() -> None:
    score = interval_score([100, 40], [50, 50], [200, 200], level=0.9)
    assert score == pytest.approx([np.log(4), np.log(4) + 20 * np.log(50 / 40)])


def test_true_quantiles_score_best() -> None:
    draws = np.random.default_rng(7).standard_normal(20_000)
    true = float(stats.norm.ppf(0.9))

    def mean(low: float, high: float) -> float:
        bounds = np.exp(np.full(draws.size, low)), np.exp(np.full(draws.size, high))
        return float(interval_score(np.exp(draws), *bounds).mean())

    best = mean(-true, true)
    others = [mean(-true * f, true * f) for f in (0.7, 0.85, 1.15, 1.4)]
    assert best < min([*others, mean(-true + 0.3, true + 0.3)])


@given(st.floats(min_value=0.01, max_value=1000.0))
def test_log_score_knows_no_currency(k: float) -> None:
    price, low, high = np.array([80.0, 100.0, 150.0]), np.full(3, 90.0), np.full(3, 120.0)
    here, there = interval_score(price, low, high), interval_score(k * price, k * low, k * high)
    assert there == pytest.approx(here, abs=1e-9)
    money = interval_score(k * price, k * low, k * high, scale="money")
    assert money == pytest.approx(k * interval_score(price, low, high, scale="money"))


@pytest.mark.parametrize(
    ("arguments", "options", "message"),
    [
        (
            ([1, 2], [1, NAN], [2, NAN]),
            {},
            "interval score: some cars have no range (got: 1 of 2). Score only the cars that "
            "were given a range and report their share.",
        ),
        (
            ([1], [1], [2]),
            {"scale": "root"},
            "interval score: the scale is unknown (got: root). Use 'log' or 'money'.",
        ),
        (
            ([1], [1], [2]),
            {"level": 80},
            "interval score: a level lies between 0 and 1 (got: 80). Write 80 per cent as 0.8.",
        ),
        (
            ([1], [1, 1], [2, 2]),
            {},
            "interval score: the inputs have different lengths (got: price 1, range 2). "
            "Give one value a car in each.",
        ),
    ],
)
def test_wrong_input(arguments: Any, options: Any, message: str) -> None:
    with pytest.raises(ScoreInputError) as caught:
        interval_score(*arguments, **options)
    assert str(caught.value) == message


def covered(hits: list[int], clusters: list[Any], **options: float) -> Any:
    price = [2.0 if h else 9.0 for h in hits]
    return coverage_interval(price, [1.0] * len(hits), [3.0] * len(hits), clusters, **options)


def test_one_sale_a_cluster_is_the_exact_binomial_interval() -> None:
    hits = [1] * 16 + [0] * 4
    found = covered(hits, list(range(20)))
    exact = stats.binomtest(16, 20).proportion_ci(0.95, method="exact")
    # The cluster variance has the divisor n - 1; the exact interval has none.
    assert found.effective == pytest.approx(19)
    assert found.coverage == 0.8
    assert (found.lower, found.upper) == pytest.approx((exact.low, exact.high), abs=0.01)


def test_months_that_miss_together_widen_the_interval() -> None:
    hits = [1] * 60 + [0] * 20
    mixed = covered(hits, [i % 8 for i in range(80)])
    heaped = covered(hits, [i // 10 for i in range(80)])
    assert heaped.effective < 10 < mixed.effective
    assert heaped.lower < mixed.lower < 0.75 < mixed.upper < heaped.upper


@pytest.mark.parametrize(("hit", "edge"), [(1, 1.0), (0, 0.0)])
def test_all_or_none_covered_still_has_an_interval(hit: int, edge: float) -> None:
    found = covered([hit] * 40, [i // 4 for i in range(40)])
    assert found.coverage == edge
    assert 0.0 <= found.lower < found.upper <= 1.0
    assert edge in (found.lower, found.upper)
    assert found.upper - found.lower > 0.05


def test_counts_and_overlap() -> None:
    found = covered([1, 1, 1, 0] * 5, ["May", "May", "June", "June"] * 5)
    assert (found.ranges, found.clusters) == (20, 2)
    assert found.overlaps(0.78, 0.82)
    assert not found.overlaps(found.upper + 0.001, 1.0)
    assert not found.overlaps(0.0, found.lower - 0.001)


def test_higher_confidence_is_wider() -> None:
    hits, months = [1, 1, 1, 0] * 10, [i // 5 for i in range(40)]
    narrow, wide = covered(hits, months, confidence=0.8), covered(hits, months, confidence=0.99)
    assert wide.lower < narrow.lower < narrow.upper < wide.upper


def test_interval_holds_the_truth_as_often_as_it_says() -> None:
    rng, held = np.random.default_rng(11), 0
    months = np.repeat(np.arange(12), 25)
    for _ in range(300):
        by_month = rng.beta(8.0, 2.0, size=12)  # coverage of 0.8 that swings from month to month
        hits = rng.random(months.size) < by_month[months]
        found = covered(hits.astype(int).tolist(), months.tolist())
        held += found.lower <= 0.8 <= found.upper
    assert held / 300 >= 0.93


def test_one_month_cannot_tell() -> None:
    with pytest.raises(ScoreUndefinedError) as caught:
        covered([1, 0, 1], ["May"] * 3)
    assert str(caught.value) == (
        "coverage interval: how far clusters differ can't be seen from fewer than two (got: 1). "
        "Test over more months or report the coverage without an interval."
    )


def test_clusters_must_fit() -> None:
    with pytest.raises(ScoreInputError, match=r"\(got: price 3, cluster 2\)"):
        covered([1, 0, 1], ["May", "June"])


@given(st.lists(st.tuples(st.booleans(), st.integers(0, 5)), min_size=2, max_size=60))
def test_interval_is_sound_whatever_comes(sales: list[tuple[bool, int]]) -> None:
    clusters = [c for _, c in sales]
    if len(set(clusters)) < 2:
        return
    found = covered([int(h) for h, _ in sales], clusters)
    assert 0.0 <= found.lower <= found.coverage <= found.upper <= 1.0
    assert 0.0 < found.effective <= len(sales) + 1e-9

"""Pieces of the peers that can be checked by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from accuracy_splits import stretches
from peer_explainable import level_means
from peer_libraries import as_text
from peer_plain import Neighbours, PlainRegression, neighbour_means
from peer_tuning import Part, absolute, best_of, paced, parts_of, split_of, trees_for_all
from scipy import sparse

from valuation.appraisal.data import MarketData


def part(n: int, m: int) -> Part:
    return Part(pd.DataFrame({"x": np.zeros(n)}), np.zeros(n), pd.DataFrame(), np.ones(m))


def test_the_candidate_with_the_least_error_over_all_stretches_is_chosen() -> None:
    off = {"a": [0.5, 0.5], "b": [0.1, 0.7], "c": [0.0, 2.0]}
    parts = [part(10, 5), part(15, 5)]

    def run(settings: dict[str, str], p: Part) -> tuple[np.ndarray, int]:
        at = 0 if p is parts[0] else 1
        return np.full(5, -off[settings["name"]][at]), 100 * (at + 1)

    chosen = best_of([{"name": n} for n in off], parts, run)
    # 20 sales in all: 100 trees of 10 sales and 200 of 15 are 200 and 267 of 20.
    assert chosen == {"name": "b", "trees": 233}


def test_more_sales_carry_more_trees() -> None:
    assert trees_for_all([80], [80], [part(80, 20)]) == 100
    assert trees_for_all([0], [80], [part(80, 20)]) == 1


def test_absolute_error_has_no_sign() -> None:
    assert absolute(np.array([-1.0, 3.0])) == 2.0


def test_peers_are_tuned_on_known_sales_only(dated_sales: MarketData) -> None:
    known = dated_sales.take(stretches(dated_sales, 0.3, "frozen")[0].known)
    last = known.day.max()
    before, after = split_of(known)
    assert before.day.max() <= after.day.min()
    assert after.day.max() <= last
    parts = parts_of(known)
    assert len(parts) == 3
    for p in parts:
        assert p.test["day"].max() <= last
        assert list(p.train.columns) == list(p.test.columns)
        assert p.train["words"].notna().all()


def test_the_mean_of_a_level_is_drawn_towards_the_mean_of_all() -> None:
    codes, y = np.array([0, 0, 1, -1]), np.array([4.0, 8.0, 1.0, 3.0])
    # The mean of all is 4; two sales weigh as much as the ballast of two.
    means = level_means(codes, y, np.array([0, 1, -1, 2]))
    np.testing.assert_allclose(means, [5.0, 3.0, 4 - 1 / 3, 4.0])


def test_neighbours_are_weighted_by_distance() -> None:
    X, Z = sparse.csr_array([[0.0], [1.0], [9.0]]), sparse.csr_array([[0.25]])
    found = neighbour_means(X, np.array([10.0, 20.0, 99.0]), Z, (1, 2))
    near, far = 1 / 0.251, 1 / 0.751
    assert found[1][0] == pytest.approx(10.0)
    assert found[2][0] == pytest.approx((10 * near + 20 * far) / (near + far))


def test_no_more_neighbours_than_sales_are_asked_for() -> None:
    X = sparse.csr_array([[1.0], [1.0]])
    assert neighbour_means(X, np.array([1.0, 3.0]), X, (12,))[12][0] == pytest.approx(2.0)


def test_categories_become_words() -> None:
    frame = pd.DataFrame({"n": [1.0, 2.0], "c": pd.Categorical(["red", None])})
    shown, names = as_text(frame)
    assert names == ["c"]
    assert shown["c"].tolist() == ["red", "not stated"]
    assert shown["n"].tolist() == [1.0, 2.0]


@pytest.mark.parametrize("peer", [PlainRegression(), Neighbours()], ids=["regression", "near"])
def test_plain_peers_beat_a_guess(dated_sales: MarketData, peer: PlainRegression) -> None:
    (only,) = stretches(dated_sales, 0.3, "frozen")
    known, priced = dated_sales.take(only.known), dated_sales.take(only.priced)
    said = peer.forecast(known, peer.choose(known), priced.table)
    guess = absolute(priced.log_price - np.median(known.log_price))
    assert absolute(priced.log_price - said) < 0.8 * guess
    np.testing.assert_array_equal(said, peer.forecast(known, peer.choose(known), priced.table))


@pytest.mark.parametrize(("n", "rate"), [(10_000, 0.03), (10_001, 0.06)])
def test_long_lists_are_learned_faster(n: int, rate: float) -> None:
    assert paced([{"depth": 6}], n, 0.03, 0.06) == [{"depth": 6, "learning_rate": rate}]

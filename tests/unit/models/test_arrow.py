"""The arrow-shaped solver, against the dense computation."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import sparse

from valuation.models.arrow import ArrowFactors, ArrowSystem

Arrow = Any  # the fixture's type; a conftest can't be imported


def solved(arrow: Arrow, **options: bool) -> ArrowFactors:
    k = arrow.cut
    return arrow.system().solve(arrow.penalty[:k], arrow.penalty[k:], **options)


def test_solution(arrow: Arrow) -> None:
    factors = solved(arrow)
    found = np.concatenate([factors.common, factors.local])
    np.testing.assert_allclose(found, arrow.solution, rtol=1e-8, atol=1e-10)


def test_diagonal_of_the_inverse(arrow: Arrow) -> None:
    factors = solved(arrow)
    found = np.concatenate([factors.diag_common, factors.diag_local])
    np.testing.assert_allclose(found, np.diag(arrow.inverse), rtol=1e-8)
    k = arrow.cut
    # The border is kept in the solver's own order, the hub first.
    shown = arrow.system().posterior(factors).border
    np.testing.assert_allclose(shown, arrow.inverse[:k, :k], rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(
        np.sort(np.linalg.eigvalsh(factors.border)),
        np.sort(np.linalg.eigvalsh(arrow.inverse[:k, :k])),
        rtol=1e-8,
    )


def test_solution_without_the_inverse(arrow: Arrow) -> None:
    factors = solved(arrow, inverse=False)
    found = np.concatenate([factors.common, factors.local])
    np.testing.assert_allclose(found, arrow.solution, rtol=1e-8, atol=1e-10)
    assert factors.border.size == factors.diag_common.size == factors.diag_local.size == 0


def test_leverage(arrow: Arrow) -> None:
    X = arrow.dense
    hat = ((X @ arrow.inverse) * X).sum(1) * arrow.weights
    found = arrow.system().leverage(solved(arrow), arrow.weights)
    np.testing.assert_allclose(found, hat, rtol=1e-8, atol=1e-12)


def test_covariance_of_one_group(arrow: Arrow) -> None:
    """Kept in single precision, so to six figures."""
    k, inverse = arrow.cut, arrow.inverse
    posterior = arrow.system().posterior(solved(arrow))
    common = np.arange(k, dtype=np.intp)[::-1]
    for group in np.unique(arrow.group[arrow.group >= 0]):
        local = np.flatnonzero(arrow.owner == group)
        found = posterior.covariance(int(group), common, local)
        at = np.concatenate([common, k + local])
        scale = np.abs(inverse).max()
        np.testing.assert_allclose(found, inverse[np.ix_(at, at)], atol=2e-6 * scale)


def test_covariance_without_a_group(arrow: Arrow) -> None:
    k = arrow.cut
    posterior = arrow.system().posterior(solved(arrow))
    common = np.arange(k, dtype=np.intp)
    found = posterior.covariance(-1, common, np.zeros(0, dtype=np.intp))
    np.testing.assert_allclose(
        found, arrow.inverse[:k, :k], atol=2e-6 * np.abs(arrow.inverse).max()
    )


def test_the_covariance_times_vectors_over_all_groups(arrow: Arrow) -> None:
    k, inverse = arrow.cut, arrow.inverse
    posterior = arrow.system().posterior(solved(arrow))
    vectors = np.random.default_rng(3).normal(size=(len(inverse), 3))
    vectors[:, 2] *= np.arange(len(inverse)) < k + 1  # hardly a local column
    common, local = posterior.times_all(vectors[:k], vectors[k:])
    found = np.concatenate([common, local])
    scale = np.abs(inverse).max() * len(inverse)
    np.testing.assert_allclose(found, inverse @ vectors, atol=4e-6 * scale)


def test_a_group_without_rows_is_held_by_its_penalty_alone() -> None:
    system = ArrowSystem(
        sparse.csr_array(np.tile([1.0, 0.0, 0.0], (3, 1))),
        np.array([-1, 4, 9]),
        np.array([-1, -1, 4]),
    )
    system.weigh(np.ones(3), np.array([1.0, 2.0, 3.0]))
    factors = system.solve(np.zeros(1), np.array([2.0, 5.0]))
    assert factors.common.tolist() == pytest.approx([2.0])
    assert factors.local.tolist() == [0.0, 0.0]
    assert factors.diag_local.tolist() == pytest.approx([0.5, 0.2])
    posterior = system.posterior(factors)
    local = np.array([1], dtype=np.intp)
    V = posterior.covariance(9, np.zeros(0, dtype=np.intp), local)
    assert V.tolist() == [[pytest.approx(0.2)]]


def test_two_equal_free_columns_are_refused() -> None:
    system = ArrowSystem(sparse.csr_array(np.ones((4, 2))), np.full(2, -1), np.full(4, -1))
    system.weigh(np.ones(4), np.arange(4.0))
    with pytest.raises(np.linalg.LinAlgError):
        system.solve(np.zeros(2), np.zeros(0))


def test_weighing_again_forgets_the_first_weights(arrow: Arrow) -> None:
    k, system = arrow.cut, arrow.system()
    system.weigh(np.full(len(arrow.y), 9.0), arrow.y + 1.0)
    system.weigh(arrow.weights, arrow.y)
    found = system.solve(arrow.penalty[:k], arrow.penalty[k:])
    np.testing.assert_allclose(found.common, arrow.solution[:k], rtol=1e-8, atol=1e-10)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(0, 10_000), st.permutations(range(12)))
def test_the_order_of_the_rows_does_not_matter(seed: int, order: list[int]) -> None:
    rng = np.random.default_rng(seed)
    group = rng.integers(0, 3, 12).astype(np.intp)
    common = rng.normal(size=(12, 2))
    local = np.eye(3)[group]
    y = rng.normal(size=12)

    def solve(rows: np.ndarray) -> np.ndarray:
        system = ArrowSystem(
            sparse.csr_array(np.column_stack([common, local])[rows]),
            np.array([-1, -1, 0, 1, 2]),
            group[rows],
        )
        system.weigh(np.ones(12), y[rows])
        factors = system.solve(np.full(2, 0.1), np.full(3, 0.5))
        return np.concatenate([factors.common, factors.local])

    np.testing.assert_allclose(solve(np.array(order)), solve(np.arange(12)), atol=1e-10)

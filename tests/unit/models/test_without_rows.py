"""Rows left out of penalised least squares, where the quick way fails too."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import sparse

from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import Layout
from valuation.models.posterior import Posterior
from valuation.models.without_rows import Problem, without_rows

Floats = NDArray[np.float64]

N = 60
PENALTY = np.array([0.0, 3.0, 0.0, 2.0, 2.0])
MEAN = np.array([0.0, 0.4, 0.0, 0.0, 0.0])
LAYOUT = Layout(
    ("level", "held", "straight", "local"),
    ("free", "assumed", "free", "estimated"),
    np.array([0, 1, 2, 3, 3]),
    np.array([-1, -1, -1, 0, 1]),
    MEAN,
    np.array([np.inf, 0.6, np.inf, np.inf, np.inf]),
)


@pytest.fixture(scope="module")
def problem() -> Problem:
    rng = np.random.default_rng(4)
    X = np.zeros((N, 5))
    X[:, 0], X[:, 1] = 1.0, rng.normal(size=N)
    X[:2, 2] = 1.0, 2.0  # a free column that only two rows touch
    X[np.arange(N), 3 + np.arange(N) % 2] = rng.normal(size=N)
    target = X @ [10.0, 0.5, 0.3, 0.2, -0.1] + 0.1 * rng.normal(size=N)
    return Problem(sparse.csr_array(X), target, rng.uniform(0.5, 1.2, N), PENALTY, MEAN)


@pytest.fixture(scope="module")
def posterior(problem: Problem) -> Posterior:
    model = HedonicRegressor(
        LAYOUT,
        robust_df=None,
        penalties=np.array([0.0, 0.0, 0.0, 2.0]),
        keep_penalties=True,
        max_iter=1,
        scale=np.sqrt(3.0) * 0.6,
    )
    model.fit(problem.X, problem.target, sample_weight=problem.weights)
    return model.posterior_


def dense(problem: Problem, rows: NDArray[np.bool_]) -> Floats:
    X, w = problem.X[rows].toarray(), problem.weights[rows]
    normal = (X.T * w) @ X + np.diag(problem.penalty)
    right = X.T @ (w * problem.target[rows]) + problem.penalty * problem.mean
    return np.linalg.lstsq(normal, right, rcond=None)[0]


def out(*rows: int) -> NDArray[np.bool_]:
    mask = np.zeros(N, dtype=bool)
    mask[list(rows)] = True
    return mask


@pytest.mark.parametrize("rows", [(5,), (0, 5, 6), (0, 1), tuple(range(30))])
def test_the_coefficients_are_those_of_the_other_rows(
    problem: Problem, posterior: Posterior, rows: tuple[int, ...]
) -> None:
    left = without_rows(problem, LAYOUT, posterior, np.zeros(5), out(*rows))
    # Where nothing holds a coefficient least squares of least norm has it at zero, as we do.
    assert left.coef == pytest.approx(dense(problem, ~out(*rows)), abs=1e-9)


def test_a_free_column_no_row_touches_keeps_nothing_of_the_rows_that_did(
    problem: Problem, posterior: Posterior
) -> None:
    learned = np.array([10.0, 0.5, 0.3, 0.2, -0.1])
    left = without_rows(problem, LAYOUT, posterior, learned, out(0, 1))
    assert abs(left.coef[2]) < 1e-15


def test_a_covariance_that_is_spoilt_costs_time_and_nothing_else(
    problem: Problem, posterior: Posterior
) -> None:
    spoilt = replace(posterior, border=-posterior.border)
    left = without_rows(problem, LAYOUT, spoilt, np.ones(5), out(3, 4))
    assert left.coef == pytest.approx(dense(problem, ~out(3, 4)), abs=1e-9)


@pytest.mark.parametrize("sign", [1, -1])
def test_weights_settle_with_the_coefficients(
    problem: Problem, posterior: Posterior, sign: int
) -> None:
    def weigh(residuals: Floats) -> Floats:
        return 5.0 / (4.0 + (residuals / 0.05) ** 2)

    spoilt = replace(posterior, border=sign * posterior.border)
    rows = out(3, 4)
    left = without_rows(problem, LAYOUT, spoilt, np.ones(5), rows, weigh=weigh)
    residuals = problem.target[~rows] - problem.X[~rows] @ left.coef
    assert left.weights == pytest.approx(weigh(residuals), abs=1e-4)
    weights = np.ones(N)
    weights[~rows] = left.weights
    again = replace(problem, weights=weights)
    assert left.coef == pytest.approx(dense(again, ~rows), abs=1e-5)


def test_the_covariance_is_that_of_the_other_rows(problem: Problem, posterior: Posterior) -> None:
    rows = out(7, 8, 12)
    moved = without_rows(problem, LAYOUT, posterior, np.zeros(5), rows).posterior
    X, w = problem.X[~rows].toarray(), problem.weights[~rows]
    expected = np.linalg.inv((X.T * w) @ X + np.diag(problem.penalty))
    for group, own in ((0, 3), (1, 4)):
        at = [0, 1, 2, own]
        found = moved.covariance(group, np.arange(3), posterior.columns[group])
        assert found == pytest.approx(expected[np.ix_(at, at)], rel=1e-4, abs=1e-7)

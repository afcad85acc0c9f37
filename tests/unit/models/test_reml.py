"""Penalties maximise the restricted likelihood, computed densely beside them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import sparse

from valuation.models.arrow import ArrowSystem
from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import Layout
from valuation.models.reml import GONE, Recipe, fit_penalised

TIGHT: dict[str, Any] = {"robust_df": None, "tol": 1e-7, "max_iter": 3000}


def problem(seed: int, *, weak: float) -> tuple[np.ndarray, np.ndarray, Layout]:
    """Draw a level, six columns of clear effects and six of weak ones."""
    rng = np.random.default_rng(seed)
    X = np.column_stack([np.ones(90), rng.normal(size=(90, 12))])
    effects = np.concatenate([rng.normal(0, 0.3, 6), rng.normal(0, weak, 6)])
    y = 10.0 + X[:, 1:] @ effects + rng.normal(0, 0.3, 90)
    layout = Layout(
        ("level", "clear", "weak"),
        ("free", "estimated", "estimated"),
        np.repeat([0, 1, 2], [1, 6, 6]),
        np.full(13, -1),
        np.zeros(13),
        np.full(13, np.inf),
    )
    return X, y, layout


def criterion(X: np.ndarray, y: np.ndarray, penalties: np.ndarray) -> float:
    """Return twice the negative restricted log-likelihood, the noise profiled out."""
    V = np.eye(len(y))
    for lam, columns in zip(penalties, (slice(1, 7), slice(7, 13)), strict=True):
        V += X[:, columns] @ X[:, columns].T / lam
    W, one = np.linalg.inv(V), X[:, :1]
    information = one.T @ W @ one
    P = W - W @ one @ np.linalg.inv(information) @ one.T @ W
    n = len(y) - 1
    _, log_det = np.linalg.slogdet(V)
    return float(n * np.log(y @ P @ y / n) + log_det + np.log(information[0, 0]))


@pytest.mark.parametrize("seed", [0, 1, 2, 5, 6, 7, 9, 14, 19, 23])
def test_no_other_penalty_is_more_likely(seed: int) -> None:
    X, y, layout = problem(seed, weak=0.02)
    model = HedonicRegressor(layout, **TIGHT).fit(X, y)
    found = model.penalties_[1:]
    best = criterion(X, y, found)
    for step in (0.3, 0.8, 0.95, 1.05, 1.25, 3.0):
        for block in (0, 1):
            other = found.copy()
            other[block] *= step
            assert criterion(X, y, other) >= best - 1e-6
    if found[1] == GONE:  # dropped: nothing is to be had from bringing it back
        back = min(criterion(X, y, np.array([found[0], lam])) for lam in np.logspace(0, 6, 40))
        assert back >= best - 0.02


@pytest.mark.parametrize("seed", [5, 6, 9, 23])
def test_a_block_worth_less_than_a_coefficient_or_so_is_kept(seed: int) -> None:
    X, y, layout = problem(seed, weak=0.02)
    model = HedonicRegressor(layout, **TIGHT).fit(X, y)
    assert 0.3 < model.edf_[2] < 1.5
    assert model.penalties_[2] < GONE


def test_effective_degrees_of_freedom_are_a_trace() -> None:
    X, y, layout = problem(3, weak=0.2)
    model = HedonicRegressor(layout, **TIGHT).fit(X, y)
    inverse = np.linalg.inv(X.T @ X + np.diag(model.penalties_[layout.block]))
    share = np.diag(inverse @ X.T @ X)
    np.testing.assert_allclose(model.edf_, np.bincount(layout.block, share), rtol=1e-4)
    assert model.leverage_.sum() == pytest.approx(model.edf_.sum(), rel=1e-4)


def test_scale_counts_what_the_fit_has_spent() -> None:
    X, y, layout = problem(3, weak=0.2)
    model = HedonicRegressor(layout, **TIGHT).fit(X, y)
    spare = len(y) - model.edf_.sum()
    assert model.sigma_**2 == pytest.approx((model.residuals_**2).sum() / spare, rel=1e-5)


def test_idle_blocks_are_found_in_few_steps() -> None:
    X, y, layout = problem(1, weak=0.0)
    model = HedonicRegressor(layout).fit(X, y)
    assert model.n_iter_ < 12
    assert model.penalties_[2] == GONE


def test_the_number_of_solves_is_limited() -> None:
    X, y, layout = problem(1, weak=0.2)
    assert HedonicRegressor(layout, max_iter=3, tol=1e-12).fit(X, y).n_iter_ == 3


def test_a_fit_says_what_it_rests_on() -> None:
    X, y, layout = problem(2, weak=0.2)
    design = sparse.csr_array(X)
    alone = np.full(len(y), -1, dtype=np.intp)
    system = ArrowSystem(design, layout.owner, alone)
    fit = fit_penalised(system, design, y, layout, Recipe(), freq=np.ones(len(y)))
    np.testing.assert_allclose(fit.residuals, y - X @ fit.coef, atol=1e-10)
    assert fit.target.tolist() == y.tolist()
    assert fit.iterations <= Recipe().max_iter
    assert fit.factors.border.shape == (13, 13)


def test_a_block_is_given_its_least_spread_and_never_dropped() -> None:
    X, y, layout = problem(1, weak=0.0)
    free = HedonicRegressor(layout, **TIGHT).fit(X, y)
    bound = replace(layout, least=np.array([0.0, 0.0, 0.05]))
    model = HedonicRegressor(bound, **TIGHT).fit(X, y)
    assert free.penalties_[2] == GONE
    assert model.sigma_ / np.sqrt(model.penalties_[2]) == pytest.approx(0.05, rel=0.01)
    assert model.penalties_[1] == pytest.approx(free.penalties_[1], rel=0.1)


def test_a_least_spread_is_idle_where_the_estimate_is_wider() -> None:
    X, y, layout = problem(5, weak=0.3)
    bound = replace(layout, least=np.array([0.0, 0.01, 0.01]))
    one, other = (HedonicRegressor(x, **TIGHT).fit(X, y) for x in (layout, bound))
    np.testing.assert_allclose(other.coef_, one.coef_, rtol=1e-6)

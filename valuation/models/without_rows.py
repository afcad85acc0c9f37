"""A penalised fit without some of its rows, penalties and weights kept.

Leaving out a block of rows moves the covariance by ``V X' W^1/2 (I - H)^-1 W^1/2 X V``, H the hat
matrix of the block (Cook and Weisberg 1982, section 2.2, for a penalised fit).  A model keeps its
covariance in single precision and as the last solve but one left it, which is too rough for
coefficients.  It is fine enough to solve the normal equations of the rows that are left by
preconditioned conjugate gradients, to the last digits and in less time than by factors (Golub and
Van Loan 2013, section 11.5).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.models.arrow import ArrowSystem
from valuation.models.layout import Layout
from valuation.models.posterior import Posterior
from valuation.models.rough_inverse import LocalBlocks, RoughInverse

__all__ = ["Left", "Problem", "without_rows"]

Floats = NDArray[np.float64]

_NEAR = 1e-11
"""How far fitted values may be from the solution, root of the sum of weighted squares."""

_STEPS = 200
"""Steps after which the normal equations are solved by factors."""

_SETTLED = 1e-6
"""Movement of every fitted value at which weights have settled."""

_ROUNDS = 30
"""Most solves until then."""

_ENOUGH = 0.05
"""Share of the way that a round may leave, as the weights move again before the next."""

_MOST_LEVERAGE = 0.9999
"""Rows that alone hold a coefficient take no more than this: nothing else would hold it."""


@dataclass(frozen=True)
class Problem:
    """Penalised least squares with weights and penalties given.

    Parameters
    ----------
    X : scipy.sparse.csr_array, shape (n, n_columns)
        Design.
    target, weights : ndarray, shape (n,)
        Response and weight of each row.
    penalty, mean : ndarray, shape (n_columns,)
        Penalty of each column and what it shrinks towards.
    """

    X: sparse.csr_array
    target: Floats
    weights: Floats
    penalty: Floats
    mean: Floats

    def take(self, rows: NDArray[np.bool_]) -> Problem:
        """Return the problem of some rows.

        A free column that none of them touches is held at zero, as if it were not there.
        """
        X = self.X[rows]
        seen = np.zeros(X.shape[1], dtype=bool)
        seen[X.indices[X.data != 0]] = True
        loose = (self.penalty == 0) & ~seen
        penalty, mean = np.where(loose, 1.0, self.penalty), np.where(loose, 0.0, self.mean)
        return Problem(X, self.target[rows], self.weights[rows], penalty, mean)

    def pull(self, coef: Floats, fitted: Floats) -> Floats:
        """Return where the sum of squares falls fastest, zero at the solution."""
        told = self.X.T @ (self.weights * (self.target - fitted))
        return np.asarray(told + self.penalty * (self.mean - coef))


@dataclass(frozen=True)
class Left:
    """What is left of a fit.

    Parameters
    ----------
    coef : ndarray, shape (n_columns,)
        Coefficients that solve the normal equations of the rows that are left.
    weights : ndarray, shape (n_left,)
        Weights with which they do.
    posterior : Posterior
        Covariance of the coefficients without the noise variance, with the weights as they were.
    more_leverage : ndarray, shape (n_left,)
        What each row that is left gains in leverage.
    """

    coef: Floats
    weights: Floats
    posterior: Posterior
    more_leverage: Floats


def without_rows(
    problem: Problem,
    layout: Layout,
    posterior: Posterior,
    coef: Floats,
    out: NDArray[np.bool_],
    *,
    weigh: Callable[[Floats], Floats] | None = None,
) -> Left:
    """Return a fit without some of its rows.

    Parameters
    ----------
    problem : Problem
        All rows.
    layout : Layout
        How the columns are grouped.
    posterior : Posterior
        Covariance of the fit of all rows.
    coef : ndarray, shape (n_columns,)
        Its coefficients, from which the search starts; they do not change what is found.
    out : ndarray of bool, shape (n,)
        Rows to leave out.
    weigh : callable, optional
        Weights of residuals.  If given, the weights of the rows that are left settle anew with
        the coefficients; else they are kept.
    """
    left = problem.take(~out)
    X, weights = problem.X[out], problem.weights[out]
    spread = _spread(X, weights, layout, posterior)
    blocks = LocalBlocks(left.X, left.weights, left.penalty, layout)
    moved = _moved(posterior, spread, layout, X, weights, blocks)
    more = left.weights * np.asarray((left.X @ spread) ** 2).sum(1)
    search = _Search(left, layout, RoughInverse(layout, moved, blocks), coef)
    search.solve()
    if weigh is not None:
        search.weigh(weigh)
    return Left(search.coef, search.problem.weights, moved, np.asarray(more))


class _Search:
    """The search for coefficients, by conjugate gradients; by factors if they don't get there."""

    def __init__(self, problem: Problem, layout: Layout, rough: RoughInverse, coef: Floats) -> None:
        self.problem, self.layout, self.coef = problem, layout, coef.copy()
        self.fitted = np.asarray(problem.X @ coef)
        self.rough: RoughInverse | None = rough

    def solve(self) -> None:
        """Solve the normal equations, and check that they are solved."""
        if self.rough is not None:
            self._step(self.rough, _NEAR, 0.0)
            # What is gathered step by step can drift, and rounding can spoil an inverse.
            self.fitted = np.asarray(self.problem.X @ self.coef)
            pull = self.problem.pull(self.coef, self.fitted)
            if 0 <= float(pull @ self.rough.times(pull)) <= (10 * _NEAR) ** 2:
                return
            self.rough = None
        self._by_factors()

    def weigh(self, weigh: Callable[[Floats], Floats]) -> None:
        """Settle weights and coefficients together."""
        for _ in range(_ROUNDS):
            before = self.fitted.copy()
            weights = weigh(self.problem.target - before)
            self.problem = replace(self.problem, weights=weights)
            if self.rough is None:
                self._by_factors()
            else:
                self._step(self.rough, _SETTLED / 10, _ENOUGH)
            if np.abs(self.fitted - before).max() < _SETTLED:
                break

    def _step(self, rough: RoughInverse, near: float, share: float) -> None:
        """Go on until what is left is near, or a share of what there was."""
        X, w, penalty = self.problem.X, self.problem.weights, self.problem.penalty
        pull = self.problem.pull(self.coef, self.fitted)
        step = closer = rough.times(pull)
        far = float(pull @ closer)
        enough = max(near**2, share**2 * far)
        for _ in range(_STEPS):
            if not far > enough:
                break
            seen = X @ step
            bent = X.T @ (w * seen) + penalty * step
            length = far / float(step @ bent)
            self.coef += length * step
            self.fitted += length * seen
            pull -= length * bent
            closer = rough.times(pull)
            before, far = far, float(pull @ closer)
            step = closer + far / before * step

    def _by_factors(self) -> None:
        problem, layout = self.problem, self.layout
        system = ArrowSystem(problem.X, layout.owner, layout.groups(problem.X))
        system.weigh(problem.weights, problem.target - problem.X @ problem.mean)
        common, local = layout.common, layout.local
        found = system.solve(problem.penalty[common], problem.penalty[local], inverse=False)
        self.coef = problem.mean.copy()
        self.coef[common] += found.common
        self.coef[local] += found.local
        self.fitted = np.asarray(problem.X @ self.coef)


def _spread(X: sparse.csr_array, weights: Floats, layout: Layout, posterior: Posterior) -> Floats:
    """Return a root of what leaving rows out adds to the covariance, shape (n_columns, n_out)."""
    columns = X.T.toarray()
    V = np.zeros(columns.shape)
    V[layout.common], V[layout.local] = posterior.times_all(
        columns[layout.common], columns[layout.local]
    )
    root = np.sqrt(weights)
    hat = root[:, None] * (X @ V) * root
    values, vectors = np.linalg.eigh((hat + hat.T) / 2)
    room = 1.0 - np.clip(values, 0.0, _MOST_LEVERAGE)
    return np.asarray(V @ (root[:, None] * vectors / np.sqrt(room)))


def _moved(
    posterior: Posterior,
    spread: Floats,
    layout: Layout,
    X: sparse.csr_array,
    weights: Floats,
    blocks: LocalBlocks,
) -> Posterior:
    """Return the covariance of the fit without the rows."""
    common, local = spread[layout.common], spread[layout.local]
    border = posterior.border + (common @ common.T).astype(np.float32)
    block = {
        group: posterior.block[group] + (local[at] @ local[at].T).astype(np.float32)
        for group, at in posterior.columns.items()
    }
    gain = dict(posterior.gain)
    groups = layout.groups(X)
    rows = sparse.csr_array(sparse.diags_array(np.sqrt(weights)) @ X)
    for group in np.unique(groups[groups >= 0]).tolist():
        part = rows[groups == group].toarray()
        own = part[:, layout.local[posterior.columns[group]]]
        far = part[:, layout.common[posterior.active[group]]]
        old = posterior.gain[group]
        # The rule of Sherman, Morrison and Woodbury, for the block and what it is set against.
        gain[group] = old + (blocks.of(group) @ own.T @ (own @ old - far)).astype(np.float32)
    return replace(posterior, border=border, gain=gain, block=block)

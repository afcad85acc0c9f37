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

__all__ = ["Left", "Problem", "without_rows"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_NEAR = 1e-11
"""How far fitted values may be from the solution, root of the sum of weighted squares."""

_STEPS = 200
"""Steps after which the normal equations are solved by factors."""

_SETTLED = 1e-6
"""Movement of every fitted value at which weights have settled."""

_ROUNDS = 30
"""Most solves until then."""

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

    def pull(self, coef: Floats) -> Floats:
        """Return where the sum of squares falls fastest, zero at the solution."""
        residuals = self.target - self.X @ coef
        return np.asarray(self.X.T @ (self.weights * residuals) + self.penalty * (self.mean - coef))

    def times(self, step: Floats) -> Floats:
        """Multiply the normal matrix by a vector."""
        return np.asarray(self.X.T @ (self.weights * (self.X @ step)) + self.penalty * step)


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
    blocks = _Blocks(left, layout)
    moved = _moved(posterior, spread, layout, X, weights, blocks)
    more = left.weights * np.asarray((left.X @ spread) ** 2).sum(1)
    nearly = _Inverse(layout, moved, blocks)
    coef = _settled(left, layout, nearly, coef, near=_NEAR)
    if weigh is not None:
        left, coef = _weighed(left, layout, nearly, coef, weigh)
    return Left(coef, left.weights, moved, np.asarray(more))


def _weighed(
    problem: Problem,
    layout: Layout,
    nearly: _Inverse,
    coef: Floats,
    weigh: Callable[[Floats], Floats],
) -> tuple[Problem, Floats]:
    """Settle weights and coefficients together."""
    for _ in range(_ROUNDS):
        fitted = problem.X @ coef
        problem = replace(problem, weights=weigh(problem.target - fitted))
        coef = _settled(problem, layout, nearly, coef, near=_SETTLED / 10)
        if np.abs(problem.X @ coef - fitted).max() < _SETTLED:
            break
    return problem, coef


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


class _Blocks:
    """Inverses of the blocks of local columns of the normal matrix, one a group."""

    def __init__(self, problem: Problem, layout: Layout) -> None:
        local = layout.local
        X = sparse.csr_array(problem.X[:, local])
        weighted = sparse.csr_array(sparse.diags_array(problem.weights) @ X)
        normal = sparse.coo_array(X.T @ weighted)
        self.groups, group = np.unique(layout.owner[local], return_inverse=True)
        order = np.argsort(group, kind="stable")
        self.sizes = np.bincount(group, minlength=len(self.groups))
        starts = np.repeat(np.cumsum(self.sizes) - self.sizes, self.sizes)
        self.within = np.zeros(len(local), dtype=np.intp)
        self.within[order] = np.arange(len(local)) - starts
        self.group = group
        most = int(self.sizes.max(initial=0))
        # Short blocks are filled up with ones on the diagonal, which are their own inverse.
        full = np.tile(np.eye(most), (len(self.groups), 1, 1))
        full[group, self.within, self.within] = problem.penalty[local]
        row, col = normal.coords
        np.add.at(full, (group[row], self.within[row], self.within[col]), normal.data)
        self.inverse = np.linalg.inv(full)

    def of(self, group: int) -> Floats:
        """Return the inverse of the block of a group, columns ascending."""
        at = int(np.searchsorted(self.groups, group))
        n = int(self.sizes[at])
        return np.asarray(self.inverse[at, :n, :n])

    def times(self, x: Floats) -> Floats:
        """Multiply the inverses of all blocks by a vector."""
        full = np.zeros(self.inverse.shape[:2])
        full[self.group, self.within] = x
        out = (self.inverse @ full[:, :, None])[:, :, 0]
        return np.asarray(out[self.group, self.within])


def _moved(
    posterior: Posterior,
    spread: Floats,
    layout: Layout,
    X: sparse.csr_array,
    weights: Floats,
    blocks: _Blocks,
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


def _settled(
    problem: Problem, layout: Layout, nearly: _Inverse, start: Floats, *, near: float
) -> Floats:
    """Solve the normal equations by conjugate gradients, by factors if they don't get there."""
    coef, pull = start.copy(), problem.pull(start)
    step = closer = nearly.times(pull)
    far = float(pull @ closer)
    for _ in range(_STEPS):
        if not far > near**2:
            break
        bent = problem.times(step)
        length = far / float(step @ bent)
        coef += length * step
        pull -= length * bent
        closer = nearly.times(pull)
        before, far = far, float(pull @ closer)
        step = closer + far / before * step
    # What was gathered step by step can drift from the truth, and rounding can spoil an inverse.
    pull = problem.pull(coef)
    if 0 <= float(pull @ nearly.times(pull)) <= (10 * near) ** 2:
        return coef
    return _by_factors(problem, layout)


def _by_factors(problem: Problem, layout: Layout) -> Floats:
    system = ArrowSystem(problem.X, layout.owner, layout.groups(problem.X))
    system.weigh(problem.weights, problem.target - problem.X @ problem.mean)
    common, local = layout.common, layout.local
    found = system.solve(problem.penalty[common], problem.penalty[local], inverse=False)
    coef = problem.mean.copy()
    coef[common] += found.common
    coef[local] += found.local
    return coef


class _Inverse:
    """The inverse of the normal matrix, nearly: what the covariance and the blocks say it is."""

    def __init__(self, layout: Layout, posterior: Posterior, blocks: _Blocks) -> None:
        self.common, self.local = layout.common, layout.local
        self.border = posterior.border.astype(np.float64)
        self.gain = _gains(posterior, len(self.local), len(self.common))
        self.blocks = blocks

    def times(self, x: Floats) -> Floats:
        """Multiply by a vector."""
        near = x[self.local]
        far = self.border @ (x[self.common] - self.gain.T @ near)
        out = np.empty(len(x))
        out[self.common], out[self.local] = far, self.blocks.times(near) - self.gain @ far
        return out


def _gains(posterior: Posterior, n_local: int, n_common: int) -> sparse.csr_array:
    """Return what each local column takes of each common one, as one matrix."""
    none: list[Ints] = [np.zeros(0, dtype=np.intp)]
    row, col, val = none.copy(), none.copy(), [np.zeros(0, dtype=np.float32)]
    for group, at in posterior.columns.items():
        active = posterior.active[group]
        row.append(np.repeat(at, len(active)))
        col.append(np.tile(active, len(at)))
        val.append(posterior.gain[group].ravel())
    cells = (np.concatenate(val).astype(np.float64), (np.concatenate(row), np.concatenate(col)))
    return sparse.coo_array(cells, shape=(n_local, n_common)).tocsr()

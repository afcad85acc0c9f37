"""Penalised least squares with an arrow-shaped system, solved exactly.

Every column is either *common* or *local* to one group of rows (a model line).  Local columns of
different groups never meet, so the normal equations are block-diagonal with a border::

    [ A_1            B_1 ]
    [      A_2       B_2 ]
    [           ...      ]
    [ B_1' B_2' ...   C  ]

Each block is eliminated exactly (a Schur complement), the border is factorised once, and the
diagonal of the inverse, leverages and variances come out of the same factors without
approximation (Golub and Van Loan 2013, section 4.3; Bates and others 2015 for the same idea in
mixed models).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_solve, lapack, solve_triangular

__all__ = ["ArrowFactors", "ArrowSystem", "Posterior"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class _Group:
    """Rows of one group with their local columns and the common columns they touch, dense."""

    rows: Ints
    columns: Ints
    active: Ints
    local: Floats
    common: Floats


@dataclass
class _Cross:
    """Weighted cross products of one group."""

    A: Floats
    B: Floats
    a: Floats


@dataclass(frozen=True)
class ArrowFactors:
    """Solution of one penalised problem and the factors it rests on.

    Attributes
    ----------
    common, local : ndarray
        Coefficients.
    diag_common, diag_local : ndarray
        Diagonal of the inverse of the penalised normal matrix (empty if not asked for).
    border_inverse : ndarray, shape (n_common, n_common)
        The common block of that inverse (empty if not asked for).
    lower : list of ndarray or None
        Cholesky factor of each group's penalised block.
    reach : list of ndarray or None
        ``L^-1 B`` of each group.
    """

    common: Floats
    local: Floats
    diag_common: Floats
    diag_local: Floats
    border_inverse: Floats
    lower: list[Floats | None]
    reach: list[Floats | None]


@dataclass(frozen=True)
class Posterior:
    """Covariance of the coefficients, without the noise variance.

    Kept in single precision: it only feeds intervals, and it is the largest part of a model.

    Attributes
    ----------
    border : ndarray, shape (n_common, n_common)
        Covariance of the common coefficients.
    active : dict of int to ndarray
        For each group, the common columns that its rows touch.
    gain : dict of int to ndarray
        For each group ``A^-1 B``, shape (n_local, n_active).
    block : dict of int to ndarray
        For each group the covariance of its local coefficients.
    columns : dict of int to ndarray
        For each group the positions of its local columns.
    """

    border: NDArray[np.float32]
    active: dict[int, Ints] = field(default_factory=dict)
    gain: dict[int, NDArray[np.float32]] = field(default_factory=dict)
    block: dict[int, NDArray[np.float32]] = field(default_factory=dict)
    columns: dict[int, Ints] = field(default_factory=dict)

    def covariance(self, group: int, common: Ints, local: Ints) -> Floats:
        """Return the joint covariance of some common and some local columns of one group.

        Parameters
        ----------
        group : int
            Group whose local columns are meant; -1 for none.
        common, local : ndarray of int
            Positions of the columns.

        Returns
        -------
        ndarray, shape (n, n)
            Covariance, common columns first, without the noise variance.
        """
        k, m = len(common), len(local)
        out = np.zeros((k + m, k + m))
        out[:k, :k] = self.border[np.ix_(common, common)]
        if m and group in self.block:
            at = np.searchsorted(self.columns[group], local)
            out[k:, k:] = self.block[group][np.ix_(at, at)]
            cross = -self.gain[group][at] @ self.border[np.ix_(self.active[group], common)]
            out[k:, :k] = cross
            out[:k, k:] = cross.T
        return out


class ArrowSystem:
    """The design of an arrow-shaped problem, grouped once, weighed and solved many times.

    Parameters
    ----------
    common : scipy.sparse.csr_array, shape (n, n_common)
        Common columns.
    local : scipy.sparse.csr_array, shape (n, n_local)
        Local columns.
    owner : ndarray of int, shape (n_local,)
        Group to which each local column belongs.
    group : ndarray of int, shape (n,)
        Group of each row; -1 for a row without local columns.
    """

    def __init__(self, common: Any, local: Any, owner: Ints, group: Ints) -> None:
        self.n, self.n_common = common.shape
        self.n_local = local.shape[1]
        self._common, self._local = common, local
        # A group whose rows are all gone keeps its columns: their penalty alone holds them.
        self.labels = np.union1d(group, owner)
        by_row = np.argsort(group, kind="stable")
        by_column = np.argsort(owner, kind="stable")
        rows = np.searchsorted(group[by_row], np.append(self.labels, np.iinfo(np.intp).max))
        left = np.searchsorted(owner[by_column], self.labels, side="left")
        right = np.searchsorted(owner[by_column], self.labels, side="right")
        self._groups = [
            self._cut(by_row[rows[i] : rows[i + 1]], np.sort(by_column[left[i] : right[i]]))
            for i in range(len(self.labels))
        ]
        self._cross: list[_Cross] = []
        self._C = np.zeros((0, 0))
        self._c = np.zeros(0)

    def _cut(self, rows: Ints, columns: Ints) -> _Group:
        part = self._common[rows]
        active = np.unique(part.indices).astype(np.intp)
        dense = part[:, active].toarray() if len(active) else np.zeros((len(rows), 0))
        local = self._local[rows][:, columns].toarray() if len(columns) else None
        if local is None:
            local = np.zeros((len(rows), 0))
        return _Group(rows, columns, active, local, dense)

    def weigh(self, weights: Floats, y: Floats) -> None:
        """Form the weighted cross products.

        Parameters
        ----------
        weights, y : ndarray, shape (n,)
            Weights (not negative) and the response.
        """
        self._C = np.zeros((self.n_common, self.n_common))
        self._c = np.zeros(self.n_common)
        self._cross = []
        for g in self._groups:
            w, t = weights[g.rows, None], y[g.rows]
            weighted = g.common * w
            self._C[np.ix_(g.active, g.active)] += g.common.T @ weighted
            self._c[g.active] += weighted.T @ t
            local = g.local * w
            self._cross.append(_Cross(g.local.T @ local, local.T @ g.common, local.T @ t))

    def solve(
        self, penalty_common: Floats, penalty_local: Floats, *, inverse: bool = True
    ) -> ArrowFactors:
        """Solve for one set of penalties.

        Parameters
        ----------
        penalty_common, penalty_local : ndarray
            One penalty a column, added to the diagonal.
        inverse : bool
            Whether the diagonal of the inverse and the border's inverse are wanted.

        Returns
        -------
        ArrowFactors
            Coefficients and factors.

        Raises
        ------
        numpy.linalg.LinAlgError
            If unpenalised columns are not of full rank.
        """
        S = self._C.copy()
        S[np.diag_indices(self.n_common)] += penalty_common
        rhs = self._c.copy()
        lower: list[Floats | None] = []
        reach: list[Floats | None] = []
        right: list[Floats] = []
        for g, x in zip(self._groups, self._cross, strict=True):
            if not len(g.columns):
                lower.append(None)
                reach.append(None)
                right.append(np.zeros(0))
                continue
            A = x.A.copy()
            A[np.diag_indices(len(A))] += penalty_local[g.columns]
            L: Floats = np.asarray(np.linalg.cholesky(A), dtype=np.float64)
            U = solve_triangular(L, np.column_stack([x.B, x.a]), lower=True, check_finite=False)
            S[np.ix_(g.active, g.active)] -= U[:, :-1].T @ U[:, :-1]
            rhs[g.active] -= U[:, :-1].T @ U[:, -1]
            lower.append(L)
            reach.append(U[:, :-1])
            right.append(U[:, -1])
        common, border = _border(S, rhs, inverse=inverse)
        local, diag_local = self._back(common, border, lower, reach, right)
        diag = np.diag(border).copy() if inverse else np.zeros(0)
        return ArrowFactors(common, local, diag, diag_local, border, lower, reach)

    def _back(
        self,
        common: Floats,
        border: Floats,
        lower: list[Floats | None],
        reach: list[Floats | None],
        right: list[Floats],
    ) -> tuple[Floats, Floats]:
        local = np.zeros(self.n_local)
        diag = np.zeros(self.n_local if border.size else 0)
        for g, L, U, z in zip(self._groups, lower, reach, right, strict=True):
            if L is None or U is None:
                continue
            local[g.columns] = solve_triangular(
                L, z - U @ common[g.active], lower=True, trans=1, check_finite=False
            )
            if border.size:
                Li = solve_triangular(L, np.eye(len(L)), lower=True, check_finite=False)
                W = Li.T @ U
                inner = W @ border[np.ix_(g.active, g.active)]
                diag[g.columns] = (Li**2).sum(0) + (inner * W).sum(1)
        return local, diag

    def leverage(self, factors: ArrowFactors, weights: Floats) -> Floats:
        """Return the diagonal of the hat matrix of the weighted problem, shape (n,)."""
        h = np.zeros(self.n)
        for g, L, U in zip(self._groups, factors.lower, factors.reach, strict=True):
            M = g.common
            if L is not None and U is not None:
                q = solve_triangular(L, g.local.T, lower=True, check_finite=False)
                h[g.rows] = (q**2).sum(0)
                M = M - q.T @ U
            S = factors.border_inverse[np.ix_(g.active, g.active)]
            h[g.rows] += ((M @ S) * M).sum(1)
        return h * weights

    def posterior(self, factors: ArrowFactors) -> Posterior:
        """Return the covariance of the coefficients, ready for questions about one group."""
        out = Posterior(factors.border_inverse.astype(np.float32))
        for label, g, L, U in zip(
            self.labels.tolist(), self._groups, factors.lower, factors.reach, strict=True
        ):
            if L is None or U is None:
                continue
            Li = solve_triangular(L, np.eye(len(L)), lower=True, check_finite=False)
            W = Li.T @ U
            out.active[label] = g.active
            out.columns[label] = g.columns
            out.gain[label] = W.astype(np.float32)
            S = factors.border_inverse[np.ix_(g.active, g.active)]
            out.block[label] = (Li.T @ Li + W @ S @ W.T).astype(np.float32)
        return out


def _border(S: Floats, rhs: Floats, *, inverse: bool) -> tuple[Floats, Floats]:
    """Solve the border system and, if wanted, invert it."""
    factor = np.linalg.cholesky(S)
    beta = cho_solve((factor, True), rhs, check_finite=False)
    if not inverse:
        return beta, np.zeros((0, 0))
    lower, info = lapack.dpotri(factor, lower=1)
    if info != 0:
        raise np.linalg.LinAlgError("the border of the normal equations can't be inverted")
    full = np.tril(lower)
    full += np.tril(lower, -1).T
    return beta, full

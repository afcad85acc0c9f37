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

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import cho_solve, lapack

from valuation.models.cut import CutDesign, Piece, cut_design
from valuation.models.posterior import Posterior

__all__ = ["ArrowFactors", "ArrowSystem"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_ROWS = 4096
"""Rows made dense at a time: more don't fit the cache and cost memory."""


@dataclass(frozen=True)
class ArrowFactors:
    """Solution of one penalised problem and the factors it rests on.

    Leverages and the posterior want the cross products too: they belong to the last weights.

    Attributes
    ----------
    common, local : ndarray
        Coefficients.
    diag_common, diag_local : ndarray
        Diagonal of the inverse of the penalised normal matrix (empty if not asked for).
    border : ndarray, shape (n_common, n_common)
        The common block of that inverse, the border reordered (empty if not asked for).
    blocks : list of ndarray
        Inverse of each group's penalised block.
    """

    common: Floats
    local: Floats
    diag_common: Floats
    diag_local: Floats
    border: Floats
    blocks: list[Floats]


class ArrowSystem:
    """The design of an arrow-shaped problem, cut once, weighed and solved many times.

    Parameters
    ----------
    X : scipy.sparse.csr_array, shape (n, n_columns)
        Design.
    owner : ndarray of int, shape (n_columns,)
        Group that owns a local column, -1 for a common one.
    group : ndarray of int, shape (n,)
        Group of each row; -1 for a row without local columns.
    """

    def __init__(self, X: sparse.csr_array, owner: Ints, group: Ints) -> None:
        self.n = X.shape[0]
        self.n_local = int((owner >= 0).sum())
        self.n_common = len(owner) - self.n_local
        self._cut: CutDesign = cut_design(X, owner, group)
        self._blocks: list[Floats] = []
        self._rare: list[Floats] = []
        self._hub = np.zeros((self.n_local, self._cut.hub))
        self._right = np.zeros(self.n_local)
        self._C = np.zeros((self.n_common, self.n_common))
        self._c = np.zeros(self.n_common)

    def weigh(self, weights: Floats, y: Floats) -> None:
        """Form the weighted cross products.

        Parameters
        ----------
        weights, y : ndarray, shape (n,)
            Weights (not negative) and the response.
        """
        root = np.sqrt(weights[self._cut.row_order])
        target = root * y[self._cut.row_order]
        self._C[:] = 0.0
        self._c[:] = 0.0
        self._blocks, self._rare = [], []
        h = self._cut.hub
        for p in self._cut.pieces:
            G, g = self._products(p, root, target)
            b = h + len(p.rare)
            self._C[:h, :h] += G[:h, :h]
            self._C[p.rare, :h] += G[h:b, :h]
            self._C[np.ix_(p.rare, p.rare)] += G[h:b, h:b]
            self._c[:h] += g[:h]
            self._c[p.rare] += g[h:b]
            self._hub[p.columns] = G[b:, :h]
            self._right[p.columns] = g[b:]
            self._rare.append(G[b:, h:b].copy())
            self._blocks.append(G[b:, b:].copy())

    def _products(self, piece: Piece, root: Floats, target: Floats) -> tuple[Floats, Floats]:
        """Return the cross products of the columns of a group, with each other and with y."""
        G, g = np.zeros((0, 0)), np.zeros(0)
        for start in range(piece.rows.start, max(piece.rows.stop, piece.rows.start + 1), _ROWS):
            rows = slice(start, min(start + _ROWS, piece.rows.stop))
            D = self._cut.dense(piece, rows)
            D *= root[rows, None]
            more, right = D.T @ D, D.T @ target[rows]
            G, g = (G + more, g + right) if len(G) else (more, right)
        return G, g

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
        cut, h = self._cut, self._cut.hub
        S, rhs = self._C.copy(), self._c.copy()
        S[np.diag_indices(self.n_common)] += penalty_common[cut.border]
        penalty = penalty_local[cut.local]
        blocks: list[Floats] = []
        stack = _Stack(S[:h, :h])
        for p, A, rare in zip(cut.pieces, self._blocks, self._rare, strict=True):
            inner, root = _invert(A, penalty[p.columns])
            blocks.append(inner)
            if not p.n_columns:
                continue
            V, z = root @ rare, root @ self._right[p.columns]
            U = stack.room(p.n_columns)
            np.matmul(root, self._hub[p.columns], out=U)
            S[p.rare, :h] -= V.T @ U
            S[np.ix_(p.rare, p.rare)] -= V.T @ V
            rhs[:h] -= U.T @ z
            rhs[p.rare] -= V.T @ z
        stack.flush()
        beta, border = _border(S, rhs, inverse=inverse)
        local, diag = self._back(beta, border, blocks)
        common, diag_common = np.zeros(self.n_common), np.zeros(self.n_common if inverse else 0)
        common[cut.border] = beta
        if inverse:
            diag_common[cut.border] = np.diag(border)
        return ArrowFactors(common, local, diag_common, diag, border, blocks)

    def _back(self, beta: Floats, border: Floats, blocks: list[Floats]) -> tuple[Floats, Floats]:
        """Return the local coefficients and the diagonal of their inverse."""
        cut, h = self._cut, self._cut.hub
        local, diag = np.zeros(self.n_local), np.zeros(self.n_local if border.size else 0)
        left = self._right - self._hub @ beta[:h]
        for p, inner, rare in zip(cut.pieces, blocks, self._rare, strict=True):
            at = cut.local[p.columns]
            local[at] = inner @ (left[p.columns] - rare @ beta[p.rare])
            if border.size:
                diag[at] = np.diag(inner) + self._spread(p, inner, rare, border)
        return local, diag

    def _spread(self, p: Piece, inner: Floats, rare: Floats, border: Floats) -> Floats:
        """Return what the uncertainty of the border adds to the variances of a group."""
        W, V = inner @ self._hub[p.columns], inner @ rare
        return _quadratic(W, V, p, border, self._cut.hub)

    def leverage(self, factors: ArrowFactors, weights: Floats) -> Floats:
        """Return the diagonal of the hat matrix of the weighted problem, shape (n,)."""
        cut, h = self._cut, self._cut.hub
        out = np.zeros(self.n)
        for p, inner, rare in zip(cut.pieces, factors.blocks, self._rare, strict=True):
            W, V = inner @ self._hub[p.columns], inner @ rare
            b = h + len(p.rare)
            for start in range(p.rows.start, p.rows.stop, _ROWS):
                rows = slice(start, min(start + _ROWS, p.rows.stop))
                D = cut.dense(p, rows)
                own = D[:, b:]
                near = D[:, :h] - own @ W
                far = D[:, h:b] - own @ V
                out[cut.row_order[rows]] = np.einsum("ij,ij->i", own @ inner, own) + _quadratic(
                    near, far, p, factors.border, h
                )
        return out * weights

    def posterior(self, factors: ArrowFactors) -> Posterior:
        """Return the covariance of the coefficients, ready for questions about one group."""
        cut, h = self._cut, self._cut.hub
        back = np.argsort(cut.border)
        out = Posterior(factors.border.astype(np.float32)[np.ix_(back, back)])
        for p, inner, rare in zip(cut.pieces, factors.blocks, self._rare, strict=True):
            if not p.n_columns:
                continue
            W = np.concatenate([inner @ self._hub[p.columns], inner @ rare], axis=1)
            at = np.concatenate([np.arange(h), p.rare])
            S = factors.border[np.ix_(at, at)]
            order = p.touched[np.argsort(cut.border[p.touched])]
            out.active[p.label] = cut.border[order]
            out.columns[p.label] = cut.local[p.columns]
            out.gain[p.label] = W[:, np.searchsorted(at, order)].astype(np.float32)
            out.block[p.label] = (inner + W @ S @ W.T).astype(np.float32)
        return out


class _Stack:
    """Rows whose cross product is taken from a matrix, many at a time.

    One product of a thousand rows writes to the matrix once; ten of a hundred, ten times.
    """

    def __init__(self, target: Floats) -> None:
        self.target = target
        self.rows = np.empty((1024, len(target)))
        self.filled = 0

    def room(self, n: int) -> Floats:
        """Return space for n more rows."""
        if self.filled + n > len(self.rows):
            self.flush()
            if n > len(self.rows):
                self.rows = np.empty((n, len(self.target)))
        self.filled += n
        return self.rows[self.filled - n : self.filled]

    def flush(self) -> None:
        """Take the cross product of what has gathered from the matrix."""
        part = self.rows[: self.filled]
        self.target -= part.T @ part
        self.filled = 0


def _invert(A: Floats, penalty: Floats) -> tuple[Floats, Floats]:
    """Return the inverse of a penalised block and of its lower Cholesky factor."""
    if not len(A):
        return A, A
    A = A.copy()
    A[np.diag_indices(len(A))] += penalty
    # The transpose of a row-major lower factor is a column-major upper one: no copy is made.
    upper, info = lapack.dtrtri(np.linalg.cholesky(A).T, lower=0, overwrite_c=1)
    if info != 0:
        raise np.linalg.LinAlgError("a block of the normal equations can't be inverted")
    root = upper.T
    return np.asarray(root.T @ root), np.asarray(root)


def _quadratic(W: Floats, V: Floats, p: Piece, border: Floats, hub: int) -> Floats:
    """Return ``x' S x`` for each row x, given in its hub part and its rare part."""
    product = W @ border[:hub, :hub]
    if len(p.rare):
        product += 2.0 * (V @ border[p.rare, :hub])
    out = np.einsum("ij,ij->i", product, W)
    if len(p.rare):
        out += np.einsum("ij,ij->i", V @ border[np.ix_(p.rare, p.rare)], V)
    return np.asarray(out)


def _border(S: Floats, rhs: Floats, *, inverse: bool) -> tuple[Floats, Floats]:
    """Solve the border system and, if wanted, invert it."""
    factor = np.linalg.cholesky(S)
    beta = cho_solve((factor.T, False), rhs, check_finite=False)
    if not inverse:
        return beta, np.zeros((0, 0))
    upper, info = lapack.dpotri(factor.T, lower=0, overwrite_c=1)
    if info != 0:
        raise np.linalg.LinAlgError("the border of the normal equations can't be inverted")
    lower = upper.T
    lower += np.tril(lower, -1).T
    return beta, lower

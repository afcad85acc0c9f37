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
from valuation.running.threads import side_by_side

__all__ = ["ArrowFactors", "ArrowSystem"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_ROWS = 2048
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
        k = len(self._cut.pieces)
        self._halves = [half for half in self._cut.halves() if half]
        self._blocks = [np.zeros((0, 0))] * k
        self._rare = [np.zeros((0, 0))] * k
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
        parts = side_by_side(lambda half: self._weigh(half, root, target), self._halves)
        self._C, self._c = parts[0]
        for C, c in parts[1:]:
            self._C += C
            self._c += c

    def _weigh(self, numbers: list[int], root: Floats, target: Floats) -> tuple[Floats, Floats]:
        """Form the cross products of some groups; return their share of the border."""
        cut, h = self._cut, self._cut.hub
        C, c = np.zeros_like(self._C), np.zeros(self.n_common)
        for span, held in cut.spans(numbers, _ROWS):
            near = cut.dense_near(span) * root[span, None]
            C[:h, :h] += near.T @ near
            c[:h] += near.T @ target[span]
            for i in held:
                p = cut.pieces[i]
                rows = slice(max(p.rows.start, span.start), min(p.rows.stop, span.stop))
                own = cut.dense_own(p, rows) * root[rows, None]
                G = own.T @ own
                across = own.T @ near[rows.start - span.start : rows.stop - span.start]
                right, r = own.T @ target[rows], len(p.rare)
                C[p.rare, :h] += across[:r]
                C[np.ix_(p.rare, p.rare)] += G[:r, :r]
                c[p.rare] += right[:r]
                if rows.start > p.rows.start:
                    self._hub[p.columns] += across[r:]
                    self._right[p.columns] += right[r:]
                    self._rare[i] += G[r:, :r]
                    self._blocks[i] += G[r:, r:]
                else:
                    self._hub[p.columns] = across[r:]
                    self._right[p.columns] = right[r:]
                    self._rare[i], self._blocks[i] = G[r:, :r].copy(), G[r:, r:].copy()
        return C, c

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
        cut = self._cut
        penalty = penalty_local[cut.local]
        blocks = [np.zeros((0, 0))] * len(cut.pieces)
        S, rhs = self._C.copy(), self._c.copy()
        S[np.diag_indices(self.n_common)] += penalty_common[cut.border]
        for less, right in side_by_side(
            lambda half: self._eliminate(half, penalty, blocks), self._halves
        ):
            S -= less
            rhs -= right
        beta, border = _border(S, rhs, inverse=inverse)
        local, diag = self._back(beta, border, blocks)
        common, diag_common = np.zeros(self.n_common), np.zeros(self.n_common if inverse else 0)
        common[cut.border] = beta
        if inverse:
            diag_common[cut.border] = np.diag(border)
        return ArrowFactors(common, local, diag_common, diag, border, blocks)

    def _eliminate(
        self, numbers: list[int], penalty: Floats, blocks: list[Floats]
    ) -> tuple[Floats, Floats]:
        """Eliminate some groups: invert their blocks, return what they take from the border."""
        cut, h = self._cut, self._cut.hub
        S, rhs = np.zeros_like(self._C), np.zeros(self.n_common)
        stack = _Stack(S[:h, :h])
        for i in numbers:
            p, rare = cut.pieces[i], self._rare[i]
            blocks[i], root = _invert(self._blocks[i], penalty[p.columns])
            if not p.n_columns:
                continue
            V, z = root @ rare, root @ self._right[p.columns]
            U = stack.room(p.n_columns)
            np.matmul(root, self._hub[p.columns], out=U)
            S[p.rare, :h] += V.T @ U
            S[np.ix_(p.rare, p.rare)] += V.T @ V
            rhs[:h] += U.T @ z
            rhs[p.rare] += V.T @ z
        stack.flush()
        return S, rhs

    def _back(self, beta: Floats, border: Floats, blocks: list[Floats]) -> tuple[Floats, Floats]:
        """Return the local coefficients and the diagonal of their inverse."""
        cut, h = self._cut, self._cut.hub
        local, diag = np.zeros(self.n_local), np.zeros(self.n_local if border.size else 0)
        left = self._right - self._hub @ beta[:h]

        def some(numbers: list[int]) -> None:
            for i in numbers:
                p, inner = cut.pieces[i], blocks[i]
                at = cut.local[p.columns]
                local[at] = inner @ (left[p.columns] - self._rare[i] @ beta[p.rare])
                if border.size:
                    W, V = inner @ self._hub[p.columns], inner @ self._rare[i]
                    diag[at] = np.diag(inner) + _quadratic(W, V, p, border, h)

        side_by_side(some, self._halves)
        return local, diag

    def leverage(self, factors: ArrowFactors, weights: Floats) -> Floats:
        """Return the diagonal of the hat matrix of the weighted problem, shape (n,)."""
        cut, h = self._cut, self._cut.hub
        out = np.zeros(self.n)

        def some(numbers: list[int]) -> None:
            for span, held in cut.spans(numbers, _ROWS):
                near = cut.dense_near(span)
                for i in held:
                    p, inner = cut.pieces[i], factors.blocks[i]
                    W, V = inner @ self._hub[p.columns], inner @ self._rare[i]
                    rows = slice(max(p.rows.start, span.start), min(p.rows.stop, span.stop))
                    both = cut.dense_own(p, rows)
                    own = both[:, len(p.rare) :]
                    far = both[:, : len(p.rare)] - own @ V
                    close = near[rows.start - span.start : rows.stop - span.start] - own @ W
                    alone = np.einsum("ij,ij->i", own @ inner, own)
                    out[cut.row_order[rows]] = alone + _quadratic(close, far, p, factors.border, h)

        side_by_side(some, self._halves)
        return out * weights

    def posterior(self, factors: ArrowFactors) -> Posterior:
        """Return the covariance of the coefficients, ready for questions about one group."""
        cut, h, S = self._cut, self._cut.hub, factors.border
        back = np.argsort(cut.border)
        out = Posterior(S.astype(np.float32)[np.ix_(back, back)])

        def some(numbers: list[int]) -> list[Floats]:
            blocks = []
            for i in numbers:
                p, inner = cut.pieces[i], factors.blocks[i]
                W, V = inner @ self._hub[p.columns], inner @ self._rare[i]
                near = W @ S[:h, :h] + V @ S[p.rare, :h]
                far = W @ S[p.rare, :h].T + V @ S[np.ix_(p.rare, p.rare)]
                blocks.append(inner + near @ W.T + far @ V.T)
            return blocks

        blocks = [b for half in side_by_side(some, self._halves) for b in half]
        for p, inner, rare, block in zip(
            cut.pieces, factors.blocks, self._rare, blocks, strict=True
        ):
            if not p.n_columns:
                continue
            W = np.concatenate([inner @ self._hub[p.columns], inner @ rare], axis=1)
            at = np.concatenate([np.arange(h), p.rare])
            order = p.touched[np.argsort(cut.border[p.touched])]
            out.active[p.label] = cut.border[order]
            out.columns[p.label] = cut.local[p.columns]
            out.gain[p.label] = W[:, np.searchsorted(at, order)].astype(np.float32)
            out.block[p.label] = block.astype(np.float32)
        return out


class _Stack:
    """Rows whose cross product is added to a matrix, many at a time.

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
        """Add the cross product of what has gathered."""
        part = self.rows[: self.filled]
        self.target += part.T @ part
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
    return beta, _mirrored(upper.T)


def _mirrored(lower: Floats) -> Floats:
    """Fill the upper triangle from the lower one, in place, by blocks that fit the cache."""
    for start in range(0, len(lower), 128):
        stop = start + 128
        block = lower[start:stop, start:stop]
        block[:] = np.tril(block) + np.tril(block, -1).T
        lower[start:stop, stop:] = lower[stop:, start:stop].T
    return lower

"""The inverse of a normal matrix, nearly: quick to apply, and good enough to steer a search."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.models.layout import Layout
from valuation.models.posterior import Posterior

__all__ = ["LocalBlocks", "RoughInverse"]

Floats = NDArray[np.float64]


class LocalBlocks:
    """Inverses of the blocks of local columns of a normal matrix, one a group.

    Parameters
    ----------
    X : scipy.sparse.csr_array, shape (n, n_columns)
        Design.
    weights : ndarray, shape (n,)
        Weights of the rows.
    penalty : ndarray, shape (n_columns,)
        Penalty of each column.
    layout : Layout
        How the columns are grouped.
    """

    def __init__(
        self, X: sparse.csr_array, weights: Floats, penalty: Floats, layout: Layout
    ) -> None:
        local = layout.local
        own = sparse.csr_array(X[:, local])
        weighted = sparse.csr_array(sparse.diags_array(weights) @ own)
        normal = sparse.coo_array(own.T @ weighted)
        self._groups, group = np.unique(layout.owner[local], return_inverse=True)
        order = np.argsort(group, kind="stable")
        self._sizes = np.bincount(group, minlength=len(self._groups))
        starts = np.repeat(np.cumsum(self._sizes) - self._sizes, self._sizes)
        within = np.zeros(len(local), dtype=np.intp)
        within[order] = np.arange(len(local)) - starts
        most = int(self._sizes.max(initial=0))
        # Short blocks are filled up with ones on the diagonal, which are their own inverse.
        full = np.tile(np.eye(most), (len(self._groups), 1, 1))
        full[group, within, within] = penalty[local]
        row, col = normal.coords
        full[group[row], within[row], within[col]] += normal.data
        self._inverse = np.linalg.inv(full)
        self._group, self._within = group, within

    def of(self, group: int) -> Floats:
        """Return the inverse of the block of a group, columns ascending."""
        at = int(np.searchsorted(self._groups, group))
        n = int(self._sizes[at])
        return np.asarray(self._inverse[at, :n, :n])

    def times(self, x: Floats) -> Floats:
        """Multiply the inverses of all blocks by a vector, shape (n_local,)."""
        full = np.zeros(self._inverse.shape[:2])
        full[self._group, self._within] = x
        out = (self._inverse @ full[:, :, None])[:, :, 0]
        return np.asarray(out[self._group, self._within])


class RoughInverse:
    """The inverse of the normal matrix: what a covariance in single precision says it is.

    Parameters
    ----------
    layout : Layout
        How the columns are grouped.
    posterior : Posterior
        Covariance without the noise variance.
    blocks : LocalBlocks
        Of the normal matrix.
    """

    def __init__(self, layout: Layout, posterior: Posterior, blocks: LocalBlocks) -> None:
        self._common, self._local = layout.common, layout.local
        self._posterior, self._blocks = posterior, blocks

    def times(self, x: Floats) -> Floats:
        """Multiply by a vector, shape (n_columns,)."""
        near, p = x[self._local], self._posterior
        # Cast to the precision of the large factors: casting them would take longer than all else.
        short = near.astype(np.float32)
        through = x[self._common].astype(np.float32)
        for group, at in p.columns.items():
            through[p.active[group]] -= short[at] @ p.gain[group]
        far = p.border @ through
        own = self._blocks.times(near)
        for group, at in p.columns.items():
            own[at] -= p.gain[group] @ far[p.active[group]]
        out = np.empty(len(x))
        out[self._common], out[self._local] = far, own
        return out

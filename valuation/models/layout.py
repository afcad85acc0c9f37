"""How the columns of a design are grouped, penalised and owned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["Layout", "Penalty", "plain_layout"]

Penalty = Literal["free", "estimated", "assumed"]
"""How a block is held.

``free``: no penalty.  ``estimated``: one ridge penalty, estimated by REML.  ``assumed``: every
column shrinks towards a stated effect with a stated strength.
"""


@dataclass(frozen=True)
class Layout:
    """The blocks of a design matrix.

    Parameters
    ----------
    names : sequence of str
        Name of each block.
    penalties : sequence of {"free", "estimated", "assumed"}
        How each block is held.
    block : ndarray of int, shape (n_columns,)
        Block of each column.
    owner : ndarray of int, shape (n_columns,)
        Group that owns a local column; -1 for a common one.
    mean, sd : ndarray, shape (n_columns,)
        Centre and standard deviation of assumed columns; 0 and infinity elsewhere.
    least : ndarray, shape (n_blocks,), optional
        Smallest standard deviation that is given to each estimated block; 0 by default.
    """

    names: Sequence[str]
    penalties: Sequence[Penalty]
    block: NDArray[np.intp]
    owner: NDArray[np.intp]
    mean: NDArray[np.float64]
    sd: NDArray[np.float64]
    least: NDArray[np.float64] | None = None

    @property
    def common(self) -> NDArray[np.intp]:
        """Positions of the common columns."""
        return np.flatnonzero(self.owner < 0)

    @property
    def local(self) -> NDArray[np.intp]:
        """Positions of the local columns."""
        return np.flatnonzero(self.owner >= 0)

    def which(self, penalty: Penalty) -> NDArray[np.bool_]:
        """Mark the blocks held in the given way, shape (n_blocks,)."""
        return np.array([p == penalty for p in self.penalties], dtype=bool)

    def groups(self, X: Any) -> NDArray[np.intp]:
        """Return the group of each row of a sparse matrix, -1 where it has no local column.

        Raises
        ------
        ValueError
            If a row touches local columns of two groups.
        """
        part = X[:, self.local].tocsr()
        counts = np.diff(part.indptr)
        group = np.full(X.shape[0], -1, dtype=np.intp)
        if part.nnz:
            owners = self.owner[self.local][part.indices]
            full = counts > 0
            starts = part.indptr[:-1][full]
            low, high = np.minimum.reduceat(owners, starts), np.maximum.reduceat(owners, starts)
            if (low != high).any():
                row = int(np.flatnonzero(full)[np.argmax(low != high)])
                raise ValueError(
                    f"row {row}: local columns of two groups (got: groups {low.max()} and "
                    f"{high.max()}). Give each row local columns of one group only."
                )
            group[full] = low
        return group


def plain_layout(n_features: int, *, penalty: Penalty = "estimated") -> Layout:
    """Return the layout of a matrix with a leading column of ones and one block of features."""
    return Layout(
        ("intercept", "features"),
        ("free", penalty),
        np.append(0, np.ones(n_features, dtype=np.intp)).astype(np.intp),
        np.full(n_features + 1, -1, dtype=np.intp),
        np.zeros(n_features + 1),
        np.full(n_features + 1, np.inf),
    )

"""Covariance of the coefficients of an arrow-shaped fit."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["Posterior"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class Posterior:
    """Covariance of the coefficients, without the noise variance.

    Kept in single precision: it only feeds intervals, and it is the largest part of a model.

    Attributes
    ----------
    border : ndarray, shape (n_common, n_common)
        Covariance of the common coefficients, symmetric to the last bit.
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
        # Whole rows are copied faster than single cells are picked; the border is symmetric.
        rows = self.border.take(common, axis=0)
        out[:k, :k] = rows.take(common, axis=1)
        if m and group in self.block:
            at = np.searchsorted(self.columns[group], local)
            out[k:, k:] = self.block[group][np.ix_(at, at)]
            far = np.ascontiguousarray(rows.take(self.active[group], axis=1).T)
            cross = -self.gain[group][at] @ far
            out[k:, :k] = cross
            out[:k, k:] = cross.T
        return out

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

    def times_all(self, common: Floats, local: Floats) -> tuple[Floats, Floats]:
        """Multiply the covariance by some vectors, local columns of all groups together.

        What is asked of several model lines at once, such as the level of a segment, needs the
        covariance between groups.  Local columns of two groups meet in the border alone, so the
        whole product costs one pass over the groups.

        Parameters
        ----------
        common : ndarray, shape (n_common, k)
            Common part of each vector.
        local : ndarray, shape (n_local, k)
            Local part of each.

        Returns
        -------
        ndarray, shape (n_common, k)
            Common part of the products, without the noise variance.
        ndarray, shape (n_local, k)
            Local part.
        """
        through = np.array(common, dtype=np.float64)
        carried = {}
        for group, at in self.columns.items():
            if local[at].any():
                carried[group] = self.gain[group].T.astype(np.float64) @ local[at]
                through[self.active[group]] -= carried[group]
        far = self.border.astype(np.float64) @ through
        near = np.zeros_like(local, dtype=np.float64)
        for group, at in self.columns.items():
            active, gain = self.active[group], self.gain[group].astype(np.float64)
            near[at] = -gain @ far[active]
            if group in carried:
                inner = self.border[np.ix_(active, active)].astype(np.float64)
                near[at] += self.block[group].astype(np.float64) @ local[at]
                near[at] -= gain @ (inner @ carried[group])
        return far, near

    def times(self, group: int, common: Floats, local: Floats) -> tuple[Floats, Floats]:
        """Return the covariance times a combination of coefficients, in less time than by columns.

        Parameters
        ----------
        group : int
            Group whose local columns are meant; -1 for none.
        common : ndarray, shape (n_common,)
            What the combination has of each common column.
        local : ndarray, shape (n_local of the group,)
            What it has of each local column of the group, in the order of :attr:`columns`.

        Returns
        -------
        ndarray, shape (n_common,)
            Covariance of each common coefficient with the combination, without the noise variance.
        ndarray, shape (n_local of the group,)
            The same of the group's local coefficients.
        """
        through = self._border_times(common)
        if group not in self.block:
            return through, np.zeros(0)
        active, gain = self.active[group], self.gain[group]
        back = np.zeros(len(common))
        back[active] = local @ gain
        own = self.block[group] @ local - gain @ through[active]
        return through - self._border_times(back), np.asarray(own, dtype=np.float64)

    def _border_times(self, common: Floats) -> Floats:
        used = np.flatnonzero(common)
        return np.asarray(common[used] @ self.border.take(used, axis=0), dtype=np.float64)

"""Penalties of blocks by restricted maximum likelihood.

The Fellner-Schall step of Wood and Fasiolo (2017, Biometrics 73, 1071-1081) for one ridge penalty
a block: ``lambda <- sigma^2 * edf / (b'b)``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from valuation.models.layout import Layout

__all__ = ["GONE", "Penalties"]

Floats = NDArray[np.float64]

_LOW = 1e-6

GONE = 1e9
"""Penalty of a block that was dropped."""

_FADED = 0.1
"""A block with fewer effective degrees of freedom, and falling, is dropped."""


_FARTHEST = 100.0
"""Longest stride, in plain steps."""


class Penalties:
    """The penalty of each block and how it moves from solve to solve.

    Parameters
    ----------
    layout : Layout
        Blocks of the columns.
    start : ndarray, shape (n_blocks,), optional
        Penalties to start from; 10 each by default.

    Attributes
    ----------
    values : ndarray, shape (n_blocks,)
        Penalties, 0 for a free block.
    edf : ndarray, shape (n_blocks,)
        Effective degrees of freedom at the last solve.
    """

    def __init__(self, layout: Layout, start: Floats | None) -> None:
        k = len(layout.names)
        self._layout = layout
        self._free = layout.which("free")
        self._assumed = layout.which("assumed")
        self._size = np.bincount(layout.block, minlength=k).astype(np.float64)
        least = np.zeros(k) if layout.least is None else layout.least
        # A block whose spread is estimated at nothing would be dropped and its effects called
        # certain; where effects of some size are the rule, that is false precision.
        self._least = np.where(layout.which("estimated"), least, 0.0)
        self.values = np.full(k, 10.0) if start is None else start.astype(float).copy()
        self.values[self._free] = 0.0
        self.edf = self._size.copy()
        self._gone = np.zeros(k, dtype=bool)
        self._last = np.zeros(k)
        self._stretch = np.ones(k)
        self._taken = np.zeros(k)
        self._falling = np.zeros(k, dtype=bool)

    def by_column(self, sigma2: float) -> Floats:
        """Return the penalty of each column, given the variance of the noise."""
        lam = self.values[self._layout.block]
        held = self._assumed[self._layout.block]
        lam[held] = sigma2 / self._layout.sd[held] ** 2
        return lam

    def count(self, diag: Floats, sigma2: float) -> float:
        """Count the effective degrees of freedom.

        Parameters
        ----------
        diag : ndarray, shape (n_columns,)
            Diagonal of the inverse of the penalised normal matrix.
        sigma2 : float
            Variance of the noise for which it was made.

        Returns
        -------
        float
            Largest movement of a block's edf, in units of the square root of its edf.
        """
        shrink = np.bincount(self._layout.block, self.by_column(sigma2) * diag, len(self.edf))
        edf = np.where(self._free, self._size, np.maximum(self._size - shrink, 0.0))
        moved = np.abs(edf - self.edf) / np.sqrt(np.maximum(edf, 1.0))
        moved[self._gone] = 0.0
        self._falling = edf <= self.edf
        self.edf = edf
        return float(moved.max())

    def move(self, coef: Floats, sigma2: float) -> None:
        """Take one Fellner-Schall step, given the coefficients less their assumed means."""
        squares = np.bincount(self._layout.block, coef**2, len(self.values)).astype(np.float64)
        edf, moving = self.edf, ~(self._free | self._assumed | self._gone)
        target = sigma2 * np.maximum(edf, 1e-8) / np.maximum(squares, 1e-300)
        old = np.where(self.values > 0, self.values, 1.0)
        step = np.log(np.clip(target / old, 1e-12, 1e12))
        bound = self._least > 0
        most = np.where(bound, sigma2 / np.where(bound, self._least, 1.0) ** 2, GONE)
        fresh = np.clip(old * np.exp(self._stride(step)), _LOW, np.minimum(most, GONE))
        self._gone |= moving & ~bound & (edf < _FADED) & self._falling & (step > 0)
        fresh = np.where(self._gone, GONE, fresh)
        self._taken, self._last = np.log(fresh / old), step
        self.values = np.where(moving | self._gone, fresh, self.values)

    def _stride(self, step: Floats) -> Floats:
        """Return how far each log penalty goes, given its plain step.

        Plain steps march at a rate near one: a block on its way out gains a tenth at a time (29
        solves for 30,000 sales, half of them for one block that left).  What the last stride did
        to the step tells where the step would be zero (a secant for each block), to which a
        block may go in one stride, trusted three times as far each time it keeps its direction.
        """
        known = np.abs(self._taken) > 1e-3
        slope = np.where(known, (step - self._last) / np.where(known, self._taken, 1.0), -1.0)
        reach = 1.0 / np.maximum(-slope, 1.0 / _FARTHEST)
        along = step * self._last > 0
        limit = np.where(along, self._stretch * 3.0, 1.0)
        reach = np.where(known, np.clip(reach, 0.4, limit), 1.0)
        self._stretch = np.maximum(reach, 1.0)
        out = along & (self.edf < 1.0) & (step > 0)
        reach = np.where(out, np.maximum(reach, 3.0), reach)
        return np.asarray(np.clip(step * reach, -2.0, 2.0))

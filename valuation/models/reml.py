"""Penalties by restricted maximum likelihood, with heavy-tailed noise and bounds.

The Fellner-Schall step of Wood and Fasiolo (2017, Biometrics 73, 1071-1081) for one ridge penalty
a block: ``lambda <- sigma^2 * edf / (b'b)``.  Noise is Student t by iterated weights (Lange,
Little and Taylor 1989, JASA 84, 881-896); a response that is only a lower bound is replaced by its
expectation (Dempster, Laird and Rubin 1977).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfcx

from valuation.models.arrow import ArrowFactors, ArrowSystem
from valuation.models.layout import Layout

__all__ = ["GONE", "Fit", "Recipe", "fit_penalised"]

Floats = NDArray[np.float64]

_LOW = 1e-6

GONE = 1e9
"""Penalty of a block that was dropped."""

_FADED = 0.1
"""A block with fewer effective degrees of freedom, and falling, is dropped."""


@dataclass(frozen=True)
class Recipe:
    """Settings of a fit.

    Parameters
    ----------
    robust_df : float or None
        Degrees of freedom of the noise; None for normal noise.
    penalties : ndarray or None
        Penalty of each block to start from, or to keep.
    keep_penalties : bool
        Whether `penalties` are kept rather than estimated.
    max_iter : int
        Largest number of solves.
    tol : float
        A block has settled when its effective degrees of freedom move by less than
        ``tol * sqrt(edf)``.
    """

    robust_df: float | None = 4.0
    penalties: Floats | None = None
    keep_penalties: bool = False
    max_iter: int = 60
    tol: float = 0.05


@dataclass
class Fit:
    """A finished fit: coefficients, penalties, scale and weights."""

    coef: Floats
    penalties: Floats
    edf: Floats
    sigma2: float
    weights: Floats
    residuals: Floats
    target: Floats
    factors: ArrowFactors
    iterations: int


class _State:
    """What changes from solve to solve."""

    def __init__(self, layout: Layout, y: Floats, freq: Floats, recipe: Recipe) -> None:
        k = len(layout.names)
        self.free = layout.which("free")
        self.assumed = layout.which("assumed")
        self.size = np.bincount(layout.block, minlength=k).astype(np.float64)
        start = recipe.penalties
        self.penalties = np.full(k, 10.0) if start is None else start.astype(float).copy()
        self.penalties[self.free] = 0.0
        self.gone = np.zeros(k, dtype=bool)
        self.edf = self.size.copy()
        self.step = np.zeros(k)
        self.stretch = np.ones(k)
        total = float(freq.sum())
        centre = float((freq * y).sum() / total)
        self.sigma2 = max(float((freq * (y - centre) ** 2).sum() / total) * 0.25, 1e-12)

    def by_column(self, layout: Layout) -> Floats:
        """Return the penalty of each column."""
        lam = self.penalties[layout.block]
        held = self.assumed[layout.block]
        lam[held] = self.sigma2 / layout.sd[held] ** 2
        return lam

    def update(self, layout: Layout, coef: Floats, diag: Floats, *, keep: bool) -> float:
        """Take one Fellner-Schall step; return the largest movement of a block's edf."""
        k = len(self.penalties)
        shrink = np.bincount(layout.block, self.by_column(layout) * diag, k)
        edf = np.where(self.free, self.size, np.maximum(self.size - shrink, 0.0))
        moved = np.abs(edf - self.edf) / np.sqrt(np.maximum(edf, 1.0))
        moved[self.gone] = 0.0
        if not keep:
            self._step(np.bincount(layout.block, coef**2, k).astype(np.float64), edf)
        self.edf = edf
        return float(moved.max())

    def _step(self, squares: Floats, edf: Floats) -> None:
        moving = ~(self.free | self.assumed | self.gone)
        target = self.sigma2 * np.maximum(edf, 1e-8) / np.maximum(squares, 1e-300)
        old = np.where(self.penalties > 0, self.penalties, 1.0)
        step = np.log(np.clip(target / old, 1e-12, 1e12))
        # The march is linear with a rate near one, so each block stretches its next step for as
        # long as it keeps its direction, and falls back to a plain step when it turns.  A block
        # on its way out marches to infinity and may stride.
        along = step * self.step > 0
        self.stretch = np.where(along, np.minimum(self.stretch * 1.7, 12.0), 1.0)
        out = along & (edf < 1.0) & (step > 0)
        stride = np.where(out, np.maximum(self.stretch, 3.0), self.stretch)
        fresh = np.clip(old * np.exp(np.clip(step * stride, -4.0, 4.0)), _LOW, GONE)
        self.gone |= moving & (edf < _FADED) & (edf <= self.edf) & (step > 0)
        fresh = np.where(self.gone, GONE, fresh)
        self.penalties = np.where(moving | self.gone, fresh, self.penalties)
        self.step = step


def fit_penalised(
    system: ArrowSystem,
    X: Any,
    y: Floats,
    layout: Layout,
    recipe: Recipe,
    *,
    freq: Floats,
    bound: NDArray[np.bool_] | None = None,
) -> Fit:
    """Fit the penalised regression.

    Parameters
    ----------
    system : ArrowSystem
        The design, grouped.
    X : scipy.sparse.csr_array, shape (n, n_columns)
        The same design, columns in the order of `layout`.
    y : ndarray, shape (n,)
        Response.
    layout : Layout
        Blocks of the columns.
    recipe : Recipe
        Settings.
    freq : ndarray, shape (n,)
        Frequency of each row.
    bound : ndarray of bool, shape (n,), optional
        Rows whose response is only a lower bound.

    Returns
    -------
    Fit
        Coefficients, penalties and the rest.

    Raises
    ------
    numpy.linalg.LinAlgError
        If the free columns are not of full rank.
    """
    state = _State(layout, y, freq, recipe)
    n, offset = float(freq.sum()), np.asarray(X @ layout.mean)
    c, loc = layout.common, layout.local
    target, extra = y.copy(), np.zeros(len(y))
    weights = freq.copy()
    system.weigh(weights, target - offset)
    coef = np.zeros(len(layout.block))
    diag = np.zeros(len(layout.block))
    done = 0
    while True:
        lam = state.by_column(layout)
        # With kept penalties only the weights move: the inverse is wanted at both ends alone.
        factors = system.solve(lam[c], lam[loc], inverse=not recipe.keep_penalties or done == 0)
        coef[c], coef[loc] = factors.common, factors.local
        if factors.border.size:
            diag[c], diag[loc] = factors.diag_common, factors.diag_local
        fitted = np.asarray(X @ coef) + offset
        residual = target - fitted
        moved = state.update(layout, coef, diag, keep=recipe.keep_penalties)
        spare = max(n - float(state.edf.sum()), 0.05 * n)
        old = state.sigma2
        state.sigma2 = max(float(weights @ (residual**2 + extra)) / spare, 1e-14)
        done += 1
        settled = moved < recipe.tol and abs(np.log(state.sigma2 / old)) < 0.2 * recipe.tol
        if done >= recipe.max_iter or (settled and done > 1):
            break
        fresh = _weights(residual, state.sigma2, freq, recipe.robust_df)
        if bound is not None and bound.any():
            target, extra = _expected(y, fitted, np.sqrt(state.sigma2), bound)
        if fresh is not None or bound is not None:
            weights = weights if fresh is None else fresh
            system.weigh(weights, target - offset)
    if not factors.border.size:
        factors = system.solve(lam[c], lam[loc])
    return Fit(
        coef + layout.mean,
        state.penalties,
        state.edf,
        state.sigma2,
        weights,
        residual,
        target,
        factors,
        done,
    )


def _weights(r: Floats, sigma2: float, freq: Floats, df: float | None) -> Floats | None:
    """Return the weights of Student t noise, None for normal noise."""
    if df is None:
        return None
    return freq * (df + 1.0) / (df + r**2 / sigma2)


def _expected(
    y: Floats, fitted: Floats, sigma: float, bound: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Replace lower bounds by their expectation; return it with the variance left."""
    target, extra = y.copy(), np.zeros(len(y))
    z = (y[bound] - fitted[bound]) / sigma
    mills = np.sqrt(2.0 / np.pi) / erfcx(z / np.sqrt(2.0))
    target[bound] = fitted[bound] + sigma * mills
    extra[bound] = sigma**2 * np.clip(1.0 + z * mills - mills**2, 0.0, 1.0)
    return target, extra

"""A penalised regression with penalties, noise and weights settled together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.models.arrow import ArrowFactors, ArrowSystem
from valuation.models.evidence import Evidence
from valuation.models.layout import Layout
from valuation.models.penalties import GONE, Penalties

__all__ = ["GONE", "Fit", "Recipe", "fit_penalised"]

Floats = NDArray[np.float64]


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
    weights : ndarray or None
        Weights of the rows to start from, as an earlier fit left them.
    scale : float or None
        Scale of the noise to start from.
    """

    robust_df: float | None = 4.0
    penalties: Floats | None = None
    keep_penalties: bool = False
    max_iter: int = 60
    tol: float = 0.025
    weights: Floats | None = None
    scale: float | None = None


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
        The design, cut.
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
    run = _Run(system, X, layout, recipe)
    evidence = Evidence.of(y, freq, bound, recipe.robust_df, recipe.weights)
    sigma2 = evidence.spread if recipe.scale is None else recipe.scale**2
    run.weigh(evidence)
    n, keep, tol, done = float(freq.sum()), recipe.keep_penalties, recipe.tol, 0
    still = tol * (_STILL_KEPT if keep else _STILL)
    while True:
        # With kept penalties only the weights move: the inverse is wanted at both ends alone.
        fitted, moved = run.solve(sigma2, inverse=not keep or not done)
        spare = max(n - float(run.penalties.edf.sum()), 0.05 * n)
        old, sigma2 = sigma2, evidence.noise(fitted, spare, sigma2)
        done += 1
        fresh = evidence.seen_from(fitted, sigma2)
        drift = evidence.drift(fresh, sigma2)
        quiet = moved < tol and abs(np.log(sigma2 / old)) < 0.2 * tol
        if done >= recipe.max_iter or (quiet and drift < still and (keep or done > 1)):
            break
        # Weighing costs as much as a solve and weights settle long before penalties do, so they
        # are renewed while they move, and once more when all else has come to rest.
        if quiet or keep or drift > _STIR * tol:
            evidence = fresh
            run.weigh(evidence)
    if not run.factors.border.size:
        run.solve(old, inverse=True)
    residuals = evidence.target - fitted
    return Fit(
        run.coef + layout.mean,
        run.penalties.values,
        run.penalties.edf,
        sigma2,
        evidence.weights,
        residuals,
        evidence.target,
        run.factors,
        done,
    )


_STILL, _STILL_KEPT = 0.01, 0.04
"""Drift of the weights under which they have settled, in units of the tolerance: while penalties
are estimated, and while they are kept (where nothing else is left to err)."""

_STIR = 0.01
"""Drift of the weights over which they are renewed at once, in units of the tolerance."""


class _Run:
    """The solves of one fit."""

    factors: ArrowFactors

    def __init__(self, system: ArrowSystem, X: Any, layout: Layout, recipe: Recipe) -> None:
        self.system, self.X, self.recipe = system, X, recipe
        self.common, self.local = layout.common, layout.local
        self.penalties = Penalties(layout, recipe.penalties)
        self.offset = np.asarray(X @ layout.mean)
        self.coef = np.zeros(len(layout.block))
        self.diag = np.zeros(len(layout.block))

    def weigh(self, evidence: Evidence) -> None:
        self.system.weigh(evidence.weights, evidence.target - self.offset)

    def solve(self, sigma2: float, *, inverse: bool) -> tuple[Floats, float]:
        """Solve and move the penalties; return fitted values and the movement of the edf."""
        c, loc = self.common, self.local
        lam = self.penalties.by_column(sigma2)
        f = self.system.solve(lam[c], lam[loc], inverse=inverse)
        self.factors, moved = f, 0.0
        self.coef[c], self.coef[loc] = f.common, f.local
        if inverse:
            self.diag[c], self.diag[loc] = f.diag_common, f.diag_local
            moved = self.penalties.count(self.diag, sigma2)
        if self.recipe.keep_penalties:
            moved = 0.0
        else:
            self.penalties.move(self.coef, sigma2)
        return np.asarray(self.X @ self.coef) + self.offset, moved

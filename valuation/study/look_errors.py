"""How large an error is usual, and how likely a price is wrong rather than unusual."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from valuation.study.leave_out import FittedSales

__all__ = ["Noise", "SaleErrors", "factor_odds", "fit_noise", "sale_errors"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_DEGREES = (3.0, 4.0, 5.0, 6.0, 8.0, 11.0, 16.0, 30.0)
"""Degrees of freedom that are tried."""

_OWN_LINE = 30.0
"""How many sales it takes until the spread of a model line is half believed to be its own."""


@dataclass(frozen=True, slots=True)
class Noise:
    """Student t noise.

    Parameters
    ----------
    scale, df : float
        Scale and degrees of freedom.
    """

    scale: float
    df: float

    def log_density(self, x: Floats) -> Floats:
        """Return the log density at each point."""
        return np.asarray(stats.t.logpdf(x / self.scale, self.df) - np.log(self.scale))

    def beyond(self, spreads: float) -> float:
        """Return the probability to lie further off than so many scales, either way."""
        return float(2.0 * stats.t.sf(spreads, self.df))


@dataclass(frozen=True)
class SaleErrors:
    """Leave-one-out errors of all sales with what is usual for each.

    Parameters
    ----------
    error : ndarray, shape (n,)
        Log price less what the other sales say.
    spread : ndarray, shape (n,)
        Scale of the errors of such sales.
    noise : Noise
        Distribution of the error over its spread; its scale is 1.
    """

    error: Floats
    spread: Floats
    noise: Noise

    @property
    def spreads(self) -> Floats:
        """How many usual spreads each error is, shape (n,)."""
        return np.asarray(self.error / self.spread)


def fit_noise(x: Floats, weights: Floats | None = None) -> Noise:
    """Fit Student t noise around zero by maximum likelihood.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Errors.
    weights : ndarray, shape (n,), optional
        How far each counts; all alike by default.
    """
    w = np.ones(len(x)) if weights is None else weights
    first = 1.4826 * _median(np.abs(x), w) + 1e-9
    tried = [_scaled(x, w, first, df) for df in _DEGREES]
    return max(tried, key=lambda noise: float(w @ noise.log_density(x)))


def _scaled(x: Floats, w: Floats, scale: float, df: float) -> Noise:
    for _ in range(30):
        size = (df + 1.0) / (df + (x / scale) ** 2)
        scale = float(np.sqrt((w * size) @ x**2 / w.sum())) + 1e-12
    return Noise(scale, df)


def _median(x: Floats, w: Floats) -> float:
    order = np.argsort(x, kind="stable")
    ranks = np.cumsum(w[order])
    return float(x[order][np.searchsorted(ranks, 0.5 * ranks[-1])])


def factor_odds(error: Floats, spread: Floats, noise: Noise, factors: Floats) -> Floats:
    """Return how much likelier each error is if the price is off by each factor.

    Parameters
    ----------
    error, spread : ndarray, shape (n,)
        Log errors and their spreads.
    noise : Noise
        Distribution of an error over its spread.
    factors : ndarray, shape (k,)
        Factors, all of them positive.

    Returns
    -------
    ndarray, shape (n, k)
        Likelihood ratios.
    """
    right = noise.log_density(error / spread)
    wrong = noise.log_density((error[:, None] - np.log(factors)) / spread[:, None])
    return np.asarray(np.exp(np.clip(wrong - right[:, None], -700.0, 700.0)))


def sale_errors(
    sales: FittedSales, *, factors: Floats, mistyped: float
) -> tuple[SaleErrors, Floats]:
    """Return the errors of all sales, and how likely each price is off by each factor.

    The tails of the noise and the prices that are wrong are found together: what is likely wrong
    does not count in the tails, else a few lost digits would make every lost digit look usual.

    Parameters
    ----------
    sales : FittedSales
        The sales of a market.
    factors : ndarray, shape (k,)
        Factors by which a price may be off.
    mistyped : float
        Share of prices that each spoils.

    Returns
    -------
    SaleErrors
        Errors, spreads and noise.
    ndarray, shape (n, k)
        Probability that a price is off by each factor.
    """
    error = sales.errors
    spread = sales.market.fitted.sigma * np.sqrt(1.0 + sales.unsure)
    spread = spread * _of_line(error / spread, sales.design.line)
    wrong = np.zeros((len(error), len(factors)))
    for _ in range(4):
        fair = 1.0 - wrong.sum(1)
        noise = fit_noise(error / spread, fair)
        spread, noise = spread * noise.scale, Noise(1.0, noise.df)
        odds = factor_odds(error, spread, noise, factors) * mistyped
        wrong = odds / (odds.sum(1) + 1.0 - mistyped * len(factors))[:, None]
    return SaleErrors(error, spread, noise), wrong


def _of_line(x: Floats, line: Ints) -> Floats:
    """Return how much wider than usual errors of each sale's model line are, shrunk to 1."""
    usual = float(np.median(np.abs(x))) + 1e-12
    out = np.ones(len(x))
    for k in np.unique(line).tolist():
        rows = line == k
        n = int(rows.sum())
        own = max(float(np.median(np.abs(x[rows]))), 0.1 * usual) / usual
        out[rows] = own ** (n / (n + _OWN_LINE))
    return out

"""What each row says: its response, and its weight under heavy-tailed noise.

Noise is Student t by iterated weights (Lange, Little and Taylor 1989, JASA 84, 881-896); a
response that is only a lower bound is replaced by its expectation (Dempster, Laird and Rubin
1977).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfcx

__all__ = ["Evidence", "weights_of"]

Floats = NDArray[np.float64]


def weights_of(residuals: Floats, sigma2: float, df: float | None) -> Floats:
    """Return the weights of Student t noise, ones for normal noise.

    Parameters
    ----------
    residuals : ndarray, shape (n,)
        Response less fitted value.
    sigma2 : float
        Variance of the noise.
    df : float or None
        Degrees of freedom; None for normal noise.

    Returns
    -------
    ndarray, shape (n,)
        At most ``(df + 1) / df``.
    """
    if df is None:
        return np.ones(len(residuals))
    return (df + 1.0) / (df + residuals**2 / sigma2)


@dataclass(frozen=True)
class Evidence:
    """Responses and weights of one stage of a fit.

    Parameters
    ----------
    y : ndarray, shape (n,)
        Response as it was given.
    freq : ndarray, shape (n,)
        Frequency of each row.
    bound : ndarray of bool, shape (n,)
        Rows whose response is only a lower bound.
    df : float or None
        Degrees of freedom of the noise; None for normal noise.
    weights : ndarray, shape (n,)
        Frequency times the weight of the noise.
    target : ndarray, shape (n,)
        Response, bounds replaced by their expectation.
    extra : ndarray, shape (n,)
        Variance left of a bound, 0 elsewhere.
    """

    y: Floats
    freq: Floats
    bound: NDArray[np.bool_]
    df: float | None
    weights: Floats
    target: Floats
    extra: Floats

    @classmethod
    def of(
        cls,
        y: Floats,
        freq: Floats,
        bound: NDArray[np.bool_] | None,
        df: float | None,
        weights: Floats | None,
    ) -> Evidence:
        """Return the evidence before the first solve, optionally with weights to start from."""
        none = np.zeros(len(y), dtype=bool)
        first = freq if weights is None else weights
        return cls(y, freq, none if bound is None else bound, df, first, y, np.zeros(len(y)))

    @property
    def spread(self) -> float:
        """A rough variance of the noise to start from."""
        total = float(self.freq.sum())
        centre = float(self.freq @ self.y) / total
        return max(float(self.freq @ (self.y - centre) ** 2) / total * 0.25, 1e-12)

    def noise(self, fitted: Floats, spare: float, sigma2: float) -> float:
        """Return the variance of the noise around the fitted values.

        Parameters
        ----------
        fitted : ndarray, shape (n,)
            Fitted values.
        spare : float
            Degrees of freedom that the fit has left.
        sigma2 : float
            Variance to start from.

        Returns
        -------
        float
            The variance that agrees with the weights it implies.  Settling the two on given
            residuals costs no solve; left to the solves, the scale is the last to come to rest.
        """
        residuals = self.target - fitted
        squares = self.freq * (residuals**2 + self.extra)
        for _ in range(50):
            old = sigma2
            sigma2 = max(float(weights_of(residuals, old, self.df) @ squares) / spare, 1e-14)
            if abs(sigma2 - old) < 1e-9 * old:
                break
        return sigma2

    def seen_from(self, fitted: Floats, sigma2: float) -> Evidence:
        """Return what the rows say once the fitted values and the noise are known."""
        fresh = self
        if self.df is not None:
            weights = self.freq * weights_of(self.target - fitted, sigma2, self.df)
            fresh = replace(fresh, weights=weights)
        if self.bound.any():
            target, extra = self._expected(fitted, float(np.sqrt(sigma2)))
            fresh = replace(fresh, target=target, extra=extra)
        return fresh

    def _expected(self, fitted: Floats, sigma: float) -> tuple[Floats, Floats]:
        """Replace lower bounds by their expectation; return it with the variance left."""
        bound = self.bound
        target, extra = self.y.copy(), np.zeros(len(self.y))
        z = (self.y[bound] - fitted[bound]) / sigma
        mills = np.sqrt(2.0 / np.pi) / erfcx(z / np.sqrt(2.0))
        target[bound] = fitted[bound] + sigma * mills
        extra[bound] = sigma**2 * np.clip(1.0 + z * mills - mills**2, 0.0, 1.0)
        return target, extra

    def drift(self, fresh: Evidence, sigma2: float) -> float:
        """Return how far weights and targets moved: root mean squares, the larger of the two."""
        if fresh is self:
            return 0.0
        weight = (fresh.weights - self.weights) ** 2 @ (1.0 / self.freq)
        target = self.freq @ (fresh.target - self.target) ** 2 / sigma2
        return float(np.sqrt(max(weight, target) / self.freq.sum()))

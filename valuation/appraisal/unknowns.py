"""Facts nobody has looked at: the spread over what such cars have.

Silence and ignorance are priced differently.  Where a seller is silent the fitted effect of
silence holds.  Where the fact is still to be found out, the car is a mixture over the values that
cars in the evidence state, tilted exponentially so that its mean effect equals the fitted effect
of silence (cars that state a value are the better ones, so untilted shares would flatter): the
centre stays, and the range takes in the spread.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

__all__ = ["Mixture", "tilted"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Mixture:
    """A tilted mixture of log effects.

    Parameters
    ----------
    effects : ndarray
        Log effects that occur, ascending.
    shares : ndarray
        How often each occurs among such cars.
    """

    effects: Floats
    shares: Floats

    @property
    def mean(self) -> float:
        """Mean log effect."""
        return float(self.effects @ self.shares)

    @property
    def variance(self) -> float:
        """Variance of the log effect."""
        return float(self.shares @ (self.effects - self.mean) ** 2)


def tilted(effects: Floats, mean: float) -> Mixture:
    """Tilt the observed effects so that their mean is the given one.

    Parameters
    ----------
    effects : ndarray, shape (n,)
        Log effects of the sales that state the fact.
    mean : float
        Mean that the mixture must have; drawn to the nearest end if no tilt can reach it.

    Returns
    -------
    Mixture
        With shares proportional to ``count * exp(t * effect)``.

    Examples
    --------
    >>> m = tilted(np.array([0.0, 0.0, 0.3]), 0.05)
    >>> round(m.mean, 6), [round(s, 4) for s in m.shares.tolist()]
    (0.05, [0.8333, 0.1667])
    """
    values, counts = np.unique(np.round(effects, 6), return_counts=True)
    spread = float(np.ptp(values))
    shares = counts / counts.sum()
    if spread < 1e-9:
        return Mixture(values, shares)
    inside = float(np.clip(mean, values[0] + 0.02 * spread, values[-1] - 0.02 * spread))

    def gap(t: float) -> float:
        w = counts * np.exp(t * (values - inside) / spread)
        return float(w @ values / w.sum()) - inside

    t = brentq(gap, -400.0, 400.0)
    w = counts * np.exp(t * (values - inside) / spread)
    return Mixture(values, w / w.sum())

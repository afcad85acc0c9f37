"""Facts that are still to be found out: the spread over what they can turn out to be.

Silence and ignorance are priced differently.  Where a seller is silent the fitted effect of
silence holds.  Where the fact is still to be found out, the car is a mixture over the values that
cars in the evidence state, tilted exponentially so that its mean effect equals the fitted effect
of silence (cars that state a value are the better ones, so untilted shares would flatter): the
centre stays, and the range takes in the spread.  Where something is known already, the mixture is
over what is still possible, as often as such cars have it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

__all__ = ["LEAST_STATED", "Mixture", "span_variance", "tilted"]

Floats = NDArray[np.float64]

LEAST_STATED = 10
"""Fewest sales that can say how often a value occurs."""


@dataclass(frozen=True)
class Mixture:
    """A mixture of log effects.

    Parameters
    ----------
    effects : ndarray, shape (n,)
        Log effects that occur.
    shares : ndarray, shape (n,)
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


def tilted(effects: Floats, counts: Floats, mean: float) -> Mixture:
    """Tilt observed shares so that the mean effect is the given one.

    Parameters
    ----------
    effects : ndarray, shape (n,)
        Log effect of each value.
    counts : ndarray, shape (n,)
        Sales that state it, at least one of them above zero.
    mean : float
        Mean that the mixture must have; drawn to the nearest end if no tilt can reach it.

    Returns
    -------
    Mixture
        With shares proportional to ``count * exp(t * effect)``.

    Examples
    --------
    >>> m = tilted(np.array([0.0, 0.3]), np.array([2.0, 1.0]), 0.05)
    >>> round(m.mean, 6), [round(s, 4) for s in m.shares.tolist()]
    (0.05, [0.8333, 0.1667])
    """
    seen = effects[counts > 0]
    low, high, spread = float(seen.min()), float(seen.max()), float(np.ptp(seen))
    if spread < 1e-9:
        return Mixture(effects, counts / counts.sum())
    inside = float(np.clip(mean, low + 0.02 * spread, high - 0.02 * spread))
    # What never occurs has no share, and must not overflow on the way.
    lean = np.where(counts > 0, (effects - inside) / spread, 0.0)

    def shares(t: float) -> Floats:
        w = counts * np.exp(t * lean)
        w /= w.sum()
        return w

    t = brentq(lambda t: float(shares(t).dot(lean)), -400.0, 400.0)
    return Mixture(effects, shares(t))


def span_variance(effects: Floats, of_make: Floats, of_all: Floats) -> float:
    """Return the variance that a number between two ends adds: the most of any part of its span.

    Within a span the sales' own values speak: those of the make, else of all, and if fewer than
    :data:`LEAST_STATED` speak, none is likelier than another.  A few sales far out can be more
    spread than all of them together; as knowing less must not make a range narrower, the widest
    part counts.

    Parameters
    ----------
    effects : ndarray, shape (n,)
        Log effect of each point of the span, both ends among them, ascending by its number.
    of_make, of_all : ndarray, shape (n,)
        Sales of the make, and of the market, that state each point.
    """
    f = effects - effects.mean()
    sums = [[np.append(0.0, np.cumsum(w * f**p)) for p in range(3)] for w in (of_make, of_all)]
    all_before = sums[1][0]
    best = 0.0
    for i in range(len(f)):
        to = np.arange(i, len(f))
        reach = np.maximum.accumulate(f[i:]) - np.minimum.accumulate(f[i:])
        within = all_before[to] - all_before[np.minimum(i + 1, to)]
        even = np.where(within < LEAST_STATED, reach**2 / 12.0, 0.0)
        mine, market = (_run_variance(s, i, to) for s in sums)
        stated = np.where(np.isnan(mine), np.nan_to_num(market), mine)
        best = max(best, float(even.max()), float(stated.max()))
    return best


def _run_variance(sums: list[Floats], start: int, to: NDArray[np.intp]) -> Floats:
    """Return the variance of each run of points from a start, NaN where too few sales speak."""
    n, first, second = (s[to + 1] - s[start] for s in sums)
    few = n < LEAST_STATED
    n = np.where(few, 1.0, n)
    return np.where(few, np.nan, np.maximum(second / n - (first / n) ** 2, 0.0))

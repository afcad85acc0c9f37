"""Arithmetic of fits against the truth: ratios, coverage, paths, and how far chance goes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import stats

__all__ = [
    "Z90",
    "clustered_share",
    "clustered_shift",
    "noise_scale",
    "path_error",
    "pooled_ratio",
    "rms",
    "slope",
]

Floats = NDArray[np.float64]

Z90 = 1.6448536269514722
"""Half a 90 % interval in standard deviations."""


def rms(x: Any) -> float:
    """Return the root of the mean square, NaN of nothing.

    Examples
    --------
    >>> rms([3.0, -4.0, 0.0, 0.0])
    2.5
    """
    x = np.asarray(x, dtype=np.float64)
    return float(np.sqrt(np.mean(x**2))) if x.size else float("nan")


def clustered_share(hits: Sequence[float], tries: Sequence[float]) -> tuple[float, float, float]:
    """Return the share of hits and its 95 % interval, seeds taken as clusters.

    The effects of one market err together, so the market is the unit: the ratio estimator of
    Cochran (1977, section 2.11) with a t quantile.

    Parameters
    ----------
    hits, tries : sequence of float
        One entry a seed.

    Returns
    -------
    share, low, high : float
        From 0 to 1; the ends are NaN with fewer than two seeds.
    """
    h, n = np.asarray(hits, dtype=np.float64), np.asarray(tries, dtype=np.float64)
    h, n = h[n > 0], n[n > 0]
    if not len(n):
        return float("nan"), float("nan"), float("nan")
    share, s = float(h.sum() / n.sum()), len(n)
    if s < 2:
        return share, float("nan"), float("nan")
    se = np.sqrt(np.sum((h - share * n) ** 2) * s / (s - 1)) / n.sum()
    reach = float(stats.t.ppf(0.975, s - 1) * se)
    return share, max(share - reach, 0.0), min(share + reach, 1.0)


def pooled_ratio(above: Sequence[float], below: Sequence[float]) -> tuple[float, float, float]:
    """Return the ratio of two root mean squares over seeds, and its 95 % interval.

    Parameters
    ----------
    above, below : sequence of float
        Root mean squares, one a seed, paired.

    Returns
    -------
    ratio, low, high : float
        Jackknife over seeds on the log scale; NaN ends with fewer than two seeds.
    """
    a, b = np.asarray(above, dtype=np.float64) ** 2, np.asarray(below, dtype=np.float64) ** 2
    s = len(a)
    whole = 0.5 * float(np.log(a.sum() / b.sum()))
    if s < 2:
        return float(np.exp(whole)), float("nan"), float("nan")
    left_out = 0.5 * np.log((a.sum() - a) / (b.sum() - b))
    se = np.sqrt((s - 1) / s * np.sum((left_out - left_out.mean()) ** 2))
    reach = float(stats.t.ppf(0.975, s - 1) * se)
    return float(np.exp(whole)), float(np.exp(whole - reach)), float(np.exp(whole + reach))


def clustered_shift(one: Sequence[float], other: Sequence[float]) -> tuple[float, float, float]:
    """Return the mean of paired differences and its 95 % interval.

    Parameters
    ----------
    one, other : sequence of float
        Paired by seed.

    Returns
    -------
    shift, low, high : float
        Of `one` less `other`; the ends are NaN with fewer than two pairs.
    """
    d = np.asarray(one, dtype=np.float64) - np.asarray(other, dtype=np.float64)
    mean = float(d.mean())
    if len(d) < 2:
        return mean, float("nan"), float("nan")
    reach = float(stats.t.ppf(0.975, len(d) - 1) * d.std(ddof=1) / np.sqrt(len(d)))
    return mean, mean - reach, mean + reach


def path_error(fitted: Any, true: Any, sd: Any) -> tuple[float, float]:
    """Return how far a path is from the true one, and how often its 90 % band holds it.

    Parameters
    ----------
    fitted, true : array, shape (n_days,)
        Log levels; each is measured from its own mean over the days.
    sd : array, shape (n_days,)
        Standard deviation of the fitted level about its mean.

    Returns
    -------
    error, share : float
        Root mean square error; share of days inside the band.
    """
    off = np.asarray(fitted, dtype=np.float64) - np.asarray(true, dtype=np.float64)
    off = off - off.mean()
    return rms(off), float(np.mean(np.abs(off) <= Z90 * np.asarray(sd)))


def slope(sizes: Sequence[float], values: Sequence[float]) -> float:
    """Return the log-log slope of a measure on the number of sales, NaN with one size.

    Examples
    --------
    >>> round(slope([100, 400, 1600], [0.2, 0.1, 0.05]), 6)
    -0.5
    """
    if len(sizes) < 2:
        return float("nan")
    return float(np.polyfit(np.log(sizes), np.log(values), 1)[0])


def noise_scale(noise: Any, df: float | None) -> float:
    """Return the scale that the Student weights of the model give known noise.

    Parameters
    ----------
    noise : array, shape (n,)
        True noise.
    df : float or None
        Degrees of freedom of the weights; None for normal noise.

    Returns
    -------
    float
        Solution of ``s^2 = mean(w (noise / s) noise^2)``.
    """
    noise = np.asarray(noise, dtype=np.float64)
    scale2 = float(np.mean(noise**2))
    for _ in range(200 if df is not None else 0):
        assert df is not None
        scale2 = float(np.mean((df + 1) / (df + noise**2 / scale2) * noise**2))
    return float(np.sqrt(scale2))

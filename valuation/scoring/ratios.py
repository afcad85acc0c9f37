"""Level and spread of the ratios estimate / price.

Every function takes the prices first and the estimates second: one amount a sale, one
currency, all above zero; otherwise it raises ScoreInputError.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from valuation.scoring.checks import (
    Floats,
    ScoreInputError,
    as_level,
    as_positive,
    need_sales,
    same_length,
)

__all__ = [
    "Interval",
    "cod",
    "cod_interval",
    "cov",
    "mean_ratio",
    "median_interval",
    "median_ratio",
    "price_estimate",
    "rank_interval",
    "ratios",
    "redrawn_interval",
    "weighted_mean_ratio",
]

_CELLS = 400_000
"""Resampled ratios held at once, to bound memory and to stay near the processor."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A confidence interval.

    Parameters
    ----------
    level : float
        Its nominal level, such as 0.95.
    lower, upper : float
        Its bounds.
    """

    level: float
    lower: float
    upper: float


def price_estimate(
    where: str, price: npt.ArrayLike, estimate: npt.ArrayLike, *, least: int = 1
) -> tuple[Floats, Floats]:
    """Return prices and estimates as checked arrays.

    Parameters
    ----------
    where : str
        Name of the measure, for the message.
    price, estimate : array-like, shape (n,)
        Amounts of money.
    least : int, default 1
        Number of sales the measure needs.

    Returns
    -------
    price, estimate : numpy.ndarray, shape (n,)
        The same amounts.

    Raises
    ------
    ScoreInputError
        If an amount is not positive and finite or the lengths differ.
    ScoreUndefinedError
        If there are fewer than `least` sales.
    """
    paid = as_positive(where, "price", price)
    valued = as_positive(where, "estimate", estimate)
    same_length(where, {"price": paid.size, "estimate": valued.size})
    need_sales(where, paid.size, least, "this measure")
    return paid, valued


def ratios(price: npt.ArrayLike, estimate: npt.ArrayLike) -> Floats:
    """Return estimate / price of each sale, shape (n,)."""
    paid, valued = price_estimate("ratios", price, estimate)
    ratio: Floats = valued / paid
    return ratio


def median_ratio(price: npt.ArrayLike, estimate: npt.ArrayLike) -> float:
    """Return the median of the ratios, the measure of level; 1 is unbiased."""
    return float(np.median(ratios(price, estimate)))


def mean_ratio(price: npt.ArrayLike, estimate: npt.ArrayLike) -> float:
    """Return the arithmetic mean of the ratios."""
    return float(np.mean(ratios(price, estimate)))


def weighted_mean_ratio(price: npt.ArrayLike, estimate: npt.ArrayLike) -> float:
    """Return the sum of the estimates over the sum of the prices."""
    paid, valued = price_estimate("weighted mean ratio", price, estimate)
    return float(valued.sum() / paid.sum())


def cod(price: npt.ArrayLike, estimate: npt.ArrayLike) -> float:
    """Return the coefficient of dispersion in per cent.

    The mean distance of the ratios from their median, in per cent of the median.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates.

    Returns
    -------
    float
        COD, 0 or more.

    References
    ----------
    IAAO (2013). Standard on Ratio Studies.

    Examples
    --------
    >>> round(cod([100, 100, 100], [90, 100, 120]), 6)
    10.0
    """
    ratio = ratios(price, estimate)
    return float(_cod_rows(ratio[np.newaxis, :])[0])


def cov(price: npt.ArrayLike, estimate: npt.ArrayLike) -> float:
    """Return the coefficient of variation in per cent.

    The sample standard deviation of the ratios (divisor n - 1) in per cent of their mean;
    needs two sales, else ScoreUndefinedError.
    """
    paid, valued = price_estimate("coefficient of variation", price, estimate, least=2)
    ratio = valued / paid
    return float(100.0 * np.std(ratio, ddof=1) / np.mean(ratio))


def cod_interval(
    price: npt.ArrayLike,
    estimate: npt.ArrayLike,
    *,
    seed: int,
    level: float = 0.95,
    replications: int = 1000,
) -> Interval:
    """Give a bootstrap interval of the COD, which has no closed form.

    Sales are drawn with replacement; the bounds are percentiles of the redrawn CODs.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least five sales.
    seed : int
        Seed of the draws; the same seed gives the same interval.
    level : float, default 0.95
        Level of the interval.
    replications : int, default 1000
        Number of redrawn samples, at least 100.

    Returns
    -------
    Interval
        Interval of the COD in per cent.

    Raises
    ------
    ScoreInputError
        If inputs are wrong.
    ScoreUndefinedError
        If there are fewer than five sales.

    References
    ----------
    Efron, B. and Tibshirani, R. (1993). An Introduction to the Bootstrap, ch. 13.
    """
    paid, valued = price_estimate("COD interval", price, estimate, least=5)
    return redrawn_interval(
        "COD interval",
        _cod_rows,
        (valued / paid,),
        seed=seed,
        level=level,
        replications=replications,
    )


def redrawn_interval(
    where: str,
    measure: Callable[..., Floats],
    columns: tuple[Floats, ...],
    *,
    seed: int,
    level: float,
    replications: int,
) -> Interval:
    """Give the bootstrap interval of a measure: sales are drawn with replacement.

    Parameters
    ----------
    where : str
        Name of the measure, for the message.
    measure : callable
        Takes each column redrawn, of shape (samples, n), and returns its value for each sample.
    columns : tuple of numpy.ndarray, each of shape (n,)
        What the measure is made of, sale by sale.
    seed : int
        Seed of the draws; the same seed and order of sales give the same interval.
    level : float
        Level of the interval, whose bounds are percentiles.
    replications : int
        Number of redrawn samples, at least 100.

    Returns
    -------
    Interval
        Interval of the measure.

    Raises
    ------
    ScoreInputError
        If the level or the number of samples is wrong.

    References
    ----------
    Efron, B. and Tibshirani, R. (1993). An Introduction to the Bootstrap, ch. 13.
    """
    as_level(where, level)
    if replications < 100:
        raise ScoreInputError(
            where,
            "percentiles need at least 100 redrawn samples",
            got=str(replications),
            remedy="Raise the number of replications",
        )
    n, rng = columns[0].size, np.random.default_rng(seed)
    step = max(1, _CELLS // n)
    counts = [min(step, replications - done) for done in range(0, replications, step)]
    drawn = []
    for count in counts:
        rows = rng.integers(n, size=(count, n))
        drawn.append(measure(*(column[rows] for column in columns)))
    tail = (1.0 - level) / 2.0
    low, high = np.quantile(np.concatenate(drawn), [tail, 1.0 - tail])
    return Interval(level, float(low), float(high))


def median_interval(
    price: npt.ArrayLike, estimate: npt.ArrayLike, *, level: float = 0.95
) -> Interval:
    """Give the interval of the median ratio by ranks; its bounds are observed ratios.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates.
    level : float, default 0.95
        Level of the interval.

    Returns
    -------
    Interval
        Interval of the median ratio.

    Raises
    ------
    ScoreUndefinedError
        If there are too few sales for the level.
    """
    return rank_interval(ratios(price, estimate), level=level, where="median interval")


def rank_interval(values: Floats, *, level: float, where: str = "rank interval") -> Interval:
    """Give the interval of a median by ranks.

    The ranks are ceil(n/2 - z√n/2) and floor(1 + n/2 + z√n/2), counted from one: the
    normal approximation to the binomial.  Below some ten values it covers less than its
    level (75 % instead of 90 % for n of 3).

    Parameters
    ----------
    values : numpy.ndarray, shape (n,)
        Values whose median is meant.
    level : float
        Level of the interval.
    where : str
        Name of the measure, for the message.

    Returns
    -------
    Interval
        Bounds that are two of the values.

    Raises
    ------
    ScoreUndefinedError
        If n is not above z², so that no rank is left.

    References
    ----------
    IAAO Standard on Ratio Studies, exposure draft (2025), appendix D.2.

    Examples
    --------
    >>> rank_interval(np.arange(1.0, 15.0), level=0.90)
    Interval(level=0.9, lower=4.0, upper=11.0)
    """
    z = float(stats.norm.ppf(0.5 + as_level(where, level) / 2.0))
    n = int(values.size)
    need_sales(where, n, math.floor(z * z) + 1, f"a {level:.0%} interval of a median")
    half = z * math.sqrt(n) / 2.0
    ordered = np.sort(values)
    first, last = math.ceil(n / 2.0 - half), math.floor(1.0 + n / 2.0 + half)
    return Interval(level, float(ordered[first - 1]), float(ordered[last - 1]))


def _cod_rows(rows: Floats) -> Floats:
    middle = np.median(rows, axis=1, keepdims=True)
    spread: Floats = 100.0 * np.mean(np.abs(rows - middle), axis=1) / middle[:, 0]
    return spread

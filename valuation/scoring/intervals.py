"""How good ranges are: the interval score, and coverage with honest uncertainty."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy import stats

from valuation.scoring.checks import (
    Floats,
    ScoreInputError,
    ScoreUndefinedError,
    as_level,
    as_positive,
    as_range,
    same_length,
)

__all__ = ["CoverageInterval", "coverage_interval", "interval_score"]


def interval_score(
    price: npt.ArrayLike,
    lower: npt.ArrayLike,
    upper: npt.ArrayLike,
    *,
    level: float = 0.8,
    scale: Literal["log", "money"] = "log",
) -> Floats:
    """Score each range by its width plus a fine for a price outside; less is better.

    With a = 1 - level, a price below the range is fined 2/a times its distance to the
    lower bound, a price above likewise.  The expected score is least for the true
    quantiles, so ranges can't win by being narrow or wide alone.

    Parameters
    ----------
    price, lower, upper : array-like, shape (n,)
        Prices and ranges of the cars that were given a range, in money.
    level : float, default 0.8
        Nominal coverage of the ranges.
    scale : {"log", "money"}, default "log"
        On which scale to score.  On the log scale a cheap and a dear car count alike;
        in money the dear cars rule.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Score of each car, in natural-log units or in money; report the mean.

    Raises
    ------
    ScoreInputError
        If an amount is not positive and finite, lengths differ, or a range is missing.

    References
    ----------
    Gneiting, T. and Raftery, A. E. (2007). Strictly proper scoring rules, prediction,
    and estimation. Journal of the American Statistical Association 102, 359-378, eq. 43.

    Examples
    --------
    >>> interval_score([100, 130], [90, 90], [120, 120], scale="money").round(6).tolist()
    [30.0, 130.0]
    """
    where = "interval score"
    if scale not in ("log", "money"):
        raise ScoreInputError(
            where, "the scale is unknown", got=str(scale), remedy="Use 'log' or 'money'"
        )
    x, low, high = _ranged(where, price, lower, upper)
    fine = 2.0 / (1.0 - as_level(where, level))
    if scale == "log":
        x, low, high = np.log(x), np.log(low), np.log(high)
    outside = np.maximum(low - x, 0.0) + np.maximum(x - high, 0.0)
    score: Floats = (high - low) + fine * outside
    return score


@dataclass(frozen=True, slots=True)
class CoverageInterval:
    """Coverage of ranges with its confidence interval, all as shares from 0 to 1.

    Parameters
    ----------
    coverage : float
        Share of prices inside their range.
    lower, upper : float
        Confidence interval of the coverage.
    ranges, clusters : int
        Number of ranges and of clusters they came from.
    effective : float
        Number of independent ranges that would tell as much.
    """

    coverage: float
    lower: float
    upper: float
    ranges: int
    clusters: int
    effective: float

    def overlaps(self, low: float, high: float) -> bool:
        """Return whether the interval shares a point with the target from `low` to `high`."""
        return self.lower <= high and low <= self.upper


def coverage_interval(
    price: npt.ArrayLike,
    lower: npt.ArrayLike,
    upper: npt.ArrayLike,
    clusters: Iterable[Hashable],
    *,
    confidence: float = 0.95,
) -> CoverageInterval:
    """Give the coverage with an interval that knows that sales of one month miss together.

    The variance is that of a mean over clusters; it sets an effective number of ranges
    for which the exact binomial interval is taken.  That interval stays within 0 and 1
    and doesn't collapse when every price was covered.

    Parameters
    ----------
    price, lower, upper : array-like, shape (n,)
        Prices and ranges of the cars that were given a range.
    clusters : iterable, length n
        What each sale shares with others, usually its month.
    confidence : float, default 0.95
        Level of the interval.

    Returns
    -------
    CoverageInterval
        Coverage, interval and what they rest on.

    Raises
    ------
    ScoreInputError
        If an amount is not positive and finite, lengths differ, or a range is missing.
    ScoreUndefinedError
        If there are fewer than two clusters: one month can't tell how months differ.

    Notes
    -----
    With p of 0 or 1, or no spread between clusters, the effective number is capped at
    n times the ratio of the t quantiles; clustering can't be seen then, so the interval
    may be too narrow.

    References
    ----------
    Korn, E. L. and Graubard, B. I. (1998). Confidence intervals for proportions with
    small expected number of positive counts estimated from survey data. Survey
    Methodology 24, 193-201.

    Examples
    --------
    >>> c = coverage_interval([1, 2, 3, 9], [1] * 4, [4] * 4, ["May", "May", "June", "June"])
    >>> c.coverage, c.clusters
    (0.75, 2)
    """
    where = "coverage interval"
    x, low, high = _ranged(where, price, lower, upper)
    member, count = _cluster_numbers(clusters)
    same_length(where, {"price": x.size, "cluster": member.size})
    if count < 2:
        raise ScoreUndefinedError(
            where,
            "how far clusters differ can't be seen from fewer than two",
            got=str(count),
            remedy="Test over more months or report the coverage without an interval",
        )
    as_level(where, confidence)
    hit = ((low <= x) & (x <= high)).astype(np.float64)
    share = float(hit.mean())
    effective = _effective(hit, member, count, confidence)
    bounds = _binomial_bounds(share, effective, confidence)
    return CoverageInterval(share, *bounds, int(x.size), count, effective)


def _ranged(
    where: str, price: npt.ArrayLike, lower: npt.ArrayLike, upper: npt.ArrayLike
) -> tuple[Floats, Floats, Floats]:
    x = as_positive(where, "price", price)
    low, high = as_range(where, lower, upper)
    same_length(where, {"price": x.size, "range": low.size})
    blank = int(np.isnan(low).sum())
    if blank:
        raise ScoreInputError(
            where,
            "some cars have no range",
            got=f"{blank} of {low.size}",
            remedy="Score only the cars that were given a range and report their share",
        )
    return x, low, high


def _cluster_numbers(clusters: Iterable[Hashable]) -> tuple[npt.NDArray[np.intp], int]:
    seen: dict[Hashable, int] = {}
    numbers = [seen.setdefault(cluster, len(seen)) for cluster in clusters]
    return np.asarray(numbers, dtype=np.intp), len(seen)


def _effective(hit: Floats, member: npt.NDArray[np.intp], count: int, confidence: float) -> float:
    n, share = hit.size, float(hit.mean())
    sums = np.bincount(member, weights=hit - share, minlength=count)
    variance = count / (count - 1) * float(sums @ sums) / n**2
    # Never more than the ranges themselves: months that agree by luck prove nothing.
    plain = share * (1.0 - share)
    size = n if variance * n <= plain else plain / variance
    tail = 0.5 + confidence / 2.0
    return float(size * (stats.t.ppf(tail, n - 1) / stats.t.ppf(tail, count - 1)) ** 2)


def _binomial_bounds(share: float, size: float, confidence: float) -> tuple[float, float]:
    tail = (1.0 - confidence) / 2.0
    hits, misses = share * size, (1.0 - share) * size
    low = 0.0 if hits <= 0 else float(stats.beta.ppf(tail, hits, misses + 1.0))
    high = 1.0 if misses <= 0 else float(stats.beta.ppf(1.0 - tail, hits + 1.0, misses))
    return low, high

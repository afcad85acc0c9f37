"""Measures that rules weigh: a value with an interval, of the candidate and of what is in use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.scoring import equity, ratios
from valuation.scoring.checks import ScoreUndefinedError
from valuation.scoring.intervals import coverage_interval
from valuation.scoring.ratio_study import RatioStudy
from valuation.scoring.ratios import rank_interval
from valuation.study.tested import sales_of

__all__ = [
    "Measure",
    "coverage",
    "judged",
    "log_errors",
    "middle_error",
    "of_study",
    "paired",
    "surely_further",
]

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
NOTICEABLE = 0.1
"""Share of a span by which a model has to lie further beyond it than one that does so too."""

FARTHEST = 1.0
"""Errors beyond this, in log units, count as this much: one wild price decides nothing."""


@dataclass(frozen=True, slots=True)
class Measure:
    """A measured value with what chance leaves open.

    Parameters
    ----------
    value : float
        The value.
    low, high : float
        Its interval at 95 %.
    """

    value: float
    low: float
    high: float

    def beyond(self, span: tuple[float, float]) -> float:
        """Return how far the value lies outside a span, 0 inside."""
        return max(span[0] - self.value, self.value - span[1], 0.0)

    def breaks(self, span: tuple[float, float]) -> bool:
        """Return whether it lies outside by more than chance explains."""
        return self.high < span[0] or self.low > span[1]


def judged(frame: pd.DataFrame) -> pd.DataFrame:
    """Return the sales that estimates are held against, those of the ratio study.

    An asking price or a bid that was refused is no price; a list of nothing else is taken as a
    whole, because then they are what is estimated.
    """
    if frame.empty:
        return frame
    sold = frame[sales_of(frame)]
    return frame if sold.empty else sold


def log_errors(frame: pd.DataFrame) -> Floats:
    """Return log(estimate / price) of each sale, shape (n,)."""
    ratio = frame["central"].to_numpy(np.float64) / frame["price"].to_numpy(np.float64)
    return np.asarray(np.log(ratio))


def coverage(frame: pd.DataFrame) -> Measure | None:
    """Return the per cent of 80 % ranges that held; None for fewer than two months."""
    given = frame[frame["lower"].notna()]
    try:
        found = coverage_interval(
            given["price"], given["lower"], given["upper"], given["month"], confidence=CONFIDENCE
        )
    except ScoreUndefinedError:
        return None
    return Measure(100 * found.coverage, 100 * found.lower, 100 * found.upper)


def middle_error(frame: pd.DataFrame) -> Measure | None:
    """Return the middle error in per cent, above zero where estimates were too high."""
    errors = log_errors(frame)
    try:
        span = rank_interval(errors, level=CONFIDENCE)
    except ScoreUndefinedError:
        return None
    values = 100 * np.expm1([float(np.median(errors)), span.lower, span.upper])
    return Measure(*map(float, values))


def _vei(study: RatioStudy) -> Measure | None:
    if study.vei is None:
        return None
    value = study.vei.value
    # The gap between the intervals of its outer groups is what chance can't explain of it.
    sure = np.sign(value) * min(study.vei.significance, abs(value))
    return Measure(value, min(sure, value), max(sure, value))


def _prb(study: RatioStudy) -> Measure | None:
    if study.prb is None:
        return None
    span = study.prb.interval
    return Measure(study.prb.value, span.lower, span.upper)


def _median(study: RatioStudy) -> Measure | None:
    span = study.median_interval
    return Measure(study.median_ratio, span.lower, span.upper) if span else None


def _cod(study: RatioStudy) -> Measure | None:
    return Measure(study.cod, *_ends(study)) if study.cod_interval else None


def _ends(study: RatioStudy) -> tuple[float, float]:
    span = study.cod_interval
    return (span.lower, span.upper) if span else (study.cod, study.cod)


_OF_STUDY: dict[str, Callable[[RatioStudy], Measure | None]] = {
    "median_ratio": _median,
    "cod": _cod,
    "prb": _prb,
    "vei_percent": _vei,
}


def of_study(study: RatioStudy, name: str) -> Measure | None:
    """Return a measure of a ratio study, None if it is not defined.

    Parameters
    ----------
    study : RatioStudy
        The study.
    name : {"median_ratio", "cod", "prb", "vei_percent"}
        Which.
    """
    return _OF_STUDY[name](study)


def _clusters(frame: pd.DataFrame) -> tuple[NDArray[np.intp], int]:
    """Return the cluster of each sale, by month and make: they miss together; and their number."""
    codes, names = pd.factorize(frame["month"].astype(str) + "\x1f" + frame["make"].astype(str))
    return codes.astype(np.intp), len(names)


def paired(own: pd.DataFrame, in_use: pd.DataFrame, *, seed: int, replications: int) -> Measure:
    """Return by how many points the mean error of the first exceeds that of the second.

    Both are of the same sales, in the same order.  The interval comes from redrawn sales, all
    sales of a month and make together: they miss together (paired cluster bootstrap; Efron and
    Tibshirani, An Introduction to the Bootstrap, 1993).

    Parameters
    ----------
    own, in_use : pandas.DataFrame, same length, at least one row
        Forecasts of the same sales.
    seed, replications : int
        Of the redrawn samples.

    Returns
    -------
    Measure
        In per cent; below zero the first is better.
    """
    errors = [np.minimum(np.abs(log_errors(f)), FARTHEST) for f in (own, in_use)]
    apart = 100 * (errors[0] - errors[1])
    cluster, _ = _clusters(own)
    sums = np.bincount(cluster, apart)
    counts = np.bincount(cluster).astype(np.float64)
    rng = np.random.default_rng(seed)
    drawn = rng.integers(len(sums), size=(replications, len(sums)))
    means = sums[drawn].sum(1) / counts[drawn].sum(1)
    tail = (1 - CONFIDENCE) / 2
    low, high = np.quantile(means, [tail, 1 - tail])
    return Measure(float(apart.mean()), float(low), float(high))


def surely_further(
    own: pd.DataFrame,
    in_use: pd.DataFrame,
    name: str,
    span: tuple[float, float],
    *,
    seed: int,
    replications: int,
    of: int = 1,
) -> bool:
    """Return whether the first lies further beyond a span than the second, and not by chance.

    Where both lie beyond it, by more than a tenth of the span: among thousands of sales chance
    explains next to nothing, and a shade worse is no reason to keep a model that fails as well.

    Parameters
    ----------
    own, in_use : pandas.DataFrame, same length
        Forecasts of the same sales, in the same order.
    name : str
        ``ranges_percent`` or a measure of :func:`of_study`.
    span : (float, float)
        What is allowed.
    seed, replications : int
        Of the redrawn samples, drawn as in :func:`paired`.
    of : int
        How many measures are asked so: together they cry wolf no more often than one
        (Bonferroni).
    """
    measure = _PLAIN[name]
    columns = [
        tuple(f[c].to_numpy(np.float64) for c in ("price", "central", "lower", "upper"))
        for f in (own, in_use)
    ]
    cluster, count = _clusters(own)
    members = [np.flatnonzero(cluster == k) for k in range(count)]
    rng = np.random.default_rng(seed)
    apart = []
    for _ in range(replications):
        rows = np.concatenate([members[k] for k in rng.integers(count, size=count)])
        beyond = [_beyond(measure(*(x[rows] for x in c)), span) for c in columns]
        apart.append(beyond[0] - beyond[1])
    surely = float(np.quantile(apart, (1 - CONFIDENCE) / 2 / of))
    both = _beyond(measure(*columns[1]), span) > 0
    return surely > (NOTICEABLE * (span[1] - span[0]) if both else 0.0)


def _beyond(value: float, span: tuple[float, float]) -> float:
    return max(span[0] - value, value - span[1], 0.0)


def _held(price: Floats, _: Floats, lower: Floats, upper: Floats) -> float:
    given = ~np.isnan(lower)
    inside = (lower <= price) & (price <= upper)
    return 100 * float(inside[given].mean()) if given.any() else 0.0


_PLAIN: dict[str, Callable[[Floats, Floats, Floats, Floats], float]] = {
    "ranges_percent": _held,
    "median_ratio": lambda price, central, *_: ratios.median_ratio(price, central),
    "cod": lambda price, central, *_: ratios.cod(price, central),
    "prb": lambda price, central, *_: equity.prb(price, central).value,
    "vei_percent": lambda price, central, *_: equity.vei(price, central).value,
}

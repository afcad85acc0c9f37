"""How good predictions are, in the measures of the package, and ranges made comparable."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from valuation.scoring.accuracy import accuracy_summary
from valuation.scoring.checks import ScoreUndefinedError
from valuation.scoring.equity import prb, prd
from valuation.scoring.intervals import interval_score
from valuation.scoring.ratios import cod

__all__ = ["HELD", "Measures", "Predictions", "measure", "rescaling", "width_held"]

Floats = NDArray[np.float64]
Bounds = tuple[Floats, Floats]

HELD = 0.8
"""Share at which widths are compared, and the level of the ranges."""


@dataclass(frozen=True)
class Predictions:
    """What one method said of the tested sales.

    Parameters
    ----------
    price, central : ndarray, shape (n,)
        Prices paid and central estimates, in money.
    ranges : dict of int to tuple of ndarray
        Lower and upper bounds by level in per cent, NaN where no range is given.
    """

    price: Floats
    central: Floats
    ranges: dict[int, Bounds] = field(default_factory=dict)

    def take(self, rows: NDArray[np.bool_]) -> Predictions:
        """Return the chosen sales."""
        ranges = {k: (low[rows], high[rows]) for k, (low, high) in self.ranges.items()}
        return Predictions(self.price[rows], self.central[rows], ranges)


@dataclass(frozen=True)
class Measures:
    """One row of the table; None where a method says nothing of it.

    Parameters
    ----------
    tested : int
        Number of sales.
    error, within_10, within_20 : float or None
        Median absolute error and shares of estimates within 10 and 20 % of the price, per cent.
    ratio, cod, prd, prb : float or None
        Median of estimate / price, coefficient of dispersion (per cent), price-related
        differential, coefficient of price-related bias.
    held, width : float or None
        Share of 80 % ranges that held, and their median width over the estimate, per cent.
    width_held : float or None
        Median width once one factor on all ranges makes 80 % of them hold, per cent.
    score : float or None
        Mean interval score of the 80 % ranges, log units.
    held_50, held_95 : float or None
        Shares of 50 and 95 % ranges that held, per cent.
    priced : float or None
        Share of the sales that are given a range, per cent.
    """

    tested: int
    error: float | None
    within_10: float | None
    within_20: float | None
    ratio: float | None
    cod: float | None
    prd: float | None
    prb: float | None
    held: float | None
    width: float | None
    width_held: float | None
    score: float | None
    held_50: float | None
    held_95: float | None
    priced: float | None


def measure(p: Predictions) -> Measures:
    """Measure one method on the sales of its predictions."""
    low, high = p.ranges.get(80, (None, None))
    s = accuracy_summary(p.price, p.central, low, high)
    scored: tuple[float | None, float | None] = (None, None)
    if low is not None and high is not None and not np.isnan(low).all():
        given = ~np.isnan(low)
        price, lower, upper = p.price[given], low[given], high[given]
        scored = (
            width_held(price, p.central[given], lower, upper),
            float(interval_score(price, lower, upper).mean()),
        )
    few = s.tested < 3
    return Measures(
        tested=s.tested,
        error=s.median_abs_pct_error,
        within_10=s.within_10_pct,
        within_20=s.within_20_pct,
        ratio=s.median_ratio,
        cod=None if few else cod(p.price, p.central),
        prd=None if few else prd(p.price, p.central),
        prb=None if few else _bias(p),
        held=s.coverage_80,
        width=s.median_width_80_pct,
        width_held=scored[0],
        score=scored[1],
        held_50=_held(p, 50),
        held_95=_held(p, 95),
        priced=s.share_priced,
    )


def _bias(p: Predictions) -> float | None:
    try:
        return prb(p.price, p.central).value
    except ScoreUndefinedError:
        return None


def _held(p: Predictions, level: int) -> float | None:
    if level not in p.ranges:
        return None
    return accuracy_summary(p.price, p.central, *p.ranges[level]).coverage_80


def rescaling(price: Floats, central: Floats, low: Floats, high: Floats, held: float) -> float:
    """Return the factor on the log half-widths of all ranges with which a share of them holds.

    Ranges are stretched or shrunk around their estimate (the nearer bound, where the estimate
    lies outside its range), each side in its own proportion.

    Parameters
    ----------
    price, central, low, high : ndarray, shape (n,)
        Prices, estimates and bounds, in money.
    held : float
        Share that must hold, above 0 and at most 1.

    Returns
    -------
    float
        With it ⌈n·held⌉ of the n ranges hold; infinite if no factor does it.
    """
    anchor = np.clip(np.log(central), np.log(low), np.log(high))
    off = np.log(price) - anchor
    side = np.where(off >= 0, np.log(high) - anchor, anchor - np.log(low))
    with np.errstate(divide="ignore", invalid="ignore"):
        need = np.where(off == 0, 0.0, np.abs(off) / side)
    # Counted in whole ranges, with a nudge against 0.8 · 10 = 8.000000000000002 and its like.
    rank = max(math.ceil(len(need) * held - 1e-9), 1)
    return float(np.sort(need)[rank - 1])


def width_held(
    price: Floats, central: Floats, low: Floats, high: Floats, held: float = HELD
) -> float:
    """Return the median width in per cent of the estimate at which a share of ranges holds."""
    factor = rescaling(price, central, low, high, held)
    lower, upper = rescaled(central, low, high, factor)
    return float(np.median(100.0 * (upper - lower) / central))


def rescaled(central: Floats, low: Floats, high: Floats, factor: float) -> Bounds:
    """Return ranges stretched by a factor on their log half-widths."""
    anchor = np.clip(np.log(central), np.log(low), np.log(high))
    return (
        np.exp(anchor - factor * (anchor - np.log(low))),
        np.exp(anchor + factor * (np.log(high) - anchor)),
    )

"""Do cheap and dear cars get the same ratio?  PRD, PRB, MKI and VEI.

Every function takes the prices first and the estimates second: one amount a sale, one
currency, all above zero; otherwise it raises ScoreInputError.

Noise in the prices alone makes perfect values look regressive, because a price that
happened to be low stands both under the ratio and in the order of the sales.  PRB and VEI
therefore order by half price, half estimate; that softens the effect and doesn't remove it.

References
----------
IAAO (2013). Standard on Ratio Studies; exposure draft (2025), sections 6 and 8.2.1.
McMillen, D. and Singh, R. (2023). Measures of vertical inequality in assessments. Journal
of Housing Economics 61, 101950.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from valuation.scoring.checks import Floats, ScoreUndefinedError, as_level, need_sales
from valuation.scoring.ratios import Interval, price_estimate, rank_interval, redrawn_interval

__all__ = ["Slope", "Vei", "VeiGroup", "mki", "prb", "prd", "prd_interval", "value_proxy", "vei"]

LEAST_OF_VEI = 20
"""Fewest sales that are cut into groups by value."""

_TIE = 1e-9
"""Relative distance below which two values count as tied, far above rounding noise."""


@dataclass(frozen=True, slots=True)
class Slope:
    """A regression slope with its confidence interval.

    Parameters
    ----------
    value : float
        The slope.
    interval : Interval
        Its interval.
    """

    value: float
    interval: Interval


@dataclass(frozen=True, slots=True)
class VeiGroup:
    """One group of sales of like value.

    Parameters
    ----------
    sales : int
        Number of sales.
    median : float
        Their median ratio.
    interval : Interval
        Its interval by ranks.
    """

    sales: int
    median: float
    interval: Interval


@dataclass(frozen=True, slots=True)
class Vei:
    """Vertical equity between the cheapest and the dearest group.

    Parameters
    ----------
    value : float
        Median of the last group less that of the first, in per cent of the overall
        median.  Below zero the dear cars are valued lower against their price.
    significance : float
        Gap between the intervals of the groups with the lowest and the highest median,
        in per cent of the overall median; 0 where they overlap.
    groups : tuple of VeiGroup
        From the cheapest to the dearest.
    """

    value: float
    significance: float
    groups: tuple[VeiGroup, ...]


def prd(price: npt.ArrayLike, estimate: npt.ArrayLike) -> float:
    """Return the price-related differential, mean ratio over weighted mean ratio.

    Above 1 the dear cars are valued lower against their price.  One very dear sale can
    decide it; read it beside the PRB.

    Examples
    --------
    >>> prd([100, 200], [100, 200])
    1.0
    """
    paid, valued = price_estimate("price-related differential", price, estimate)
    return float(np.mean(valued / paid) / (valued.sum() / paid.sum()))


def prd_interval(
    price: npt.ArrayLike,
    estimate: npt.ArrayLike,
    *,
    seed: int,
    level: float = 0.95,
    replications: int = 1000,
) -> Interval:
    """Give a bootstrap interval of the PRD, which has no closed form either.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least five sales.
    seed : int
        Seed of the draws; the same seed and order of sales give the same interval.
    level : float, default 0.95
        Level of the interval, whose bounds are percentiles.
    replications : int, default 1000
        Number of redrawn samples, at least 100.

    Returns
    -------
    Interval
        Interval of the PRD.

    Raises
    ------
    ScoreInputError
        If inputs are wrong.
    ScoreUndefinedError
        If there are fewer than five sales.
    """
    where = "PRD interval"
    paid, valued = price_estimate(where, price, estimate, least=5)
    columns = (valued / paid, paid, valued)
    return redrawn_interval(
        where, _prd_rows, columns, seed=seed, level=level, replications=replications
    )


def value_proxy(price: npt.ArrayLike, estimate: npt.ArrayLike) -> Floats:
    """Return half the price plus half the estimate brought to the level of prices.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates.

    Returns
    -------
    numpy.ndarray, shape (n,)
        0.5 price + 0.5 estimate / median ratio, in money.
    """
    paid, valued = price_estimate("value proxy", price, estimate)
    proxy: Floats = 0.5 * paid + 0.5 * valued / np.median(valued / paid)
    return proxy


def prb(price: npt.ArrayLike, estimate: npt.ArrayLike, *, level: float = 0.95) -> Slope:
    """Return the coefficient of price-related bias.

    Slope of the relative distance from the median ratio on log2 of the value proxy, by
    least squares: -0.05 says that ratios fall by 5 % when the value doubles.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least three sales.
    level : float, default 0.95
        Level of the interval, from Student's t with n - 2 degrees of freedom.

    Returns
    -------
    Slope
        The coefficient and its interval.

    Raises
    ------
    ScoreUndefinedError
        If there are fewer than three sales, or all have the same value.
    """
    where = "price-related bias"
    paid, valued = price_estimate(where, price, estimate, least=3)
    as_level(where, level)
    ratio = valued / paid
    middle = np.median(ratio)
    proxy = value_proxy(paid, valued)
    _need_spread(where, proxy)
    x = np.log2(proxy)
    y = (ratio - middle) / middle
    x, y = x - x.mean(), y - y.mean()
    slope = float(x @ y / (x @ x))
    rest = y - slope * x
    free = x.size - 2
    error = float(np.sqrt(rest @ rest / free / (x @ x)))
    half = error * float(stats.t.ppf(0.5 + level / 2.0, free))
    return Slope(slope, Interval(level, slope - half, slope + half))


def mki(price: npt.ArrayLike, estimate: npt.ArrayLike) -> float:
    """Return the modified Kakwani index, a ratio of two Gini coefficients.

    Gini of the estimates in the order of the prices over the Gini of the prices.  Below 1
    the dear cars are valued lower against their price.  Sales of equal price are put in
    order of their estimates, as the printed examples do: the order of the rows doesn't
    matter, but many equal prices lift the index a little.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least two sales.

    Returns
    -------
    float
        The index, 1 if estimates follow prices in proportion.

    Raises
    ------
    ScoreUndefinedError
        If there are fewer than two sales, or all prices are the same.

    References
    ----------
    Quintos, C. (2020). A Gini measure for vertical equity in property assessments.
    Journal of Property Tax Assessment & Administration 17(2).
    """
    where = "modified Kakwani index"
    paid, valued = price_estimate(where, price, estimate, least=2)
    _need_spread(where, paid)
    order = np.lexsort((valued, paid))
    paid, valued = paid[order], valued[order]
    # Gini = 2 cov(rank, x) / (n mean): factors that both share are left out.
    rank = np.arange(paid.size) - (paid.size - 1) / 2.0
    return float((rank @ valued / valued.sum()) / (rank @ paid / paid.sum()))


def vei(price: npt.ArrayLike, estimate: npt.ArrayLike, *, level: float = 0.90) -> Vei:
    """Return the vertical equity indicator.

    Sales are put in order of the value proxy and cut at its quantiles into 2 groups (20 to
    50 sales), 4 (51 to 500) or 10 (above).  Quantiles are interpolated between the sales
    (Hyndman and Fan's seventh rule); a sale on a cut belongs to the cheaper group.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least twenty sales.
    level : float, default 0.90
        Level of the intervals of the groups' medians.

    Returns
    -------
    Vei
        The indicator, its significance and the groups.

    Raises
    ------
    ScoreUndefinedError
        If there are fewer than twenty sales, or so many share one value that a group is
        too small.

    References
    ----------
    Hyndman, R. J. and Fan, Y. (1996). Sample quantiles in statistical packages. The
    American Statistician 50, 361-365.
    """
    where = "vertical equity indicator"
    paid, valued = price_estimate(where, price, estimate)
    need_sales(where, paid.size, LEAST_OF_VEI, "cutting by value")
    ratio = valued / paid
    middle = float(np.median(ratio))
    count = group_count(paid.size)
    member = _cut(value_proxy(paid, valued), count)
    groups = tuple(_group(where, ratio[member == g], level) for g in range(count))
    bottom = min(groups, key=lambda g: g.median)
    top = max(groups, key=lambda g: g.median)
    gap = max(0.0, top.interval.lower - bottom.interval.upper)
    difference = groups[-1].median - groups[0].median
    return Vei(100.0 * difference / middle, 100.0 * gap / middle, groups)


def _prd_rows(ratio: Floats, paid: Floats, valued: Floats) -> Floats:
    rows: Floats = ratio.mean(axis=1) / (valued.sum(axis=1) / paid.sum(axis=1))
    return rows


def group_count(n: int) -> int:
    """Return into how many groups of like value the VEI cuts so many sales."""
    if n <= 50:
        return 2
    return 4 if n <= 500 else 10


def _cut(proxy: Floats, count: int) -> npt.NDArray[np.intp]:
    ordered = np.sort(proxy)
    # Whole-number arithmetic: 0.7 * 50 must be the rank 35, not a hair below it.
    at, part = np.divmod(np.arange(1, count) * (proxy.size - 1), count)
    cuts = ordered[at] + part / count * (ordered[at + 1] - ordered[at])
    return np.searchsorted(cuts * (1.0 + _TIE), proxy, side="left")


def _group(where: str, ratio: Floats, level: float) -> VeiGroup:
    interval = rank_interval(ratio, level=level, where=f"{where}, one group")
    return VeiGroup(int(ratio.size), float(np.median(ratio)), interval)


def _need_spread(where: str, values: Floats) -> None:
    if float(values.max() - values.min()) <= _TIE * float(values.max()):
        raise ScoreUndefinedError(
            where,
            "all sales have the same value",
            got=f"{values[0]:g}",
            remedy="Add sales of other values or leave this measure out",
        )

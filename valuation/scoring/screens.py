"""Two looks at the sales themselves: outlying ratios, and estimates that knew the price.

Both take the prices first and the estimates second, as :mod:`valuation.scoring.ratios`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import stats

from valuation.scoring.checks import ScoreInputError, ScoreUndefinedError
from valuation.scoring.ratios import price_estimate

__all__ = ["SalesChasing", "outlier_mask", "sales_chasing"]


def outlier_mask(
    price: npt.ArrayLike, estimate: npt.ArrayLike, *, multiple: float = 3.0
) -> npt.NDArray[np.bool_]:
    """Mark ratios further than a multiple of the interquartile range from the quartiles.

    A marked sale is one to look at.  Leave out only what is wrong, and say how many.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least four sales; below thirty quartiles are shaky.
    multiple : float, default 3.0
        How many interquartile ranges away.

    Returns
    -------
    numpy.ndarray of bool, shape (n,)
        True where the ratio is an outlier.

    Raises
    ------
    ScoreInputError
        If the multiple is not above zero.
    ScoreUndefinedError
        If there are fewer than four sales.

    Examples
    --------
    >>> outlier_mask([1, 1, 1, 1, 1, 1], [0.9, 1, 1, 1.1, 1.2, 9]).tolist()
    [False, False, False, False, False, True]
    """
    where = "outliers"
    paid, valued = price_estimate(where, price, estimate, least=4)
    if not (multiple > 0.0 and math.isfinite(multiple)):
        raise ScoreInputError(
            where,
            "the multiple must be above zero",
            got=f"{multiple:g}",
            remedy="Use 3, or 1.5 to mark more",
        )
    ratio = valued / paid
    first, third = np.quantile(ratio, [0.25, 0.75])
    # A hair of room keeps equal ratios inside when the two quartiles coincide.
    reach = multiple * (third - first) + 1e-12 * third
    mask: npt.NDArray[np.bool_] = (ratio < first - reach) | (ratio > third + reach)
    return mask


@dataclass(frozen=True, slots=True)
class SalesChasing:
    """Whether estimates were fitted to the very sales they are tested on.

    Parameters
    ----------
    share_near_one : float
        Per cent of the ratios from 0.98 to 1.02.
    share_expected : float
        Per cent a normal distribution of the same mean and spread has there.
    largest_step : float
        Largest step of the cumulative distribution there: per cent of all sales sharing
        one ratio to three decimals.
    suspected : bool
        True if the share exceeds the expected one by more than five points and the largest
        step is above five points as well.
    """

    share_near_one: float
    share_expected: float
    largest_step: float
    suspected: bool


def sales_chasing(price: npt.ArrayLike, estimate: npt.ArrayLike) -> SalesChasing:
    """Check for a heap of ratios at one.

    Estimates set to the price after the sale make every other measure look better than
    it is.  A peaked but honest distribution exceeds the normal too; therefore both signs
    are needed.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least thirty sales.

    Returns
    -------
    SalesChasing
        Both signs and the finding.

    Raises
    ------
    ScoreUndefinedError
        If there are fewer than thirty sales, or all ratios are the same.
    """
    where = "sales chasing"
    paid, valued = price_estimate(where, price, estimate, least=30)
    ratio = valued / paid
    mean, spread = float(np.mean(ratio)), float(np.std(ratio, ddof=1))
    if spread <= 1e-12 * mean:
        raise ScoreUndefinedError(
            where,
            "all ratios are the same",
            got=f"{mean:g}",
            remedy="Test on sales the estimates have not seen",
        )
    near = np.round(ratio, 3)[(ratio >= 0.98) & (ratio <= 1.02)]
    steps = np.unique(near, return_counts=True)[1]
    share = 100.0 * near.size / ratio.size
    low, high = stats.norm.cdf([0.98, 1.02], mean, spread)
    expected = 100.0 * float(high - low)
    step = 100.0 * int(steps.max(initial=0)) / ratio.size
    return SalesChasing(share, expected, step, share - expected > 5.0 and step > 5.0)

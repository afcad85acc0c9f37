"""What winning itself says: one wins the lots one overrates.

Of several bidders of equal skill the one who errs highest wins.  The mean of the highest of `n`
errors lies ``m(n)`` standard deviations above zero, ``m`` the expected largest of `n` standard
normal numbers (order statistics); a bidder who lowers every estimate by it is right, in the mean,
about the lots he wins (Capen, Clapp and Campbell, Competitive Bidding in High-Risk Situations,
Journal of Petroleum Technology 1971).  Only the bidder's own misjudgement counts: the luck of the
resale strikes whoever wins.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtr

from valuation.bidding.costs import Winning

__all__ = ["RECORD_STRENGTH", "Correction", "correction", "expected_largest"]

RECORD_STRENGTH = 20
"""As many purchases on record count as much as the assumption."""


@dataclass(frozen=True)
class Correction:
    """How far winning lowers the expected resale.

    Parameters
    ----------
    log : float
        Log change of every resale price, zero or below.
    source : str
        What it rests on, in words.
    """

    log: float
    source: str

    @property
    def percent(self) -> float:
        """The same in per cent."""
        return float(100 * np.expm1(self.log))


@lru_cache(maxsize=64)
def expected_largest(n: int) -> float:
    """Return the expected largest of `n` independent standard normal numbers.

    Examples
    --------
    >>> [round(expected_largest(n), 4) for n in (1, 2, 3, 5)]
    [0.0, 0.5642, 0.8463, 1.163]
    """
    if n < 1:
        raise ValueError(f"expected_largest: at least one number is needed (got: {n})")
    # The integrand is smooth and gone at both ends: even steps integrate it to rounding error.
    x = np.linspace(-10.0, 10.0, 4001)
    density = np.exp(-0.5 * x * x) / np.sqrt(2 * np.pi)
    mean = np.sum(x * n * density * ndtr(x) ** (n - 1)) * (x[1] - x[0])
    return max(0.0, round(float(mean), 12))


def correction(winning: Winning, spread: float) -> Correction:
    """Return the correction for winning.

    Parameters
    ----------
    winning : Winning
        The firm's settings.
    spread : float
        Standard deviation of the log resale price, as its range has it.

    Returns
    -------
    Correction
        From a stated per cent, or the assumption about rivals; from the firm's own record as far
        as it reaches: ``n / (n + 20)`` of its mean error and the rest of the assumption.
    """
    assumed, said = _assumed(winning, spread)
    if not winning.record:
        return Correction(assumed, said)
    errors = [float(np.log(float(realised / expected))) for expected, realised in winning.record]
    n, mean = len(errors), float(np.mean(errors))
    weight = n / (n + RECORD_STRENGTH)
    log = min(weight * mean + (1 - weight) * assumed, 0.0)
    bought = f"{n} purchase{'s' * (n != 1)} on record"
    brought = f"{bought} brought {100 * np.expm1(mean):+.1f}% against expectation"
    return Correction(log, f"{brought}, which counts {weight:.0%}; the rest: {said}")


def _assumed(winning: Winning, spread: float) -> tuple[float, str]:
    if winning.percent is not None:
        return float(np.log1p(-float(winning.percent) / 100)), "stated in the cost settings"
    n = winning.rivals
    if not n or not winning.own_share:
        return 0.0, "nobody is taken to bid against you"
    rivals = "one rival" if n == 1 else f"{n} rivals"
    said = (
        f"{rivals} of equal skill, and {winning.own_share:.0%} of the spread of the range "
        "is misjudgement of your own (an assumption of the cost settings)"
    )
    return -float(winning.own_share) * spread * expected_largest(n + 1), said

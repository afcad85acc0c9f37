"""A cost beside a change: the net, its interval, and the chance that it pays back.

The change in money is ``P * (exp(S) - 1)`` with the log step ``S`` normal, and the cost lies evenly
between its ends.  Both are taken to be independent, and the distribution of their difference is
summed over points of the cost, so nothing is drawn at random.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import ndtr

from valuation.results.what_if_parts import PayBack

__all__ = ["pay_back"]

Floats = NDArray[np.float64]

POINTS = 201
"""Points of the cost that stand for all between its ends."""

SURE = 1e-12
"""A step that is so sure is taken as certain."""


def pay_back(central: float, effect: float, sd: float, *, low: float, high: float) -> PayBack:
    """Set a cost beside a change.

    Parameters
    ----------
    central : float
        Central estimate before the change, in money.
    effect, sd : float
        Mean and standard deviation of the log step.
    low, high : float
        Between which the cost lies, 0 or more, in order.

    Returns
    -------
    PayBack
        The net is the change of the central estimate less the middle of the cost.

    Examples
    --------
    >>> found = pay_back(10_000.0, float(np.log(1.1)), 0.0, low=400.0, high=600.0)
    >>> found.net, round(found.lower), round(found.upper), found.chance
    (500, 410, 590, 1.0)
    """
    if not 0 <= low <= high:
        raise ValueError(f"pay_back: 0, low, high have to rise (got: {low}, {high})")
    change, width = central * float(np.expm1(effect)), high - low
    # In whole units of both estimates, so that the net is what stands beside them less the cost.
    whole = _whole(central + change) - _whole(central)
    net = _whole(whole - (low + high) / 2)
    if sd <= SURE:
        chance = float(np.clip((change - low) / width, 0, 1)) if width else float(change >= low)
        return PayBack(
            low, high, net, change - low - 0.95 * width, change - low - 0.05 * width, chance
        )
    costs = low + width * (np.arange(POINTS) + 0.5) / POINTS if width else np.array([low])
    far = 8 * sd
    ends = (
        central * float(np.expm1(effect - far)) - high - 1.0,
        central * float(np.expm1(effect + far)) - low + 1.0,
    )
    lower, upper = (
        brentq(_over, *ends, args=(share, central, effect, sd, costs)) for share in (0.05, 0.95)
    )
    return PayBack(low, high, net, lower, upper, 1.0 - _below(0.0, central, effect, sd, costs))


def _whole(amount: float) -> int:
    return math.floor(amount + 0.5)


def _below(net: float, central: float, effect: float, sd: float, costs: Floats) -> float:
    """Return how likely the net is at most an amount."""
    needed = 1.0 + (costs + net) / central
    reached = np.full(len(costs), -np.inf)
    np.log(needed, out=reached, where=needed > 0)
    return float(np.mean(ndtr((reached - effect) / sd)))


def _over(
    net: float, share: float, central: float, effect: float, sd: float, costs: Floats
) -> float:
    return _below(net, central, effect, sd, costs) - share

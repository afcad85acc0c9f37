"""Which of the asking prices to recommend, and which to set beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.results.stock_ask import MoneyElsewhere
from valuation.stocking.asking import Tried

__all__ = ["Choice", "beyond_elsewhere", "choose"]

Floats = NDArray[np.float64]

_QUICKER = 2 / 3
_PATIENT = 3 / 2
"""Days on offer of the two alternatives, against those of the recommended price."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Places of asking prices; see :class:`valuation.results.stock_ask.StockAsk`.

    Parameters
    ----------
    recommended, quicker, patient, best_net, best_a_day, without_target : int
        Places.
    reached : bool
        False if no price tried meets the target.
    """

    recommended: int
    quicker: int
    patient: int
    best_net: int
    best_a_day: int
    without_target: int
    reached: bool


def beyond_elsewhere(tried: Tried, outlay: int, elsewhere: MoneyElsewhere) -> Floats:
    """Return mean net less what the money would earn elsewhere in the days it is tied, in cents."""
    kept: Floats = (tried.net - (elsewhere.a_day or 0.0) * outlay * tried.tied).mean(axis=0)
    return kept


def choose(tried: Tried, outlay: int, elsewhere: MoneyElsewhere, *, target: float | None) -> Choice:
    """Choose among asking prices.

    Parameters
    ----------
    tried : Tried
        What follows from each.
    outlay : int
        Money in the car, in cents.
    elsewhere : MoneyElsewhere
        What money earns in other cars.
    target : float or None
        Chance with which the car has to be sold within the target days, None for no target.

    Returns
    -------
    Choice
        Of prices that are alike good the lowest one.  A higher cost of a day never raises the
        recommended price, for a higher price never sells sooner; nor does a shorter target, for
        it leaves the lower ones of the prices that a longer one leaves.
    """
    worth = beyond_elsewhere(tried, outlay, elsewhere)
    chance, days = tried.chance.mean(axis=0), tried.days.mean(axis=0)
    freely = int(worth.argmax())
    allowed = np.flatnonzero(chance >= target) if target is not None else np.arange(len(worth))
    # Chances fall as prices rise, so that what is allowed are the lowest prices.
    best = int(worth[: allowed[-1] + 1].argmax()) if len(allowed) else 0
    sooner = np.flatnonzero(days <= _QUICKER * days[best])
    later = np.flatnonzero(days >= _PATIENT * days[best])
    return Choice(
        best,
        int(sooner[-1]) if len(sooner) else 0,
        int(later[0]) if len(later) else len(worth) - 1,
        int(tried.net.mean(axis=0).argmax()),
        int((tried.net.mean(axis=0) / tried.tied.mean(axis=0)).argmax()),
        freely,
        bool(len(allowed)),
    )

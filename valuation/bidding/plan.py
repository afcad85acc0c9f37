"""A day's budget: which lots to pursue so that the money promises most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import numpy as np

__all__ = ["Chance", "best_within"]

UNITS = 2000
"""Parts into which a budget is cut: outlays are rounded up to whole parts, so it always holds."""


@dataclass(frozen=True, slots=True)
class Chance:
    """One lot that could be bought: the most it would take, and what it promises."""

    outlay: Decimal
    margin: Decimal


def best_within(chances: Sequence[Chance], budget: Decimal) -> tuple[bool, ...]:
    """Return which lots to pursue so that the expected margins add up to most within a budget.

    The 0/1 knapsack by dynamic programming (Bellman 1957), exact for outlays rounded up to a
    two-thousandth of the budget.

    Parameters
    ----------
    chances : sequence of Chance
        Lots with an expected margin above zero count; of equal plans that with the earlier lots
        is taken.
    budget : Decimal
        Money for the day, in the currency of the outlays.

    Returns
    -------
    tuple of bool
        One for each lot.

    Examples
    --------
    >>> lots = [Chance(Decimal(60), Decimal(9)), Chance(Decimal(50), Decimal(6)),
    ...         Chance(Decimal(50), Decimal(6))]
    >>> best_within(lots, Decimal(100))
    (False, True, True)
    """
    if budget <= 0:
        return (False,) * len(chances)
    need = [math.ceil(Fraction(c.outlay) * UNITS / Fraction(budget)) for c in chances]
    best = np.zeros(UNITS + 1)
    taken = np.zeros((len(chances), UNITS + 1), dtype=bool)
    # From the last lot to the first, so that the way back begins with the first.
    for i in range(len(chances) - 1, -1, -1):
        if need[i] > UNITS or chances[i].margin <= 0:
            continue
        with_it = np.full(UNITS + 1, -np.inf)
        with_it[need[i] :] = best[: UNITS + 1 - need[i]] + float(chances[i].margin)
        taken[i] = with_it >= best
        best = np.maximum(best, with_it)
    left, out = UNITS, []
    for i in range(len(chances)):
        out.append(bool(taken[i, left]))
        left -= need[i] if out[-1] else 0
    return tuple(out)

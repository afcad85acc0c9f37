"""Which of two cars is the better buy at its price, as far as past forecasts tell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.models.ranges import GRID
from valuation.results.beside_parts import BesideCar, WorthTelling
from valuation.results.valuation import NoRange

__all__ = ["NOT_STRAIGHT", "SURE", "Spread", "chance_of_other", "worth_telling"]

Floats = NDArray[np.float64]

SURE = 0.75
"""Chance from which one of the cars is called the better buy: three to one."""

POINTS = 2_000
"""Alike likely prices by which a distribution is spread out."""

NO_RANGE = "There is no range for {} car, so nothing says how far its estimate may be off."


NOT_STRAIGHT = (
    "The other car's price was paid and this one's is asked, and too few sales of either kind are "
    "known in one channel to tell how far the two lie apart."
)
"""Why prices in different terms can't be compared."""


@dataclass(frozen=True)
class Spread:
    """The predictive distribution of what a car would bring.

    Parameters
    ----------
    base : float
        Log price around which it lies.
    offsets : ndarray, shape (n_grid,)
        Its quantiles at :data:`valuation.models.ranges.GRID` around that; empty if unknown.
    """

    base: float
    offsets: Floats

    def prices(self) -> Floats:
        """Return alike likely prices, ascending."""
        share = (np.arange(POINTS) + 0.5) / POINTS
        return np.asarray(np.exp(self.base + np.interp(share, GRID, self.offsets)))


def chance_of_other(ours: Spread, theirs: Spread, apart: float) -> float | None:
    """Return the chance that the other car is worth more above its price than this one.

    What a car would bring less what it costs is what a buyer gains.  The gains differ by the
    difference of what the cars would bring, less the difference of their prices; both
    distributions are taken as independent of each other, so their common level must be in neither.

    Parameters
    ----------
    ours, theirs : Spread
        What this car and the other would bring.
    apart : float
        Price of this car less that of the other.

    Returns
    -------
    float or None
        0 to 1, ties counted half; None if one of the distributions is unknown.
    """
    if not (len(ours.offsets) and len(theirs.offsets)):
        return None
    mine, others = ours.prices(), theirs.prices()
    below = np.searchsorted(others, mine - apart, side="left")
    not_above = np.searchsorted(others, mine - apart, side="right")
    return float(1.0 - (below + not_above).mean() / (2 * POINTS))


def worth_telling(ours: BesideCar, theirs: BesideCar, chance: float | None) -> WorthTelling:
    """Say which car is the better buy, if that can be said.

    Parameters
    ----------
    ours, theirs : BesideCar
        Both cars.
    chance : float or None
        Chance that it is the other one.

    Returns
    -------
    WorthTelling
        Open unless the odds are three to one, hardly any sale is known, or a title has to be put
        right first.
    """
    for name, car in (("this", ours), ("the other", theirs)):
        if chance is None and isinstance(car.range, NoRange):
            return WorthTelling("open", None, NO_RANGE.format(name))
    for car in (ours, theirs):
        if car.strength == "none":
            return WorthTelling("open", chance, "Hardly a sale of such a car is known.")
        if car.stopped:
            return WorthTelling("open", chance, car.stopped)
    if chance is None or 1.0 - SURE < chance < SURE:
        return WorthTelling("open", chance)
    thin = [name for name, car in (("this", ours), ("the other", theirs)) if car.strength == "thin"]
    reason = f"Few sales speak of {' and '.join(thin)} car: take it with care." if thin else ""
    return WorthTelling("other" if chance >= SURE else "this", chance, reason)

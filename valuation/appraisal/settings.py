"""Settings of a market model."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from valuation.features.settings import FeatureSettings
from valuation.models.comparables import ComparableSettings
from valuation.running.runner import Progress

__all__ = ["ModelSettings", "Progress", "UnsoldUse"]

UnsoldUse = Literal["as bids", "left out", "as bounds"]
"""What a highest bid on a car that did not sell tells.

``as bids``: what the market bid, so the estimand is the market bid.  ``left out``: only sold cars
speak, so the estimand is the price if sold.  ``as bounds``: the price would have been higher.
"""


@dataclass(frozen=True)
class ModelSettings:
    """How a market model is built.

    Parameters
    ----------
    features : FeatureSettings
        How rich the columns may be.
    comparables : ComparableSettings
        How comparable sales are weighed.
    unsold : {"as bids", "left out", "as bounds"}
        What a highest bid on an unsold car tells.
    robust_df : float or None
        Degrees of freedom of the noise; None for normal noise.
    monotone : bool
        Whether condition and originality may never lower a price.
    origins : int
        Number of past dates from which the market is forecast to calibrate the ranges.
    step_days : float
        Days between them.
    least_sales : int
        Fewest sales a model can be fitted to.
    level : float
        Level of the range that is shown.
    seed : int
        Seed of the random folds of an undated list.
    """

    features: FeatureSettings = field(default_factory=FeatureSettings)
    comparables: ComparableSettings = field(default_factory=ComparableSettings)
    unsold: UnsoldUse = "as bids"
    robust_df: float | None = 4.0
    monotone: bool = True
    origins: int = 12
    step_days: float = 30.0
    least_sales: int = 30
    level: float = 0.8
    seed: int = 0

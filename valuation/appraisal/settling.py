"""Settling a spec on sales: which blocks carry something, and which directions are held."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData
from valuation.appraisal.settings import ModelSettings
from valuation.errors import TooFewSalesError
from valuation.features.direction import hold_direction
from valuation.features.terms import Design, FeatureSpec
from valuation.models.hedonic import HedonicRegressor
from valuation.models.reml import GONE

__all__ = ["Start", "by_name", "inflation_of", "settle", "sketch"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class Start:
    """Where a fit starts.

    Parameters
    ----------
    penalties : mapping of str to float
        Penalty of each block.
    weights : ndarray, shape (n,), optional
        Weights of the sales.
    scale : float, optional
        Scale of the noise.
    """

    penalties: Mapping[str, float] = field(default_factory=dict)
    weights: Floats | None = None
    scale: float | None = None


def by_name(spec: FeatureSpec, values: Floats) -> dict[str, float]:
    """Return one value a block under the name of its term."""
    return dict(zip([t.name for t in spec.terms], values.tolist(), strict=True))


def settle(
    spec: FeatureSpec, data: MarketData, settings: ModelSettings, start: Start, *, keep: bool
) -> tuple[FeatureSpec, Design, HedonicRegressor, list[str]]:
    """Fit, and fit again while an effect runs against a direction of which the trade is certain.

    Parameters
    ----------
    spec : FeatureSpec
        Columns.
    data : MarketData
        Sales.
    settings : ModelSettings
        How the model is built.
    start : Start
        Where to start.
    keep : bool
        Whether the penalties of the start are kept.

    Returns
    -------
    FeatureSpec
        The columns that were fitted last.
    Design
        The sales in these columns.
    HedonicRegressor
        Fitted.
    list of str
        What was held, in words.
    """
    held: list[str] = []
    for left in range(7, -1, -1):
        design = spec.transform(data.table)
        model = _fit(spec, design, data, settings, start, keep=keep)
        # The last spec is the one that was fitted: coefficients belong to their columns.
        if not settings.monotone or not left:
            break
        tighter, said = hold_direction(spec, model.coef_, data.table)
        if not said:
            break
        held += said
        start = Start(by_name(spec, model.penalties_), model.weights_, model.sigma_)
        spec, keep = tighter, True
    return spec, design, model, held


def sketch(spec: FeatureSpec, data: MarketData, settings: ModelSettings) -> Start:
    """Return rough penalties of the blocks that carry something, weights and scale."""
    design = spec.transform(data.table)
    model = _fit(spec, design, data, settings, Start(), max_iter=10, tol=0.1)
    kept = {
        t.name: float(lam)
        for t, lam, edf in zip(spec.terms, model.penalties_, model.edf_, strict=True)
        if lam < GONE or edf >= 0.1
    }
    return Start(kept, model.weights_, model.sigma_)


def _fit(
    spec: FeatureSpec,
    design: Design,
    data: MarketData,
    settings: ModelSettings,
    start: Start,
    *,
    keep: bool = False,
    **options: Any,
) -> HedonicRegressor:
    model = HedonicRegressor(
        spec.layout(),
        robust_df=settings.robust_df,
        penalties=np.array([start.penalties.get(t.name, 10.0) for t in spec.terms]),
        keep_penalties=keep,
        weights=start.weights,
        scale=start.scale,
        **options,
    )
    try:
        return model.fit(design.X, data.log_price, bound=data.bound if data.bound.any() else None)
    except np.linalg.LinAlgError as e:
        raise TooFewSalesError(
            "the sales",
            "too few different cars to tell the attributes apart",
            got=f"{len(data)} sales",
            remedy="Add sales, or drop columns that say the same thing",
        ) from e


def inflation_of(model: HedonicRegressor, chassis: Ints, df: float | None) -> float:
    """Return how much wider than the weighted normal matrix says the covariance is.

    Parameters
    ----------
    model : HedonicRegressor
        Fitted.
    chassis : ndarray of int, shape (n,)
        Chassis of each sale, -1 for not known.
    df : float or None
        Degrees of freedom of the noise.

    Returns
    -------
    float
        Factor for sales of one chassis times the factor for estimated weights, each at least 1.
    """
    return _cluster(model.residuals_, chassis) * _robust(model, df)


def _cluster(residuals: Floats, chassis: Ints) -> float:
    """Return the cluster factor: how far sales of one chassis err together, at least 1."""
    known = chassis >= 0
    if not known.any():
        return 1.0
    r = residuals[known]
    sums = np.bincount(chassis[known], r)
    alone = float((residuals[~known] ** 2).sum())
    return max((float((sums**2).sum()) + alone) / float((residuals**2).sum() + 1e-300), 1.0)


def _robust(model: HedonicRegressor, df: float | None) -> float:
    """Return how much wider than least squares with the final weights the truth is.

    The weights are estimated from the same residuals, so the weighted normal matrix overstates
    the information: the sandwich of an M-estimator (Huber 1981, section 6.3) over it, at least 1.
    """
    if df is None:
        return 1.0
    r = model.residuals_ / (1.0 - np.clip(model.leverage_, 0.0, 0.95))
    z2 = (r / model.sigma_) ** 2
    w = (df + 1.0) / (df + z2)
    slope = (df + 1.0) * (df - z2) / (df + z2) ** 2
    score = float(np.mean((w * r) ** 2)) / model.sigma_**2
    return max(score * float(np.mean(w)) / float(np.mean(slope)) ** 2, 1.0)

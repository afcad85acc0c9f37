"""Where numbers are measured from, and where curves and levels may bend."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from valuation.features.encoders import Curve, Straight, scaled
from valuation.schema import Attribute

__all__ = ["centre_of", "curve_of", "ends_of", "knots_of", "nodes_of", "step_on_scale"]

Floats = NDArray[np.float64]


def nodes_of(days: Floats, step: float, most: int) -> tuple[float, ...]:
    """Return equally spaced nodes that end on the last day."""
    span = float(days.max() - days.min())
    count = int(np.clip(np.ceil(span / step), 1, most))
    return tuple(np.linspace(days.min(), days.max(), count + 1).tolist())


def centre_of(a: Attribute, x: Floats) -> tuple[float, float]:
    """Return centre and spread of a number on its scale."""
    typical = float(scaled(np.array([a.typical]), a.scale)[0])
    spread = float(np.std(x)) if len(x) >= 10 else 0.0
    if a.direction or spread <= 1e-9:
        ends = scaled(np.array([a.low, a.high]), a.scale)
        spread = spread if spread > 1e-9 and not a.direction else float(np.ptp(ends)) / 5
    return typical, spread


def step_on_scale(a: Attribute, step: float) -> float:
    """Return a step in the unit of `a` as a step on its scale, taken at the typical value."""
    ends = scaled(np.array([a.typical, a.typical + step]), a.scale)
    return float(ends[1] - ends[0])


def ends_of(straight: Straight, x: Floats, tail: float) -> tuple[float, float]:
    """Return where all but a share `tail` of the sales at each end of a number lies.

    Parameters
    ----------
    straight : Straight
        Its straight effect, in whose unit the ends are given.
    x : ndarray
        The number on its scale, NaN for not stated.
    tail : float
        Share of the sales beyond each end.
    """
    low, high = np.nanquantile((x - straight.centre) / straight.spread, [tail, 1.0 - tail])
    return float(low), float(high)


def knots_of(z: Floats, most: int) -> list[float]:
    """Return knots at the quantiles of a number."""
    distinct = np.unique(z)
    if len(distinct) < 4:
        return []
    count = min(most, len(distinct) - 2)
    inner = np.quantile(z, np.linspace(0, 1, count + 2)[1:-1])
    return [float(k) for k in np.unique(inner) if distinct[0] < k < distinct[-1]]


def curve_of(straight: Straight, x: Floats, most: int) -> Curve | None:
    """Return the curve that goes with a straight effect, None if the number takes few values."""
    z = (x - straight.centre) / straight.spread
    z = z[~np.isnan(z)]
    knots = knots_of(z, most)
    if not knots:
        return None
    fits = [np.polyfit(z, np.maximum(z - k, 0.0), 1) for k in knots]
    return Curve(
        straight.source,
        scale=straight.scale,
        centre=straight.centre,
        spread=straight.spread,
        ends=straight.ends,
        knots=tuple(knots),
        level=tuple(float(f[1]) for f in fits),
        slope=tuple(float(f[0]) for f in fits),
    )

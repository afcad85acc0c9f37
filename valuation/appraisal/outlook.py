"""The predictive distribution of a price: centre, spread, and what widens it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.fitting import Fitted, Forecast
from valuation.features.calendar import Walk
from valuation.models.ranges import Calibration

__all__ = ["Outlook", "ahead_variance", "level_variance", "outlook", "outlooks"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Outlook:
    """The predictive distribution of one car's log price.

    Parameters
    ----------
    fitted : float
        Fitted log price.
    deviation : float
        Local deviation that is used, with what earlier sales of the very car say.
    correction : float
        What calibration adds to the centre.
    offsets : ndarray
        Quantiles of the error around ``fitted + deviation``; empty if there are none.
    own : float
        The part of the deviation that rests on earlier sales of the very car.
    """

    fitted: float
    deviation: float
    correction: float
    offsets: Floats
    own: float = 0.0

    @property
    def central(self) -> float:
        """Log of the central value."""
        return self.fitted + self.deviation + self.correction


def level_variance(fitted: Fitted, day: float) -> float:
    """Return the variance of the market level between the last sale and a day."""
    gap = day - fitted.last_day
    if not gap > 0:
        return 0.0
    total = 0.0
    for term in fitted.spec.terms:
        if term.name == "market level" and isinstance(term.encoder, Walk):
            nodes = np.array(term.encoder.nodes)
            per_step = fitted.sigma**2 / max(fitted.penalties[term.name], 1e-9)
            total += per_step * gap / float(np.diff(nodes).mean())
    return total


def ahead_variance(fitted: Fitted, calibration: Calibration, day: float) -> float:
    """Return the variance that a forecast has more because its day lies beyond the last sale.

    The larger of what the market level may move by and what past forecasts were revised by as
    time went on; the second holds the first, and what makes and model lines do beside the market.

    Parameters
    ----------
    fitted : Fitted
        The market.
    calibration : Calibration
        What past errors teach.
    day : float
        Day of the forecast, days since 1970-01-01; NaN in an undated market.

    Returns
    -------
    float
        Variance of the log price; zero up to the last sale.
    """
    gap = day - fitted.last_day
    if not gap > 0:
        return 0.0
    return max(level_variance(fitted, day), calibration.ahead_variance(gap))


def outlook(
    fitted: Fitted,
    calibration: Calibration,
    forecast: Forecast,
    *,
    day: float,
    extra: float = 0.0,
    row: int = 0,
) -> Outlook:
    """Return the predictive distribution of one car of a forecast.

    Parameters
    ----------
    fitted : Fitted
        The market.
    calibration : Calibration
        What past errors teach.
    forecast : Forecast
        What the market says of the cars.
    day : float
        Day of the valuation, days since 1970-01-01.
    extra : float
        Variance to add, such as that of facts not looked at.
    row : int
        Which car.
    """
    c = calibration
    price = float(forecast.effects[row].sum())
    around = forecast.around[row]
    deviation = around.own + (1.0 - around.own_share) * c.share * around.deviation
    if not len(c.quantiles):
        return Outlook(price, deviation, 0.0, np.zeros(0), around.own)
    difficulty = float(c.difficulty(forecast.difficulty[row])[0])
    offsets = c.offsets(difficulty, extra=extra + ahead_variance(fitted, c, day))
    lean = float(c.leaning(forecast.difficulty[row])[0])
    return Outlook(price, deviation, lean + c.centre * difficulty, lean + offsets, around.own)


def outlooks(
    fitted: Fitted,
    calibration: Calibration,
    forecast: Forecast,
    day: Floats,
    levels: Sequence[float] = (0.8,),
) -> tuple[Floats, Floats, Floats]:
    """Return central value and bounds of the ranges of every car of a forecast, in money.

    Parameters
    ----------
    fitted : Fitted
        The market.
    calibration : Calibration
        What past errors teach.
    forecast : Forecast
        What the market says of the cars.
    day : ndarray, shape (n,)
        Day of each valuation.
    levels : sequence of float
        Levels of the ranges.

    Returns
    -------
    central : ndarray, shape (n,)
        Central values.
    lower, upper : ndarray, shape (n, n_levels)
        Bounds, NaN where there are too few past errors.
    """
    n = len(forecast.around)
    central = np.full(n, np.nan)
    bounds = np.full((2, n, len(levels)), np.nan)
    for i in range(n):
        out = outlook(fitted, calibration, forecast, day=float(day[i]), row=i)
        central[i] = np.exp(out.central)
        if len(out.offsets):
            base = out.fitted + out.deviation
            for k, level in enumerate(levels):
                bounds[:, i, k] = np.exp(base + np.array(calibration.interval(out.offsets, level)))
    return central, bounds[0], bounds[1]

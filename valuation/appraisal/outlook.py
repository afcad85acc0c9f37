"""The predictive distribution of a price: centre, spread, and what widens it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.fitting import Fitted, Forecast
from valuation.features.calendar import Walk
from valuation.models.ranges import Calibration

__all__ = ["Outlook", "ahead_variance", "level_variance", "outlook", "outlook_of"]

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
    around = forecast.around[row]
    return outlook_of(
        calibration,
        float(forecast.effects[row].sum()),
        around.deviation,
        (around.own, around.own_share),
        forecast.difficulty[row],
        extra + ahead_variance(fitted, calibration, day),
    )


def outlook_of(
    calibration: Calibration,
    price: float,
    deviation: float,
    own: tuple[float, float],
    difficulty: Floats,
    extra: float,
) -> Outlook:
    """Return the predictive distribution of a car from the parts of its forecast.

    Parameters
    ----------
    calibration : Calibration
        What past errors teach.
    price : float
        Fitted log price.
    deviation : float
        Local deviation.
    own : (float, float)
        The part of it that rests on earlier sales of the very car, and how far they are believed.
    difficulty : ndarray, shape (9,)
        Columns of the difficulty estimate.
    extra : float
        Variance to add.
    """
    c = calibration
    mine, believed = own
    deviation = mine + (1.0 - believed) * c.share * deviation
    if not len(c.quantiles):
        return Outlook(price, deviation, 0.0, np.zeros(0), mine)
    expected = float(c.difficulty(difficulty)[0])
    offsets = c.offsets(expected, extra=extra)
    lean = float(c.leaning(difficulty)[0])
    return Outlook(price, deviation, lean + c.centre * expected, lean + offsets, mine)

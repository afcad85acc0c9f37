"""What many cars are worth together: their prices err together, so their ranges don't just add up.

Every price rests on the same fit: an error in the level of the market or in the effect of a model
line is one error for all cars that share it, and does not cancel in a sum.  With the rows X of the
cars in the columns of the fit, the covariance of their fitted log prices is ``X V X'``, V being the
posterior covariance of the coefficients; the level may move after the last sale, for all alike.
What past forecasts erred beyond that counts as each car's own.

The mean of a sum is the sum of the means, and those lie above the central estimates: a price can
be twice the middle one and never less than nothing.  The sum is taken as lognormal with its mean
and variance (Fenton 1960), which for many cars is nearly normal.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.stats import norm

from valuation.appraisal.batch import batches, lacking, sure_of_day
from valuation.appraisal.brief import Brief, brief_of
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import level_variance
from valuation.features.table import day_number
from valuation.models.ranges import GRID
from valuation.records import Car
from valuation.running.threads import one_thread

__all__ = ["Sum", "Together", "together"]

Floats = NDArray[np.float64]

_SHARES = (np.arange(200) + 0.5) / 200
"""Equally likely points of a car's price."""

_Z = float(norm.ppf(0.9))


@dataclass(frozen=True)
class Sum:
    """The sum of some prices.

    Parameters
    ----------
    mean, sd : float
        Of the sum.
    sd_apart : float
        Its standard deviation if the cars had nothing in common.
    """

    mean: float
    sd: float
    sd_apart: float

    @property
    def _log(self) -> tuple[float, float]:
        s2 = math.log1p((self.sd / self.mean) ** 2)
        return math.log(self.mean) - s2 / 2, math.sqrt(s2)

    @property
    def ends(self) -> tuple[float, float]:
        """80 % range."""
        middle, s = self._log
        return math.exp(middle - _Z * s), math.exp(middle + _Z * s)

    def below(self, amount: float) -> float:
        """Return the probability that the sum is below an amount."""
        middle, s = self._log
        if amount <= 0:
            return 0.0
        return float(norm.cdf((math.log(amount) - middle) / max(s, 1e-12)))


@dataclass(frozen=True)
class Together:
    """Cars valued together.

    Parameters
    ----------
    briefs : tuple of Brief or None
        By car; None where one can't be valued.
    mean, variance : ndarray, shape (n_cars,)
        Of each car's price; NaN without a range.
    shared : ndarray, shape (n_cars, n_cars)
        Covariance of log prices that comes from the fit and from the level.
    """

    briefs: tuple[Brief | None, ...]
    mean: Floats
    variance: Floats
    shared: Floats

    @property
    def ranged(self) -> NDArray[np.bool_]:
        """Cars that have a range, shape (n_cars,)."""
        return np.isfinite(self.mean)

    def covariance(self, cars: Sequence[int]) -> Floats:
        """Return the covariance of the prices of some cars with a range, shape (n, n)."""
        at = np.asarray(cars, dtype=np.intp)
        mean = self.mean[at]
        # Exact for lognormal prices; a car's own variance is that of its range.
        out = np.outer(mean, mean) * np.expm1(self.shared[np.ix_(at, at)])
        np.fill_diagonal(out, np.maximum(self.variance[at], np.diag(out)))
        return out

    def sum(self, cars: Sequence[int]) -> Sum | None:
        """Return the sum of the prices of some cars with a range, None of no car."""
        if not len(cars):
            return None
        covariance = self.covariance(cars)
        apart = math.sqrt(float(np.trace(covariance)))
        both = math.sqrt(max(float(covariance.sum()), 0.0))
        return Sum(float(self.mean[np.asarray(cars, dtype=np.intp)].sum()), both, apart)


def together(
    market: MarketModel, cars: Sequence[Car], *, sale: Mapping[str, str], as_of: date | None = None
) -> Together:
    """Value cars together.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    cars : sequence of Car
        The cars.
    sale : mapping of str to str
        The sale all are valued for.
    as_of : datetime.date, optional
        Day of the valuations; that of the model by default.

    Returns
    -------
    Together
        In the order of the cars.
    """
    as_of = sure_of_day(market, as_of)
    whole = [i for i, car in enumerate(cars) if not lacking(car)]
    briefs: list[Brief | None] = [None] * len(cars)
    rows: list[sparse.csr_array] = []
    with one_thread():
        place = iter(whole)
        for batch in batches(market, [cars[i] for i in whole], as_of=as_of, sale=sale):
            rows.append(batch.forecast.design.X)
            for i in range(len(batch.cars)):
                briefs[next(place)] = brief_of(batch, i)
        shared = np.zeros((len(cars), len(cars)))
        if whole:
            shared[np.ix_(whole, whole)] = _shared(market, sparse.vstack(rows).tocsr(), as_of)
    moments = np.array([_moments(b) for b in briefs]).reshape(-1, 2)
    return Together(tuple(briefs), moments[:, 0], moments[:, 1], shared)


def _shared(market: MarketModel, X: sparse.csr_array, as_of: date | None) -> Floats:
    """Return the covariance of log prices that comes from the fit and from the level."""
    fitted = market.fitted
    through = fitted.covariance_times(np.asarray(X.T.toarray(), dtype=np.float64))
    V = np.asarray(X @ through) * fitted.sigma**2 * fitted.inflation
    day = day_number(as_of) if as_of else float("nan")
    shared: Floats = (V + V.T) / 2 + level_variance(fitted, day)
    return shared


def _moments(brief: Brief | None) -> tuple[float, float]:
    """Return mean and variance of a price, from its predictive distribution."""
    if brief is None or not len(brief.offsets):
        return math.nan, math.nan
    prices = np.exp(brief.base + np.interp(_SHARES, GRID, brief.offsets))
    return float(prices.mean()), float(prices.var())

"""Ranges from past errors: a predictive distribution with tested coverage.

Errors made on sales that came after the fit are divided by an estimate of how difficult each car
was; their weighted quantiles, put back on the car at hand, are the whole predictive distribution
(split conformal prediction with normalised scores: Papadopoulos and others 2002; weighted
quantiles for drift: Barber and others 2023).  The difficulty is a gamma regression of the absolute
error, damped a little towards its median because undamped scores explode where evidence is thin.

How much wider a forecast made months ahead must be is learned from revisions: how the forecast of
one sale changed between two dates as the sales in between came in.  The noise of the sale itself
cancels, and where forecasts use what is known the variance of a revision is what the error of the
earlier forecast has more than that of the later one (Nordhaus 1987).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sklearn.linear_model import GammaRegressor

from valuation.running.threads import one_thread

__all__ = [
    "DIFFICULTY",
    "Calibration",
    "PastErrors",
    "Revisions",
    "calibrate",
    "weighted_quantiles",
]

Floats = NDArray[np.float64]

DIFFICULTY = (
    "comparables",
    "distance",
    "disagreement",
    "silence",
    "estimate",
    "age of evidence",
    "uncertainty",
    "new line",
    "vintage",
)
"""Columns of the difficulty estimate, in order."""

CERTAIN = {"comparables": -1.0, "distance": 1.0, "age of evidence": 1.0}
"""Columns that grow worse as evidence grows old, with the only sign they may have."""

LEANING = ("new line", "comparables", "distance")
"""Columns by which past forecasts may have erred to one side."""

AMPLE = 2.0
"""Log of one plus the weight of comparables, and gross adjustment, beyond which more is no more."""

LEAN_SD = 0.15
"""How far a step in one of them is expected to move the centre, log units."""

GRID = np.concatenate([[0.0025, 0.005], np.arange(1, 100) / 100, [0.995, 0.9975]])
"""Probabilities at which the distribution is kept."""

TRUST = 0.85
"""Power of the difficulty estimate; the rest is its median, as too bold an estimate is unstable."""

LEAST_ERRORS = 20
"""Fewest past errors that can carry a range at 80 %."""

FEW_REVISIONS = 30
"""Revisions from which half of their variance is believed."""


def _none() -> Floats:
    return np.zeros(0)


@dataclass(frozen=True)
class Revisions:
    """How forecasts of the same sales changed between two dates of the past.

    Parameters
    ----------
    fitted, deviation : ndarray, shape (n,)
        Later forecast less the earlier one: of the log price without the local deviation, and of
        the local deviation.
    days : ndarray, shape (n,)
        Days between the two forecasts.
    day : ndarray, shape (n,)
        Day of the later forecast.
    """

    fitted: Floats = field(default_factory=_none)
    deviation: Floats = field(default_factory=_none)
    days: Floats = field(default_factory=_none)
    day: Floats = field(default_factory=_none)

    def __len__(self) -> int:
        return len(self.fitted)

    def take(self, rows: Any) -> Revisions:
        """Return the chosen revisions (mask or positions)."""
        return Revisions(self.fitted[rows], self.deviation[rows], self.days[rows], self.day[rows])

    @staticmethod
    def joined(parts: Sequence[Revisions]) -> Revisions:
        """Return several lots of revisions as one."""
        return Revisions(
            np.concatenate([_none(), *(p.fitted for p in parts)]),
            np.concatenate([_none(), *(p.deviation for p in parts)]),
            np.concatenate([_none(), *(p.days for p in parts)]),
            np.concatenate([_none(), *(p.day for p in parts)]),
        )


@dataclass(frozen=True)
class PastErrors:
    """Errors of forecasts on sales that came later.

    Parameters
    ----------
    error : ndarray, shape (n,)
        Log price less its forecast without the local deviation.
    deviation : ndarray, shape (n,)
        Local deviation of each forecast.
    difficulty : ndarray, shape (n, 9)
        Columns named in :data:`DIFFICULTY`.
    day : ndarray, shape (n,)
        Day of each sale, NaN in an undated list.
    revisions : Revisions
        How earlier forecasts of some of these sales changed; none in an undated list.
    """

    error: Floats
    deviation: Floats
    difficulty: Floats
    day: Floats
    revisions: Revisions = field(default_factory=Revisions)

    def __len__(self) -> int:
        return len(self.error)

    def until(self, day: float) -> PastErrors:
        """Return the errors known before a day."""
        keep = self.day < day
        return PastErrors(
            self.error[keep],
            self.deviation[keep],
            self.difficulty[keep],
            self.day[keep],
            self.revisions.take(self.revisions.day < day),
        )


def weighted_quantiles(x: Floats, weights: Floats, probabilities: Floats) -> Floats:
    """Return quantiles of a weighted sample, one weight of a new sale added at each end.

    Parameters
    ----------
    x, weights : ndarray, shape (n,)
        Sample and positive weights.
    probabilities : ndarray
        Between 0 and 1.

    Returns
    -------
    ndarray
        Quantiles; beyond the sample its ends.

    Examples
    --------
    >>> weighted_quantiles(np.arange(9.0), np.ones(9), np.array([0.1, 0.5, 0.9])).tolist()
    [0.0, 4.0, 8.0]
    """
    order = np.argsort(x, kind="stable")
    w = weights[order]
    # A new sale is exchangeable with the newest: it counts with the largest weight.
    total = w.sum() + w.max()
    rank = (np.cumsum(w) + 0.5 * (w.max() - w)) / total
    return np.interp(probabilities, rank, x[order])


@dataclass(frozen=True)
class Calibration:
    """What past errors teach about the next one.

    Parameters
    ----------
    quantiles : ndarray, shape (n_grid,)
        Quantiles of the scaled error at :data:`GRID`; empty if there are too few errors.
    share : float
        Part of the local deviation that past forecasts confirm, 0 to 1.
    centre : float
        Median of the scaled errors, shrunk by n / (n + 50).
    coef, mean, spread : ndarray
        Gamma regression of the absolute error on standardised difficulty.
    level : float
        Its intercept.
    middle : float
        Median difficulty.
    n : int
        Number of past errors.
    lean : ndarray, shape (3,)
        What the centre moves by a step in each column of :data:`LEANING`.
    ahead_rate : float
        Variance by which the error of a forecast grows a day, once it lies farther ahead than the
        past forecasts whose errors make the distribution.
    ahead_from : float
        How many days ahead these lie at most.
    """

    quantiles: Floats
    share: float
    centre: float
    coef: Floats
    mean: Floats
    spread: Floats
    level: float
    middle: float
    n: int
    lean: Floats = field(default_factory=lambda: np.zeros(len(LEANING)))
    ahead_rate: float = 0.0
    ahead_from: float = 0.0

    def ahead_variance(self, days: float) -> float:
        """Return the variance to add to a forecast so many days ahead of the last sale.

        Nothing for days within the stretch that past forecasts looked ahead: their errors hold
        it already.
        """
        return self.ahead_rate * max(days - self.ahead_from, 0.0)

    def leaning(self, columns: Floats) -> Floats:
        """Return how far prices lay from forecasts made on such evidence, log units, shape (n,).

        A model line nobody has seen in the list is no draw from the lines that are in it: what is
        seldom offered is mostly seldom sought.  Past forecasts of such cars tell.
        """
        return np.asarray(_leaning(columns) @ self.lean, dtype=np.float64)

    def difficulty(self, columns: Floats) -> Floats:
        """Return how large an error is expected, shape (n,), for rows of difficulty columns."""
        z = np.clip((np.atleast_2d(columns) - self.mean) / self.spread, -4.0, 4.0)
        raw = np.exp(np.clip(self.level + z @ self.coef, -8.0, 3.0))
        return np.asarray(raw**TRUST * self.middle ** (1.0 - TRUST), dtype=np.float64)

    def offsets(self, difficulty: float, *, extra: float = 0.0) -> Floats:
        """Return the predictive distribution of the error as its quantiles at :data:`GRID`.

        Parameters
        ----------
        difficulty : float
            From :meth:`difficulty`.
        extra : float
            Variance to add: a market that has moved since the last sale, facts not looked at.
        """
        base = difficulty * self.quantiles
        if extra <= 0:
            return base
        inner = difficulty * (self.quantiles[_at(0.84)] - self.quantiles[_at(0.16)]) / 2
        middle = difficulty * self.quantiles[_at(0.5)]
        widen = np.sqrt(1.0 + extra / max(inner, 1e-9) ** 2)
        return np.asarray(middle + (base - middle) * widen, dtype=np.float64)

    def interval(self, offsets: Floats, level: float) -> tuple[float, float]:
        """Return the lower and upper end of the central interval of offsets."""
        tail = (1.0 - level) / 2
        low, high = np.interp([tail, 1.0 - tail], GRID, offsets)
        return float(low), float(high)


def _at(probability: float) -> int:
    return int(np.argmin(np.abs(GRID - probability)))


def calibrate(errors: PastErrors, *, day: float, half_life: float = 365.0) -> Calibration:
    """Learn the predictive distribution from past errors.

    Parameters
    ----------
    errors : PastErrors
        Errors of forecasts on later sales.
    day : float
        Day of the valuation, from which the age of an error is counted; NaN if undated.
    half_life : float
        Age in days at which an error counts half.

    Returns
    -------
    Calibration
        With empty quantiles if there are fewer than :data:`LEAST_ERRORS` errors.
    """
    n, k = len(errors), len(DIFFICULTY)
    if n < LEAST_ERRORS:
        empty = np.zeros(0)
        return Calibration(empty, 0.5, 0.0, np.zeros(k), np.zeros(k), np.ones(k), 0.0, 1.0, n)
    age = np.nan_to_num(day - errors.day, nan=0.0)
    weights = np.exp2(-np.maximum(age, 0.0) / half_life)
    share = _share(errors, weights)
    error = errors.error - share * errors.deviation
    lean = _lean(_leaning(errors.difficulty), error, weights)
    error = error - _leaning(errors.difficulty) @ lean
    size = np.abs(error - np.median(error)) + 1e-4
    mean = errors.difficulty.mean(0)
    spread = np.maximum(errors.difficulty.std(0), 1e-9)
    z = np.clip((errors.difficulty - mean) / spread, -4.0, 4.0)
    # An outlier in the record must not decide what is difficult.
    ceiling = np.quantile(size, 0.98)
    coef, level = _regress(z, np.minimum(size, ceiling), weights)
    raw = np.exp(np.clip(level + z @ coef, -8.0, 3.0))
    middle = float(np.median(raw))
    scaled = error / (raw**TRUST * middle ** (1.0 - TRUST))
    quantiles = weighted_quantiles(scaled, weights, GRID)
    centre = float(quantiles[_at(0.5)]) * n / (n + 50)
    growth = _growth(errors.revisions, share)
    return Calibration(
        quantiles, share, centre, coef, mean, spread, level, middle, n, lean, *growth
    )


def _growth(revisions: Revisions, share: float) -> tuple[float, float]:
    """Return the variance by which forecasts were revised a day, and the shortest time between.

    Revisions a month and nine months apart are brought to one day as those of a random walk.  The
    half of the cars that was revised least tells, through the median: large revisions are of cars
    of which little was known, and their difficulty makes their ranges wide as it is.  A few
    revisions are believed in part; the walk of the market level is the least that counts then.
    """
    n = len(revisions)
    if not n:
        return 0.0, 0.0
    moved = np.abs(revisions.fitted + share * revisions.deviation) / np.sqrt(revisions.days)
    typical = 1.4826 * float(np.median(moved))
    return typical**2 * n / (n + FEW_REVISIONS), float(revisions.days.min())


def _regress(z: Floats, size: Floats, weights: Floats) -> tuple[Floats, float]:
    """Regress the size of an error on its difficulty; return coefficients and intercept.

    A few errors can make old or distant evidence look better than new; a later valuation would
    then get a narrower range.  Such a column is dropped and the others are fitted again.
    """
    sign = np.array([CERTAIN.get(name, 0.0) for name in DIFFICULTY])
    use = np.ones(len(sign), dtype=bool)
    model = GammaRegressor(alpha=0.02 + 2.0 / len(size), max_iter=1000)
    while True:
        with one_thread():
            model.fit(z * use, size, sample_weight=weights)
        wrong = use & (sign * model.coef_ < 0)
        if not wrong.any():
            return np.where(use, model.coef_, 0.0), float(model.intercept_)
        use &= ~wrong


def _leaning(difficulty: Floats) -> Floats:
    """Return the columns of :data:`LEANING`, each from the end where evidence is ample."""
    at = dict(zip(DIFFICULTY, np.atleast_2d(difficulty).T, strict=True))
    few = np.maximum(AMPLE - at["comparables"], 0.0)
    return np.column_stack([at["new line"], few, np.minimum(at["distance"], AMPLE)])


def _lean(Z: Floats, error: Floats, weights: Floats) -> Floats:
    """Regress errors on thin evidence: robust ridge towards zero, the intercept left out."""
    lean: Floats = np.zeros(Z.shape[1])
    w = weights
    for _ in range(20):
        centre = np.average(error - Z @ lean, weights=w)
        # Student t weights with four degrees of freedom, as in the fit.
        r = error - Z @ lean - centre
        scale = 1.4826 * float(np.median(np.abs(r))) + 1e-9
        w = weights * 5.0 / (4.0 + (r / scale) ** 2)
        ridge = np.eye(Z.shape[1]) * (scale / LEAN_SD) ** 2
        solved = np.linalg.solve((Z.T * w) @ Z + ridge, Z.T @ (w * (error - centre)))
        lean = np.asarray(solved, dtype=np.float64)
    return lean


def _share(errors: PastErrors, weights: Floats) -> float:
    """Return the part of the local deviation that lowered past errors, shrunk towards a half."""
    d, e = errors.deviation, errors.error - np.median(errors.error)
    limit = 2.5 * np.median(np.abs(e)) + 1e-9
    e = np.clip(e, -limit, limit)
    noise = float(np.average(e**2, weights=weights))
    prior = noise / 0.5**2
    value = (float(weights @ (d * e)) + prior * 0.5) / (float(weights @ d**2) + prior)
    return float(np.clip(value, 0.0, 1.0))

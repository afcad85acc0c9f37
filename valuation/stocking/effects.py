"""The effects on the sales a day: what is assumed of each, and where it stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from valuation.stocking.settings import YEAR_DAYS, ChanceAssumptions

__all__ = ["OTHER_CARS", "Effects", "season_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

OTHER_CARS = "other cars"
"""The kind of cars of which the firm had too few for a kind of their own."""

_YEAR_ONE = date(2001, 1, 1).toordinal()


@dataclass(frozen=True)
class Effects:
    """Where each effect stands among the coefficients.

    In this order: base; steps of time on offer; swing on the best day and a quarter year later;
    condition; elasticity; error of the estimates and what the firm sees of it; then for each kind
    of car its base, both swings and its elasticity.

    Parameters
    ----------
    assumed : ChanceAssumptions
        Priors.
    segments : tuple of str
        Kinds of cars, :data:`OTHER_CARS` the last one.
    """

    assumed: ChanceAssumptions
    segments: tuple[str, ...]

    @property
    def season(self) -> int:
        """Place of the swing on the best day; the other one follows."""
        return 1 + len(self.assumed.steps)

    @property
    def condition(self) -> int:
        """Place of the condition grade."""
        return self.season + 2

    @property
    def elasticity(self) -> int:
        """Place of the log elasticity."""
        return self.season + 3

    @property
    def error(self) -> int:
        """Place of the log error of the estimates."""
        return self.season + 4

    @property
    def sees(self) -> int:
        """Place of the logit of the share of that error that the firm sees."""
        return self.season + 5

    @property
    def size(self) -> int:
        """Number of coefficients."""
        return self.sees + 1 + 4 * len(self.segments)

    def of_segment(self, segment: int | Ints) -> Ints:
        """Return the place of the base of a kind of car; swings and elasticity follow."""
        return self.sees + 1 + 4 * np.asarray(segment)

    def segment(self, name: str) -> int:
        """Return the number of a kind of car; one that is not known is among the others."""
        return self.segments.index(name if name in self.segments else OTHER_CARS)

    def prior(self) -> tuple[Floats, Floats]:
        """Return means and standard deviations."""
        a = self.assumed
        common = [
            (a.base.mean, a.base.sd),
            *((s.mean, s.sd) for _, s in a.steps),
            (a.swing.mean, a.swing.sd),
            (0.0, a.swing.sd),
            (a.condition.mean, a.condition.sd),
            (a.elasticity.mean, a.elasticity.sd),
            (a.error.mean, a.error.sd),
            (a.sees.mean, a.sees.sd),
        ]
        own = (a.segment_base, a.segment_season, a.segment_season, a.segment_elasticity)
        both = np.array(common + [(0.0, sd) for sd in own] * len(self.segments))
        return both[:, 0], both[:, 1]

    def columns(
        self, day: Floats, listed_days: Floats, condition: float | Floats, segment: int | Ints
    ) -> Floats:
        """Return what multiplies each coefficient that is linear in the log sales a day.

        Parameters
        ----------
        day : ndarray, shape (n,)
            Ordinal of the day (1 is 1 January of year 1).
        listed_days : ndarray, shape (n,)
            Days since the first listing.
        condition : float or ndarray, shape (n,)
            Condition grade.
        segment : int or ndarray of int, shape (n,)
            Kind of car.

        Returns
        -------
        ndarray, shape (n, n_effects)
            Zero where the elasticity and the error of the estimates stand.
        """
        n = len(day)
        out = np.zeros((n, self.size))
        out[:, 0] = 1
        starts = np.array([start for start, _ in self.assumed.steps])
        step = np.searchsorted(starts, listed_days, side="right")
        out[np.flatnonzero(step), step[step > 0]] = 1
        swings = season_of(day, self.assumed.best_day)
        out[:, self.season : self.season + 2] = swings
        out[:, self.condition] = (condition - self.assumed.middling) / 10
        rows, at = np.arange(n), self.of_segment(np.broadcast_to(segment, n))
        out[rows, at] = 1
        out[rows, at + 1], out[rows, at + 2] = swings.T
        return out

    def elasticities(self, coefficients: Floats, segment: int | Ints) -> Floats:
        """Return by how much log sales a day fall for a log asking price higher by one."""
        at = self.of_segment(segment) + 3
        elasticity: Floats = np.exp(coefficients[..., self.elasticity] + coefficients[..., at])
        return elasticity

    def errors(self, coefficients: Floats) -> tuple[Floats, Floats]:
        """Return the error of the estimates, log, and the share of it that the firm sees."""
        return np.exp(coefficients[..., self.error]), expit(coefficients[..., self.sees])


def season_of(day: Floats, best_day: float) -> Floats:
    """Return where in the year days are: 1 and 0 on the best day, -1 and 0 half a year later.

    Parameters
    ----------
    day : ndarray, shape (n,)
        Ordinals of days.
    best_day : float
        Day of the year, 1 is 1 January.

    Returns
    -------
    ndarray, shape (n, 2)
    """
    turn = 2 * np.pi * (day - _YEAR_ONE + 1 - best_day) / YEAR_DAYS
    return np.column_stack([np.cos(turn), np.sin(turn)])

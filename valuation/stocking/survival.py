"""Sales a day as a piecewise exponential model, fitted with starting assumptions.

With a rate that is constant over short pieces of time, the likelihood of survival data with late
entry and censoring is that of Poisson counts with log days as offset (Holford 1980; Laird and
Olivier 1981).  Assumptions are normal priors on the effects, so that every effect is weighed by the
precisions of evidence and assumption, and kinds of cars lean on the whole stock.  The posterior is
taken as normal around its mode with the expected information (Laplace).  With no assumptions the
fit is that of a Poisson regression of other software; see the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, optimize

from valuation.running.threads import one_thread
from valuation.stocking.settings import YEAR_DAYS, ChanceAssumptions
from valuation.stocking.spells import Spell

__all__ = ["OTHER_CARS", "Effects", "Pieces", "Posterior", "pieces_of", "posterior", "season_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

OTHER_CARS = "other cars"
"""The kind of cars of which the firm had too few for a kind of their own."""

_PIECE = 7
"""Longest piece in days: within it only the season moves, by less than a hundredth."""

_YEAR_ONE = date(2001, 1, 1).toordinal()


@dataclass(frozen=True)
class Effects:
    """Where each effect stands among the coefficients.

    In this order: base; steps of time on offer; swing on the best day and a quarter year later;
    condition; elasticity; then for each kind of car its base, both swings and its elasticity.

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
    def size(self) -> int:
        """Number of coefficients."""
        return self.elasticity + 1 + 4 * len(self.segments)

    def of_segment(self, segment: int | Ints) -> Ints:
        """Return the place of the base of a kind of car; swings and elasticity follow."""
        return self.elasticity + 1 + 4 * np.asarray(segment)

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
        ]
        own = (a.segment_base, a.segment_season, a.segment_season, a.segment_elasticity)
        both = np.array(common + [(0.0, sd) for sd in own] * len(self.segments))
        return both[:, 0], both[:, 1]

    def columns(
        self, day: Floats, listed_days: Floats, condition: float | Floats, segment: int | Ints
    ) -> Floats:
        """Return what multiplies each coefficient but those of the elasticity.

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
            Zero where the elasticity stands.
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


@dataclass(frozen=True)
class Pieces:
    """Time at risk in pieces within which nothing changes.

    Parameters
    ----------
    columns : ndarray, shape (n, n_effects)
        See :meth:`Effects.columns`.
    segment : ndarray of int, shape (n,)
        Kind of car.
    log_ask : ndarray, shape (n,)
        Log asking price over estimate.
    log_days : ndarray, shape (n,)
        Log of the days at risk.
    sold : ndarray, shape (n,)
        1 where the piece ends with a sale.
    """

    columns: Floats
    segment: Ints
    log_ask: Floats
    log_days: Floats
    sold: Floats


def pieces_of(spells: Sequence[Spell], effects: Effects) -> Pieces:
    """Cut spells into weeks and at the steps of time on offer.

    A condition grade that nobody stated counts as the mean of those stated, or as middling.
    """
    starts = [start for start, _ in effects.assumed.steps]
    stated = [s.condition for s in spells if s.condition is not None]
    usual = float(np.mean(stated)) if stated else effects.assumed.middling
    rows: list[tuple[float, ...]] = []
    for s in spells:
        inner = {start - s.listed_days for start in starts} | set(range(_PIECE, s.days, _PIECE))
        cuts = [0, *sorted(c for c in inner if 0 < c < s.days), s.days]
        first, grade = s.first.toordinal(), usual if s.condition is None else s.condition
        known = (grade, effects.segment(s.segment), s.log_ask_over_value)
        for start, end in pairwise(cuts):
            middle, since = first + (start + end - 1) / 2, s.listed_days + start
            rows.append((middle, since, *known, end - start, s.sold and end == s.days))
    day, listed, grades, number, asks, days, sold = np.array(rows, dtype=float).reshape(-1, 7).T
    segment = number.astype(np.intp)
    columns = effects.columns(day, listed, grades, segment)
    return Pieces(columns, segment, asks, np.log(days), sold)


@dataclass(frozen=True)
class Posterior:
    """Coefficients after the evidence, as a normal distribution.

    Parameters
    ----------
    mean : ndarray, shape (n_effects,)
        Its mode.
    covariance : ndarray, shape (n_effects, n_effects)
        Inverse of the information.
    """

    mean: Floats
    covariance: Floats

    def draws(self, n: int, *, seed: int) -> Floats:
        """Return draws in pairs that lie opposite each other: their mean is that of the posterior.

        Parameters
        ----------
        n : int
            Number of draws, even.
        seed : int
            Seed.

        Returns
        -------
        ndarray, shape (n, n_effects)
        """
        half = np.random.default_rng(seed).standard_normal((n // 2, len(self.mean)))
        root = linalg.cholesky(self.covariance, lower=True)
        drawn: Floats = self.mean + np.concatenate([half, -half]) @ root.T
        return drawn


def posterior(pieces: Pieces, effects: Effects) -> Posterior:
    """Weigh evidence and assumptions.

    Parameters
    ----------
    pieces : Pieces
        The firm's own time at risk; without any the assumptions come back.
    effects : Effects
        With the assumptions.

    Returns
    -------
    Posterior
        Mode, and inverse of the expected information there.
    """
    mean, sd = effects.prior()
    likelihood = _Likelihood(pieces, effects, mean, sd**-2)
    if not len(pieces.sold):
        return Posterior(mean, np.diag(sd**2))
    with one_thread():
        # From the assumptions the trust region finds the mode, whatever the prices asked.
        found = optimize.minimize(
            likelihood.value,
            mean,
            jac=likelihood.slope,
            hess=likelihood.curvature,
            method="trust-exact",
            options={"gtol": 1e-5, "maxiter": 500},
        )
        return Posterior(found.x, linalg.inv(likelihood.information(found.x)))


@dataclass(frozen=True)
class _Likelihood:
    """Minus the log posterior with its derivatives."""

    pieces: Pieces
    effects: Effects
    mean: Floats
    precision: Floats

    def _log_sales(self, at: Floats) -> tuple[Floats, Floats]:
        p = self.pieces
        pull = self.effects.elasticities(at, p.segment) * p.log_ask
        return p.columns @ at - pull + p.log_days, pull

    def value(self, at: Floats) -> float:
        log_sales, _ = self._log_sales(at)
        off = at - self.mean
        expected = np.exp(np.minimum(log_sales, 50.0))
        told = expected.sum() - (self.pieces.sold * log_sales).sum()
        return float(told + (self.precision * off**2).sum() / 2)

    def _change(self, pull: Floats) -> Floats:
        """Return the derivatives of the log sales by the coefficients."""
        e, p = self.effects, self.pieces
        change = p.columns.copy()
        change[:, e.elasticity] = -pull
        change[np.arange(len(pull)), e.of_segment(p.segment) + 3] = -pull
        return change

    def slope(self, at: Floats) -> Floats:
        log_sales, pull = self._log_sales(at)
        over = np.exp(np.minimum(log_sales, 50.0)) - self.pieces.sold
        slope: Floats = self._change(pull).T @ over + self.precision * (at - self.mean)
        return slope

    def curvature(self, at: Floats) -> Floats:
        """Return the second derivatives: the log sales bend with the log elasticity."""
        log_sales, pull = self._log_sales(at)
        over = np.exp(np.minimum(log_sales, 50.0)) - self.pieces.sold
        e, curvature = self.effects, self.information(at)
        own = e.of_segment(np.arange(len(e.segments))) + 3
        bent = np.bincount(self.pieces.segment, -over * pull, minlength=len(own))
        curvature[own, own] += bent
        curvature[own, e.elasticity] += bent
        curvature[e.elasticity, own] += bent
        curvature[e.elasticity, e.elasticity] += bent.sum()
        return curvature

    def information(self, at: Floats) -> Floats:
        """Return the expected information of evidence and assumptions."""
        log_sales, pull = self._log_sales(at)
        change = self._change(pull)
        weighed = change * np.exp(np.minimum(log_sales, 50.0))[:, None]
        information: Floats = change.T @ weighed + np.diag(self.precision)
        return information

"""Sales a day as a piecewise exponential model, fitted with starting assumptions.

With a rate that is constant over short pieces of time, the likelihood of survival data with late
entry and censoring is that of Poisson counts with log days as offset (Holford 1980; Laird and
Olivier 1981).  Assumptions are normal priors on the effects, so that every effect is weighed by the
precisions of evidence and assumption, and kinds of cars lean on the whole stock.

What buyers see in a car and its estimate differ, and the firm, who saw the car as well, asks more
for one that is worth more.  Were the asking price held against the estimate alone, prices would
seem to matter less than they do.  So each car has an unknown error
of its estimate, normal, of which the firm's first asking price tells a share; with prices that are
cut later it is told apart from what prices do (as in a regression with correlated random effects,
Mundlak 1978).  It is integrated out by Gauss-Hermite quadrature.

The posterior is taken as normal around its mode with the curvature there (Laplace).  Without an
error of the estimates and with no assumptions the fit is that of a Poisson regression of other
software; see the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import linalg, optimize
from scipy.special import logsumexp

from valuation.running.threads import one_thread
from valuation.stocking.effects import Effects
from valuation.stocking.spells import Spell

__all__ = ["Pieces", "Posterior", "gauss", "pieces_of", "posterior", "usual_ask"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_PIECE = 7
"""Longest piece in days: within it only the season moves, by less than a hundredth."""

_NODES = 11

_MOST = 30.0
"""Log sales beyond this are as impossible: it keeps numbers finite on the way to the mode."""

_STEP = 1e-4
_LEAST_CURVATURE = 0.1
"""In units of the assumptions, of which each alone bends by 1: a flat mode is never flatter."""


def gauss(n: int) -> tuple[Floats, Floats]:
    """Return nodes and weights of a mean over a standard normal (Gauss-Hermite)."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(n)
    return nodes, weights / weights.sum()


@dataclass(frozen=True)
class Pieces:
    """Time at risk in pieces within which nothing changes, car after car.

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
    starts : ndarray of int, shape (n_cars,)
        First piece of each car.
    first_ask : ndarray, shape (n,)
        First log asking price of the car over its estimate, less the usual one.
    """

    columns: Floats
    segment: Ints
    log_ask: Floats
    log_days: Floats
    sold: Floats
    starts: Ints
    first_ask: Floats

    @cached_property
    def car(self) -> Ints:
        """Car of each piece."""
        return np.repeat(np.arange(len(self.starts)), np.diff(self.starts, append=len(self.sold)))


def usual_ask(spells: Sequence[Spell]) -> float:
    """Return the mean first log asking price over the estimate; 0 without cars."""
    first = _first_asks(spells)
    return float(np.mean(list(first.values()))) if first else 0.0


def _first_asks(spells: Sequence[Spell]) -> dict[int, float]:
    first: dict[int, float] = {}
    for s in spells:
        first.setdefault(s.car, s.log_ask_over_value)
    return first


def pieces_of(spells: Sequence[Spell], effects: Effects) -> Pieces:
    """Cut spells into weeks and at the steps of time on offer.

    Parameters
    ----------
    spells : sequence of Spell
        Car after car, each in the order of its days.
    effects : Effects
        Steps, and kinds of cars.

    Returns
    -------
    Pieces
        A condition grade that nobody stated counts as the mean of those stated, or as middling.
    """
    starts = [start for start, _ in effects.assumed.steps]
    stated = [s.condition for s in spells if s.condition is not None]
    usual = float(np.mean(stated)) if stated else effects.assumed.middling
    first_asks, ask = _first_asks(spells), usual_ask(spells)
    rows: list[tuple[float, ...]] = []
    for s in spells:
        inner = {start - s.listed_days for start in starts} | set(range(_PIECE, s.days, _PIECE))
        cuts = [0, *sorted(c for c in inner if 0 < c < s.days), s.days]
        first, grade = s.first.toordinal(), usual if s.condition is None else s.condition
        known = (s.car, first_asks[s.car] - ask, grade, effects.segment(s.segment))
        for start, end in pairwise(cuts):
            at = (first + (start + end - 1) / 2, s.listed_days + start, end - start)
            rows.append((*known, s.log_ask_over_value, *at, s.sold and end == s.days))
    table = np.array(rows, dtype=float).reshape(-1, 9).T
    car, first_ask, grades, number, asks, day, listed, days, sold = table
    segment = number.astype(np.intp)
    columns = effects.columns(day, listed, grades, segment)
    begins = np.flatnonzero(np.diff(car, prepend=-1.0))
    return Pieces(columns, segment, asks, np.log(days), sold, begins, first_ask)


@dataclass(frozen=True)
class Posterior:
    """Coefficients after the evidence, as a normal distribution.

    Parameters
    ----------
    mean : ndarray, shape (n_effects,)
        Its mode.
    covariance : ndarray, shape (n_effects, n_effects)
        Inverse of the curvature.
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
        with one_thread():
            apart = half @ linalg.cholesky(self.covariance, lower=True).T
        drawn: Floats = self.mean + np.concatenate([apart, -apart])
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
        Mode, and inverse of the curvature there.
    """
    mean, sd = effects.prior()
    if not len(pieces.sold):
        return Posterior(mean, np.diag(sd**2))
    likelihood = _Likelihood(pieces, effects)
    # Counted in standard deviations of the assumptions, effects are of one size.
    unit = np.minimum(sd, 1.0)

    def told(t: Floats) -> tuple[float, Floats]:
        off = unit * t / sd
        value, slope = likelihood.told(mean + unit * t)
        return float(off @ off) / 2 - value, unit * (off / sd - slope)

    with one_thread():
        found = optimize.minimize(
            told,
            np.zeros(len(mean)),
            jac=True,
            method="L-BFGS-B",
            options={"maxiter": 2000, "maxcor": 30, "ftol": 1e-15, "gtol": 1e-6},
        )
        spread = _inverse(lambda t: told(t)[1], found.x)
    return Posterior(mean + unit * found.x, unit[:, None] * spread * unit)


def _inverse(slope: Callable[[Floats], Floats], at: Floats) -> Floats:
    """Return the inverse of the curvature, from differences of the slope."""
    steps = _STEP * np.eye(len(at))
    bends = np.array([(slope(at + step) - slope(at - step)) / (2 * _STEP) for step in steps])
    values, directions = linalg.eigh((bends + bends.T) / 2)
    inverse: Floats = directions / np.maximum(values, _LEAST_CURVATURE) @ directions.T
    return inverse


class _Likelihood:
    """Log likelihood of the pieces with its slope; the errors of the estimates are integrated."""

    def __init__(self, pieces: Pieces, effects: Effects) -> None:
        self._pieces = pieces
        self._effects = effects
        self._nodes, self._weights = gauss(_NODES)

    def told(self, at: Floats) -> tuple[float, Floats]:
        """Return log likelihood and slope at some coefficients."""
        p, e = self._pieces, self._effects
        pull = e.elasticities(at, p.segment)
        error, sees = e.errors(at)
        apart = error * np.sqrt(1 - sees)
        off = sees * p.first_ask[:, None] + apart * self._nodes
        log_sales = p.columns @ at + p.log_days - pull * p.log_ask
        log_sales = np.minimum(log_sales[:, None] + pull[:, None] * off, _MOST)
        sales = np.exp(log_sales)
        of_car = np.add.reduceat(p.sold[:, None] * log_sales - sales, p.starts)
        of_car += np.log(self._weights)
        total = logsumexp(of_car, axis=1)
        likely = np.exp(of_car - total[:, None])[p.car]
        over = likely * (p.sold[:, None] - sales)
        sums, lean = over.sum(axis=1), over @ self._nodes
        slope = p.columns.T @ sums
        by_pull = pull * ((over * off).sum(axis=1) - p.log_ask * sums)
        slope[e.elasticity] = by_pull.sum()
        own = e.of_segment(np.arange(len(e.segments))) + 3
        slope[own] = np.bincount(p.segment, by_pull, minlength=len(own))
        slope[e.error] = float((pull * apart) @ lean)
        slope[e.sees] = float((pull * sees) @ ((1 - sees) * p.first_ask * sums - apart * lean / 2))
        return float(total.sum()), slope

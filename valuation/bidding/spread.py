"""An amount that is not known exactly: points in whole cents with whole weights.

No random numbers are drawn: a spread is a grid, sums of spreads are convolutions, and the same
input gives the same answer to the cent.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np

from valuation.cents import Cents, half_up, in_cents

__all__ = ["POINTS", "Spread", "even_days", "total_of", "weighted_sum"]

POINTS = 16
"""Points at which an uncertain cost is kept: each stands for a sixteenth of what may come."""


@dataclass(frozen=True)
class Spread:
    """A distribution of an amount.

    Parameters
    ----------
    values : ndarray of int, shape (n,)
        Amounts in cents, ascending.
    weights : ndarray of int, shape (n,)
        How often each comes, in whole parts of their sum.
    mean : Fraction
        Mean in cents, exact even where the points are rounded.
    """

    values: Cents
    weights: Cents
    mean: Fraction

    @classmethod
    def certain(cls, cents: int) -> Spread:
        """Return an amount that is known."""
        return cls(np.array([cents]), np.array([1]), Fraction(cents))

    @classmethod
    def even(cls, low: int, high: int, n: int = POINTS) -> Spread:
        """Return an amount anywhere between two ends, none likelier than another.

        Each of the `n` points stands in the middle of its part.
        """
        if low == high:
            return cls.certain(low)
        at = 2 * np.arange(n) + 1
        values = half_up(low * (2 * n - at) + high * at, 2 * n)
        return cls(values, np.ones(n, dtype=np.int64), Fraction(low + high, 2))

    @classmethod
    def of_points(cls, points: Iterable[tuple[Decimal, Fraction]]) -> Spread:
        """Return a spread of stated amounts (in units) and their probabilities."""
        pairs = sorted((in_cents(value), share) for value, share in points)
        below = int(np.lcm.reduce([share.denominator for _, share in pairs]))
        weights = [int(share * below) for _, share in pairs]
        return cls.weighed([value for value, _ in pairs], weights)

    @classmethod
    def weighed(cls, values: Sequence[int] | Cents, weights: Sequence[int] | Cents) -> Spread:
        """Return a spread of amounts in cents, like ones joined."""
        points, place = np.unique(np.asarray(values, dtype=np.int64), return_inverse=True)
        together = np.zeros(len(points), dtype=np.int64)
        np.add.at(together, place, np.asarray(weights, dtype=np.int64))
        return cls(points, together, _mean(points, together))

    @property
    def total(self) -> int:
        """Sum of the weights."""
        return int(self.weights.sum())

    def plus(self, other: Spread) -> Spread:
        """Return the sum of two independent amounts.

        A sum with a known amount is exact.  Any other is kept at :data:`POINTS` points of equal
        weight, each the mean of its part: a greater cost then gives no smaller point anywhere.
        """
        mean = self.mean + other.mean
        for one, more in ((self, other), (other, self)):
            if len(one.values) == 1:
                return Spread(more.values + one.values[0], more.weights, mean)
        values = np.add.outer(self.values, other.values).ravel()
        weights = np.multiply.outer(self.weights, other.weights).ravel()
        joined = Spread.weighed(values, weights)._grouped(POINTS)
        return Spread(joined.values, joined.weights, mean)

    def times(self, factor: Fraction) -> Spread:
        """Return every amount times a factor, rounded half up to the cent."""
        values = half_up(self.values * factor.numerator, factor.denominator)
        return Spread(values, self.weights, self.mean * factor)

    def quantile(self, share: Fraction) -> int:
        """Return the least amount that at least a `share` of the weight does not exceed."""
        reached = np.cumsum(self.weights) * share.denominator >= share.numerator * self.total
        return int(self.values[np.argmax(reached)])

    def _grouped(self, n: int) -> Spread:
        """Return `n` points of equal weight, each the mean of its part of the distribution."""
        # Weight and weighted amount up to every point; parts are cut inside a point's weight.
        ends = np.concatenate([[0], np.cumsum(self.weights)]) * n
        money = np.concatenate([[0], np.cumsum(self.weights * self.values)]) * n
        cuts = np.arange(n + 1) * self.total
        point = np.clip(np.searchsorted(ends, cuts, side="right") - 1, 0, len(self.values) - 1)
        upto = money[point] + (cuts - ends[point]) * self.values[point]
        values = half_up(np.diff(upto), self.total)
        return Spread(values, np.ones(n, dtype=np.int64), self.mean)


def weighted_sum(amounts: Cents, weights: Cents) -> Any:
    """Return sums over the last axis exactly: in 64 bits where they hold it, else without limit.

    Parameters
    ----------
    amounts : ndarray of int, shape (n, n_points)
        In cents.
    weights : ndarray of int, shape (n_points,)
        Weights of the points.
    """
    if int(np.abs(amounts).max(initial=0)) * int(weights.sum()) < 2**62:
        return (amounts @ weights).astype(object)
    return amounts.astype(object) @ weights.astype(object)


def _mean(values: Cents, weights: Cents) -> Fraction:
    """Return a weighted mean exactly."""
    return Fraction(int(weighted_sum(values[None, :], weights)[0]), int(weights.sum()))


def total_of(parts: Iterable[Spread]) -> Spread:
    """Return the sum of independent amounts; zero if there are none."""
    whole = Spread.certain(0)
    for part in parts:
        whole = whole.plus(part)
    return whole


def even_days(low: int, high: int, n: int = 9) -> tuple[Fraction, ...]:
    """Return days between two ends, each standing for as large a part of the time."""
    if low == high:
        return (Fraction(low),)
    return tuple(Fraction(low * (2 * n - k) + high * k, 2 * n) for k in range(1, 2 * n, 2))

"""The resale before any cost: a distribution, where it comes from, and what may still move it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

import numpy as np

from valuation.bidding.spread import Spread
from valuation.results.valuation import Evidence

__all__ = ["Course", "FactAtStake", "Prospect", "factor_of", "stated_prospect"]


@dataclass(frozen=True, slots=True)
class Course:
    """A course that the market may take until the sale: name, meaning, log change."""

    name: str
    says: str
    log: float


@dataclass(frozen=True, slots=True)
class FactAtStake:
    """An open fact, with the log change of the resale if it turns out bad or good."""

    label: str
    state: str
    if_bad: str
    if_good: str
    bad: float
    good: float
    bad_chance: float
    good_chance: float
    contradiction: str
    how: str
    minutes: float | None


@dataclass(frozen=True)
class Prospect:
    """What a car may bring when it is sold again, after the work and before any cost.

    Parameters
    ----------
    resale : Spread
        In cents, without the correction for winning.
    deviation : float
        Standard deviation of its logarithm.
    sale_on : datetime.date or None
        Expected day of the sale.
    channel, basis : str
        How it is sold.
    courses : tuple of Course
        Courses of the market; the bid itself rests on a market that holds.
    facts : tuple of FactAtStake
        What is still to be found out.
    evidence : Evidence or None
        How much stands behind it, None for stated amounts.
    thin : str
        Why the evidence carries no bid; empty if it does.
    warnings : tuple of str
        What to know before relying on it.
    """

    resale: Spread
    deviation: float
    sale_on: date | None = None
    channel: str = ""
    basis: str = ""
    courses: tuple[Course, ...] = ()
    facts: tuple[FactAtStake, ...] = ()
    evidence: Evidence | None = None
    thin: str = ""
    warnings: tuple[str, ...] = ()


def factor_of(log: float) -> Fraction:
    """Return the factor of a log change as a ratio that multiplies amounts exactly.

    Examples
    --------
    >>> factor_of(0.0)
    Fraction(1, 1)
    """
    return Fraction(round(float(np.exp(log)) * 10**6), 10**6)


def stated_prospect(points: Sequence[tuple[Decimal, Fraction]]) -> Prospect:
    """Return the prospect of stated resale amounts.

    Parameters
    ----------
    points : sequence of (Decimal, Fraction)
        Amounts above zero in the resale's currency and their probabilities, which add up to one.
    """
    spread = Spread.of_points(points)
    shares = spread.weights / spread.total
    logs = np.log(np.maximum(spread.values, 1) / 100)
    middle = float(shares @ logs)
    return Prospect(spread, float(np.sqrt(shares @ (logs - middle) ** 2)))

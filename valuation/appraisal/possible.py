"""What a fact about a car can still be, and how often such cars have it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.stated import Counts, StatedValues
from valuation.appraisal.unknowns import LEAST_STATED
from valuation.features.table import LEVELLED
from valuation.records import OpenFact, Value
from valuation.schema import BY_NAME, Attribute

__all__ = ["Possible", "possible"]

Floats = NDArray[np.float64]

EVEN = 21
"""Points that stand for a span in which no number is likelier than another."""

DOUBT = 0.5
"""Sales added to each value that is said to be possible: what no sale has may still be."""


@dataclass(frozen=True)
class Possible:
    """What a fact can still be.

    Parameters
    ----------
    fact : OpenFact
        The fact.
    values : tuple of Value
        Values that are priced; of a number ascending, both ends of its span among them.
    weights : ndarray, shape (n,)
        How often each occurs, in any unit; zero for a point that only helps to measure.
    narrowed : bool
        False if it can be anything: then silence tells how such cars are.
    counts : Counts or None
        For a span, the sales behind its points.
    """

    fact: OpenFact
    values: tuple[Value, ...]
    weights: Floats
    narrowed: bool
    counts: Counts | None = None

    @property
    def likeliest(self) -> Value:
        """The value that occurs most often, the first of several."""
        return self.values[int(np.argmax(self.weights))]


def possible(fact: OpenFact, stated: StatedValues, make: str) -> Possible:
    """Return what a fact can still be and how often such cars have each value.

    Counted are the sales of the make if at least ten of them state one of the values, else all
    sales.  What the seller claims counts for nothing here: a list of sales holds what was said of
    a car, never whether it held, so no evidence tells by how much a claim makes its value likelier.

    Parameters
    ----------
    fact : OpenFact
        The fact.
    stated : StatedValues
        What the sales state.
    make : str
        Make of the car.

    Returns
    -------
    Possible
        Without values where neither sales nor the contract name any.
    """
    attribute = BY_NAME[fact.attribute]
    counts = stated.counts(fact.attribute, make)
    if fact.levels:
        return _listed(fact, attribute, counts)
    if fact.low is not None and fact.high is not None:
        return _between(fact, fact.low, fact.high, counts)
    for n in (counts.of_make, counts.of_all):
        if n.sum() >= LEAST_STATED:
            values = counts.values
            if attribute.kind == "set" and () not in values:  # nobody advertises what is not there
                values, n = ((), *values), np.append(DOUBT, n)
            return Possible(fact, values, n, False)
    return _of_contract(fact, attribute)


def _listed(fact: OpenFact, attribute: Attribute, counts: Counts) -> Possible:
    values: list[Value] = [
        (() if v == "none" else tuple(sorted(v.split("; ")))) if attribute.kind == "set" else v
        for v in fact.levels
    ]
    at = {_folded(v): i for i, v in enumerate(counts.values)}
    rows = np.array([at.get(_folded(v), -1) for v in values])
    mine, everybody = (np.append(n, 0.0)[rows] for n in (counts.of_make, counts.of_all))
    seen = mine if mine.sum() >= LEAST_STATED else everybody
    return Possible(fact, tuple(values), seen + DOUBT, True)


def _folded(value: Value) -> Value:
    return value.casefold() if isinstance(value, str) else value


MOST_EACH = 200
"""Most values between two ends of which each is tried, for a number by which versions go."""


def _whole(low: float, high: float, digits: int) -> tuple[float, float]:
    """Return the outermost values with so many decimals between two ends, the middle for none."""
    step = 10.0**-digits
    first = round(np.ceil(low / step - 1e-9) * step, digits)
    last = round(np.floor(high / step + 1e-9) * step, digits)
    if first > last:
        first = last = round((low + high) / 2, digits)
    return float(first), float(last)


def _between(fact: OpenFact, low: float, high: float, counts: Counts) -> Possible:
    digits = LEVELLED.get(fact.attribute)
    if digits is not None:  # versions go by such a number: there is no half year between two
        low, high = _whole(low, high, digits)
    if low == high:
        return Possible(fact, (low,), np.ones(1), True)
    known = np.array(counts.values, dtype=np.float64)
    inside = (known >= low) & (known <= high)
    points = np.union1d(known[inside], [low, high])
    even = low + (high - low) * (np.arange(EVEN) + 0.5) / EVEN
    if digits is not None:
        each = np.round(np.arange(round((high - low) * 10**digits) + 1) / 10**digits + low, digits)
        even = each if len(each) <= MOST_EACH else np.unique(np.round(even, digits))
    mine, everybody = counts.of_make[inside], counts.of_all[inside]
    few = everybody.sum() < LEAST_STATED
    if few:
        points = np.union1d(points, even)
    at = np.searchsorted(points, known[inside])
    of_make, of_all, weights = np.zeros(len(points)), np.zeros(len(points)), np.zeros(len(points))
    of_make[at], of_all[at] = mine, everybody
    if few:
        weights[np.searchsorted(points, even)] = 1.0
    else:
        weights = of_make if mine.sum() >= LEAST_STATED else of_all
    values: tuple[Value, ...] = tuple(points.tolist())
    return Possible(fact, values, weights, True, Counts(values, of_make, of_all))


def _of_contract(fact: OpenFact, attribute: Attribute) -> Possible:
    """Return what the contract allows where the sales are silent: nothing, if any word is allowed.

    Of a number for which more is never worth less the middle half of what is allowed counts, as
    its ends are seldom met; a set is as likely empty as not.
    """
    values: tuple[Value, ...] = ()
    if attribute.kind == "category":
        values = attribute.levels
    elif attribute.kind == "set" and attribute.levels:
        values = ((), *((word,) for word in attribute.levels))
    elif attribute.direction:
        reach = (attribute.high - attribute.low) / 4
        centre = float(np.clip(attribute.typical, attribute.low + reach, attribute.high - reach))
        values = tuple(np.linspace(centre - reach, centre + reach, EVEN).tolist())
    weights = np.ones(len(values))
    if attribute.kind == "set" and values:
        weights[0] = len(values) - 1
    return Possible(fact, values, weights, False)

"""A car about which not all is settled: the mixture over what it can turn out to be."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import cars_table
from valuation.appraisal.market import MarketModel
from valuation.appraisal.possible import Possible, possible
from valuation.appraisal.unknowns import Mixture, span_variance, tilted
from valuation.importing.car_value import read_value
from valuation.records import Car, OpenFact, Value

__all__ = ["PricedFact", "Unsettled", "unsettle"]

Floats = NDArray[np.float64]

OUT_OF_REACH = 1e-6
"""Log effect beyond which a mixture has not reached the effect of silence."""


@dataclass(frozen=True)
class PricedFact:
    """One fact with what each of its values does to the price.

    Parameters
    ----------
    fact : OpenFact
        The fact.
    values : tuple of Value
        What it can turn out to be; empty if nobody can say.
    shares : ndarray, shape (n,)
        How likely each is.
    steps : ndarray, shape (n,)
        Log effect of each against the price as it is, all other facts as they stand.
    variance : float
        What the fact adds to the variance of the log price.
    claim : float or None
        Log effect of a claim that is contradicted; None if there is none that can be priced.
    looked_at : bool
        False if nobody has looked yet.
    moved : bool
        True if the columns of the car are those of the mixture, False if they stay.
    """

    fact: OpenFact
    values: tuple[Value, ...]
    shares: Floats
    steps: Floats
    variance: float
    claim: float | None = None
    looked_at: bool = True
    moved: bool = False


@dataclass(frozen=True)
class Unsettled:
    """A car to be priced, and the facts that are still to be found out.

    Parameters
    ----------
    car : Car
        The car with the likeliest value of each fact of which something is known.
    row : scipy.sparse.csr_array or None
        Its columns, shape (1, n_columns), as the mixture over those facts; None where the car
        itself says it all.
    facts : tuple of PricedFact
        Facts that are still to be found out.
    """

    car: Car
    row: sparse.csr_array | None = None
    facts: tuple[PricedFact, ...] = ()

    @property
    def variance(self) -> float:
        """What all facts together add to the variance of the log price."""
        return sum(f.variance for f in self.facts)


def unsettle(market: MarketModel, car: Car, day: float) -> Unsettled:
    """Price what is still to be found out about a car.

    Each value that a fact can still have is put into the car and its columns are taken; the
    regression is linear in them, so the mean of the columns is priced at the mean of the log
    prices.  Facts are taken to be independent of each other, given what is known.  A fact of which
    nothing is known leaves the columns of a silent seller, whose effect its mixture is tilted to;
    where silence costs more (or less) than any value that sales state, the mixture stands for it.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    car : Car
        The car, with the sale it is valued for.
    day : float
        Day of the valuation, days since 1970-01-01.

    Returns
    -------
    Unsettled
        The car itself if all is settled.
    """
    if not car.open and not car.not_looked_at:
        return Unsettled(car)
    make = str(car.values.get("make", ""))
    facts = [*car.open, *(OpenFact(name) for name in sorted(car.not_looked_at))]
    found = [possible(fact, market.stated, make) for fact in facts]
    known = {p.fact.attribute: p.likeliest for p in found if p.narrowed}
    base = replace(car, values={**car.values, **known}, open=())
    claims = [_claimed(fact) for fact in facts]
    tried = [
        [*p.values, *(() if claim is None else (claim,))]
        for p, claim in zip(found, claims, strict=True)
    ]
    cars = [base]
    for p, values in zip(found, tried, strict=True):
        cars += [_with(base, p.fact.attribute, value) for value in values]
    X = market.fitted.spec.transform(cars_table(cars, day)).X
    price = np.asarray(X @ market.fitted.coef)
    priced, mixed, at, alone = [], X[[0]], 1, True
    for p, values in zip(found, tried, strict=True):
        rows = slice(at, at + len(values))
        at += len(values)
        looked = p.fact.attribute not in car.not_looked_at
        priced.append(_priced(p, price[rows] - price[0], looked))
        if len(p.values) > 1 and priced[-1].moved:
            shares = sparse.csr_array(priced[-1].shares[None, :])
            mixed, alone = mixed + shares @ X[rows][: len(p.values)] - X[[0]], False
    row = None if alone else _clean(mixed)
    return Unsettled(base, row, tuple(priced))


def _with(car: Car, name: str, value: Value) -> Car:
    return replace(car, values={**car.values, name: value})


def _claimed(fact: OpenFact) -> Value | None:
    """Return the value of a claim that is contradicted, None if it is no value of the contract."""
    if not fact.claim or not fact.contradiction:
        return None
    return read_value(fact.attribute, fact.claim, [], []).get(fact.attribute)


def _priced(p: Possible, effects: Floats, looked: bool) -> PricedFact:
    n = len(p.values)
    own, claims = effects[:n], effects[n:]
    if not n:
        return PricedFact(p.fact, (), own, own, 0.0, None, looked)
    mixture = Mixture(own, p.weights / p.weights.sum())
    if not p.narrowed:
        mixture = tilted(own, p.weights, 0.0)
    moved = p.narrowed or abs(mixture.mean) > OUT_OF_REACH
    centre = mixture.mean if moved else 0.0
    variance = mixture.variance
    if p.counts is not None:
        variance = span_variance(own, p.counts.of_make, p.counts.of_all)
    claim = float(claims[0]) - centre if len(claims) else None
    steps = own - centre
    return PricedFact(p.fact, p.values, mixture.shares, steps, variance, claim, looked, moved)


def _clean(row: sparse.csr_array) -> sparse.csr_array:
    """Return a row without the dust of rounding, its columns in order."""
    out = sparse.csr_array(row)
    out.data[np.abs(out.data) < 1e-12] = 0.0
    out.eliminate_zeros()
    out.sort_indices()
    return out

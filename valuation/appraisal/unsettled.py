"""A car about which not all is settled: the mixture over what it can turn out to be."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.market import MarketModel
from valuation.appraisal.possible import Possible, possible
from valuation.appraisal.trying import try_values
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


@dataclass(frozen=True)
class _Plan:
    """A car with what its facts can be, and the claims that are contradicted."""

    car: Car
    found: tuple[Possible, ...]
    claims: tuple[Value | None, ...]

    @property
    def tries(self) -> list[tuple[str, list[Value]]]:
        """For each fact the values that have to be priced, its contradicted claim last."""
        return [
            (p.fact.attribute, [*p.values, *(() if claim is None else (claim,))])
            for p, claim in zip(self.found, self.claims, strict=True)
        ]


def unsettle(market: MarketModel, cars: Sequence[Car], day: float) -> list[Unsettled]:
    """Price what is still to be found out about some cars.

    Each value that a fact can still have is put into the car and its columns are taken; the
    regression is linear in them, so the mean of the columns is priced at the mean of the log
    prices.  Facts are taken to be independent of each other, given what is known.  A fact of which
    nothing is known leaves the columns of a silent seller, whose effect its mixture is tilted to;
    where silence costs more (or less) than any value that sales state, the mixture stands for it.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    cars : sequence of Car
        The cars, each with the sale it is valued for.
    day : float
        Day of the valuation, days since 1970-01-01.

    Returns
    -------
    list of Unsettled
        For each car; the car itself where all is settled.
    """
    plans = {i: _plan(market, car) for i, car in enumerate(cars) if car.open or car.not_looked_at}
    out = [Unsettled(car) for car in cars]
    if not plans:
        return out
    tried = try_values(
        market.fitted.spec, [(p.car, p.tries) for p in plans.values()], day, market.fitted.coef
    )
    facts = [
        _priced_facts(plan, tried.steps[k], cars[i].not_looked_at)
        for k, (i, plan) in enumerate(plans.items())
    ]
    shares = [[f.shares if f.moved and len(f.shares) > 1 else None for f in some] for some in facts]
    rows = tried.mixed(shares)
    for i, plan, some, row in zip(plans, plans.values(), facts, rows, strict=True):
        out[i] = Unsettled(plan.car, row, some)
    return out


def _plan(market: MarketModel, car: Car) -> _Plan:
    make = str(car.values.get("make", ""))
    facts = [*car.open, *(OpenFact(name) for name in sorted(car.not_looked_at))]
    found = tuple(possible(fact, market.stated, make) for fact in facts)
    known = {p.fact.attribute: p.likeliest for p in found if p.narrowed}
    base = replace(car, values={**car.values, **known}, open=())
    return _Plan(base, found, tuple(_claimed(fact) for fact in facts))


def _priced_facts(
    plan: _Plan, steps: Sequence[Floats], not_looked_at: Collection[str]
) -> tuple[PricedFact, ...]:
    """Price the facts of one car from what each of their values does to its price."""
    out = []
    for p, claim, step in zip(plan.found, plan.claims, steps, strict=True):
        n = len(p.values)
        claimed = None if claim is None else float(step[n])
        looked = p.fact.attribute not in not_looked_at
        out.append(_priced(p, step[:n], claimed, looked))
    return tuple(out)


def _claimed(fact: OpenFact) -> Value | None:
    """Return the value of a claim that is contradicted, None if it is no value of the contract."""
    if not fact.claim or not fact.contradiction:
        return None
    return read_value(fact.attribute, fact.claim, [], []).get(fact.attribute)


def _priced(p: Possible, effects: Floats, claimed: float | None, looked: bool) -> PricedFact:
    if not p.values:
        return PricedFact(p.fact, (), effects, effects, 0.0, claimed, looked)
    mixture = Mixture(effects, p.weights / p.weights.sum())
    if not p.narrowed:
        mixture = tilted(effects, p.weights, 0.0)
    moved = p.narrowed or abs(mixture.mean) > OUT_OF_REACH
    centre = mixture.mean if moved else 0.0
    variance = mixture.variance
    if p.counts is not None:
        variance = span_variance(effects, p.counts.of_make, p.counts.of_all)
    claim = None if claimed is None else claimed - centre
    steps = effects - centre
    return PricedFact(p.fact, p.values, mixture.shares, steps, variance, claim, looked, moved)

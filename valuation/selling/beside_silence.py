"""What the advert of another car leaves out, and the money that hangs on it.

The estimate of the other car is that of a car whose seller is silent.  Who means to buy it finds
the facts out: what each of them would make of it is the step of the regression from silence to the
fact, the sales compared held fixed, and how far they spread widens what is known of the car.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.checks import what_to_check
from valuation.appraisal.data import cars_table
from valuation.appraisal.looking import look_at
from valuation.appraisal.market import MarketModel
from valuation.appraisal.trying import try_values
from valuation.appraisal.unsettled import PricedFact, Unsettled, unsettle
from valuation.records import Car, OpenFact
from valuation.results.beside_parts import LeftOut
from valuation.selling.beside_lines import BUILT, same_model
from valuation.selling.seller_questions import seller_questions
from valuation.selling.sheet_words import plain_label, plain_value

__all__ = ["Silence", "left_out_names", "what_is_left_out", "whole_amount"]

Floats = NDArray[np.float64]

LITTLE = 0.01
"""A fact with less at stake, as a share of the estimate, is not worth a question."""


@dataclass(frozen=True)
class Silence:
    """What is not said of the other car.

    Parameters
    ----------
    left_out : tuple of LeftOut
        Facts that move money, most of it first.
    all_as_ours : float
        Log effect on the other car if all of them were as on this one.
    variance : float
        What not knowing them adds to the variance of its log price.
    """

    left_out: tuple[LeftOut, ...]
    all_as_ours: float
    variance: float


def whole_amount(log_price: float) -> int:
    """Return a log price as whole currency units, half up."""
    return math.floor(math.exp(log_price) + 0.5)


def left_out_names(ours: Car, theirs: Car) -> tuple[str, ...]:
    """Return the attributes that this car states and the other leaves open, by their order.

    What a model line is known by is asked for within one line alone: the engine of this car says
    nothing of what that of another model should be.

    Parameters
    ----------
    ours, theirs : Car
        This car and the other one.
    """
    known = theirs.values.keys() | theirs.cannot_be_told
    if not same_model(ours, theirs):
        known |= {*BUILT, "generation"}
    return tuple(n for n in seller_questions() if n in ours.values and n not in known)


def what_is_left_out(
    market: MarketModel, ours: Car, theirs: Car, *, central: float, day: float
) -> Silence:
    """Price what this car states and the other leaves out.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    ours, theirs : Car
        Both cars with the sale they are valued for.
    central : float
        Log of the central estimate of the other car as it stands.
    day : float
        Day of the valuation, days since 1970-01-01.

    Returns
    -------
    Silence
        Without anything if the other car states all that this one does.
    """
    names = left_out_names(ours, theirs)
    if not names:
        return Silence((), 0.0, 0.0)
    settled = {f.attribute for f in theirs.open}
    silent = replace(theirs, not_looked_at=theirs.not_looked_at | (set(names) - settled))
    (unsettled,) = unsettle(market, [silent], day)
    facts = [f for f in unsettled.facts if f.fact.attribute in names]
    tries = [(f.fact.attribute, [ours.values[f.fact.attribute], *f.values[:1]]) for f in facts]
    fitted = market.fitted
    (steps,) = try_values(fitted.spec, [(unsettled.car, tries)], day, fitted.coef).steps
    stands = [_stands(theirs, f, step) for f, step in zip(facts, steps, strict=True)]
    found = [
        _left_out(ours, fact, step, start, central)
        for fact, step, start in zip(facts, steps, stands, strict=True)
    ]
    kept = sorted(
        (x for x in found if x.stake > LITTLE * x.today), key=lambda x: (-x.stake, x.attribute)
    )
    new = [f for f in facts if f.fact.attribute not in theirs.not_looked_at | settled]
    as_ours = _all_as_ours(market, ours, unsettled, names, day) - sum(stands)
    return Silence(tuple(kept), as_ours, sum(f.variance for f in new))


def _centre(priced: PricedFact, step: Floats) -> float:
    """Return the mean that the steps of a fact are measured from, as a step from silence."""
    return float(step[1] - priced.steps[0]) if priced.values else 0.0


def _stands(theirs: Car, priced: PricedFact, step: Floats) -> float:
    """Return where the estimate stands that the steps are measured from.

    That is silence, or the mean over what a fact can be if the car itself says it is not settled.
    """
    unsettled = theirs.not_looked_at | {f.attribute for f in theirs.open}
    return _centre(priced, step) if priced.fact.attribute in unsettled else 0.0


def _left_out(ours: Car, priced: PricedFact, step: Floats, start: float, central: float) -> LeftOut:
    """Price one fact; the first step is that to the value of this car."""
    name = priced.fact.attribute
    shift = _centre(priced, step) - start
    checks = what_to_check([priced], central + shift) if priced.values else ()
    check = checks[0] if checks else None
    return LeftOut(
        name,
        plain_label(name),
        plain_value(name, {**ours.values, "chassis": ours.chassis}),
        whole_amount(central),
        whole_amount(central + float(step[0]) - start),
        check.bad if check else None,
        check.if_bad if check else "",
        check.bad_chance if check else None,
        seller_questions()[name],
        look_at(OpenFact(name)).how,
    )


def _all_as_ours(
    market: MarketModel, ours: Car, unsettled: Unsettled, names: Sequence[str], day: float
) -> float:
    """Return the log effect of all facts together: some count only beside each other."""
    car = unsettled.car
    as_ours = replace(
        car,
        values={**car.values, **{n: ours.values[n] for n in names}},
        not_looked_at=car.not_looked_at - set(names),
    )
    spec = market.fitted.spec
    X = spec.transform(cars_table([as_ours, car], day)).X
    both = np.asarray(X @ market.fitted.coef)
    return float(both[0] - both[1])

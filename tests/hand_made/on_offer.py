"""Invented spells on offer whose truth is known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date, timedelta

import numpy as np

from valuation.stocking.spells import Spell, Spells
from valuation.synthetic.yard_demand import Demand, days_to_sell

UNTIL = date(2024, 12, 31)
EPOCH = date(1970, 1, 1)


ERROR = 0.08
"""What buyers and the firm see in a car that its estimate doesn't know, log."""

_WHIM = 0.08
_CUT = 0.06


def spells_on_offer(demand: Demand, shares: Mapping[str, float], *, cars: int, seed: int) -> Spells:
    """Return spells of cars that the firm asks for by what it sees in them, with one cut.

    Parameters
    ----------
    demand : Demand
        The truth.
    shares : mapping of str to float
        Shares of kinds of cars.
    cars : int
        How many.
    seed : int
        Of chance.
    """
    rng = np.random.default_rng(seed)
    out: list[Spell] = []
    for car in range(cars):
        kind = str(rng.choice(list(shares), p=list(shares.values())))
        grade = float(rng.integers(40, 90))
        first = UNTIL - timedelta(days=int(rng.integers(30, 700)))
        seen = ERROR * rng.standard_normal()
        ask, cut = 0.08 + seen + _WHIM * rng.standard_normal(), int(rng.integers(20, 70))
        days = np.arange(min((UNTIL - first).days + 1, 400))
        asks = ask - _CUT * (days >= cut)
        rates = demand.hazard(
            kind,
            asks - seen,
            day=(first - EPOCH).days + days,
            listed_days=days,
            condition=grade,
            eager=demand.eager_sd * rng.standard_normal(),
        )
        sold = days_to_sell(rates, float(rng.exponential()))
        end = len(days) if sold is None else sold + 1
        cuts = [0, min(cut, end), end]
        for offer in (0, 1):
            start, stop = cuts[offer], cuts[offer + 1]
            if stop > start:
                day, ends = first + timedelta(days=start), sold is not None and stop == end
                out.append(
                    Spell(
                        car, kind, grade, day, stop - start, start, offer, float(asks[start]), ends
                    )
                )
    return Spells(tuple(out))


def steady(rate: float, *, cars: int, days: int, kind: str) -> Spells:
    """Return spells of cars asked at their estimate, as many sold as a steady rate expects.

    Parameters
    ----------
    rate : float
        Sales a day.
    cars, days : int
        How many cars, each on offer for so many days.
    kind : str
        Their kind.
    """
    sold = round(rate * cars * days)
    first = date(2024, 1, 1)
    return Spells(
        tuple(Spell(c, kind, 60.0, first, days, 0, 0, 0.0, c < sold) for c in range(cars))
    )


def true_chance(demand: Demand, kind: str, ask: float, *, days: int, day: date) -> float:
    """Return the chance of a sale of a car of grade 65 that is asked for by its estimate alone.

    Mean over what buyers may see in it.
    """
    at = np.arange(days)
    z = np.linspace(-4, 4, 81)
    weights = np.exp(-(z**2) / 2)
    chances = [
        -math.expm1(
            -demand.hazard(
                kind,
                np.full(days, ask - ERROR * seen),
                day=(day - EPOCH).days + at,
                listed_days=at,
                condition=65,
            ).sum()
        )
        for seen in z.tolist()
    ]
    return float(np.average(chances, weights=weights))

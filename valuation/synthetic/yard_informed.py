"""What asking prices could earn at most to someone who knew the buyers, though not the luck."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from valuation.synthetic.effects import Array
from valuation.synthetic.levels import as_days
from valuation.synthetic.yard_costs import YardCosts
from valuation.synthetic.yard_demand import Demand
from valuation.synthetic.yard_play import AUCTION, LONGEST, KnownCar, Policy

__all__ = ["informed"]

_WEEK = 7
_OVER = np.arange(-0.26, 0.52, 0.02)
_NODES = np.array([-1.5, -0.75, 0.0, 0.75, 1.5])
_HAMMER_SHARE = 0.87
_Plan = list[float | Literal["auction"]]


def informed(
    demand: Demand, costs: YardCosts, *, capital: float, bias: float = 0.07, error: float = 0.1
) -> Policy:
    """Return the policy of someone who knows how buyers behave, a measure for all others.

    Parameters
    ----------
    demand : Demand
        The true buyers.
    costs : YardCosts
        What keeping and selling costs.
    capital : float
        What every 1,000 tied up is to earn a day besides its cost: 0 seeks the most a car, more
        seeks the most a day of capital.
    bias, error : float
        By how much the firm's own idea lies over the true log value on average, as one buys what
        one overrates, and how far single cars are off.

    Returns
    -------
    Policy
        The asking price of each week is worked out once a car, from the last week back to the
        first: price now against waiting (Bellman's recursion).
    """
    plans: dict[str, _Plan] = {}

    def policy(known: KnownCar) -> float | Literal["auction"]:
        if known.stock not in plans:
            plans[known.stock] = _plan(known, demand, costs, capital, bias, error)
        return plans[known.stock][known.listed_days // _WEEK]

    return policy


def _plan(
    known: KnownCar, demand: Demand, costs: YardCosts, capital: float, bias: float, error: float
) -> _Plan:
    value = known.estimate * math.exp(-bias)
    weight = np.exp(-(_NODES**2) / 2) / np.exp(-(_NODES**2) / 2).sum()
    off = demand.haggle + demand.haggle_share * np.maximum(_OVER, 0.0)
    asks = value * np.exp(_OVER)
    prices = asks * (1 - np.minimum(off, demand.haggle_cap))
    left = np.array([costs.left_of_sale(p, known.paid) for p in prices.tolist()])

    def waiting(days: int) -> float:
        return costs.holding(known.outlay, days) + capital * known.outlay * days / 1000

    given_up = costs.left_of_auction(_HAMMER_SHARE * value, known.paid)
    given_up -= waiting(costs.auction_days)
    plan: _Plan = []
    worth = given_up
    for chance in reversed(weight @ _chances(known, demand, error)):
        if_asked = chance * (left - waiting(_WEEK) / 2) + (1 - chance) * (worth - waiting(_WEEK))
        best = int(np.argmax(if_asked))
        plan.append(AUCTION if given_up >= if_asked[best] else float(asks[best]))
        worth = max(given_up, float(if_asked[best]))
    return plan[::-1]


def _chances(known: KnownCar, demand: Demand, error: float) -> Array:
    """Return the chance of a sale within each week at each asking price, for each mistake.

    Returns
    -------
    numpy.ndarray, shape (n_weeks, n_mistakes, n_asks)
        Of a week that begins unsold.
    """
    middle = np.arange(0, LONGEST, _WEEK)[:, None, None] + _WEEK // 2
    rates = demand.hazard(
        known.segment,
        _OVER + error * _NODES[:, None],
        day=as_days(known.day) - known.listed_days + middle,
        listed_days=middle,
        condition=known.condition,
    )
    chance: Array = -np.expm1(-_WEEK * rates)
    return chance

"""Invented markets for fits against the truth: seeds, broken assumptions, and what is kept out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData, market_data
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

__all__ = ["CAREFUL_SEEDS", "MARKETS", "PLAIN", "SEEDS", "Trial", "make_trial", "seeds_for"]

Ints = NDArray[np.intp]

SEEDS = tuple(range(8001, 8021))
"""Seeds of the markets that are reported.

No test, example or setting of the project uses a number above 8000, and no model was ever built
or tuned with these: a market that helped to build a model can't judge it (the thousand before did:
seeds from 7001 showed that dropped blocks were called certain).  Whoever looks for the
cause of a miss takes seeds below 100.
"""

CAREFUL_SEEDS = {10_000: 5, 30_000: 2}
"""Most seeds for sizes at which one fit takes minutes."""

PLAIN: Mapping[str, Any] = {"openness": 30.0, "plain": True}
"""What the model assumes: every seller states everything, and effects add up."""

MARKETS: Mapping[str, Mapping[str, Any]] = {
    "plain": PLAIN,
    "heavy tails": {**PLAIN, "noise_df": 2.2},
    "condition drifts 10% a year": {
        **PLAIN,
        "drift_attribute": "condition_grade",
        "drift_rate": 0.1,
    },
    "level falls 20% in a day": {**PLAIN, "regime_shift": date(2024, 5, 1)},
    "every unsold lot comes back": {**PLAIN, "reoffer_share": 1.0},
    "own premium lost by tributes": {"openness": 30.0},
    "silence at random": {"plain": True, "silence_strength": 0.0},
    "silence for a reason": {"plain": True},
    "silence, twice as selective": {"plain": True, "silence_strength": 2.0},
}
"""Markets by name: the first keeps to the assumptions of the model, each other breaks one."""

_KEPT_OUT = 5
"""One car in so many is kept out."""

_LATER_DAYS = 61
"""Days at the end whose sales are forecast."""


@dataclass(frozen=True)
class Trial:
    """One invented market, cut in three.

    Attributes
    ----------
    world : SyntheticMarket
        Records and truth, in the order of the rows.
    data : MarketData
        All records as the model reads them, same order.
    train, fresh, later : ndarray of int
        Rows to fit on; of other cars in the same months; of other cars after the last of them.
    """

    world: SyntheticMarket
    data: MarketData
    train: Ints
    fresh: Ints
    later: Ints


def seeds_for(size: int, count: int) -> tuple[int, ...]:
    """Return the first `count` seeds, fewer for a size at which one fit takes minutes.

    Examples
    --------
    >>> seeds_for(1_000, 3), len(seeds_for(30_000, 20))
    ((8001, 8002, 8003), 2)
    """
    most = min([m for s, m in CAREFUL_SEEDS.items() if size >= s], default=len(SEEDS))
    return SEEDS[: min(count, most)]


def make_trial(market: str, size: int, seed: int) -> Trial:
    """Make a market and cut it so that exactly `size` sales are left to fit on.

    Parameters
    ----------
    market : str
        Name in :data:`MARKETS`.
    size : int
        Sales to fit on.
    seed : int
        Seed of the market and of the cut.

    Returns
    -------
    Trial
        No car stands on two sides.
    """
    share = (1 - 1 / _KEPT_OUT) * (1 - _LATER_DAYS / 2192)
    asked = MarketSettings(sales=round(1.04 * size / share) + 20, **MARKETS[market])
    world = make_market(asked, seed=seed)
    data = market_data(world.book(), unsold="as bids")
    if data.frame["sale_id"].tolist() != world.table["sale_id"].tolist():
        raise AssertionError("records and truth stand in different orders")
    car, day = world.truth.sale["car"], world.truth.sale["day"]
    out, late = car % _KEPT_OUT == 0, day > day.max() - _LATER_DAYS
    rng = np.random.default_rng(seed)
    train = np.sort(rng.permutation(np.flatnonzero(~out & ~late))[:size])
    fresh = np.flatnonzero(out & ~late)
    later = np.flatnonzero(late & ~np.isin(car, car[np.concatenate([train, fresh])]))
    return Trial(world, data, train, fresh, later)

"""Our method against the best peer: ratios with intervals, on the same cars.

The best peer of a table is the one with the least median error, and for widths the one with the
narrowest ranges once 80 % of them hold.  It is chosen on the tested sales themselves, which
favours the peers.  Intervals are paired percentile bootstraps over sales (Efron and Tibshirani
1993, chapter 13) with the peer kept.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from accuracy_measures import Predictions, width_held
from numpy.typing import NDArray

__all__ = ["Ratio", "against_peers"]

DRAWS = 400


@dataclass(frozen=True)
class Ratio:
    """One ratio of ours to the best peer.

    Parameters
    ----------
    of : str
        What is compared.
    peer : str
        The best peer.
    ours, theirs : float
        Per cent.
    low, high : float
        Ends of the 95 % interval of ours / theirs.
    """

    of: str
    peer: str
    ours: float
    theirs: float
    low: float
    high: float

    @property
    def value(self) -> float:
        """Ours over theirs; under one, ours is better."""
        return self.ours / self.theirs


def _error(p: Predictions) -> float:
    return float(np.median(100.0 * np.abs(p.central / p.price - 1.0)))


def _width(p: Predictions) -> float:
    low, high = p.ranges[80]
    return width_held(p.price, p.central, low, high)


def against_peers(
    ours: Predictions, peers: Mapping[str, Predictions], *, draws: int = DRAWS
) -> list[Ratio]:
    """Compare errors of all cars, and widths of the cars to which every method gives a range.

    Parameters
    ----------
    ours : Predictions
        Our method.
    peers : mapping of str to Predictions
        The others, on the same sales in the same order.
    draws : int
        Bootstrap draws.
    """
    out = [_ratio("median absolute error", _error, ours, peers, draws)] if peers else []
    ranged = {k: p for k, p in peers.items() if 80 in p.ranges}
    if ranged and 80 in ours.ranges:
        given = ~np.isnan(ours.ranges[80][0])
        for p in ranged.values():
            given &= ~np.isnan(p.ranges[80][0])
        shown = {k: p.take(given) for k, p in ranged.items()}
        out.append(_ratio("width at 80 % held", _width, ours.take(given), shown, draws))
    return out


def _ratio(
    of: str,
    measure: Callable[[Predictions], float],
    ours: Predictions,
    peers: Mapping[str, Predictions],
    draws: int,
) -> Ratio:
    found = {k: measure(p) for k, p in peers.items()}
    best = min(found, key=lambda k: (found[k], k))
    rng, n = np.random.default_rng(0), len(ours.price)
    ratios = []
    for _ in range(draws):
        rows = rng.integers(0, n, n)
        ratios.append(measure(_drawn(ours, rows)) / measure(_drawn(peers[best], rows)))
    low, high = np.quantile(ratios, [0.025, 0.975])
    return Ratio(of, best, measure(ours), found[best], float(low), float(high))


def _drawn(p: Predictions, rows: NDArray[np.intp]) -> Predictions:
    ranges = {k: (low[rows], high[rows]) for k, (low, high) in p.ranges.items()}
    return Predictions(p.price[rows], p.central[rows], ranges)

"""The walk-away bid: the highest bid that breaks no limit, and the lower ones that break one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from valuation.bidding.deal import Deal
from valuation.cents import Cents, in_cents

__all__ = ["LIMITS", "WalkAway", "bids_above", "broken_limits", "kept_limits", "walk_away"]

Holds: TypeAlias = Callable[[Cents], NDArray[np.bool_]]

LIMITS = ("margin", "risk", "outlay")
"""What can bind: expected margin, probability of loss, money that may go into one car."""

TOGETHER = 16
"""Bids that are tried in one go."""


@dataclass(frozen=True)
class WalkAway:
    """The answer of the search.

    Parameters
    ----------
    bid : int or None
        In cents of the currency of the purchase; None if every bid breaks a limit.
    binds : tuple of str
        Which of :data:`LIMITS` the next higher bid breaks, or the lowest one if none can be made.
    broken : tuple of (int, int)
        Bids below that break a limit all the same, from and to.
    """

    bid: int | None
    binds: tuple[str, ...]
    broken: tuple[tuple[int, int], ...] = ()


def kept_limits(deal: Deal, bids: Cents) -> dict[str, NDArray[np.bool_]]:
    """Return for each limit which bids, in cents, keep it."""
    outlay, margin = deal.expected(bids)
    kept = {"margin": margin >= deal.aim, "risk": _bearable(deal, bids)}
    kept["outlay"] = _affordable(deal, outlay)
    return kept


def broken_limits(deal: Deal, bid: int) -> tuple[str, ...]:
    """Return which limits a bid, in cents, breaks."""
    kept = kept_limits(deal, np.array([bid]))
    return tuple(name for name in LIMITS if not kept[name][0])


def walk_away(deal: Deal) -> WalkAway:
    """Return the highest bid at which every limit holds.

    Where a higher bid never costs less, every limit that a bid breaks is broken by all higher
    ones, so that the last good one is found by halving.  A premium on the whole price falls at the
    edge of a tier: the bids on each side of such an edge are searched by themselves, from the top.

    Parameters
    ----------
    deal : Deal
        The purchase and its resale.

    Returns
    -------
    WalkAway
        Exact: the same input gives the same bid.
    """
    bids = deal.bids
    if not len(bids):
        return WalkAway(None, ("margin",))
    found: int | None = None
    binds: tuple[str, ...] = ()
    broken = []
    for start, stop in reversed(list(_stretches(deal.totals(bids)))):
        # The probability of loss is dear to work out: only for bids that the means let pass.
        affordable = _last(lambda b: _means_hold(deal, b), bids, start, stop)
        end = _last(lambda b: _bearable(deal, b), bids, start, affordable)
        if found is None and end > start:
            found = end - 1
            # The means hold for the next bid, so that it is the risk that it breaks.
            binds = ("risk",) if end < affordable else ()
        elif found is not None and end < stop:
            broken.append((int(bids[end]), int(bids[stop - 1])))
    if found is None:
        return WalkAway(None, broken_limits(deal, int(bids[0])))
    if not binds:
        binds = broken_limits(deal, bids_above(deal, int(bids[found])))
    return WalkAway(int(bids[found]), binds, tuple(reversed(broken)))


def bids_above(deal: Deal, bid: int) -> int:
    """Return the next higher bid that can be made, in cents."""
    higher = deal.bids[deal.bids > bid]
    if len(higher):
        return int(higher[0])
    last = deal.way.increments[-1].step if deal.way.increments else 1
    return bid + in_cents(last)


def _means_hold(deal: Deal, bids: Cents) -> NDArray[np.bool_]:
    outlay, margin = deal.expected(bids)
    return np.asarray((margin >= deal.aim) & _affordable(deal, outlay))


def _affordable(deal: Deal, outlay: Cents) -> NDArray[np.bool_]:
    most = deal.target.outlay
    return np.ones(len(outlay), dtype=bool) if most is None else outlay <= in_cents(most)


def _bearable(deal: Deal, bids: Cents) -> NDArray[np.bool_]:
    limit = Fraction(deal.target.loss_probability)
    if limit >= 1:
        return np.ones(len(bids), dtype=bool)
    lost, every = deal.losing(bids)
    return np.array(lost * limit.denominator <= limit.numerator * every, dtype=bool)


def _stretches(total: Cents) -> Iterator[tuple[int, int]]:
    """Yield where bids run (from, to) within which a higher bid never costs less."""
    edges = [0, *(np.flatnonzero(np.diff(total) < 0) + 1).tolist(), len(total)]
    yield from pairwise(edges)


def _last(holds: Holds, bids: Cents, start: int, stop: int) -> int:
    """Return one past the last bid that holds, `start` if none does."""
    low, high = start, stop  # everything before `low` holds, nothing from `high` on is known to
    while low < high:
        n = min(TOGETHER, high - low)
        at = low + (high - 1 - low) * np.arange(1, n + 1) // n
        good = holds(bids[at])
        if good.all():
            return high
        first = int(np.argmin(good))
        high = int(at[first])
        low = int(at[first - 1]) + 1 if first else low
    return low

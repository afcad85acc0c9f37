"""One past lot bid on again: how high each rule would have gone, and what that led to."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

import numpy as np

from valuation.bidding.costs import Costs
from valuation.bidding.deal import Deal
from valuation.bidding.from_market import Candidate
from valuation.bidding.search import WalkAway, bids_above, walk_away
from valuation.bidding.sheet import deal_of, winning_of
from valuation.bidding.spread import Spread
from valuation.cents import in_cents
from valuation.study.replay_lots import PastLot

__all__ = ["BidLot", "Expected", "bid_again", "with_limit"]

Rule = tuple[float, bool]
"""A loss limit, and whether winning is corrected for."""


@dataclass(frozen=True)
class Expected:
    """What a purchase at the price paid promised, in cents.

    Parameters
    ----------
    margin : int
        Expected margin.
    loss : float
        Risk of loss.
    log_resale : float
        Mean of the logarithm of the resale, in units of the currency.
    """

    margin: int
    loss: float
    log_resale: float


@dataclass(frozen=True)
class BidLot:
    """A lot of the past, bid on again; amounts in cents.

    Parameters
    ----------
    lot : PastLot
        The lot.
    paid : int
        The bid that would have won it: the next one above the hammer price, where rivals stopped.
    lowest : int
        The lowest bid that can be made.
    central : int
        Central estimate of the resale, without the correction for winning.
    found : mapping of (float, bool) to WalkAway
        The walk-away bid by loss limit, and by whether winning is corrected for.
    expected : mapping of bool to Expected
        What a purchase at the price paid promised, by whether winning is corrected for.
    outlay : int
        What it would have taken until the car is ready for sale, costs at their middle.
    resale, margin : int or None
        What the car brought and what that left, costs at their middle; None if nobody knows.
    """

    lot: PastLot
    paid: int
    lowest: int
    central: int
    found: Mapping[Rule, WalkAway]
    expected: Mapping[bool, Expected]
    outlay: int
    resale: int | None
    margin: int | None

    @property
    def share(self) -> float:
        """Least share of the central estimate that wins the lot."""
        return self.paid / self.central

    def won(self, rule: Rule) -> bool:
        """Tell whether the walk-away bid of a rule wins the lot."""
        found = self.found[rule]
        if found.bid is None or found.bid < self.paid:
            return False
        # A premium on the whole price can make a lower bid break a limit that a higher one keeps.
        return not any(low <= self.paid <= high for low, high in found.broken)


def with_limit(costs: Costs, limit: float) -> Costs:
    """Return cost settings with another limit of the risk of loss."""
    target = replace(costs.target, loss_probability=Decimal(str(limit)))
    return replace(costs, target=target)


def bid_again(
    lot: PastLot,
    candidate: Candidate,
    costs: Costs,
    limits: Sequence[float],
    resale: float | None,
) -> BidLot:
    """Bid on a lot of the past with each loss limit, with and without the correction for winning.

    Parameters
    ----------
    lot : PastLot
        The lot.
    candidate : Candidate
        Its car, valued with what was known before the sale.
    costs : Costs
        The firm's settings.
    limits : sequence of float
        Limits of the risk of loss.
    resale : float or None
        What the car brought, None if nobody knows.
    """
    prospect, done = candidate.prospect, candidate.preparation
    logs = {True: winning_of(lot.way, costs, prospect).log, False: 0.0}
    deals = {
        yes: deal_of(prospect, lot.way, costs, log=log, preparation=done)
        for yes, log in logs.items()
    }
    found = {
        (limit, yes): walk_away(replace(deal, costs=with_limit(costs, limit)))
        for yes, deal in deals.items()
        for limit in limits
    }
    paid = bids_above(deals[False], lot.hammer)
    cents = None if resale is None else in_cents(resale)
    outlay, margin = _brought(deals[False], paid, cents)
    steps = lot.way.increments
    return BidLot(
        lot=lot,
        paid=paid,
        lowest=in_cents(steps[0].step) if steps else in_cents(1),
        central=prospect.resale.quantile(Fraction(1, 2)),
        found=found,
        expected={yes: _expected(deal, paid) for yes, deal in deals.items()},
        outlay=outlay,
        resale=cents,
        margin=margin,
    )


def _expected(deal: Deal, paid: int) -> Expected:
    bids = np.array([paid])
    resale = deal.resale
    log = float(resale.weights @ np.log(np.maximum(resale.values, 1) / 100)) / resale.total
    return Expected(int(deal.expected(bids)[1][0]), float(deal.loss(bids)[0]), log)


def _brought(deal: Deal, paid: int, resale: int | None) -> tuple[int, int | None]:
    """Return outlay and margin of a purchase, costs at their middle, in cents."""
    bids = np.array([paid])
    if resale is None:
        return int(deal.expected(bids)[0][0]), None
    outlay, margin = replace(deal, resale=Spread.certain(resale)).expected(bids)
    return int(outlay[0]), int(margin[0])

"""What a buyer asks of one car in place of the firm's cost settings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from valuation.bidding.costs import CostLine, Costs
from valuation.bidding.sheet import Preparation
from valuation.records import Work
from valuation.results.bid_parts import WorkStep

__all__ = ["Asked", "applied_to_costs", "applied_to_work", "usual_work"]

WORK = "work on the car, as asked"
"""Name of the one line that takes the place of all others."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked; None where the cost settings and the car's own lines count as they are.

    Parameters
    ----------
    margin : Decimal or None
        Least expected margin, in the resale's currency; a share of the resale no longer counts.
    loss_probability : Decimal or None
        Largest accepted probability of losing money, 0 to 1.
    work : Decimal or None
        What all work on the car costs, in the resale's currency, as if it were known.
    """

    margin: Decimal | None = None
    loss_probability: Decimal | None = None
    work: Decimal | None = None


def usual_work(costs: Costs, preparation: Preparation) -> Decimal:
    """Return what the work on a car costs in the mean: that on every car and that on this one."""
    lines: Iterable[CostLine | Work] = (*costs.work, *preparation.work)
    return sum(((x.low + x.high) / 2 for x in lines), Decimal(0))


def applied_to_costs(costs: Costs, asked: Asked) -> Costs:
    """Return cost settings with what is asked in place of their own.

    Examples
    --------
    >>> from valuation.bidding.costs import Target
    >>> costs = Costs("EUR", {}, Target(margin=Decimal(2500), share=Decimal("0.08")))
    >>> asked = applied_to_costs(costs, Asked(margin=Decimal(4000)))
    >>> asked.target.margin, asked.target.share
    (Decimal('4000'), Decimal('0'))
    """
    target, work = costs.target, costs.work
    if asked.margin is not None:
        target = replace(target, margin=asked.margin, share=Decimal(0))
    if asked.loss_probability is not None:
        target = replace(target, loss_probability=asked.loss_probability)
    if asked.work is not None:
        work = (CostLine(WORK, asked.work, asked.work),)
    return replace(costs, target=target, work=work)


def applied_to_work(preparation: Preparation, asked: Asked) -> Preparation:
    """Return a preparation without lines of its own where the work is asked as one amount.

    What the work restores, and so the resale, stays as it is.
    """
    if asked.work is None:
        return preparation
    restored = "; ".join(f"{s.zone} {s.restores}".strip() for s in preparation.steps if s.restores)
    one = WorkStep(WORK, "", restored, asked.work, asked.work)
    return replace(preparation, work=(), steps=(one,) if preparation.steps else ())

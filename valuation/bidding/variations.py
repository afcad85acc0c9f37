"""How the walk-away bid moves: with the market, with each input, with each open fact."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

import numpy as np

from valuation.bidding.costs import CostLine, Costs, Holding
from valuation.bidding.deal import Deal
from valuation.bidding.prospect import Course, FactAtStake, Prospect, factor_of
from valuation.bidding.search import walk_away
from valuation.cents import from_cents
from valuation.records import Work
from valuation.results.bid_parts import BidCheck, MarketCourse, Swing

__all__ = ["bid_of", "check_facts", "courses_of", "swings_of"]

RESALE_STEP = 10
"""Per cent by which the resale is moved to show what hangs on it."""


def bid_of(deal: Deal) -> Decimal | None:
    """Return the walk-away bid of a deal as an amount."""
    found = walk_away(deal).bid
    return None if found is None else from_cents(found)


def moved(deal: Deal, log: float) -> Deal:
    """Return a deal whose resale lies higher or lower by a log change."""
    return replace(deal, resale=deal.resale.times(factor_of(log))) if log else deal


def courses_of(deal: Deal, courses: tuple[Course, ...]) -> tuple[MarketCourse, ...]:
    """Return the bid that each course of the market would make right."""
    return tuple(
        MarketCourse(c.name, c.says, float(100 * np.expm1(c.log)), bid_of(moved(deal, c.log)))
        for c in courses
    )


def check_facts(deal: Deal, facts: tuple[FactAtStake, ...]) -> tuple[BidCheck, ...]:
    """Return what to check first: each fact with the bid if it turns out bad or good.

    The fact that would lower the bid most, weighted with how likely that is, comes first.
    """
    today = bid_of(deal) or Decimal(0)
    out = []
    for f in facts:
        bad, good = bid_of(moved(deal, f.bad)), bid_of(moved(deal, f.good))
        check = BidCheck(
            f.label,
            f.state,
            f.if_bad,
            f.if_good,
            bad,
            good,
            f.bad_chance,
            f.good_chance,
            f.contradiction,
            f.how,
            f.minutes,
        )
        at_stake = float(today - (bad or 0)) * f.bad_chance
        gain = float((good or 0) - today) * f.good_chance
        out.append((-at_stake, -gain, f.label, check))
    return tuple(check for *_, check in sorted(out, key=lambda x: x[:3]))


def swings_of(deal: Deal, prospect: Prospect, corrected: float) -> tuple[Swing, ...]:
    """Return how far each input moves the bid, the widest swing first.

    Parameters
    ----------
    deal : Deal
        The deal at its walk-away bid.
    prospect : Prospect
        The resale before the correction for winning.
    corrected : float
        Log change of that correction.
    """
    today = bid_of(deal) or Decimal(0)
    swings = [
        Swing(what, low, high, bid_of(worse), bid_of(better))
        for what, low, high, worse, better in _ends(deal, prospect, corrected)
    ]
    kept = [s for s in swings if s.low_bid != s.high_bid]

    def width(s: Swing) -> Decimal:
        return abs((s.high_bid or Decimal(0)) - (s.low_bid or Decimal(0)))

    return tuple(sorted(kept, key=lambda s: (-width(s), s.what))) if today or kept else ()


_End = tuple[str, str, str, Deal, Deal]


def _ends(deal: Deal, prospect: Prospect, corrected: float) -> Iterator[_End]:
    costs = deal.costs
    down, up = (float(np.log1p(s * RESALE_STEP / 100)) for s in (-1, 1))
    yield (
        "resale price",
        f"{RESALE_STEP}% lower",
        f"{RESALE_STEP}% higher",
        moved(deal, down),
        moved(deal, up),
    )
    if corrected:
        twice = replace(deal, resale=prospect.resale.times(factor_of(2 * corrected)))
        none = replace(deal, resale=prospect.resale)
        yield "correction for winning", "twice as large", "none", twice, none
    yield from _work_ends(deal)
    yield from _way_ends(deal)
    yield from _holding_ends(deal)
    yield from _limit_ends(deal, costs)


def _fixed(lines: tuple[CostLine, ...], *, high: bool) -> tuple[CostLine, ...]:
    """Return lines that are all known, at their high or their low end."""
    return tuple(replace(x, low=x.high) if high else replace(x, high=x.low) for x in lines)


def _totals(lines: Sequence[CostLine | Work]) -> tuple[str, str]:
    """Return the sums of the low and of the high ends, in words."""
    low = sum((x.low for x in lines), Decimal(0))
    high = sum((x.high for x in lines), Decimal(0))
    return f"{low:,}", f"{high:,}"


def _work_ends(deal: Deal) -> Iterator[_End]:
    lines: tuple[CostLine | Work, ...] = (*deal.costs.work, *deal.work)
    if all(x.low == x.high for x in lines):
        return

    def at(high: bool) -> Deal:
        own = [replace(w, low=w.high) if high else replace(w, high=w.low) for w in deal.work]
        every = _fixed(deal.costs.work, high=high)
        return replace(deal, work=tuple(own), costs=replace(deal.costs, work=every))

    low, high = _totals(lines)
    yield "work", f"comes to {high}", f"comes to {low}", at(True), at(False)


def _way_ends(deal: Deal) -> Iterator[_End]:
    way = deal.way

    if any(x.low != x.high for x in way.lines):
        low, high = _totals(way.lines)
        worse = replace(deal, way=replace(way, lines=_fixed(way.lines, high=True)))
        better = replace(deal, way=replace(way, lines=_fixed(way.lines, high=False)))
        yield "transport, inspection and the like", high, low, worse, better
    if way.rate_low is not None and way.rate_low != way.rate_high:
        worse = replace(deal, way=replace(way, rate_low=way.rate_high))
        better = replace(deal, way=replace(way, rate_high=way.rate_low))
        yield "exchange rate", f"{way.rate_high}", f"{way.rate_low}", worse, better


def _holding_ends(deal: Deal) -> Iterator[_End]:
    costs, h = deal.costs, deal.costs.holding

    def held(new: Holding) -> Deal:
        return replace(deal, costs=replace(costs, holding=new))

    if h.days_low != h.days_high:
        worse, better = (
            held(replace(h, days_low=h.days_high)),
            held(replace(h, days_high=h.days_low)),
        )
        yield "days to sell", f"{h.days_high} days", f"{h.days_low} days", worse, better
    if h.finance and h.days_high:
        more, less = h.finance + 2, max(h.finance - 2, Decimal(0))
        worse, better = held(replace(h, finance=more)), held(replace(h, finance=less))
        yield "stock finance rate", f"{more}%", f"{less}%", worse, better


def _limit_ends(deal: Deal, costs: Costs) -> Iterator[_End]:
    t = costs.target

    def aimed(**changes: Decimal) -> Deal:
        return replace(deal, costs=replace(costs, target=replace(t, **changes)))

    if t.margin or t.share:
        worse = aimed(margin=t.margin * Decimal("1.2"), share=t.share * Decimal("1.2"))
        better = aimed(margin=t.margin * Decimal("0.8"), share=t.share * Decimal("0.8"))
        yield "target margin", "a fifth more", "a fifth less", worse, better
    if t.outlay is not None:
        worse = aimed(outlay=t.outlay * Decimal("0.9"))
        better = aimed(outlay=t.outlay * Decimal("1.1"))
        yield "largest outlay", "a tenth less", "a tenth more", worse, better
    if 0 < t.loss_probability < 1:
        low = max(t.loss_probability - Decimal("0.05"), Decimal(0))
        high = min(t.loss_probability + Decimal("0.05"), Decimal(1))
        worse, better = aimed(loss_probability=low), aimed(loss_probability=high)
        yield "limit of the risk of loss", f"{low:.0%}", f"{high:.0%}", worse, better

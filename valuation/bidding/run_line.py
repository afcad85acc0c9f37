"""One lot of a run list: its bid, what it promises at its estimate, and what to look at first."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

import numpy as np

from valuation.bidding.costs import Costs, WayOfBuying
from valuation.bidding.deal import Deal
from valuation.bidding.from_market import Candidate
from valuation.bidding.search import WalkAway, walk_away
from valuation.bidding.sheet import deal_of, until_cured, winning_of
from valuation.bidding.ways import unknown_venue, way_for
from valuation.cents import from_cents, in_cents
from valuation.importing.lot_list import Lot
from valuation.importing.sales import NO_CURRENCY
from valuation.inspection.title_states import title_note
from valuation.money import format_money
from valuation.results.bid_sheet import ANSWERS
from valuation.results.bid_text import bid_words
from valuation.results.run_list import RunLine
from valuation.results.valuation import Check
from valuation.results.words import contradicted_words

__all__ = ["PricedLot", "price_lot"]

DRESSED = ("tribute", "replica", "claimed, not documented")
"""What a car may be that is sold as the rare version."""


@dataclass(frozen=True)
class PricedLot:
    """A lot with its deal: what a plan of the day needs besides the line.

    Parameters
    ----------
    lot : Lot
        As the catalogue has it.
    line : RunLine
        As it is shown.
    deal : Deal or None
        The purchase and its resale, None where the evidence carries none.
    most : Decimal
        Outlay at the walk-away bid, zero without one.
    """

    lot: Lot
    line: RunLine
    deal: Deal | None
    most: Decimal


def price_lot(lot: Lot, candidate: Candidate, costs: Costs) -> PricedLot:
    """Return one lot with its bid.

    Parameters
    ----------
    lot : Lot
        As the catalogue has it.
    candidate : Candidate
        Its car, valued.
    costs : Costs
        The firm's settings.
    """
    way = way_for(costs, lot.car, lot.venue)
    lot, foreign = _in_currency_of_bids(lot, way)
    prospect = candidate.prospect
    if prospect.thin:
        line = _line(lot, candidate, costs, ANSWERS[3], reasons=(prospect.thin, *foreign))
        return PricedLot(lot, line, None, Decimal(0))
    won = winning_of(way, costs, prospect)
    deal = deal_of(prospect, way, costs, log=won.log, preparation=candidate.preparation)
    found = walk_away(deal)
    at = _bid_to_show(lot, found)
    figures = _at(deal, at, found.bid)
    answer, reasons = _answer(candidate, found, way, lot)
    tenth, half = Fraction(1, 10), Fraction(1, 2)
    low, middle, high = (deal.resale.quantile(q) for q in (tenth, half, 1 - tenth))
    line = _line(
        lot,
        candidate,
        costs,
        answer,
        reasons=(*reasons, *foreign),
        central=from_cents(middle),
        lower=from_cents(low),
        upper=from_cents(high),
        walk_away=None if found.bid is None else from_cents(found.bid),
        binds=found.binds,
        at=None if at is None else from_cents(at),
        outlay=figures.outlay,
        expected_margin=figures.margin,
        loss_probability=figures.loss,
    )
    return PricedLot(lot, replace(line, winning_percent=won.percent), deal, figures.most)


def _at(deal: Deal, at: int | None, most: int | None) -> _Figures:
    """Return outlay, expected margin and probability of loss at a bid, and outlay at another."""
    if at is None:
        return _Figures()
    bids = np.array([at, at if most is None else most])
    outlay, margin = deal.expected(bids)
    return _Figures(
        from_cents(int(outlay[0])),
        from_cents(int(margin[0])),
        float(deal.loss(bids[:1])[0]),
        Decimal(0) if most is None else from_cents(int(outlay[1])),
    )


@dataclass(frozen=True, slots=True)
class _Figures:
    """What a line shows of a bid, and the outlay at the walk-away bid."""

    outlay: Decimal | None = None
    margin: Decimal | None = None
    loss: float | None = None
    most: Decimal = Decimal(0)


def _bid_to_show(lot: Lot, found: WalkAway) -> int | None:
    """Return the bid for which margin and outlay are shown, in cents.

    The reserve, else the low estimate, as the least that the car can be had for; else the
    walk-away bid.
    """
    stated = lot.reserve if lot.reserve is not None else lot.estimate_low
    return found.bid if stated is None or stated <= 0 else in_cents(stated)


def _in_currency_of_bids(lot: Lot, way: WayOfBuying) -> tuple[Lot, tuple[str, ...]]:
    """Return the lot with its amounts, or without them where they are in another currency.

    A catalogue that names no currency is taken to mean that of the bids.
    """
    if lot.currency in (way.currency, NO_CURRENCY):
        return replace(lot, currency=way.currency), ()
    told = [f"Estimate {lot.estimate}."] if lot.estimate else []
    if lot.reserve is not None:
        told.append(f"Reserve {lot.reserve:,f} {lot.currency}.")
    plain = replace(lot, estimate_low=None, estimate_high=None, reserve=None, currency=way.currency)
    if not told:
        return plain, ()
    return plain, (f"{' '.join(told)} Bids are in {way.currency}: not compared.",)


def _answer(
    candidate: Candidate, found: WalkAway, way: WayOfBuying, lot: Lot
) -> tuple[str, tuple[str, ...]]:
    stops = candidate.preparation.stops
    if found.bid is None:
        return ANSWERS[2], (f"No bid makes sense: even the lowest breaks: {_limits(found)}.",)
    bid = from_cents(found.bid)
    if stops:
        cured = bid_words(bid, way.currency)
        return ANSWERS[1], (*(until_cured(s) for s in stops), f"Once cured: {cured}.")
    least = lot.reserve if lot.reserve is not None else lot.estimate_low
    if least is not None and bid < least:
        name = "reserve" if lot.reserve is not None else "low estimate"
        return ANSWERS[0], (f"The {name} lies above the walk-away bid.",)
    return ANSWERS[0], ()


def _limits(found: WalkAway) -> str:
    return " and ".join(found.binds) or "margin"


def _line(
    lot: Lot,
    candidate: Candidate,
    costs: Costs,
    answer: str,
    *,
    reasons: tuple[str, ...],
    central: Decimal | None = None,
    lower: Decimal | None = None,
    upper: Decimal | None = None,
    walk_away: Decimal | None = None,
    binds: tuple[str, ...] = (),
    at: Decimal | None = None,
    outlay: Decimal | None = None,
    expected_margin: Decimal | None = None,
    loss_probability: float | None = None,
) -> RunLine:
    evidence = candidate.prospect.evidence
    checks = candidate.brief.checks if candidate.brief else ()
    return RunLine(
        number=lot.number,
        day=lot.day,
        order=lot.order,
        car=candidate.car.name,
        estimate_low=lot.estimate_low,
        estimate_high=lot.estimate_high,
        reserve=lot.reserve,
        no_reserve=lot.reserve_kind == "none",
        currency=lot.currency,
        central=central,
        lower=lower,
        upper=upper,
        answer=answer,
        # A title that stops the purchase stops the bid: what it would be stands in the reasons.
        walk_away=walk_away if answer == ANSWERS[0] else None,
        binds=binds,
        at=at,
        outlay=outlay,
        expected_margin=expected_margin,
        loss_probability=loss_probability,
        evidence=evidence.strength if evidence else "none",
        first_check=_first(checks) or title_note(candidate.car),
        warnings=_warnings(lot, candidate, costs),
        reasons=reasons,
        notes=lot.notes,
    )


def _first(checks: tuple[Check, ...]) -> str:
    """Say in one line what to check first, with the money that hangs on it."""
    if not checks:
        return ""
    c = checks[0]
    return f"{c.label} ({c.state}): {c.if_bad} {format_money(c.fall, '', signed=True)}. {c.how}"


def _warnings(lot: Lot, candidate: Candidate, costs: Costs) -> tuple[str, ...]:
    values, brief = candidate.car.values, candidate.brief
    out = []
    kind = str(values.get("genuineness", ""))
    if kind in DRESSED:
        out.append(f"Genuineness: {kind}.")
    if brief:
        out += [
            contradicted_words(c.label, c.claim, c.contradiction)
            for c in brief.checks
            if c.state == "contradicted"
        ]
        out += [f"Outside the evidence: {reason}." for reason in brief.outside]
        out += [
            _sold_before(s.sale_date, s.price, s.outcome, brief.currency) for s in brief.earlier
        ]
    unseen = title_note(candidate.car)
    out += [w for w in candidate.prospect.warnings if w != unseen]
    out += unknown_venue(costs, lot.car, lot.venue)
    out += lot.remarks
    return tuple(dict.fromkeys(out))


def _sold_before(day: object, price: float, outcome: str, currency: str) -> str:
    """Say when this chassis was offered before, and for what."""
    when = f" on {day}" if day else ""
    word = "not sold, highest bid" if outcome == "not sold" else "sold for"
    return f"This chassis was offered before{when}: {word} {format_money(price, currency)}."

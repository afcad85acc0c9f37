"""The bid sheet of one car, from its prospect and the firm's costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from valuation.bidding.account import account_of, ladder_of
from valuation.bidding.costs import Costs, WayOfBuying
from valuation.bidding.deal import Deal
from valuation.bidding.prospect import Prospect, factor_of
from valuation.bidding.search import WalkAway, walk_away
from valuation.bidding.spread import Spread
from valuation.bidding.variations import check_facts, courses_of, swings_of
from valuation.bidding.winning import Correction, correction
from valuation.cents import from_cents, in_cents
from valuation.money import format_money
from valuation.records import Work
from valuation.results.bid_parts import Resale, Rung, Stop, WorkStep
from valuation.results.bid_sheet import ANSWERS, BidSheet
from valuation.results.bid_text import bid_words

__all__ = ["CAUTIONS", "Preparation", "bid_sheet", "deal_of", "until_cured", "winning_of"]

CAUTIONS = (
    "A bid rests on past sales and on cost settings of your own: it is no promise of a margin.",
    "Where others have looked at the car and you have not, the price at which you win is news: "
    "they found it worth no more. Inspect it, or bid well below.",
    "An estimate from past sales is not an appraisal by a licensed or certified appraiser, and no "
    "guarantee of roadworthiness, authenticity or title.",
    "Read the conditions of sale: premium, tax and time limits are those of the house and of the "
    "local law, not those of a settings file.",
)
"""Said with every bid."""


@dataclass(frozen=True)
class Preparation:
    """What has to be done to a car before it is sold again.

    Parameters
    ----------
    work : tuple of Work
        Work on this car.
    steps : tuple of WorkStep
        The same for people, with the marks it restores.
    stops : tuple of Stop
        What stops the purchase until it is cured.
    """

    work: tuple[Work, ...] = ()
    steps: tuple[WorkStep, ...] = ()
    stops: tuple[Stop, ...] = ()


def winning_of(way: WayOfBuying, costs: Costs, prospect: Prospect) -> Correction:
    """Return the correction for winning; where nobody bids against the firm there is none."""
    if not way.increments:
        return Correction(0.0, "nobody bids against you")
    return correction(costs.winning, prospect.deviation)


def deal_of(
    prospect: Prospect,
    way: WayOfBuying,
    costs: Costs,
    *,
    log: float,
    preparation: Preparation | None = None,
) -> Deal:
    """Return the deal of a car, its title cured.

    Parameters
    ----------
    prospect : Prospect
        The resale.
    way : WayOfBuying
        How it is bought.
    costs : Costs
        The firm's settings.
    log : float
        Log change of the resale, such as the correction for winning.
    preparation : Preparation, optional
        Work and cures.
    """
    done = preparation or Preparation()
    resale = prospect.resale.times(factor_of(log)) if log else prospect.resale
    days = max((round(s.days) for s in done.stops if s.days is not None), default=0)
    cure = Spread.certain(0)
    for stop in done.stops:
        if stop.low is not None and stop.high is not None:
            cure = cure.plus(Spread.even(in_cents(stop.low), in_cents(stop.high)))
    return Deal(way, costs, resale, done.work, days, cure)


def bid_sheet(
    prospect: Prospect,
    *,
    car: str,
    way: WayOfBuying,
    costs: Costs,
    as_of: date | None = None,
    preparation: Preparation | None = None,
    moves: bool = True,
) -> BidSheet:
    """Return how much to bid for one car, and why.

    Parameters
    ----------
    prospect : Prospect
        What the car may bring.
    car : str
        Its name.
    way : WayOfBuying
        How it is bought.
    costs : Costs
        The firm's settings.
    as_of : datetime.date, optional
        Day of the bid.
    preparation : Preparation, optional
        Work to be done, and what stops the purchase.
    moves : bool, default True
        Whether to work out how the bid moves with the market and with each input, which takes
        longer than everything else; where it is not wanted, a sheet has no courses and no swings.

    Returns
    -------
    BidSheet
        With an answer in every case: a bid, or why there is none.
    """
    done = preparation or Preparation()
    blank = _blank(prospect, car, way, costs, as_of, done)
    if prospect.thin:
        return replace(blank, answer=ANSWERS[3], reasons=(prospect.thin,))
    won = winning_of(way, costs, prospect)
    deal = deal_of(prospect, way, costs, log=won.log, preparation=done)
    found = walk_away(deal)
    at = found.bid if found.bid is not None else _lowest(deal)
    sheet = replace(
        blank,
        binds=found.binds,
        outlay_limit=costs.target.outlay,
        target_margin=from_cents(deal.aim),
        ladder=ladder_of(deal, at) if at else (),
        broken=tuple((from_cents(a), from_cents(b)) for a, b in found.broken),
        resale=_resale(deal, prospect, won),
        account=account_of(deal, at) if at else (),
        account_at=from_cents(at) if at else None,
        courses=courses_of(deal, prospect.courses) if moves else (),
        swings=swings_of(deal, prospect, won.log) if moves else (),
        checks=check_facts(deal, prospect.facts),
    )
    return _answered(sheet, deal, found)


def _lowest(deal: Deal) -> int | None:
    return int(deal.bids[0]) if len(deal.bids) else None


def _blank(
    prospect: Prospect,
    car: str,
    way: WayOfBuying,
    costs: Costs,
    as_of: date | None,
    done: Preparation,
) -> BidSheet:
    return BidSheet(
        car=car,
        as_of=as_of,
        way=way.name,
        currency=way.currency,
        resale_currency=costs.currency,
        answer=ANSWERS[2],
        walk_away=None,
        once_cured=None,
        binds=(),
        reasons=(),
        warnings=prospect.warnings,
        target_margin=costs.target.margin,
        loss_limit=float(costs.target.loss_probability),
        ladder=(),
        broken=(),
        resale=None,
        account=(),
        courses=(),
        swings=(),
        checks=(),
        stops=done.stops,
        work=done.steps,
        evidence=prospect.evidence,
        cautions=CAUTIONS,
    )


def _resale(deal: Deal, prospect: Prospect, won: Correction) -> Resale:
    tenth, half = Fraction(1, 10), Fraction(1, 2)
    low, middle, high = (deal.resale.quantile(q) for q in (tenth, half, 1 - tenth))
    return Resale(
        from_cents(middle),
        from_cents(low),
        from_cents(high),
        from_cents(in_cents(deal.resale.mean / 100)),
        from_cents(in_cents(prospect.resale.mean / 100)),
        won.percent,
        won.source,
        prospect.sale_on,
        prospect.channel,
        prospect.basis,
    )


def _answered(sheet: BidSheet, deal: Deal, found: WalkAway) -> BidSheet:
    """Return the sheet with its answer and the reasons for it."""
    if found.bid is None:
        stops = tuple(s.reason for s in sheet.stops)
        return replace(sheet, answer=ANSWERS[2], reasons=(_no_bid(sheet, deal), *stops))
    bid = from_cents(found.bid)
    reasons = (_why(sheet, bid), *_broken_words(sheet))
    if not sheet.stops:
        return replace(sheet, answer=ANSWERS[0], walk_away=bid, reasons=reasons)
    return replace(
        sheet,
        answer=ANSWERS[1],
        once_cured=bid,
        reasons=(*(until_cured(s) for s in sheet.stops), *reasons),
    )


def until_cured(stop: Stop) -> str:
    """Say that there is no bid until something is cured, with days and cost."""
    return f"No bid until this is cured ({stop.cure}). {stop.reason}"


def _why(sheet: BidSheet, bid: Decimal) -> str:
    """Say what the next higher bid would break."""
    at = {r.bid: r for r in sheet.ladder}
    higher = [r for r in sheet.ladder if r.bid > bid and r.breaks]
    rung = at[bid]
    now = (
        f"At {bid_words(bid, sheet.currency)} the expected margin is "
        f"{_money(rung.expected_margin, sheet)} and the risk of loss "
        f"{rung.loss_probability:.1%}."
    )
    if not higher:
        return now
    nxt = higher[0]
    return f"{now} At {bid_words(nxt.bid, sheet.currency)} {_breaks(nxt, sheet)}."


def _breaks(rung: Rung, sheet: BidSheet) -> str:
    said = {
        "margin": f"the margin of {_money(rung.expected_margin, sheet)} misses the target of "
        f"{_money(sheet.target_margin, sheet)}",
        "risk": f"the risk of loss of {rung.loss_probability:.1%} is over the limit of "
        f"{sheet.loss_limit:.1%}",
        "outlay": f"the outlay of {_money(rung.outlay, sheet)} is more than one car may take",
    }
    return " and ".join(said[b] for b in rung.breaks)


def _broken_words(sheet: BidSheet) -> Sequence[str]:
    out = []
    for low, high in sheet.broken:
        span = (
            bid_words(low, "") if low == high else f"{bid_words(low, '')} to {bid_words(high, '')}"
        )
        out.append(
            f"Bids of {span} {sheet.currency} break a limit although they are lower: the premium "
            "is taken of the whole price and falls at the edge of a tier."
        )
    return out


def _no_bid(sheet: BidSheet, deal: Deal) -> str:
    if not sheet.ladder:
        return "No bid makes sense: even the lowest bid costs more than the car can bring."
    first = sheet.ladder[0]
    lowest = bid_words(first.bid, sheet.currency)
    return f"No bid makes sense: even at the lowest bid of {lowest} {_breaks(first, sheet)}."


def _money(amount: Decimal, sheet: BidSheet) -> str:
    return format_money(float(amount), sheet.resale_currency)

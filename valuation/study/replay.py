"""Would it ever buy: bids on past lots, replayed with what was known before each."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.fitting import Fitted
from valuation.appraisal.market import MarketModel, market_of
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.bidding.costs import Costs
from valuation.bidding.from_market import Candidate, market_prospects, selling_sale
from valuation.errors import CostsError, SettingsError, TooFewSalesError
from valuation.features.assumptions import Assumptions, default_assumptions
from valuation.models.ranges import calibrate
from valuation.records import SalesBook
from valuation.results.replay import Replay, RuleResult
from valuation.running.runner import Runner
from valuation.study.replay_bids import BidLot, bid_again
from valuation.study.replay_lots import AUCTIONS, PastLot, past_lot
from valuation.study.replay_resale import LaterSales, Resales, TrueResales
from valuation.study.replay_rules import Tally, share_that_wins
from valuation.study.walk_forward import Plan, Refit, Step, forward_plan, walk_with_fits

__all__ = ["LOSS_LIMITS", "PLAIN_SHARES", "replay"]

LOSS_LIMITS = (0.05, 0.15, 0.30)
"""Limits of the risk of loss that are tried."""

PLAIN_SHARES = (0.6, 0.7, 0.8)
"""Shares of the central estimate that are tried beside them."""

SEEN_BEFORE = "this chassis was sold before the first lot, and learned from"
THIN = "the evidence carries no bid"
STOPPED = "the title stops the purchase"

PAYS = (
    "The firm pays the next bid above the recorded hammer price, where rivals stopped; whether its "
    "own bidding would have drawn others on is not known."
)
LISTING = (
    "Every car is judged by its listing alone, as before an inspection, and gets the work that "
    "every car gets."
)
INSPECTED = (
    "Every car is judged by what is true of it, as if an inspection had found out everything, and "
    "gets the work that every car gets."
)


@dataclass(frozen=True)
class _Asked:
    """What a replay is asked to do; with `inspected` each car is judged by what is true of it."""

    costs: Costs
    loss_limits: tuple[float, ...]
    resales: Resales
    inspected: TrueResales | None


def replay(
    book: SalesBook,
    costs: Costs,
    *,
    loss_limits: Sequence[float] = LOSS_LIMITS,
    plain_shares: Sequence[float] = PLAIN_SHARES,
    test_share: float = 0.3,
    months: int | None = None,
    refit: Refit = "month",
    truth: TrueResales | None = None,
    inspected: bool = False,
    seed: int = 0,
    settings: ModelSettings | None = None,
    assumptions: Assumptions | None = None,
    run: Runner | None = None,
    progress: Progress | None = None,
) -> Replay:
    """Bid on the latest auction lots again, with what was known before each.

    The market is learned at the start of each stretch, as :func:`backtest` does.  A lot is won if
    the walk-away bid reaches the next bid above its hammer price, and costs that bid.  A lot that
    did not sell is never won: its reserve is not known.

    Parameters
    ----------
    book : SalesBook
        Sales, dated.
    costs : Costs
        The firm's settings; its target margin counts besides each loss limit.
    loss_limits : sequence of float
        Limits of the risk of loss, each above 0 and at most 1.
    plain_shares : sequence of float
        Shares of the central estimate of the resale that a plain rule bids.
    test_share : float
        Share of the sales, the latest, in which lots are bid on.
    months : int, optional
        Instead, the last so many months of 30 days.
    refit : {"month", "fortnight", "never"}
        How often the market is learned again.
    truth : TrueResales, optional
        What the lots of an invented market brought; without it the book's own later sales of the
        same chassis.
    inspected : bool
        Whether each car is judged by what is true of it instead of its listing; needs `truth`.
    seed : int
        Seed of the intervals.
    settings : ModelSettings, optional
        How models are built.
    assumptions : Assumptions, optional
        Effects that are assumed; the package's defaults if None.
    run : Runner, optional
        How the fits are run; in this process if not given.  The result is the same.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Replay
        Rule by rule what would have been won, and what it brought.

    Raises
    ------
    SettingsError
        If a limit or share is out of range, or the book is undated.
    TooFewSalesError
        If too few sales are left to learn from, or no lot can be bid on.
    CostsError
        If the costs are in another currency than the book.
    """
    _check(book, costs, loss_limits, plain_shares)
    if inspected and truth is None:
        raise SettingsError(
            "replay",
            "only in an invented market is it known what an inspection would have found",
            remedy="Name its truth, or judge the cars by their listings",
        )
    settings = settings or ModelSettings()
    assumptions = default_assumptions() if assumptions is None else assumptions
    data = market_data(book, unsold=settings.unsold, least=settings.least_sales)
    plan = forward_plan(data, where="replay", test_share=test_share, months=months, refit=refit)
    seen = truth if inspected else None
    asked = _Asked(costs, tuple(loss_limits), truth or LaterSales(book), seen)
    left_out: Counter[str] = Counter()
    offered = [_offered(data, rows, asked, left_out) for rows in plan.stretches]
    _count_seen_before(data, plan, left_out)
    # Said before the market is learned, which takes its time.
    _check_some(sum(map(len, offered)), left_out)
    steps = walk_with_fits(
        data, plan, settings=settings, assumptions=assumptions, run=run, progress=progress
    )
    lots = [
        lot
        for (step, fitted), past in zip(steps, offered, strict=True)
        for lot in _stretch(
            _market(data, step, fitted, book.currency, settings), past, asked, left_out
        )
    ]
    _check_some(len(lots), left_out)
    return _result(lots, plan, asked, tuple(plain_shares), left_out, seed)


def _check(
    book: SalesBook, costs: Costs, loss_limits: Sequence[float], plain_shares: Sequence[float]
) -> None:
    if book.currency != costs.currency:
        raise CostsError(
            costs.where,
            f"the resale is in another currency than the sales, {book.currency}",
            got=costs.currency,
            remedy=f"State the costs in {book.currency}, or bring the sales to {costs.currency}",
        )
    if not book.dated:
        raise SettingsError(
            "replay",
            "an undated list has no lots to bid on one after the other",
            remedy="Give sales with their dates",
        )
    for name, values, most in (("loss limit", loss_limits, 1.0), ("share", plain_shares, 10.0)):
        wrong = [v for v in values if not 0 < v <= most]
        if wrong:
            raise SettingsError(
                "replay",
                f"a {name} lies above 0 and is at most {most:g}",
                got=", ".join(f"{v:g}" for v in wrong),
                remedy="Write 15% as 0.15",
            )


def _market(
    data: MarketData, step: Step, fitted: Fitted, currency: str, settings: ModelSettings
) -> MarketModel:
    """Return the market as it was known on the first day of a stretch."""
    known = data.take(step.known)
    calibration = calibrate(step.record, day=step.day)
    last = known.frame["sale_date"].max().date()
    return market_of(known, fitted, calibration, currency, last, settings)


def _offered(
    data: MarketData, rows: NDArray[np.intp], asked: _Asked, left_out: Counter[str]
) -> list[PastLot]:
    """Return the lots among some sales that can be bid on again."""
    frame = data.frame.iloc[rows]
    table = frame[frame["channel"].isin(AUCTIONS)]
    found = (
        past_lot({str(k): v for k, v in row.items()}, asked.costs, left_out)
        for row in table.to_dict("records")
    )
    return [_seen(lot, asked.inspected) for lot in found if lot is not None]


def _check_some(lots: int, left_out: Counter[str]) -> None:
    if not lots:
        told = "; ".join(f"{n} left out, {reason}" for reason, n in left_out.most_common())
        raise TooFewSalesError(
            "replay",
            "no lot can be bid on",
            got=told or "no auction in the tested stretch",
            remedy="Replay a longer stretch, or say of the sales which channel, outcome and basis "
            "they have",
        )


def _stretch(
    market: MarketModel, past: Sequence[PastLot], asked: _Asked, left_out: Counter[str]
) -> Iterator[BidLot]:
    """Yield the lots of a stretch, bid on again, day after day."""
    sale = market.sale_of(selling_sale(asked.costs))
    by_day: dict[date, list[PastLot]] = {}
    for lot in past:
        by_day.setdefault(lot.day, []).append(lot)
    for day, lots in by_day.items():
        cars = [lot.car for lot in lots]
        found = market_prospects(market, cars, asked.costs, as_of=day)
        for lot, candidate in zip(lots, found, strict=True):
            if _can_be_bid_on(candidate, left_out):
                on = candidate.prospect.sale_on or day
                brought = asked.resales.of(lot.sale_id, on, sale)
                yield bid_again(lot, candidate, asked.costs, asked.loss_limits, brought)


def _seen(lot: PastLot, truth: TrueResales | None) -> PastLot:
    """Return a lot with what an inspection of its car finds."""
    if truth is None:
        return lot
    values = {**lot.car.values, **truth.inspected(lot.sale_id)}
    return dataclasses.replace(lot, car=dataclasses.replace(lot.car, values=values))


def _can_be_bid_on(candidate: Candidate, left_out: Counter[str]) -> bool:
    if candidate.prospect.thin:
        left_out[THIN] += 1
    elif candidate.preparation.stops:
        left_out[STOPPED] += 1
    else:
        return True
    return False


def _count_seen_before(data: MarketData, plan: Plan, left_out: Counter[str]) -> None:
    """Count the lots of the tested stretch whose chassis is among the first sales."""
    tested = np.concatenate(plan.stretches)
    rest = np.setdiff1d(np.arange(len(plan.first), len(data)), tested)
    seen = int(data.frame["channel"].iloc[rest].isin(AUCTIONS).sum())
    if seen:
        left_out[SEEN_BEFORE] = seen


def _result(
    lots: list[BidLot],
    plan: Plan,
    asked: _Asked,
    plain_shares: tuple[float, ...],
    left_out: Counter[str],
    seed: int,
) -> Replay:
    tally = Tally(lots, seed=seed)
    limits = [tally.limit(limit, corrected=True) for limit in asked.loss_limits]
    bare = [tally.limit(limit, corrected=False) for limit in asked.loss_limits]
    matched = [_matched(tally, rule) for rule in limits if rule.won]
    plain = [tally.plain(share) for share in plain_shares]
    days, winning = [x.lot.day for x in lots], asked.costs.winning
    return Replay(
        currency=asked.costs.currency,
        first=min(days),
        last=max(days),
        fitted_on=len(plan.first),
        fits=len(plan.stretches),
        resale=asked.resales.says([x.lot.sale_id for x in lots]),
        seen=len(lots),
        left_out=tuple(left_out.most_common()),
        rules=(*limits, *bare, *matched, *plain, tally.every()),
        bands=tally.bands(),
        made_good=tally.made_good(),
        own_share=tally.own_share(),
        own_share_stated=None if winning.percent is not None else float(winning.own_share),
        intervals=tally.intervals,
        notes=(PAYS, INSPECTED if asked.inspected else LISTING),
    )


def _matched(tally: Tally, rule: RuleResult) -> RuleResult:
    """Return the plain share that wins as many lots as a rule."""
    return tally.plain(share_that_wins(tally.share, rule.won), matches=rule.level)

"""A whole batch of sales set beside the model that did not know it, before it may move one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np
from scipy import stats

from valuation.appraisal.market import MarketModel
from valuation.errors import ValuationError
from valuation.records import SalesBook
from valuation.results.screens import BatchScreen, ScreenDoubt, Verdict
from valuation.scoring.checks import ScoreUndefinedError
from valuation.scoring.screens import SalesChasing, sales_chasing
from valuation.study.batch_prices import BatchPrices, batch_prices
from valuation.study.batch_rows import Months, row_doubts
from valuation.study.batch_shift import part_doubts, whole_doubts
from valuation.study.screen_limits import ScreenLimits

__all__ = ["screen_batch"]

_FEWEST_NEAR = 5


def screen_batch(
    market_before: MarketModel | None,
    book: SalesBook,
    *,
    others: Sequence[SalesBook] = (),
    today: date | None = None,
    months: Months | None = None,
    limits: ScreenLimits | None = None,
) -> BatchScreen:
    """Set a whole batch of sales beside the model that did not know it.

    Parameters
    ----------
    market_before : MarketModel or None
        Fitted without the batch; None where there is none yet, and prices can't be judged.
    book : SalesBook
        The sales of one batch; a column ``batch`` names it.
    others : sequence of SalesBook
        Other new batches.  Those that share a month with this one tell a wrong batch from a
        market that has moved.
    today : datetime.date, optional
        No sale can be later.
    months : (datetime.date, datetime.date), optional
        First and last day of the months that the batch is said to be of.
    limits : ScreenLimits, optional
        Limits; the defaults without it.

    Returns
    -------
    BatchScreen
        Every doubt with its figures, and the verdict: pass, warn or hold.

    Raises
    ------
    ValuationError
        If the batch is in another currency than the market.
    """
    limits = limits or ScreenLimits()
    doubts = list(row_doubts(market_before, book, limits, today=today, months=months))
    prices = None
    if market_before is not None and len(book):
        _same_currency(market_before, book)
        prices = batch_prices(market_before, book)
        if len(prices) >= limits.fewest:
            peers = [batch_prices(market_before, o) for o in others if _share_months(book, o)]
            doubts += whole_doubts(market_before, prices, peers, limits)
            doubts += part_doubts(prices, limits)
            doubts += _chased(prices, limits)
    doubts.sort(key=lambda d: d.verdict != "hold")
    return _screen(book, prices, limits, doubts)


def _screen(
    book: SalesBook,
    prices: BatchPrices | None,
    limits: ScreenLimits,
    doubts: Sequence[ScreenDoubt],
) -> BatchScreen:
    named = sorted({v for v in book.table["batch"] if v}) if "batch" in book.table else []
    rows = max(book.rows, len(book) + len(book.set_aside))
    judged = 0 if prices is None else len(prices)
    batch = named[0] if len(named) == 1 else ""
    if prices is None or judged < limits.fewest:
        nothing = (None, None, None, None, None)
        return BatchScreen(batch, rows, len(book), judged, *nothing, tuple(doubts))
    shift = prices.shift()
    middle, low, high = (
        100 * float(np.expm1(shift.middle + k * 1.96 * shift.error)) for k in (0.0, -1.0, 1.0)
    )
    near, expected = float(prices.near.mean()), float(prices.near_chance.mean())
    return BatchScreen(
        batch, rows, len(book), judged, middle, low, high, near, expected, tuple(doubts)
    )


def _same_currency(market: MarketModel, book: SalesBook) -> None:
    if book.currency != market.currency:
        raise ValuationError(
            "batch",
            "its currency is not that of the model",
            got=f"{book.currency}, the model has {market.currency}",
            remedy="Import it with a table of rates",
        )


def _share_months(book: SalesBook, other: SalesBook) -> bool:
    """Tell whether two batches have sales of the same months."""
    mine, theirs = (b.table["sale_date"].dropna().dt.strftime("%Y-%m") for b in (book, other))
    return not set(mine).isdisjoint(theirs)


def _chased(prices: BatchPrices, limits: ScreenLimits) -> Iterator[ScreenDoubt]:
    """Doubt prices that repeat our own estimates: far more lie at them than ranges allow."""
    count, n = int(prices.near.sum()), len(prices)
    chance = np.clip(prices.near_chance, 0.0, 1.0)
    expected = float(chance.mean())
    # So many independent chances of unlike size have less variance than equal ones.
    tail = float(stats.binom.sf(count - 1, n, expected))
    points = 100 * (count / n - expected)
    verdict: Verdict | None = None
    for k, grave in enumerate(("warn", "hold")):
        if points > limits.near_one[k] and tail < limits.near_chance[k] and count >= _FEWEST_NEAR:
            verdict = "hold" if grave == "hold" else "warn"
    if verdict is None:
        return
    plain = _plain_look(prices)
    heap = (
        f" The heap stands out from a normal distribution as well "
        f"({plain.share_near_one:.0f}% against {plain.share_expected:.0f}%)."
        if plain is not None and plain.suspected
        else ""
    )
    yield ScreenDoubt(
        "prices repeat our estimates",
        verdict,
        f"{count:,} of {n:,} prices lie within 2% of our own estimates, where about "
        f"{100 * expected:.0f}% are expected: were estimates written down as prices?{heap}",
        {"share": count / n, "expected": expected, "chance": tail},
    )


def _plain_look(prices: BatchPrices) -> SalesChasing | None:
    price = prices.frame["price"].to_numpy(dtype=np.float64)
    try:
        return sales_chasing(price, price * np.exp(-prices.error))
    except ScoreUndefinedError:
        return None

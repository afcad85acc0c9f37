"""Every page that the project makes, from hand-made results."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import asks
import besides
import bid_sheets
import chances
import looks
import movements
import ratios
import replays
import run_lists
import said
import sheets
import stock_reviews
import what_ifs

from valuation.report.ask_page import ask_page
from valuation.report.beside_page import render_beside
from valuation.report.bid_page import render_bid
from valuation.report.chance_page import chance_page
from valuation.report.change_section import render_changes
from valuation.report.index_section import render_index
from valuation.report.look_section import render_look
from valuation.report.lot_sheets import render_lot_sheets
from valuation.report.month_page import render_month
from valuation.report.ratio_page import render_ratios
from valuation.report.realised_page import render_realised
from valuation.report.render import render_page
from valuation.report.replay_page import render_replay
from valuation.report.run_list_page import render_run_list
from valuation.report.sheet_page import render_sheet
from valuation.report.stock_page import render_stock
from valuation.report.what_if_page import render_what_if
from valuation.results.coverage import CoverageReport
from valuation.results.decision import Decision, RuleCheck
from valuation.results.look import LookList
from valuation.results.month import FileRead, MonthStudy
from valuation.results.ratio_strata import RatioReport
from valuation.results.realised import Realised
from valuation.scoring.accuracy import AccuracySummary
from valuation.study.realised import realised_study

CHECKS = (
    RuleCheck("new sales", "holds", "31", "at least 5", "31 sales are new."),
    RuleCheck("median estimate over price", "warns", "1.06", "0.90 to 1.10", "Estimates lie high."),
    RuleCheck("ranges that held", "refuses", "61%", "70 to 90%", "Too few ranges held."),
    RuleCheck("prices of typical cars", "not tested", "", "", "There is no model in use."),
)


def realised() -> Realised:
    """Return pairs of all kinds, one that is not compared and one without a range."""
    left_out = replace(said.PAIR, said_id="f" * 16, left_out="said for another channel")
    no_range = replace(said.PAIR, said_id="e" * 16, lower=None, upper=None, level=None)
    pairs = (*said.many_pairs(14), left_out, no_range)
    return realised_study(pairs, as_of=date(2025, 1, 1), said=25, waiting=8)


def studied(kinds: int) -> RatioReport:
    """Return a ratio study by few kinds of strata, whose sections are all alike."""
    whole = ratios.studied()
    return replace(whole, kinds=whole.kinds[:kinds])


def covered(kinds: int) -> CoverageReport:
    """Return how often ranges held, by few kinds of groups."""
    whole = ratios.covered()
    return replace(whole, kinds=whole.kinds[:kinds])


def month() -> MonthStudy:
    """Return a month with everything in it."""
    return MonthStudy(
        as_of=date(2025, 1, 31),
        currency="EUR",
        sales=1_430,
        set_aside=4,
        files=(
            FileRead("december.csv", "sales", "new", "0c1d2e3f4a5b", 90, 84, 6, "in use"),
            FileRead("stock.csv", "ledger", "refused", why="It has no column for the day."),
        ),
        screens=(looks.PASSED, looks.WARNED, looks.HELD),
        decision=Decision(
            False, "2025-01-31-1f3a9c0d", "2024-11-30-aa00bb11", date(2025, 1, 31), CHECKS
        ),
        accuracy=AccuracySummary(400, 12.1, 42.0, 71.0, 1.01, 79.0, 48.0, 95.0),
        ratios=studied(1),
        coverage=covered(1),
        index=movements.revised(),
        look=looks.LOOKED,
        change=movements.change(),
        realised=realised(),
        chances=chances.checked(),
    )


def many_looks() -> LookList:
    """Return sales of which some lie too close for a number beside each."""
    sales = tuple(
        replace(sale, price=round(sale.price * 1.07**k))
        for k in range(4)
        for sale in looks.LOOKED.sales
    )
    return replace(looks.LOOKED, sales=sales)


PAGES: dict[str, Callable[[], str]] = {
    **{f"sheet, {k}": lambda make=make: render_sheet(make()) for k, make in sheets.ALL.items()},
    "what if": lambda: render_what_if(what_ifs.ENGINE),
    "what if, many": lambda: render_what_if(what_ifs.many()),
    "side by side": lambda: render_beside(besides.beside_of()),
    "side by side, bare": lambda: render_beside(besides.without_prices()),
    **{
        f"bid sheet, {k}": lambda make=make: render_bid(make())
        for k, make in bid_sheets.ALL.items()
    },
    "lot sheets": lambda: render_lot_sheets([bid_sheets.ordinary(), bid_sheets.until_cured()]),
    "no lot sheets": lambda: render_lot_sheets([]),
    "run list": lambda: render_run_list(run_lists.run_list()),
    "replay": lambda: render_replay(replays.replayed()),
    "replay, bare": lambda: render_replay(replays.bare()),
    "ratio study": lambda: render_ratios(studied(1), covered(1)),
    "ratio study, bare": lambda: render_ratios(ratios.bare(), None),
    "index": lambda: render_index(movements.revised()),
    "changes": lambda: render_changes(movements.change()),
    "look": lambda: render_look(many_looks()),
    "realised": lambda: render_realised(realised()),
    "month": lambda: render_month(month()),
    "what to ask": lambda: render_page(ask_page(asks.answer())),
    "what to ask, assumed": lambda: render_page(ask_page(asks.assumed())),
    "chances": lambda: render_page(chance_page(chances.checked())),
    "chances, bare": lambda: render_page(chance_page(chances.bare())),
    "stock": lambda: render_stock(stock_reviews.review()),
    "stock, empty": lambda: render_stock(stock_reviews.empty()),
}
"""By name; the pages of a valuation are made from the fixtures of all tests."""

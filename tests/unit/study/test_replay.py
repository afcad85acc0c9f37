"""Bids on past lots, replayed on a small invented market."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import pandas as pd
import pytest

from valuation.appraisal.settings import ModelSettings
from valuation.bidding.costs import (
    Costs,
    Holding,
    Increment,
    Selling,
    Target,
    WayOfBuying,
    Winning,
)
from valuation.errors import CostsError, SettingsError, TooFewSalesError
from valuation.records import SalesBook
from valuation.results.replay import Replay
from valuation.running.runner import Runner
from valuation.study import replay as module
from valuation.study.backtest import backtest
from valuation.study.replay import replay
from valuation.study.replay_bids import BidLot
from valuation.study.replay_resale import TrueResales
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

D = Decimal
ROOMS = WayOfBuying("default", "EUR", increments=(Increment(D(100), D(20_000)), Increment(D(500))))
COSTS = Costs(
    "EUR",
    {"default": ROOMS},
    Target(margin=D(500)),
    holding=Holding(days_low=20, days_high=80),
    selling=Selling("dealer", basis="price paid"),
    winning=Winning(rivals=2, own_share=D("0.3")),
)
Spied = tuple[Replay, list[BidLot]]


@pytest.fixture(scope="module")
def world() -> SyntheticMarket:
    """Return two years of sales of six model lines, with the truth."""
    return make_market(MarketSettings(sales=800, lines=6, start=date(2023, 1, 1)), seed=21)


@pytest.fixture(scope="module")
def spied(lean: ModelSettings) -> Callable[..., Spied]:
    """Return a function that replays and returns the lots beside the result."""

    def run(book: SalesBook, costs: Costs = COSTS, **asked: Any) -> Spied:
        lots: list[BidLot] = []
        bid_again = module.bid_again

        def kept(*given: Any) -> BidLot:
            lots.append(bid_again(*given))
            return lots[-1]

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(module, "bid_again", kept)
            result = replay(book, costs, settings=lean, **asked)
        return result, lots

    return run


@pytest.fixture(scope="module")
def found(world: SyntheticMarket, spied: Callable[..., Spied]) -> Spied:
    return spied(world.book(), truth=TrueResales(world, seed=1), months=3)


def test_every_auction_lot_of_the_stretch_is_seen_or_left_out_with_a_reason(
    found: Spied, world: SyntheticMarket
) -> None:
    result, lots = found
    t = world.table
    start = t["sale_date"].max() + pd.Timedelta(days=1) - pd.Timedelta(days=90)
    tested = t[(t["sale_date"] >= start) & t["channel"].isin(["live auction", "online auction"])]
    assert result.seen + sum(n for _, n in result.left_out) == len(tested)
    ids = [x.lot.sale_id for x in lots]
    assert len(set(ids)) == result.seen == len(lots)
    sold = tested.set_index("sale_id").loc[ids]
    assert (sold["outcome"] == "sold").all()
    assert (result.first, result.last) == (
        sold["sale_date"].min().date(), sold["sale_date"].max().date(),
    )  # fmt: skip
    left = dict(result.left_out)
    unsold = next(n for reason, n in left.items() if reason.startswith("not sold"))
    known = set(t.loc[t["sale_date"] < start, "chassis"].dropna())
    fresh = tested[~tested["chassis"].isin(known)]
    assert unsold == (fresh["outcome"] == "not sold").sum() > 0
    assert left["this chassis was sold before the first lot, and learned from"] == len(
        tested
    ) - len(fresh)
    assert left["the title stops the purchase"] > 0


def test_rules_are_counted_over_the_same_lots(found: Spied) -> None:
    result, lots = found
    limits = [r for r in result.rules if r.kind == "loss limit" and r.corrected]
    bare = [r for r in result.rules if r.kind == "loss limit" and not r.corrected]
    plain = [r for r in result.rules if r.kind == "plain share"]
    matched = {r.matches: r for r in result.rules if r.kind == "matched share"}
    (every,) = (r for r in result.rules if r.kind == "every lot")
    assert [r.level for r in limits] == [r.level for r in bare] == [0.05, 0.15, 0.30]
    assert [r.level for r in plain] == [0.6, 0.7, 0.8]
    assert {r.seen for r in result.rules} == {result.seen}
    assert every.won == result.seen
    for rule, without in zip(limits, bare, strict=True):
        assert rule.won <= without.won
        if rule.won:
            assert matched[rule.level].won == rule.won
    assert limits[0].won <= limits[1].won <= limits[2].won
    assert 0 < limits[2].won < result.seen
    won = [x for x in lots if x.won((0.30, True))]
    assert limits[2].realised_total == pytest.approx(sum(x.margin or 0 for x in won) / 100)
    # Every bid that won promised the target, and no more risk than the limit.
    assert all(x.expected[True].margin >= 50_000 for x in won)
    assert all(x.expected[True].loss <= 0.30 for x in won)


def test_estimates_of_all_lots_are_right_on_average(found: Spied) -> None:
    result, lots = found
    every = result.rules[-1]
    assert every.surprise is not None
    # A few model lines and few columns: within a tenth, and that over all lots, won or not.
    assert abs(every.surprise.value) < 10
    off = [np.log(x.resale / 100) - x.expected[False].log_resale for x in lots if x.resale]
    assert every.surprise.value == pytest.approx(100 * np.expm1(np.mean(off)), abs=1e-6)


def test_two_processes_replay_the_same(
    found: Spied, world: SyntheticMarket, lean: ModelSettings
) -> None:
    truth = TrueResales(world, seed=1)
    with Runner(workers=2) as run:
        again = replay(world.book(), COSTS, truth=truth, months=3, settings=lean, run=run)
    assert again == found[0]


def test_prices_of_later_lots_change_nothing_before_them(
    found: Spied, world: SyntheticMarket, spied: Callable[..., Spied]
) -> None:
    _, lots = found
    table = world.table.copy()
    start = table["sale_date"].max() + pd.Timedelta(days=1) - pd.Timedelta(days=90)
    later = (table["sale_date"] >= start).to_numpy()
    table.loc[later, "price"] *= 3
    _, changed = spied(SalesBook(table, "EUR", True), truth=TrueResales(world, seed=1), months=3)
    first = {x.lot.sale_id: x for x in lots if x.lot.day < (start + pd.Timedelta(days=30)).date()}
    assert len(first) > 5
    after = {x.lot.sale_id: x for x in changed}
    for sale_id, x in first.items():
        assert after[sale_id].central == x.central
        assert {k: f.bid for k, f in after[sale_id].found.items()} == {
            k: f.bid for k, f in x.found.items()
        }
        assert after[sale_id].lot.hammer == pytest.approx(3 * x.lot.hammer, abs=2)
    # What was sold in the first month is learned from in the second.
    rest = [x for x in lots if x.lot.sale_id not in first and x.lot.sale_id in after]
    assert any(after[x.lot.sale_id].central != x.central for x in rest)


def test_an_estimate_is_that_of_the_backtest_in_the_selling_channel(
    world: SyntheticMarket, spied: Callable[..., Spied], lean: ModelSettings
) -> None:
    # Sold where it was bought, on the day it was bought: the very sale that the backtest prices.
    here = replace(
        COSTS,
        holding=Holding(),
        selling=Selling("online auction", "Evening Lots", "hammer price"),
    )
    table = world.table.assign(
        region=None, reserve=None,
        venue=world.table["venue"].where(world.table["channel"] != "online auction",
                                         "Evening Lots"),
    )  # fmt: skip
    book = SalesBook(table, "EUR", True)
    _, lots = spied(book, here, months=3)
    priced = backtest(book, settings=lean, months=3).predictions.set_index("sale_id")["central"]
    channel = table.set_index("sale_id")["channel"]
    basis = table.set_index("sale_id")["basis"]
    same = [
        x for x in lots
        if channel[x.lot.sale_id] == "online auction" and basis[x.lot.sale_id] == "hammer price"
    ]  # fmt: skip
    assert len(same) > 10
    ratio = [x.central / 100 / priced[x.lot.sale_id] for x in same]
    assert np.median(ratio) == pytest.approx(1.0, abs=0.01)


def test_an_inspection_tells_what_is_true(world: SyntheticMarket, spied: Callable[..., Spied],
                                          found: Spied) -> None:  # fmt: skip
    truth = TrueResales(world, seed=1)
    result, lots = spied(world.book(), truth=truth, months=3, inspected=True)
    assert any("inspection had found out everything" in n for n in result.notes)
    lot = lots[0].lot
    told = truth.inspected(lot.sale_id)
    assert told.items() <= dict(lot.car.values).items()
    stops = dict(result.left_out)["the title stops the purchase"]
    assert stops >= dict(found[0].left_out)["the title stops the purchase"]

    def error(of: list[BidLot]) -> float:
        return float(np.std([np.log(x.resale / 100) - x.expected[False].log_resale for x in of]))

    assert error(lots) < error(found[1])


def test_without_a_truth_the_book_s_own_later_sales_count(
    found: Spied, world: SyntheticMarket, spied: Callable[..., Spied]
) -> None:
    # The first of the lots is sold again by the dealer who sold last.
    first = min(found[1], key=lambda x: x.lot.day)
    table = world.table.copy()
    dealt = table[(table["channel"] == "dealer") & (table["outcome"] == "sold")].index[-1]
    table["chassis"] = table["chassis"].where(table["sale_id"] != first.lot.sale_id, "AGAIN-1")
    table.loc[dealt, ["chassis", "basis"]] = ["AGAIN-1", "price paid"]
    result, lots = spied(SalesBook(table, "EUR", True), months=3)
    (known,) = (x for x in lots if x.margin is not None)
    assert known.lot.sale_id == first.lot.sale_id
    assert known.resale == round(100 * table["price"][dealt])
    assert known.margin == known.resale - known.outlay
    assert result.rules[-1].known == 1
    assert result.rules[-1].realised_margin is None
    assert (result.made_good, result.own_share) == (None, None)
    assert "(1 price paid, dealer)" in result.resale


def test_the_result_is_plain_data_and_text(found: Spied) -> None:
    result, _ = found
    told = json.loads(json.dumps(result.to_dict(), allow_nan=False))
    assert told["format"] == 1
    assert [r["name"] for r in told["rules"][:4]] == [
        "loss limit 5%", "loss limit 15%", "loss limit 30%",
        "loss limit 5%, winning not corrected",
    ]  # fmt: skip
    assert told["own_share_stated"] == 0.3
    text = result.summary()
    assert text.startswith(f"Would it have bought? {result.seen} lots from {result.first} to ")
    assert f"every lot at its price: {result.seen} bids, {result.seen} lots won: 100.0%" in text
    assert "Misjudgement of your own makes" in text
    assert "nan" not in text
    assert "None" not in text


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            {"loss_limits": (0.1, 15)},
            "replay: a loss limit lies above 0 and is at most 1 (got: 15). Write 15% as 0.15.",
        ),
        (
            {"plain_shares": (0.0, 70)},
            "replay: a share lies above 0 and is at most 10 (got: 0, 70). Write 15% as 0.15.",
        ),
        (
            {"inspected": True},
            "replay: only in an invented market is it known what an inspection would have found. "
            "Name its truth, or judge the cars by their listings.",
        ),
        (
            {"test_share": 1.0},
            "replay: the test share must lie between 0 and 1 (got: 1). Give a share such as 0.3.",
        ),
    ],
)
def test_what_cannot_be_replayed_is_said(
    world: SyntheticMarket, change: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(SettingsError) as caught:
        replay(world.book(), COSTS, **change)
    assert str(caught.value) == sentence


def test_an_undated_list_is_refused(
    world: SyntheticMarket, undate: Callable[[SalesBook], SalesBook]
) -> None:
    with pytest.raises(SettingsError, match="an undated list has no lots to bid on"):
        replay(undate(world.book()), COSTS)


def test_no_lot_is_no_result(world: SyntheticMarket, lean: ModelSettings) -> None:
    table = world.table.assign(outcome="unknown")
    with pytest.raises(TooFewSalesError) as caught:
        replay(SalesBook(table, "EUR", True), COSTS, settings=lean, months=1)
    assert "left out, whether they sold is not known" in str(caught.value)
    shops = world.table.assign(channel="dealer")
    with pytest.raises(TooFewSalesError, match="no auction in the tested stretch"):
        replay(SalesBook(shops, "EUR", True), COSTS, settings=lean, months=1)


def test_costs_are_in_the_currency_of_the_book(world: SyntheticMarket) -> None:
    other = replace(
        COSTS, currency="GBP", ways={"default": replace(ROOMS, currency="GBP")}, where="c.toml"
    )
    with pytest.raises(CostsError) as caught:
        replay(world.book(), other)
    assert str(caught.value) == (
        "c.toml: the resale is in another currency than the sales, EUR (got: GBP). State the "
        "costs in EUR, or bring the sales to GBP."
    )

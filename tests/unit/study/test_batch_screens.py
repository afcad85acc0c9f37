"""Whole batches: a right month passes, wrong ones are held, each for what is wrong with it."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planted import chased, part_times, times

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import ValuationError
from valuation.records import SalesBook
from valuation.results.screens import BatchScreen
from valuation.study.batch_prices import batch_prices, middle_of
from valuation.study.batch_rows import known_already
from valuation.study.batch_screens import screen_batch
from valuation.study.screen_limits import ScreenLimits
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

MONTH = date(2023, 12, 1), date(2023, 12, 31)


def book_of(table: pd.DataFrame, *, rows: int | None = None) -> SalesBook:
    return SalesBook(table.reset_index(drop=True), "EUR", True, rows=rows or len(table))


@pytest.fixture(scope="module")
def world() -> pd.DataFrame:
    settings = MarketSettings(
        sales=700, lines=5, start=date(2022, 7, 1), end=date(2023, 12, 31), noise_sd=0.1
    )
    return make_market(settings, seed=33).table


@pytest.fixture(scope="module")
def market(world: pd.DataFrame, lean: ModelSettings) -> MarketModel:
    known = world[world["sale_date"] < pd.Timestamp(MONTH[0])]
    return fit_market(book_of(known), settings=lean)


@pytest.fixture(scope="module")
def month(world: pd.DataFrame) -> pd.DataFrame:
    late = world[world["sale_date"] >= pd.Timestamp(MONTH[0])].reset_index(drop=True)
    return late.assign(batch="0c1d2e3f4a5b", sale_key=[f"0c1d2e3f4a5b:{r}" for r in late["row"]])


def kinds(screen: BatchScreen, verdict: str = "hold") -> set[str]:
    return {d.kind for d in screen.doubts if d.verdict == verdict}


def test_a_right_month_passes(market: MarketModel, month: pd.DataFrame) -> None:
    screen = screen_batch(market, book_of(month), today=MONTH[1], months=MONTH)
    assert (screen.verdict, screen.doubts, screen.batch) == ("pass", (), "0c1d2e3f4a5b")
    assert screen.shift is not None
    assert screen.shift_low is not None
    assert screen.shift_high is not None
    assert screen.shift_low < screen.shift < screen.shift_high
    assert screen.sales == screen.judged == len(month)


@pytest.mark.parametrize("factor", [0.1, 0.5, 0.7, 1.5, 2.0, 7.0])
def test_a_month_off_as_a_whole_is_held(
    market: MarketModel, month: pd.DataFrame, factor: float
) -> None:
    right = screen_batch(market, book_of(month)).shift
    screen = screen_batch(market, book_of(times(month, factor)))
    assert screen.verdict == "hold"
    assert "whole batch off" in kinds(screen)
    assert screen.shift is not None
    assert right is not None
    assert 1 + screen.shift / 100 == pytest.approx(factor * (1 + right / 100), rel=0.02)
    doubled = "counted twice, or halved" in screen.reason
    assert doubled == (factor in (0.5, 2.0))


def test_a_market_that_moved_is_told_from_a_wrong_batch(
    market: MarketModel, month: pd.DataFrame
) -> None:
    """Other batches of the month that moved as well speak for it; those that did not, against."""
    mine, theirs = month.iloc[::2], month.iloc[1::2]
    moved = screen_batch(market, book_of(times(mine, 0.7)), others=[book_of(times(theirs, 0.7))])
    assert "whole batch off" not in kinds(moved)
    alone = screen_batch(market, book_of(times(mine, 0.7)), others=[book_of(theirs)])
    assert "whole batch off" in kinds(alone)
    assert "other batches of the same months" in alone.reason
    other_year = theirs.assign(sale_date=theirs["sale_date"] - pd.Timedelta(days=365))
    early = screen_batch(market, book_of(times(mine, 0.7)), others=[book_of(other_year)])
    assert "more than a market moves" in early.reason


def test_a_part_in_another_unit_is_held_with_its_sales(
    market: MarketModel, month: pd.DataFrame
) -> None:
    wrong = np.random.default_rng(2).random(len(month)) < 0.25
    spoiled = part_times(month, 7.0, 0.25, np.random.default_rng(2))
    screen = screen_batch(market, book_of(spoiled))
    (doubt,) = (d for d in screen.doubts if d.kind == "part of batch off")
    assert doubt.verdict == "hold"
    keys = set(month["sale_key"][wrong])
    assert len(keys & set(doubt.sales)) >= 0.8 * len(keys)
    assert len(set(doubt.sales) - keys) <= 0.1 * len(month)


@pytest.mark.parametrize(("share", "verdict"), [(0.02, "warn"), (0.2, "hold")])
def test_a_small_tail_of_a_long_list_is_told_and_holds_nothing(
    market: MarketModel, month: pd.DataFrame, share: float, verdict: str
) -> None:
    """A list of a thousand real sales holds some wrecks; that the list is wrong they don't say."""
    copies = [month.assign(sale_key=[f"{k}-{i}" for k in month["sale_key"]]) for i in range(12)]
    rng = np.random.default_rng(4)
    long = chased(market, pd.concat(copies, ignore_index=True), 1.0, 0.25, rng)
    spoiled = part_times(long, 0.3, share, np.random.default_rng(3))
    screen = screen_batch(market, book_of(spoiled))
    (doubt,) = (d for d in screen.doubts if d.kind == "part of batch off")
    assert doubt.verdict == verdict, doubt.sentence
    assert doubt.figures["share"] == pytest.approx(share, abs=0.02)


def test_a_venue_in_another_currency_is_named(market: MarketModel, month: pd.DataFrame) -> None:
    venue = str(month["venue"].value_counts().index[0])
    of_venue = (month["venue"] == venue).to_numpy(dtype=bool)
    spoiled = month.assign(price=np.where(of_venue, 6.0, 1.0) * month["price"])
    limits = replace(ScreenLimits(), fewest=6)
    screen = screen_batch(market, book_of(spoiled), limits=limits)
    (doubt,) = (d for d in screen.doubts if d.kind == "part of batch off")
    assert doubt.verdict == "hold"
    assert set(month["sale_key"][of_venue]) == set(doubt.sales)
    assert venue in doubt.sentence


@pytest.mark.parametrize("noise", [0.0, 0.01])
def test_prices_that_repeat_our_estimates_are_held(
    market: MarketModel, month: pd.DataFrame, noise: float
) -> None:
    spoiled = chased(market, month, 1.0, noise, np.random.default_rng(1))
    screen = screen_batch(market, book_of(spoiled))
    assert "prices repeat our estimates" in kinds(screen)
    assert screen.near is not None
    assert screen.near_expected is not None
    assert screen.near > 0.9
    assert screen.near_expected < 0.2


def test_sales_that_are_known_already_are_told(market: MarketModel, month: pd.DataFrame) -> None:
    again = market.frame.iloc[-60:]
    screen = screen_batch(market, book_of(again))
    assert "sales known already" in kinds(screen)
    assert not known_already(market.frame, month).any()
    assert known_already(market.frame, again).all()
    dearer = again.assign(price=again["price"] + 1000)
    assert not known_already(market.frame, dearer).any()
    days_later = again.assign(sale_date=again["sale_date"] + pd.Timedelta(days=2))
    assert known_already(market.frame, days_later).all()


def test_rows_that_could_not_be_used_are_told(market: MarketModel, month: pd.DataFrame) -> None:
    n = len(month)
    warned = screen_batch(market, book_of(month, rows=round(1.5 * n)))
    assert kinds(warned, "warn") == {"rows set aside"}
    held = screen_batch(market, book_of(month, rows=3 * n))
    assert kinds(held) == {"rows set aside"}
    assert f"{2 * n} of {3 * n} rows could not be used" in held.reason


def test_model_lines_never_seen_are_told(market: MarketModel, month: pd.DataFrame) -> None:
    strange = month.assign(model="Nonesuch")
    screen = screen_batch(market, book_of(strange))
    assert "model lines never seen" in kinds(screen)


def test_days_that_cannot_be_are_told(market: MarketModel, month: pd.DataFrame) -> None:
    screen = screen_batch(market, book_of(month), today=date(2023, 12, 10))
    assert "dates in the future" in kinds(screen)
    other = (date(2023, 10, 1), date(2023, 10, 31))
    astray = screen_batch(market, book_of(month), months=other)
    assert "dates outside the month" in kinds(astray)
    assert "2023-10-01 to 2023-10-31" in astray.reason


def test_without_a_model_rows_are_judged_and_prices_not(month: pd.DataFrame) -> None:
    screen = screen_batch(None, book_of(times(month, 7.0), rows=4 * len(month)))
    assert kinds(screen) == {"rows set aside"}
    assert (screen.judged, screen.shift) == (0, None)


def test_a_few_sales_decide_nothing(market: MarketModel, month: pd.DataFrame) -> None:
    screen = screen_batch(market, book_of(times(month.iloc[:6], 7.0)))
    assert (screen.verdict, screen.judged, screen.shift) == ("pass", 6, None)


def test_another_currency_than_the_model_s_is_refused(
    market: MarketModel, month: pd.DataFrame
) -> None:
    book = replace(book_of(month), currency="GBP")
    with pytest.raises(ValuationError, match=r"its currency is not that of the model \(got: GBP"):
        screen_batch(market, book)


def test_limits_decide(market: MarketModel, month: pd.DataFrame) -> None:
    spoiled = book_of(times(month, 1.5))
    easy = replace(ScreenLimits(), month_moves=(90.0, 120.0), part_surely=(99.0, 99.0))
    assert screen_batch(market, spoiled).verdict == "hold"
    assert screen_batch(market, spoiled, limits=easy).verdict == "pass"


def test_the_screen_can_be_written_as_json(market: MarketModel, month: pd.DataFrame) -> None:
    screen = screen_batch(market, book_of(times(month, 7.0)))
    told = json.loads(json.dumps(screen.to_dict(), allow_nan=False))
    assert told["verdict"] == "hold"
    assert told["doubts"][0]["sentence"] in screen.summary()


def test_a_forecast_s_own_range_says_how_far_errors_reach(
    market: MarketModel, month: pd.DataFrame
) -> None:
    prices = batch_prices(market, book_of(month))
    assert len(prices) == len(month)
    inside = np.abs(prices.error) <= prices.spread
    assert 0.5 < float(inside.mean()) < 0.9
    assert ((prices.near_chance > 0) & (prices.near_chance < 1)).all()


@settings(deadline=None)
@given(
    st.lists(st.floats(-0.5, 0.5), min_size=5, max_size=40),
    st.floats(-2.0, 2.0),
    st.floats(0.05, 0.5),
)
def test_the_middle_moves_with_its_errors(errors: list[float], by: float, spread: float) -> None:
    x = np.array(errors)
    s = np.full(len(x), spread)
    one, other = middle_of(x, s), middle_of(x + by, s)
    assert other.middle == pytest.approx(one.middle + by, abs=1e-5)
    assert min(errors) - 1e-9 <= one.middle <= max(errors) + 1e-9
    assert one.error >= 0.5 * spread / np.sqrt(len(x))


def test_a_few_wild_prices_hardly_move_the_middle() -> None:
    x = np.append(np.random.default_rng(3).normal(0, 0.1, 60), [5.0, 6.0, 7.0])
    assert abs(middle_of(x, np.full(63, 0.1)).middle) < 0.05


def test_bids_on_unsold_cars_are_judged_only_where_they_are_taken_for_prices(
    market: MarketModel, month: pd.DataFrame
) -> None:
    sold = int((month["outcome"] != "not sold").sum())
    strict = replace(market, settings=replace(market.settings, unsold="left out"))
    assert screen_batch(market, book_of(month)).judged == len(month)
    assert screen_batch(strict, book_of(month)).judged == sold < len(month)
    unsold = month.assign(outcome="not sold")
    nothing = screen_batch(strict, book_of(unsold))
    assert (nothing.judged, nothing.shift) == (0, None)

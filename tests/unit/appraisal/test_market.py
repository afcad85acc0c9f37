"""A fitted market: its sales, what it estimates, and the sale it takes as usual."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.contrast import contrast
from valuation.appraisal.data import cars_table, make_and_line, market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError, TooFewSalesError
from valuation.features.assumptions import NO_ASSUMPTIONS, default_assumptions
from valuation.features.table import day_number
from valuation.records import Car, SalesBook
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

GT = {"make": "Torvane", "model": "GT", "generation": "Series 2", "year": 1966.0}


@pytest.fixture(scope="module")
def auctions() -> SalesBook:
    """Return a market of auctions alone, in which a third of the lots did not sell."""
    book = make_market(MarketSettings(sales=1200, lines=4, unsold_shading=0.2), seed=13).book()
    table = book.table
    lots = book.subset(table["channel"].str.endswith("auction").to_numpy(dtype=bool))
    unsold = np.flatnonzero(lots.table["outcome"] == "not sold")
    sold = np.flatnonzero(lots.table["outcome"] == "sold")
    return lots.subset(np.sort(np.concatenate([unsold, sold[: 2 * len(unsold)]])))


def test_sales_are_sorted_by_date_and_keep_their_order(small_world: SyntheticMarket) -> None:
    book = small_world.book()
    mixed = book.subset(np.random.default_rng(2).permutation(len(book)))
    data = market_data(mixed, unsold="as bids")
    assert data.frame["sale_date"].is_monotonic_increasing
    assert (np.diff(data.day) >= 0).all()
    assert data.log_price == pytest.approx(np.log(data.frame["price"]))
    part = data.take(np.array([5, 3]))
    assert part.frame["sale_id"].tolist() == data.frame["sale_id"].iloc[[5, 3]].tolist()
    assert part.log_price.tolist() == data.log_price[[5, 3]].tolist()
    assert part.table.numbers["year"].tolist() == data.frame["year"].iloc[[5, 3]].tolist()


def test_unsold_lots_are_used_as_asked(auctions: SalesBook) -> None:
    unsold = int((auctions.table["outcome"] == "not sold").sum())
    assert unsold > 60
    bids, out, bounds = (
        market_data(auctions, unsold=u) for u in ("as bids", "left out", "as bounds")
    )
    assert (len(bids), bids.bound.sum()) == (len(auctions), 0)
    assert (len(out), out.bound.sum()) == (len(auctions) - unsold, 0)
    assert (out.frame["outcome"] == "sold").all()
    assert (len(bounds), bounds.bound.sum()) == (len(auctions), unsold)
    assert (bounds.frame.loc[bounds.bound, "outcome"] == "not sold").all()


def test_what_is_estimated_is_named(auctions: SalesBook, lean: ModelSettings) -> None:
    named = {
        unsold: fit_market(auctions, settings=replace(lean, unsold=unsold)).estimand
        for unsold in ("as bids", "left out", "as bounds")
    }
    assert named == {
        "as bids": "market bid",
        "left out": "price if sold",
        "as bounds": "price if sold",
    }
    asked = auctions.table.assign(basis="asking price", outcome="offered")
    assert fit_market(SalesBook(asked, "EUR", True), settings=lean).estimand == "asking price"


def test_left_out_means_that_unsold_prices_do_not_count(
    auctions: SalesBook, lean: ModelSettings
) -> None:
    settings = replace(lean, unsold="left out")
    unsold = auctions.table["outcome"] == "not sold"
    price = auctions.table["price"].where(~unsold, 7.0)
    wild = SalesBook(auctions.table.assign(price=price), "EUR", True)
    one, two = (fit_market(b, settings=settings) for b in (auctions, wild))
    assert np.array_equal(one.fitted.coef, two.fitted.coef)
    assert np.array_equal(one.calibration.quantiles, two.calibration.quantiles)


def test_a_bound_lifts_what_a_bid_holds_down(auctions: SalesBook, lean: ModelSettings) -> None:
    # The same low bids, once taken for prices and once for bounds.
    table = auctions.table.assign(outcome=auctions.table["outcome"])
    unsold = table["outcome"] == "not sold"
    low = SalesBook(
        table.assign(price=table["price"].where(~unsold, table["price"] / 2)), "EUR", True
    )
    means = {}
    for use in ("as bids", "as bounds"):
        data = market_data(low, unsold=use)
        fitted = fit_market_data(
            data, settings=replace(lean, unsold=use), assumptions=default_assumptions()
        )
        means[use] = fitted.forecast(data.table).log_price.mean()
    assert means["as bounds"] > means["as bids"] + 0.05


def test_the_premium_is_learned(small_world: SyntheticMarket, small_market: MarketModel) -> None:
    is_with = small_world.table["basis"] == "hammer price plus buyer's premium"
    true = float(small_world.truth.parts.loc[is_with, "basis"].mean())
    assert 0.09 < true < 0.14
    place = {"channel": "live auction", "venue": "Harbour Rooms", "outcome": "sold"}
    hammer, added = (
        Car(GT, sale={**place, "basis": b})
        for b in ("hammer price", "hammer price plus buyer's premium")
    )
    found = contrast(small_market.fitted, hammer, added, day=small_market.fitted.last_day)
    assert found.effect == pytest.approx(true, abs=0.06)
    prices = [appraise(small_market, car) for car in (hammer, added)]
    assert [v.basis for v in prices] == ["hammer price", "hammer price plus buyer's premium"]
    ratio = prices[1].central / prices[0].central
    assert ratio == pytest.approx(np.exp(true), abs=0.08)


def test_the_usual_sale_is_one_that_can_be(small_market: MarketModel) -> None:
    usual = small_market.usual
    frame = small_market.frame
    same = (frame["channel"] == usual["channel"]) & (frame["venue"] == usual["venue"])
    assert same.any()
    assert (usual["region"], usual["outcome"], usual["basis"]) == ("", "sold", "hammer price")


@pytest.mark.parametrize("channel", ["dealer", "private", "live auction", "online auction"])
def test_a_stated_channel_brings_its_own_venue(small_market: MarketModel, channel: str) -> None:
    sale = small_market.sale_of({"channel": channel, "basis": ""})
    frame = small_market.frame[small_market.frame["channel"] == channel]
    assert sale["channel"] == channel
    assert sale["venue"] in {*frame["venue"].dropna(), "" if channel == "private" else None}
    assert sale["basis"] in set(frame["basis"])


def test_a_stated_venue_brings_its_channel(small_market: MarketModel) -> None:
    sale = small_market.sale_of({"venue": "Heron Lane Cars"})
    assert (sale["channel"], sale["venue"], sale["reserve"]) == ("dealer", "Heron Lane Cars", "")
    assert small_market.sale_of({}) == small_market.usual
    stated = {"venue": "Harbour Rooms", "channel": "live auction", "basis": "hammer price"}
    assert small_market.sale_of(stated).items() >= stated.items()


def test_a_channel_that_no_sale_has_gets_no_venue(small_market: MarketModel) -> None:
    sale = small_market.sale_of({"channel": "by post"})
    assert (sale["channel"], sale["venue"], sale["reserve"]) == ("by post", "", "")
    assert sale["basis"] == small_market.usual["basis"]


def test_sales_after_a_day_are_not_used(small_world: SyntheticMarket, lean: ModelSettings) -> None:
    day = date(2022, 6, 30)
    market = fit_market(small_world.book(), as_of=day, settings=lean)
    assert market.as_of == day
    assert market.frame["sale_date"].max() <= pd.Timestamp(day)
    assert len(market.frame) == (small_world.table["sale_date"] <= pd.Timestamp(day)).sum()
    assert appraise(market, Car(GT)).as_of == day


def test_an_undated_list_is_fitted_without_days(
    small_world: SyntheticMarket, lean: ModelSettings, undate: Callable[[SalesBook], SalesBook]
) -> None:
    book = undate(small_world.book())
    market = fit_market(book, settings=lean)
    assert (market.as_of, market.dated) == (None, False)
    assert market.summary().startswith("Market model of 800 sales, undated (")
    assert market.calibration.n == 800
    valuation = appraise(market, Car(GT))
    assert valuation.as_of is None
    assert "market" not in {c.attribute for c in valuation.contributions}
    with pytest.raises(SettingsError) as caught:
        fit_market(book, as_of=date(2024, 1, 1), settings=lean)
    assert str(caught.value) == (
        "as_of: an undated list has no day (got: 2024-01-01). Leave it out."
    )


def test_too_few_sales_are_refused(small_world: SyntheticMarket) -> None:
    with pytest.raises(TooFewSalesError) as caught:
        fit_market(small_world.book().subset(np.arange(29)))
    assert str(caught.value) == (
        "the sales: at least 30 sales are needed to fit a market (got: 29). Add sales, or look "
        "at the rows that were set aside."
    )


def test_thirty_sales_give_a_centre_without_a_range(
    small_world: SyntheticMarket, lean: ModelSettings
) -> None:
    market = fit_market(small_world.book().subset(np.arange(30)), settings=lean)
    row = market.frame.iloc[0]
    car = Car({"make": row["make"], "model": row["model"], "year": float(row["year"])})
    valuation = appraise(market, car)
    assert valuation.central > 0
    assert valuation.ranges == ()


def test_a_model_is_fitted_without_any_assumption(
    small_world: SyntheticMarket, lean: ModelSettings
) -> None:
    market = fit_market(small_world.book(), settings=lean, assumptions=NO_ASSUMPTIONS)
    held = [t.name for t in market.fitted.spec.terms if t.penalty == "assumed"]
    assert held == ["selection of sales"]


def test_a_handful_of_odd_last_sales_does_not_price_cars_of_their_days(
    small_world: SyntheticMarket, lean: ModelSettings
) -> None:
    """Eight cheap cars at the end of a list are a selection, and who values a car is none of it."""
    book = small_world.book()
    last = book.table["sale_date"].max() + pd.Timedelta(days=45)
    odd = book.table.iloc[::100].assign(price=lambda t: 0.6 * t["price"], sale_date=last)
    table = pd.concat([book.table, odd], ignore_index=True)
    market = fit_market(replace(book, table=table), settings=lean)
    row = market.frame.iloc[0]
    car = Car({"make": row["make"], "model": row["model"], "year": float(row["year"])})
    at = market.fitted.spec.attributes.index("market")
    day = day_number(last.date())
    days = [day - 400, day - 20, day, day + 60]
    tables = [cars_table([car], d) for d in days]
    found = [market.fitted.forecast(t).effects[0, at] for t in tables]
    path = market.levels.of(*make_and_line(car)).at(np.array(days))
    np.testing.assert_allclose(np.array(found) - found[-1], path - path[-1], atol=1e-9)
    sold = market.fitted.spec.transform(
        market_data(replace(book, table=table), unsold="as bids").table
    )
    shared = market.fitted.by_attribute(sold.X)[:, at]
    assert shared[(market.frame["sale_date"] == last).to_numpy()].max() < found[-1] - 0.01


def test_makes_are_listed_with_their_models(small_market: MarketModel) -> None:
    assert small_market.makes["Torvane"] == ("GT", "Lanternier")
    assert list(small_market.makes) == sorted(set(small_market.frame["make"].dropna()))


def test_the_summary_says_what_it_rests_on(small_market: MarketModel) -> None:
    text = small_market.summary().splitlines()
    assert text[0] == ("Market model of 800 sales up to 2024-12-30 (market bid, hammer price, EUR)")
    assert text[2] == (
        f"  ranges calibrated on {small_market.calibration.n:,} forecasts of past sales"
    )


def test_progress_begins_with_the_fit(small_world: SyntheticMarket, lean: ModelSettings) -> None:
    told: list[tuple[int, int, str]] = []
    fit_market(small_world.book(), settings=lean, progress=lambda *s: told.append(s))
    assert told[0] == (0, 1, "fitting the market")
    assert told[-1] == (3, 3, "forecasting the past")


def test_typical_cars_are_means_of_their_sales(
    small_world: SyntheticMarket, small_market: MarketModel
) -> None:
    typical = small_market.typical
    data = market_data(small_world.book(), unsold="as bids")
    row, level = typical.find("torvane | gt | series 2", "torvane")
    assert level == "model line"
    mine = np.array(data.table.factors["line"].text()) == "torvane | gt | series 2"
    X = small_market.fitted.spec.transform(data.table.take(mine)).X
    assert typical.rows[[row]].toarray().ravel() == pytest.approx(X.toarray().mean(0))
    seen = typical.seen(row)
    years = data.frame.loc[mine, "year"]
    assert (seen.n, seen.low[0], seen.high[0]) == (mine.sum(), years.min(), years.max())
    assert typical.find("torvane | other", "torvane")[1] == "make"
    assert typical.find("x | y", "x") == (0, "market")


def test_a_forecast_sums_the_effects_of_a_car(small_market: MarketModel) -> None:
    fitted = small_market.fitted
    table = cars_table([Car(GT, sale=dict(small_market.usual))], day_number(date(2024, 12, 30)))
    forecast = fitted.forecast(table)
    X = fitted.spec.transform(table).X
    assert forecast.log_price[0] == pytest.approx(float((X @ fitted.coef)[0]))
    assert forecast.deviation[0] == forecast.around[0].deviation
    assert forecast.difficulty.shape == (1, 9)
    alone = fitted.forecast(table, leave_out=forecast.around[0].rows[:3])
    assert not set(forecast.around[0].rows[:3].tolist()) & set(alone.around[0].rows.tolist())

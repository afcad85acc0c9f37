"""A synthetic market: its size, its sums, its sellers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from valuation.errors import SettingsError
from valuation.records import empty_table
from valuation.schema import ATTRIBUTES, BY_NAME, SALE_FIELDS
from valuation.schema.sale import BASES, OUTCOMES
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.pricing import PARTS, buyers_premium, contributions
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import VENUES

SMALL = MarketSettings(sales=800)
NOT_SOLD = OUTCOMES.index("not sold")


@pytest.mark.parametrize("sales", [300, 1234])
def test_it_has_exactly_as_many_records_as_asked_for(sales: int) -> None:
    market = make_market(replace(SMALL, sales=sales), seed=3)
    assert len(market.table) == len(market.truth.expected) == len(market.book()) == sales
    assert market.book().rows == sales


def test_the_same_seed_gives_the_same_market() -> None:
    one, two = make_market(SMALL, seed=5), make_market(SMALL, seed=5)
    pd.testing.assert_frame_equal(one.table, two.table)
    assert one.truth.to_dict() == two.truth.to_dict()


def test_another_seed_gives_another_market() -> None:
    one, two = make_market(SMALL, seed=5), make_market(SMALL, seed=6)
    assert not one.table["price"].equals(two.table["price"])
    assert one.truth.to_dict()["levels"] != two.truth.to_dict()["levels"]


def test_types_are_those_of_an_empty_table(market: SyntheticMarket) -> None:
    empty = empty_table(1)
    assert list(market.table.columns) == list(empty.columns)
    assert market.table.dtypes.to_dict() == empty.dtypes.to_dict()


@pytest.mark.parametrize("attribute", ATTRIBUTES, ids=lambda a: a.name)
def test_values_lie_inside_the_contract(market: SyntheticMarket, attribute) -> None:
    column = market.table[attribute.name].dropna()
    if attribute.kind == "number":
        assert column.between(attribute.low, attribute.high).all()
        return
    if attribute.kind == "set":
        assert all(v == tuple(sorted(set(v))) for v in column)
        words = {w for v in column for w in v}
    else:
        words = set(column)
    assert not attribute.levels or words <= set(attribute.levels)
    assert all(isinstance(w, str) and w for w in words)


@pytest.mark.parametrize("field", SALE_FIELDS, ids=lambda f: f.name)
def test_fields_lie_inside_the_contract(market: SyntheticMarket, field) -> None:
    column = market.table[field.name]
    if field.levels:
        assert set(column.dropna()) <= set(field.levels)
    if field.name not in ("description", "reserve", "venue", "chassis"):
        assert column.notna().all()


def test_what_is_not_stated_is_none_and_not_nan(market: SyntheticMarket) -> None:
    for attribute in ATTRIBUTES:
        if attribute.kind != "number":
            column = market.table[attribute.name]
            assert all(v is None for v in column[column.isna()])


def test_dates_are_in_order_and_in_range(market: SyntheticMarket) -> None:
    dates = market.table["sale_date"]
    assert dates.is_monotonic_increasing
    assert dates.iloc[0] >= pd.Timestamp(2019, 1, 1)
    assert dates.iloc[-1] <= pd.Timestamp(2024, 12, 31)
    live = dates[market.table["channel"] == "live auction"]
    assert (live.dt.day_name() == "Saturday").all()


def test_prices_are_positive_and_in_one_currency(market: SyntheticMarket) -> None:
    assert (market.table["price"] >= 100).all()
    assert set(market.table["currency"]) == {"EUR"}


def test_some_cars_are_under_25_years_old_and_none_under_10(market: SyntheticMarket) -> None:
    age = market.table["sale_date"].dt.year - market.table["year"]
    assert age.min() >= 10
    assert 0.03 < (age < 25).mean() < 0.3


def test_parts_sum_to_the_true_log_price(market: SyntheticMarket) -> None:
    truth = market.truth
    assert tuple(sorted(truth.parts.columns)) == tuple(sorted(PARTS))
    np.testing.assert_allclose(truth.parts.sum(axis=1), truth.expected, atol=1e-10)


def test_price_is_the_truth_and_noise(market: SyntheticMarket) -> None:
    noise = market.truth.residual()
    np.testing.assert_allclose(np.exp(market.truth.expected + noise), market.table["price"])
    assert np.std(noise) == pytest.approx(0.167, abs=0.015)
    assert np.mean(noise) == pytest.approx(0, abs=0.02)


def test_noise_has_heavier_tails_than_a_normal(market: SyntheticMarket) -> None:
    noise = market.truth.residual()
    assert np.mean(np.abs(noise / np.std(noise)) > 3.5) > 3 * 0.000465


def test_poorly_described_cars_are_noisier(market: SyntheticMarket) -> None:
    noise, thin = market.truth.residual(), market.truth.sale["thinness"]
    assert np.std(noise[thin > 1.1]) > 1.1 * np.std(noise[thin < 0.95])


def test_every_true_log_price_is_found_again_one_by_one(open_market: SyntheticMarket) -> None:
    table, truth = open_market.table, open_market.truth
    for i in range(0, len(table), 37):
        row = table.iloc[i]
        values = {n: row[n] for n in BY_NAME if row[n] is not None and row[n] == row[n]}
        found = open_market.true_log_price(
            values,
            day=row["sale_date"].date(),
            channel=row["channel"],
            venue=row["venue"] or "",
            region=row["region"],
            basis=BASES[truth.sale["basis"][i]],
        )
        assert found == pytest.approx(truth.expected[i], abs=1e-9), i


def test_what_is_missing_counts_with_the_mean_of_the_silent(market: SyntheticMarket) -> None:
    plain = {"make": "Torvane", "model": "GT", "year": 1968.0}
    day = date(2024, 6, 1)
    stated = market.true_log_price({**plain, "condition_grade": 60.0}, day=day)
    silent = market.true_log_price(plain, day=day)
    assert silent - stated == pytest.approx(market.truth.silent["condition_grade"])
    assert market.truth.silent["condition_grade"] < 0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            {"model": "Farthingale"},
            "synthetic market: no such make and model (got: Torvane Farthingale). "
            "Use a make and model of this market's lines_table.",
        ),
        (
            {"restoration": "dipped"},
            "synthetic market: no such restoration (got: dipped). Use one of "
            "unrestored, preserved, unrestored, worn, partly restored,",
        ),
    ],
)
def test_words_of_other_worlds_are_refused(
    market: SyntheticMarket, change: dict[str, str], message: str
) -> None:
    values = {"make": "Torvane", "model": "GT", "year": 1968.0, **change}
    with pytest.raises(SettingsError) as caught:
        market.true_log_price(values, day=date(2024, 6, 1))
    assert str(caught.value).startswith(message)


def test_a_tribute_is_worth_little_more_than_a_plain_car(market: SyntheticMarket) -> None:
    car = {"make": "Torvane", "model": "GT", "year": 1968.0, "variant": "High Output"}
    day = date(2024, 6, 1)
    price = {
        word: market.true_log_price({**car, "genuineness": word}, day=day)
        for word in ("genuine, documented", "claimed, not documented", "tribute")
    }
    plain = market.true_log_price({**car, "variant": "Standard"}, day=day)
    assert price["genuine, documented"] - price["tribute"] > 0.4
    assert price["tribute"] < price["claimed, not documented"] < price["genuine, documented"]
    assert price["tribute"] == pytest.approx(plain, abs=0.2)


def test_unsold_bids_are_below_the_reserve(market: SyntheticMarket) -> None:
    sale = market.truth.sale
    auction = ~np.isnan(sale["reserve_price"])
    unsold = sale["outcome"] == NOT_SOLD
    assert 0.15 < unsold[auction].mean() < 0.5
    assert auction[unsold].all()
    assert (sale["price"][unsold] < sale["reserve_price"][unsold]).all()
    hammer = auction & ~unsold & (sale["basis"] == BASES.index("hammer price"))
    assert (sale["price"][hammer] >= sale["reserve_price"][hammer]).all()


def test_unsold_bids_understate_and_sold_ones_overstate_the_market(
    market: SyntheticMarket,
) -> None:
    noise = market.truth.residual()
    reserved = ~np.isnan(market.truth.sale["reserve_price"])
    unsold = market.truth.sale["outcome"] == NOT_SOLD
    assert noise[unsold].mean() < -0.1
    assert noise[reserved & ~unsold].mean() > 0.03


def test_buyers_premium_is_added_by_slices(market: SyntheticMarket) -> None:
    rooms = next(i for i, v in enumerate(VENUES) if v.name == "Harbour Rooms")
    amounts = buyers_premium(np.array([90_000.0, 40_000.0]), np.array([rooms, rooms]))
    assert amounts.tolist() == [11_500, 6_000]
    loaded = market.truth.sale["basis"] == BASES.index("hammer price plus buyer's premium")
    assert market.truth.parts["basis"][loaded].between(0.02, 0.15).all()


def test_asks_stand_above_prices_paid(market: SyntheticMarket) -> None:
    asks = market.truth.sale["basis"] == BASES.index("asking price")
    assert (market.truth.parts["basis"][asks] > 0.04).all()
    offered = market.table["outcome"] == "offered"
    assert set(market.table["basis"][offered]) <= {"asking price", "unknown"}
    assert set(market.table["channel"][offered]) == {"dealer", "private"}


def test_cars_come_back_within_weeks_and_after_years(market: SyntheticMarket) -> None:
    cars = pd.DataFrame({"car": market.truth.sale["car"], "day": market.truth.sale["day"]})
    gaps = cars.sort_values(["car", "day"]).groupby("car")["day"].diff().dropna()
    assert (gaps <= 70).sum() > 100
    assert (gaps >= 365).sum() > 300


def test_one_car_has_one_chassis_number_and_no_other_car_has_it(market: SyntheticMarket) -> None:
    pairs = pd.DataFrame({"car": market.truth.sale["car"], "chassis": market.table["chassis"]})
    pairs = pairs.dropna()
    assert (pairs.groupby("chassis")["car"].agg(set).map(len) == 1).all()
    assert (pairs.groupby("car")["chassis"].agg(set).map(len) == 1).all()


def test_the_car_itself_brings_more_or_less_at_each_of_its_sales(market: SyntheticMarket) -> None:
    noise = pd.DataFrame({"car": market.truth.sale["car"], "noise": market.truth.residual()})
    repeated = noise[noise.groupby("car")["car"].transform("size") == 2].sort_values("car")
    pairs = repeated["noise"].to_numpy().reshape(-1, 2)
    assert np.corrcoef(pairs.T)[0, 1] > 0.15


def test_segments_drift_apart(market: SyntheticMarket) -> None:
    levels = market.truth.levels_table().drop(columns="day")
    assert (levels.iloc[0] == 0).all()
    assert np.ptp(levels.iloc[72].to_numpy()) > 0.2


def test_a_regime_shift_moves_every_segment_on_its_day() -> None:
    day = date(2022, 3, 1)
    shifted = make_market(replace(SMALL, regime_shift=day, regime_size=-0.3), seed=5)
    steady = make_market(SMALL, seed=5)
    change = shifted.truth.parts["market level"] - steady.truth.parts["market level"]
    after = shifted.table["sale_date"] >= pd.Timestamp(day)
    np.testing.assert_allclose(change[after], -0.3)
    np.testing.assert_allclose(change[~after], 0)


def test_an_effect_can_change_over_time() -> None:
    moving = replace(SMALL, drift_attribute="condition_grade", drift_rate=0.2)
    market = make_market(moving, seed=5)
    steady = replace(market.truth.world, settings=SMALL)
    parts = contributions(steady, market.truth.state, market.truth.sale)
    years = (market.table["sale_date"] - pd.Timestamp(2019, 1, 1)).dt.days / 365.25
    expected = parts["condition_grade"] * (1 + 0.2 * years)
    np.testing.assert_allclose(market.truth.parts["condition_grade"], expected)


def test_a_plain_truth_has_one_penalty_for_all_tributes() -> None:
    market = make_market(replace(SMALL, sales=3000, plain=True), seed=5)
    penalty = market.truth.parts["genuineness"][market.table["genuineness"] == "tribute"]
    assert len(penalty) > 10
    assert len(set(penalty)) == 1


def test_no_reoffers_and_no_repeats_if_none_are_asked_for() -> None:
    market = make_market(replace(SMALL, reoffer_share=0.0, repeat_share=0.0), seed=5)
    auction = market.truth.sale["channel"] <= 1
    assert len(set(market.truth.sale["car"][auction])) == auction.sum()


def test_a_short_market_has_no_repeat_sales() -> None:
    market = make_market(replace(SMALL, end=date(2019, 12, 31)), seed=5)
    assert len(market.table) == 800
    assert market.table["sale_date"].max() <= pd.Timestamp(2019, 12, 31)


def test_actual_values_are_complete(market: SyntheticMarket) -> None:
    actual = market.truth.actual()
    assert len(actual) == len(market.table)
    stated = market.table["condition_grade"].notna()
    pd.testing.assert_series_equal(
        actual["condition_grade"][stated], market.table["condition_grade"][stated]
    )
    assert actual.drop(columns=["genuineness", "restorer"]).notna().all().all()

"""Planted faults are found again, and few innocent sales are named."""

from __future__ import annotations

import json
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planted import Planted, batched, plant_factors, plant_source, plant_stories

from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel, market_of
from valuation.appraisal.settings import ModelSettings
from valuation.features.assumptions import default_assumptions
from valuation.models.ranges import DIFFICULTY, PastErrors, calibrate
from valuation.records import SalesBook
from valuation.results.look import LookList, SaleToLookAt
from valuation.study.look import sales_to_look_at
from valuation.study.look_chassis import contradictions
from valuation.study.look_errors import Noise, factor_odds, fit_noise
from valuation.study.look_settings import LookSettings
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

WORLD = MarketSettings(sales=500, lines=5, noise_sd=0.1, repeat_share=0.2)


def fitted(planted: Planted, settings: ModelSettings) -> MarketModel:
    """Fit without forecasts of the past, which the list does not need."""
    data = market_data(planted.book(), unsold=settings.unsold)
    fit = fit_market_data(data, settings=settings, assumptions=default_assumptions())
    none = np.zeros(0)
    errors = PastErrors(none, none, np.zeros((0, len(DIFFICULTY))), none)
    last = data.frame["sale_date"].max().date()
    return market_of(data, fit, calibrate(errors, day=0.0), "EUR", last, settings)


@pytest.fixture(scope="module")
def table() -> pd.DataFrame:
    return make_market(WORLD, seed=21).table


@pytest.fixture(scope="module")
def clean(table: pd.DataFrame, lean: ModelSettings) -> LookList:
    return sales_to_look_at(fitted(batched(table), lean))


@pytest.fixture(scope="module")
def planted(table: pd.DataFrame) -> Planted:
    made = batched(table)
    rng = np.random.default_rng(4)
    plant_factors(made, 2, rng)
    plant_stories(made, 2, rng)
    return made


@pytest.fixture(scope="module")
def spoiled(planted: Planted, lean: ModelSettings) -> MarketModel:
    return fitted(planted, lean)


@pytest.fixture(scope="module")
def looked(spoiled: MarketModel) -> LookList:
    return sales_to_look_at(spoiled, most=500)


def by_key(looked: LookList) -> dict[str, SaleToLookAt]:
    return {s.key: s for s in looked.sales}


def test_prices_off_by_a_large_factor_are_named(planted: Planted, looked: LookList) -> None:
    found = by_key(looked)
    keys = [k for f in ("10", "0.1", "100", "0.01") for k in planted.where[f"price times {f}"]]
    assert set(keys) <= set(found)
    named = [found[k] for k in keys if "price off by a factor" in found[k].kinds]
    assert len(named) >= len(keys) - 1
    for sale in named:
        (reason,) = (r for r in sale.reasons if r.kind == "price off by a factor")
        assert reason.likely is not None
        assert 0.3 <= reason.likely <= 1
        assert sale.weight < 0.5


def test_two_stories_of_one_chassis_are_named(planted: Planted, looked: LookList) -> None:
    found = by_key(looked)
    words = {"year": "year first", "engine size": "engine size first", "mileage": "goes backwards",
             "engine originality": "which no car becomes"}  # fmt: skip
    for story, said in words.items():
        for key in planted.where[f"two stories: {story}"]:
            assert "contradictory" in found[key].kinds
            assert any(said in r.sentence for r in found[key].reasons)


def test_few_innocent_sales_are_said_to_be_wrong(planted: Planted, looked: LookList) -> None:
    wrong = {k for keys in planted.where.values() for k in keys}
    mistyped = {s.key for s in looked.sales if "price off by a factor" in s.kinds}
    assert len(mistyped - wrong) <= 1
    assert len(mistyped) >= 7


def test_an_honest_market_has_a_short_list(clean: LookList) -> None:
    assert clean.found.get("price off by a factor", 0) == 0
    assert clean.found.get("contradictory", 0) <= 2
    assert len(clean.sales) + clean.left_out <= 0.05 * clean.judged
    assert clean.patterns == ()


def test_the_list_is_sorted_by_what_hangs_on_it(looked: LookList) -> None:
    stakes = [s.at_stake for s in looked.sales]
    assert stakes == sorted(stakes, reverse=True)


def test_a_short_list_keeps_what_is_surely_wrong(spoiled: MarketModel, looked: LookList) -> None:
    clear = {s.key for s in looked.sales if {"price off by a factor", "contradictory"} & {*s.kinds}}
    short = sales_to_look_at(spoiled, most=len(clear))
    assert {s.key for s in short.sales} == clear
    assert short.left_out == len(looked.sales) - len(clear)
    assert short.found == looked.found


def test_every_change_follows_from_its_figures(looked: LookList) -> None:
    for sale in looked.sales:
        for change in (sale.own, sale.typical, sale.line):
            if change is not None and change.before > 1000:
                per_cent = 100 * (change.after / change.before - 1)
                assert change.per_cent == pytest.approx(per_cent, abs=0.11)
        assert math.isfinite(sale.off)


def test_the_list_can_be_written_as_json(looked: LookList) -> None:
    text = json.dumps(looked.to_dict(), allow_nan=False)
    assert json.loads(text)["judged"] == looked.judged


def test_the_same_sales_without_keys_are_named_by_file_and_row(
    table: pd.DataFrame, lean: ModelSettings, clean: LookList
) -> None:
    plain = sales_to_look_at(fitted(Planted(table), lean))
    assert [(s.file, s.row) for s in plain.sales] == [(s.file, s.row) for s in clean.sales]
    assert all(s.place == f"row {s.row} of {s.file}" and not s.command for s in plain.sales)


def test_a_month_in_another_currency_is_found(table: pd.DataFrame, lean: ModelSettings) -> None:
    made = batched(table)
    rows = plant_source(made, 7.0, batch="b00000000006", kind="source")
    first = sales_to_look_at(fitted(made, lean)).patterns[0]
    assert (first.venue, first.source, first.kind) == ("", "b00000000006", "wrong currency")
    assert first.sales == len(rows)
    assert first.factor == pytest.approx(7.0, rel=0.15)
    assert first.low < first.factor < first.high


def test_a_venue_that_is_off_as_a_whole_is_found(table: pd.DataFrame, lean: ModelSettings) -> None:
    """The fit puts part of the factor down to other things: what is told is at most the factor."""
    made = batched(table)
    rows = plant_source(made, 1.5, venue="The Long Barn Sale", kind="source")
    first = sales_to_look_at(fitted(made, lean)).patterns[0]
    assert (first.venue, first.source) == ("The Long Barn Sale", "")
    assert first.sales == len(rows)
    assert 1.2 < first.factor < 1.6


def test_two_prices_of_one_car_within_a_year_should_agree() -> None:
    frame = pd.DataFrame(
        {
            "chassis": ["AB-12345", "AB-12345"],
            "make": ["Torvane", "Torvane"],
            "sale_date": pd.to_datetime(["2023-01-10", "2023-07-01"]).astype("datetime64[s]"),
            "price": [40_000.0, 90_000.0],
            "year": [1967.0, 1967.0],
            **{n: [np.nan] * 2 for n in ("engine_size", "mileage")},
            **dict.fromkeys(
                ("model", "body", "engine_layout", "steering_side", "engine_originality",
                 "genuineness", "mileage_status"),
                [None] * 2,
            ),
        }
    )  # fmt: skip
    errors, spread = np.array([-0.4, 0.41]), np.array([0.1, 0.1])
    told = contradictions(frame, errors, spread, LookSettings())
    assert set(told) == {0, 1}
    assert "price first 40,000, then 90,000 172 days later, +125% beyond" in told[0][0]
    assert told[1][0].startswith("The same chassis sold on 2023-01-10: ")
    assert not contradictions(frame, errors / 3, spread, LookSettings())
    late = frame.assign(sale_date=pd.to_datetime(["2020-01-10", "2023-07-01"]))
    assert not contradictions(late, errors, spread, LookSettings())


@settings(deadline=None)
@given(st.floats(0.05, 0.5), st.floats(-1.0, 4.0))
def test_a_factor_is_likelier_the_closer_the_error_is_to_it(spread: float, error: float) -> None:
    noise = Noise(1.0, 5.0)
    s = np.array([spread])
    (odds,) = factor_odds(np.array([error]), s, noise, np.array([10.0]))[0]
    assert (odds > 1) == (abs(error - math.log(10)) < abs(error))
    assert odds == pytest.approx(
        math.exp(
            noise.log_density((np.array([error]) - math.log(10)) / spread)[0]
            - noise.log_density(np.array([error]) / spread)[0]
        )
    )


@pytest.mark.parametrize(("df", "scale"), [(3.0, 0.2), (30.0, 1.5)])
def test_noise_is_found_again(df: float, scale: float) -> None:
    rng = np.random.default_rng(1)
    noise = fit_noise(scale * rng.standard_t(df, 4000))
    assert noise.scale == pytest.approx(scale, rel=0.06)
    assert (noise.df < 5) == (df < 5)
    assert noise.beyond(0.0) == pytest.approx(1.0)
    left_out = np.append(np.ones(4000), np.zeros(400))
    wild = np.append(scale * rng.standard_t(df, 4000), np.full(400, 50.0 * scale))
    assert fit_noise(wild, left_out).scale == pytest.approx(scale, rel=0.08)


def test_an_undated_list_has_sales_to_look_at(table: pd.DataFrame, lean: ModelSettings) -> None:
    """Without dates the same list can be made: nothing is said of when, and no NaN comes out."""
    some = table.iloc[:200].assign(sale_date=pd.Series([pd.NaT] * 200, dtype="datetime64[s]"))
    data = market_data(SalesBook(some, "EUR", False), unsold=lean.unsold)
    fit = fit_market_data(data, settings=lean, assumptions=default_assumptions())
    none = np.zeros(0)
    errors = PastErrors(none, none, np.zeros((0, len(DIFFICULTY))), none)
    market = market_of(data, fit, calibrate(errors, day=float("nan")), "EUR", None, lean)
    strict = LookSettings(odd=2.0, typical_change=1.0)
    looked = sales_to_look_at(market, settings=strict)
    assert looked.as_of is None
    assert looked.sales
    assert all(s.sale_date is None for s in looked.sales)
    json.dumps(looked.to_dict(), allow_nan=False)
    assert "no date" in looked.summary()

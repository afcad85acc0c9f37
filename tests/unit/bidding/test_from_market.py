"""From a market to a resale: channel, day, work, cures, and what can't be said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.bidding.costs import Costs, Holding, Selling, WayOfBuying
from valuation.bidding.from_market import POINTS, market_prospects
from valuation.errors import CarFileError, CostsError
from valuation.records import Car, Cure, SalesBook, Work
from valuation.results.valuation import PriceRange
from valuation.synthetic.market import SyntheticMarket

D = Decimal


@pytest.fixture(scope="module")
def costs(small_market: MarketModel) -> Costs:
    way = WayOfBuying("default", small_market.currency)
    return Costs(
        small_market.currency,
        {"default": way},
        holding=Holding(40, 120),
        selling=Selling("dealer", basis="price paid"),
        cures={"lien": Cure(15.0, D(100), D(300))},
    )


@pytest.fixture(scope="module")
def undated_market(
    small_world: SyntheticMarket, undate: Callable[[SalesBook], SalesBook], lean: ModelSettings
) -> MarketModel:
    return fit_market(undate(small_world.book()), settings=lean)


def test_the_resale_is_that_of_the_selling_channel_on_the_day_of_the_sale(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    assert small_market.as_of is not None
    (found,) = market_prospects(small_market, sold_cars[:1], costs)
    sale_on = small_market.as_of + timedelta(days=80)
    sold = replace(
        sold_cars[0], sale={"channel": "dealer", "basis": "price paid", "outcome": "sold"}
    )
    same = appraise(small_market, sold, as_of=sale_on)
    assert (found.prospect.sale_on, found.prospect.channel) == (sale_on, "dealer")
    assert found.prospect.basis == "price paid"
    assert isinstance(same.range, PriceRange)
    resale = found.prospect.resale
    assert resale.quantile(Fraction(1, 10)) / 100 == pytest.approx(same.range.lower, rel=0.01)
    assert resale.quantile(Fraction(9, 10)) / 100 == pytest.approx(same.range.upper, rel=0.01)
    assert resale.total == POINTS


def test_a_sale_further_off_is_less_sure(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    late = replace(costs, holding=Holding(300, 420))
    soon = market_prospects(small_market, sold_cars, costs)
    later = market_prospects(small_market, sold_cars, late)
    wider = [b.prospect.deviation > a.prospect.deviation for a, b in zip(soon, later, strict=True)]
    assert all(wider)


def test_work_that_restores_a_mark_raises_the_resale(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    car = next(c for c in sold_cars if float(str(c.values.get("condition_grade", 99))) < 70)
    better = Work("all of it", D(4000), D(6000), attribute="condition_grade", value=90.0)
    as_is, done = market_prospects(small_market, [car, replace(car, work=(better,))], costs)
    assert done.prospect.resale.mean > as_is.prospect.resale.mean
    (step,) = done.preparation.steps
    assert step.restores.endswith("to 90")
    assert done.preparation.work == (better,)
    assert not as_is.preparation.work


def test_work_in_another_currency_is_refused(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    car = replace(sold_cars[0], work=(Work("paint", D(1), D(2), "XPD"),))
    with pytest.raises(CarFileError, match="work is paid in another currency than the resale"):
        market_prospects(small_market, [car], costs)


def test_a_stop_takes_its_cure_from_the_car_and_else_from_the_settings(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    lien = replace(sold_cars[0], values={**sold_cars[0].values, "title_status": "lien"})
    known = replace(lien, cure=Cure(4.0, D(50), D(50), small_market.currency))
    found = market_prospects(small_market, [lien, known], costs)
    usual, own = (f.preparation.stops[0] for f in found)
    assert (usual.days, usual.low, usual.high) == (15.0, D(100), D(300))
    assert usual.currency == small_market.currency
    assert (own.days, own.low) == (4.0, D(50))


def test_a_car_outside_the_evidence_and_one_without_a_year_say_why(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    old = replace(sold_cars[0], values={**sold_cars[0].values, "year": 1901.0})
    nameless = Car({"make": "Torvane"})
    outside, lacking, fine = market_prospects(small_market, [old, nameless, sold_cars[0]], costs)
    assert "The year 1901 lies outside the evidence" in outside.prospect.thin
    assert outside.brief is not None
    assert "can't be valued without year" in lacking.prospect.thin
    assert lacking.brief is None
    assert fine.prospect.thin == ""


def test_the_market_s_courses_come_with_the_car(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    (found,) = market_prospects(small_market, sold_cars[:1], costs)
    held, _, fall = found.prospect.courses
    assert held.log == 0
    assert fall.log <= 0
    assert fall.says


def test_another_currency_is_refused_with_what_to_do(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    other = replace(costs, currency="USD", where="c.toml")
    with pytest.raises(CostsError) as error:
        market_prospects(small_market, sold_cars[:1], other)
    assert str(error.value) == (
        "c.toml: the resale is in another currency than the market model, EUR (got: USD). "
        "State the costs in EUR, or fit the sales in USD."
    )


def test_asking_prices_are_lowered_by_what_customers_pay_less(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    asked = replace(costs, selling=Selling("dealer", basis="asking price"))
    less = replace(costs, selling=Selling("dealer", basis="asking price", below_asking=D(10)))
    (plain_ask,) = market_prospects(small_market, sold_cars[:1], asked)
    (lower,) = market_prospects(small_market, sold_cars[:1], less)
    ratio = float(lower.prospect.resale.mean / plain_ask.prospect.resale.mean)
    assert ratio == pytest.approx(0.9, abs=1e-4)
    assert any("asking price" in w for w in plain_ask.prospect.warnings)
    assert not any("asking price" in w for w in lower.prospect.warnings)


def test_an_undated_market_has_no_day_and_one_course(
    undated_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    (found,) = market_prospects(undated_market, sold_cars[:1], costs)
    assert found.prospect.sale_on is None
    assert [c.name for c in found.prospect.courses] == ["held"]
    assert np.isfinite(found.prospect.deviation)


def test_days_of_a_bid_long_before_the_evidence_are_warned_of(
    small_market: MarketModel, sold_cars: list[Car], costs: Costs
) -> None:
    (found,) = market_prospects(small_market, sold_cars[:1], costs, as_of=date(2020, 1, 1))
    assert found.prospect.evidence is not None
    assert any("after the day of the valuation" in w for w in found.prospect.evidence.warnings)

"""A stock of five cars, reviewed: figures worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest

from valuation.appraisal.brief import Brief, brief_all
from valuation.appraisal.data import make_and_line
from valuation.appraisal.market import MarketModel
from valuation.bidding.costs import Costs, Holding
from valuation.bidding.costs_file import read_costs
from valuation.errors import CostsError, SettingsError
from valuation.features.table import day_number
from valuation.records import Car
from valuation.results.ledger import CarMark, StockCar, StockEvent
from valuation.results.said import Said, SaidCar
from valuation.results.stock_review import ReviewedCar, StockReview
from valuation.selling.selling_sale import customers_sale
from valuation.stocking.in_stock import holding_so_far, month_before
from valuation.stocking.review import review_stock
from valuation.stocking.settings import default_stock_settings
from valuation.synthetic.costs import costs_toml

SETTINGS = default_stock_settings()


@pytest.fixture(scope="module")
def costs(small_market: MarketModel, tmp_path_factory: pytest.TempPathFactory) -> Costs:
    path = tmp_path_factory.mktemp("costs") / "costs.toml"
    path.write_text(costs_toml(small_market.currency), encoding="utf-8")
    made = read_costs(path)
    holding = Holding(30, 90, Decimal(6), Decimal("1.3"), Decimal(73))
    return replace(made, holding=holding)


class Yard:
    """Five cars: one old, one young, one bare, one withdrawn, one sold."""

    def __init__(self, market: MarketModel, cars: list[Car]) -> None:
        self.market, self.code = market, market.currency
        assert market.as_of is not None
        self.day = market.as_of
        self.known = {"A-1": cars[3], "A-2": cars[4], "A-4": cars[5]}
        make, model = cars[3].values["make"], cars[3].values["model"]
        year = cars[3].values["year"]
        assert isinstance(year, float)
        bare = CarMark("A-3", "", str(make), str(model), int(year))
        self.stock = (
            self.car(CarMark("A-1"), 300, 20_000, ask=24_000, listed=200, spent=1_000),
            self.car(CarMark("A-2"), 100, 15_000, ask=19_000, listed=50),
            self.car(bare, 30, 12_000, ask=16_000, listed=10),
            self.car(CarMark("A-4"), 60, 9_000, ask=14_000, listed=40, withdrawn=5),
            self.car(bare, 400, 8_000, ask=11_000, listed=390, sold=200),
        )

    def event(self, kind: str, ago: int, amount: int | None = None, what: str = "") -> StockEvent:
        on = self.day - timedelta(days=ago)
        if amount is None:
            return StockEvent(kind, on, what=what)
        return StockEvent(kind, on, Decimal(amount), self.code, what)

    def car(self, mark: CarMark, bought: int, paid: int, **more: int) -> StockCar:
        events = [self.event("bought", bought, paid)]
        if "spent" in more:
            events.append(self.event("spent", bought - 100, more["spent"], "paint"))
        events.append(self.event("asking price", more["listed"], more["ask"]))
        if "withdrawn" in more:
            events.append(self.event("withdrawn", more["withdrawn"]))
        if "sold" in more:
            events.append(self.event("sold", more["sold"], more["ask"]))
            mark = replace(mark, stock="A-5")
        return StockCar(mark, tuple(events), self.day)


@pytest.fixture(scope="module")
def yard(small_market: MarketModel, sold_cars: list[Car]) -> Yard:
    return Yard(small_market, sold_cars)


@pytest.fixture(scope="module")
def review(yard: Yard, costs: Costs) -> StockReview:
    return review_stock(yard.market, yard.stock, costs, SETTINGS, as_of=yard.day, cars=yard.known)


def one(review: StockReview, stock: str) -> ReviewedCar:
    (car,) = (c for c in review.cars if c.stock == stock)
    return car


def test_every_car_in_stock_is_in_it(review: StockReview) -> None:
    assert [c.stock for c in review.cars] == ["A-1", "A-2", "A-3", "A-4"]
    assert [c.stock for c in review.to_decide] == ["A-1"]
    assert one(review, "A-1").facts == "car file"
    assert one(review, "A-3").facts == "the ledger alone: make, model and year"
    assert "It is not on offer (withdrawn)." in one(review, "A-4").notes
    assert one(review, "A-4").ask is None
    assert any("Of 1 of 4 cars nothing is known" in note for note in review.notes)
    assert review.basis == "starting assumption alone: only 1 own sale, 20 are needed"


def test_money_is_that_of_the_ledger_and_holding_that_of_the_settings(review: StockReview) -> None:
    """7.3 per cent a year of each amount since it was paid, and 73 a month: 2.40 a day."""
    old, young = one(review, "A-1"), one(review, "A-2")
    assert (old.paid, old.spent, old.cost) == (Decimal(20_000), Decimal(1_000), Decimal(21_000))
    # 20,000 for 300 days cost 1,200; 1,000 for 200 days 40; storage 300 times 2.40.
    assert old.holding == Decimal("1960.00")
    # 15,000 for 100 days cost 300; storage 240.
    assert young.holding == Decimal("540.00")
    assert (old.days_in_stock, old.days_listed) == (300, 200)
    assert (young.days_in_stock, young.days_listed) == (100, 50)


def test_the_estimate_is_that_of_a_sale_by_the_firm(review: StockReview, yard: Yard) -> None:
    sale = customers_sale(yard.market, Car({}))
    (brief,) = brief_all(yard.market, [yard.known["A-1"]], sale=sale)
    assert isinstance(brief, Brief)
    now = one(review, "A-1").now
    assert now is not None
    assert now.central == pytest.approx(math.exp(brief.central))
    assert now.lower is not None
    assert now.upper is not None
    assert now.lower < now.central < now.upper
    assert one(review, "A-1").over_estimate == pytest.approx(100 * (24_000 / now.central - 1))


def test_at_the_purchase_the_level_is_moved_back(review: StockReview, yard: Yard) -> None:
    car = one(review, "A-1")
    assert car.now is not None
    assert car.then is not None
    path = yard.market.levels.of(*make_and_line(yard.known["A-1"]))
    days = [day_number(yard.day), day_number(yard.day - timedelta(days=300))]
    now, then = path.at(np.array(days))
    assert car.then.central == pytest.approx(car.now.central * math.exp(then - now))
    assert car.then.source == "today's model, moved back by the level of the market"
    assert car.drift is not None
    assert car.drift.since == month_before(yard.day)
    assert car.drift.model is None


def test_what_was_said_at_the_purchase_counts(yard: Yard, costs: Costs) -> None:
    channel = customers_sale(yard.market, Car({}))["channel"]
    bought = yard.day - timedelta(days=300)
    told = said(yard, bought - timedelta(days=3), channel, 25_000)
    later = said(yard, bought + timedelta(days=3), channel, 31_000)
    long_ago = said(yard, bought - timedelta(days=400), channel, 32_000)
    elsewhere = said(yard, bought, "by post", 33_000)
    found = review_stock(
        yard.market, yard.stock[:1], costs, SETTINGS, as_of=yard.day, cars=yard.known,
        said=[later, told, long_ago, elsewhere],
    )  # fmt: skip
    then = found.cars[0].then
    assert then is not None
    assert (then.central, then.lower, then.upper) == (25_000.0, 22_000.0, 28_000.0)
    assert then.source.startswith("valuation of ")


def said(yard: Yard, on: date, channel: str, central: int) -> Said:
    return Said(
        "price", datetime(on.year, on.month, on.day, tzinfo=UTC), "Ada", "v1",
        SaidCar("a car", stock="a1"), on, channel, "price paid", "price if sold", yard.code,
        Decimal(central), 0.8, Decimal(22_000), Decimal(28_000),
    )  # fmt: skip


def test_the_model_of_a_month_ago_tells_what_the_model_changed(yard: Yard, costs: Costs) -> None:
    """The same model on another day says the same of a car, but for the level and its age."""
    assert yard.market.as_of is not None
    before = replace(yard.market, as_of=yard.day - timedelta(days=31))
    found = review_stock(
        yard.market, yard.stock, costs, SETTINGS, as_of=yard.day, cars=yard.known, earlier=before
    )
    assert found.earlier
    assert found.since == before.as_of
    for car in found.cars:
        assert car.drift is not None
        assert car.drift.model == pytest.approx(0.0, abs=1.5)
        both = (1 + car.drift.market / 100) * (1 + (car.drift.model or 0) / 100)
        assert car.drift.total == pytest.approx(100 * (both - 1))


def test_the_stock_is_worth_the_sum_and_its_range_is_no_sum(review: StockReview) -> None:
    worth = review.worth
    assert worth is not None
    assert (worth.cars, worth.cost) == (4, 57_000.0)
    assert worth.holding == pytest.approx(sum(float(c.holding or 0) for c in review.cars))
    ranges = [(c.now.lower or 0, c.now.upper or 0) for c in review.cars if c.now]
    assert sum(low for low, _ in ranges) < worth.lower < worth.worth < worth.upper
    assert worth.upper < sum(high for _, high in ranges)
    assert worth.sd > worth.sd_apart
    # The mean lies above the sum of the middle estimates, as prices have a long upper tail.
    assert worth.worth > sum(c.now.central for c in review.cars if c.now)


def test_three_ways_out_of_an_old_car(review: StockReview, yard: Yard, costs: Costs) -> None:
    car = one(review, "A-1")
    assert [w.name for w in car.ways] == ["hold", "new ask", "auction"]
    hold, new, auction = car.ways
    assert hold.ask == 24_000
    assert new.ask is not None
    assert new.ask <= 0.97 * 24_000
    assert hold.chance is not None
    assert new.chance is not None
    assert new.chance.chance > hold.chance.chance
    assert new.days < hold.days
    # 7.3 per cent a year of 21,000 is 4.20 a day, and storage 2.40.
    assert hold.cost == pytest.approx(6.60 * hold.days, rel=1e-6)
    assert (auction.days, auction.cost) == (28.0, pytest.approx(6.60 * 28))
    assert car.best in car.ways
    assert one(review, "A-2").ways == ()


def test_what_cannot_be_told_is_a_note(yard: Yard, costs: Costs) -> None:
    nameless = StockCar(CarMark("A-9"), (yard.event("spent", 5, 100, "tow"),), yard.day)
    other = yard.car(CarMark("A-8", "", "Torvane", "GT", 1968), 9, 1_000, ask=2_000, listed=5)
    foreign = replace(
        other, events=tuple(replace(e, currency="XTS") if e.amount else e for e in other.events)
    )
    found = review_stock(yard.market, (nameless, foreign), costs, SETTINGS, as_of=yard.day)
    first, second = found.cars
    assert first.now is None
    assert "The ledger states no purchase with its amount." in first.notes
    assert second.ask is None
    assert second.cost is None
    assert "Its asking price is in another currency." in second.notes
    assert found.worth is None
    assert found.summary()


def test_another_currency_and_an_undated_market_are_refused(yard: Yard, costs: Costs) -> None:
    with pytest.raises(CostsError, match="another currency than the model"):
        review_stock(
            yard.market, yard.stock, replace(costs, currency="XTS"), SETTINGS, as_of=yard.day
        )
    with pytest.raises(SettingsError, match="without days"):
        review_stock(replace(yard.market, as_of=None), yard.stock, costs, SETTINGS, as_of=yard.day)


def test_holding_runs_from_each_payment(yard: Yard, costs: Costs) -> None:
    free = replace(costs, holding=Holding())
    assert holding_so_far(yard.stock[0], free, yard.day) == Decimal("0.00")
    earlier = yard.day - timedelta(days=250)
    # 20,000 for 50 days is 200, and storage 120; the paint is not paid yet.
    assert holding_so_far(yard.stock[0], costs, earlier) == Decimal("320.00")

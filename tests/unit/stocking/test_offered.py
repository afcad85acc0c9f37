"""What was known of a car when it was offered: never its own sale."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest

from valuation.appraisal.brief import brief_all
from valuation.appraisal.data import make_and_line
from valuation.appraisal.market import MarketModel
from valuation.features.table import day_number
from valuation.records import Car
from valuation.results.ledger import CarMark, StockCar, StockEvent
from valuation.results.said import Said, SaidCar
from valuation.selling.selling_sale import customers_sale
from valuation.stocking.effects import OTHER_CARS
from valuation.stocking.kinds import kinds_of
from valuation.stocking.offered import cars_of_ledger, offered_cars, without_own_sales
from valuation.study.segments import Segment


@pytest.fixture(scope="module")
def row(small_market: MarketModel) -> int:
    """Return a sale with a chassis number that no other sale has."""
    table = small_market.frame
    once = ~table["chassis"].duplicated(keep=False) & table["chassis"].notna()
    fits = once & table["model"].notna() & table["condition_grade"].notna()
    return int(np.flatnonzero(fits.to_numpy())[-5])


def stock_car(market: MarketModel, row: int) -> StockCar:
    """Return a car that the firm sold in a sale of the evidence."""
    sale = market.frame.iloc[row]
    sold = sale["sale_date"].date()
    listed = sold - timedelta(days=40)
    events = (
        StockEvent("asking price", listed, Decimal(30_000), market.currency),
        StockEvent("sold", sold, Decimal(29_000), market.currency),
    )
    mark = CarMark("S-7", sale["chassis"], sale["make"], sale["model"], int(sale["year"]))
    return StockCar(mark, events, sold)


def test_an_estimate_has_not_seen_the_car_go(small_market: MarketModel, row: int) -> None:
    car = stock_car(small_market, row)
    reduced = without_own_sales(small_market, [car])
    assert reduced is not None
    assert len(reduced.frame) == len(small_market.frame) - 1
    assert car.mark.chassis not in set(reduced.frame["chassis"])
    (offered,) = offered_cars(small_market, [car])
    (facts,) = cars_of_ledger(small_market, [car], {})
    # Its sale is later than the day it was offered, so only the ledger tells what it is.
    assert facts.values == {
        "make": car.mark.make,
        "model": car.mark.model,
        "year": float(car.mark.year or 0),
    }
    (brief,) = brief_all(reduced, [facts], sale=customers_sale(reduced, Car({})))
    path = small_market.levels.of(*make_and_line(facts))
    listed = car.first_listed
    assert listed is not None
    assert small_market.as_of is not None
    days = np.array([day_number(listed), day_number(small_market.as_of)])
    then, now = path.at(days)
    assert then != now
    assert offered.log_value(listed) == pytest.approx(brief.central + then - now)
    assert offered.condition is None
    assert offered.segment == car.mark.make


def test_a_marked_sale_of_the_firm_goes_too(small_market: MarketModel) -> None:
    own = np.full(len(small_market.frame), None, dtype=object)
    own[[3, 8]] = "sold"
    own[5] = "bought"
    marked = replace(small_market, frame=small_market.frame.assign(own=own))
    reduced = without_own_sales(marked, [])
    assert reduced is not None
    kept = np.delete(np.arange(len(own)), [3, 8])
    assert reduced.frame["price"].tolist() == small_market.frame["price"].iloc[kept].tolist()


def test_without_another_sale_there_is_no_estimate(small_market: MarketModel, row: int) -> None:
    own = np.full(len(small_market.frame), "sold", dtype=object)
    marked = replace(small_market, frame=small_market.frame.assign(own=own))
    assert without_own_sales(marked, []) is None
    (offered,) = offered_cars(marked, [stock_car(small_market, row)])
    assert offered.log_value(date(2024, 1, 1)) is None


def test_the_car_file_and_an_earlier_sale_tell_what_a_car_is(
    small_market: MarketModel, row: int
) -> None:
    car = stock_car(small_market, row)
    seen = replace(car, events=(), as_of=car.as_of + timedelta(days=100))
    (facts,) = cars_of_ledger(small_market, [seen], {})
    sale = small_market.frame.iloc[row]
    assert facts.values["condition_grade"] == sale["condition_grade"]
    own = Car({"make": car.mark.make, "year": 1960.0, "condition_grade": 81.0})
    assert cars_of_ledger(small_market, [seen], {"s 7": own}) == (own,)
    (offered,) = offered_cars(small_market, [seen], cars={"S-7": own})
    assert offered.condition == 81.0


def said_of(car: StockCar, market: MarketModel, *, before: int, central: int, **more: str) -> Said:
    listed = car.first_listed or car.as_of
    at = datetime(listed.year, listed.month, listed.day, 9, tzinfo=UTC) - timedelta(days=before)
    sale = customers_sale(market, Car({})) | more
    return Said(
        "price",
        at,
        "someone",
        "v1",
        SaidCar("a car", stock=more.get("stock", "S-7")),
        at.date(),
        sale["channel"],
        sale["basis"],
        market.estimand,
        more.get("currency", market.currency),
        Decimal(central),
    )


def test_what_was_said_before_the_offer_counts(small_market: MarketModel, row: int) -> None:
    car = stock_car(small_market, row)
    listed = car.first_listed
    assert listed is not None
    earlier = said_of(car, small_market, before=60, central=20_000)
    last = said_of(car, small_market, before=0, central=25_000)
    none = [
        said_of(car, small_market, before=-1, central=1),  # after it was offered
        said_of(car, small_market, before=400, central=2),  # long before
        said_of(car, small_market, before=0, central=3, stock="S-8"),
        said_of(car, small_market, before=0, central=4, currency="XTS"),
        said_of(car, small_market, before=0, central=5, channel="somewhere else"),
    ]
    (offered,) = offered_cars(small_market, [car], said=[earlier, last, *none])
    assert offered.log_value(listed) == pytest.approx(math.log(25_000))
    (unsaid,) = offered_cars(small_market, [car], said=none)
    (plain,) = offered_cars(small_market, [car])
    assert unsaid.log_value(listed) == plain.log_value(listed)


def test_kinds_are_segments_else_makes() -> None:
    cars = [
        Car({"make": "Torvane", "model": "GT", "year": 1968.0}),
        Car({"make": "Torvane", "model": "GT", "year": 1990.0}),
        Car({}),
    ]
    assert kinds_of(cars) == ("Torvane", "Torvane", OTHER_CARS)
    old = Segment("Old sports", models=("Torvane GT",), years=(1946, 1974))
    rest = Segment("Torvanes", makes=("Torvane",))
    assert kinds_of(cars, [old, rest]) == ("Old sports", "Torvanes", OTHER_CARS)
    assert kinds_of([], [old]) == ()

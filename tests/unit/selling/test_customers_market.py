"""What a customer is shown knows nothing of the firm's own purchase of the car."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from refits import fitted_with

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import MarketModel
from valuation.features.columns import key
from valuation.records import Car, empty_table
from valuation.selling.chassis_alike import chassis_alike
from valuation.selling.customers_market import (
    Purchase,
    customers_market,
    former_customers,
    public_sales,
)
from valuation.selling.same_car import KEPT_APART, sales_of_car
from valuation.store.modelfile import load_model, save_model

AsCar = Callable[[Mapping[Any, Any]], Car]

BOUGHT = date(2024, 3, 14)
PRICE = 31_777.0

MOVED = 0.001
"""By how much, in log price, the noise may tell of the purchase."""


@pytest.fixture(scope="module")
def car() -> Car:
    values = {
        "make": "Torvane", "model": "GT", "year": 1966.0, "variant": "Sprint", "body": "coupe",
        "colour": "violet", "interior_colour": "tan", "engine_size": 2.6, "transmission": "manual",
        "mileage": 61_400.0, "condition_grade": 70.0,
    }  # fmt: skip
    return Car(values, title="1966 Torvane GT Sprint, four owners, violet", chassis="TR4-1180-K")


def gone(car: Car, *rows: Mapping[str, Any], purchase: Purchase | None = None) -> list[int]:
    """Return which of some sales, that state little beside what is told, a customer isn't shown."""
    table = empty_table(len(rows)).assign(own=None)
    usual = {"make": "Torvane", "model": "GT", "year": 1966.0, "price": PRICE, "sale_date": BOUGHT}
    for name in {name for row in rows for name in row} | usual.keys():
        values = [(usual | dict(row)).get(name) for row in rows]
        if name == "sale_date":
            table[name] = pd.Series(pd.to_datetime(values)).astype("datetime64[s]")
        else:
            table[name] = pd.Series(values, dtype=table[name].dtype)
    known = [] if purchase is None else [(purchase.day, purchase.price)]
    columns = {str(name): table[name].to_numpy() for name in table}
    return sales_of_car(columns, car, known).tolist()


@pytest.mark.parametrize("written", ["TR4-1180-K", "tr4 1180 k", "TR4/1180.K", "TR4118OK", "1180K"])
def test_every_sale_of_the_chassis_goes_while_nothing_is_known(car: Car, written: str) -> None:
    old = {"chassis": "TR4-1180-K", "sale_date": date(2020, 5, 1), "price": 9_000.0}
    assert gone(car, old, {"chassis": written}, {"chassis": "TR4-1181-K"}, {}) == [0, 1]


@pytest.mark.parametrize("told", ["marked", "given", "day alone"])
def test_an_earlier_sale_of_the_car_stays_once_the_purchase_is_known(car: Car, told: str) -> None:
    day = BOUGHT - timedelta(days=KEPT_APART)
    rows = [
        {"chassis": "TR4-1180-K", "sale_date": day, "price": 12_000.0},
        {"chassis": "TR4-1180-K", "sale_date": day + timedelta(days=1)},
        {"chassis": "tr4 1180 k", "own": "bought" if told == "marked" else None},
        {"chassis": "TR4-1180-K", "sale_date": date(2024, 9, 1), "own": "sold"},
    ]
    known = {"marked": None, "given": Purchase(BOUGHT, PRICE), "day alone": Purchase(BOUGHT)}
    assert gone(car, *rows, purchase=known[told]) == [1, 2, 3]


def test_each_of_several_purchases_goes_and_what_lies_between_may_stay(car: Car) -> None:
    days = [date(2015, 2, 1), date(2015, 3, 1), date(2018, 7, 1), BOUGHT]
    owns = ["bought", None, "sold", "bought"]
    told = zip(days, owns, strict=True)
    rows = [{"chassis": "TR4-1180-K", "sale_date": day, "own": own} for day, own in told]
    assert gone(car, *rows) == [0, 1, 3]


def test_a_sale_without_a_day_may_be_the_purchase(car: Car) -> None:
    row = {"chassis": "TR4-1180-K", "sale_date": None}
    assert gone(car, row, purchase=Purchase(BOUGHT, PRICE)) == [0]


@pytest.mark.parametrize(
    ("row", "goes"),
    [
        ({}, True),
        ({"sale_date": date(2024, 3, 28), "price": PRICE * 1.34}, True),
        ({"chassis": "XX-77-9911"}, True),
        ({"year": 1967.0, "model": "GT Sprint"}, True),
        ({"sale_date": date(2024, 3, 29)}, False),
        ({"price": PRICE * 1.36}, False),
        ({"price": PRICE * 0.79}, False),
        ({"year": 1964.0}, False),
        ({"model": "Saloon"}, False),
        ({"own": "sold"}, False),
        ({"sale_date": date(2024, 5, 1), "mileage": 61_400.0}, True),
        ({"sale_date": date(2021, 5, 1), "mileage": 61_400.0}, False),
    ],
)
def test_a_purchase_that_is_known_is_found_without_its_chassis_number(
    car: Car, row: Mapping[str, Any], goes: bool
) -> None:
    assert gone(car, row, purchase=Purchase(BOUGHT, PRICE)) == [0] * goes


SAME = {
    "variant": "sprint", "body": "coupe", "colour": "Violet", "interior_colour": "tan",
    "engine_size": 2.6, "transmission": "manual", "mileage": 61_390.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("row", "goes"),
    [
        (SAME, True),
        ({"mileage": 61_650.0}, True),
        ({"mileage": 61_750.0}, False),
        (SAME | {"mileage": None}, True),
        (SAME | {"mileage": 61_000.0}, True),
        (SAME | {"mileage": 20_000.0}, False),
        (SAME | {"mileage": None, "colour": "red"}, False),
        (SAME | {"colour": "red"}, True),
        (SAME | {"colour": "red", "transmission": "automatic"}, False),
        (SAME | {"mileage": None, "colour": None, "interior_colour": None}, False),
        (SAME | {"mileage": None, "variant": None, "body": None, "colour": None}, False),
        (SAME | {"year": 1967.0}, True),
        (SAME | {"year": 1967.0, "mileage": None}, False),
        (SAME | {"chassis": "TR4-1181-K"}, True),
        (SAME | {"chassis": "TR4-1181-K", "mileage": None}, False),
        (SAME | {"chassis": "TR4-1181-K", "colour": "red"}, False),
        ({"chassis": "1180", "mileage": 61_400.0}, True),
        ({"title": "1966 TORVANE GT Sprint; four owners; violet"}, True),
        ({"title": "1966 Torvane GT"}, False),
        ({}, False),
        (SAME | {"model": "Saloon"}, False),
    ],
)
def test_where_nothing_is_known_the_same_car_is_told_by_what_tells_cars_apart(
    car: Car, row: Mapping[str, Any], goes: bool
) -> None:
    assert gone(car, row) == [0] * goes


def test_a_purchase_of_the_model_that_names_no_chassis_goes_but_tells_no_day(car: Car) -> None:
    """It may be of another car, so the sale of the very chassis long before it may be ours."""
    rows = [
        {"chassis": "TR4-1180-K", "sale_date": date(2022, 1, 10)},
        {"own": "bought", "price": 20_000.0},
        {"own": "bought", "chassis": "TR4-9981-K"},
    ]
    assert gone(car, *rows) == [0, 1]


def test_a_car_without_a_chassis_number_is_told_by_the_rest(car: Car) -> None:
    rows = (SAME | {"chassis": "TR4-1180-K"}, {"chassis": "TR4-1180-K"})
    assert gone(replace(car, chassis=""), *rows) == [0]


@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_numbers_of_cars_built_one_after_the_other_are_two(a: int, b: int) -> None:
    one, other = (f"torvane:tr4{n:07d}k" for n in (a, b))
    swapped = sum(x != y for x, y in zip(one, other, strict=True)) == 2
    assert chassis_alike(one, other) == chassis_alike(other, one)
    if a == b:
        assert chassis_alike(one, other)
    elif not swapped:
        assert not chassis_alike(one, other)


def test_a_market_without_any_purchase_is_the_same_object(
    small_market: MarketModel, car: Car
) -> None:
    assert customers_market(small_market, car) is small_market
    purchase = Purchase(date(1990, 1, 1), 1.0)
    assert customers_market(small_market, car, purchase=purchase) is small_market


@pytest.fixture(scope="module")
def row(small_market: MarketModel) -> int:
    """Return a recent sale that names its chassis: the firm's purchase of a car."""
    return int(np.flatnonzero(small_market.frame["chassis"].notna().to_numpy())[-40])


@pytest.fixture(scope="module")
def ours(small_market: MarketModel, row: int, as_car: AsCar) -> Car:
    return replace(as_car(small_market.frame.iloc[row].to_dict()), sale={})


def test_the_purchase_is_gone_from_sales_and_codes(
    small_market: MarketModel, ours: Car, row: int
) -> None:
    left = customers_market(small_market, ours)
    sale = small_market.frame.iloc[row]
    assert sale["sale_id"] not in set(left.frame["sale_id"])
    assert key(sale["chassis"]) in small_market.fitted.codes["chassis"]
    assert key(sale["chassis"]) not in left.fitted.codes["chassis"]
    assert "earlier sale" in {c.attribute for c in appraise(small_market, ours).contributions}
    assert "earlier sale" not in {c.attribute for c in appraise(left, ours).contributions}


def test_what_may_be_shown_and_what_a_former_customer_paid(
    small_market: MarketModel, tmp_path: Path
) -> None:
    assert public_sales(small_market).all()
    assert not former_customers(small_market).any()
    own = [None] * (len(small_market.frame) - 3) + ["bought", "sold", None]
    frame = small_market.frame.assign(own=pd.Series(own, dtype=object))
    market = replace(small_market, frame=frame)
    loaded = load_model(save_model(market, tmp_path / "own.model"))
    for known in (market, loaded):
        assert np.flatnonzero(~public_sales(known)).tolist() == [len(own) - 3]
        assert np.flatnonzero(former_customers(known)).tolist() == [len(own) - 2]


def test_no_figure_follows_what_the_firm_paid(
    small_market: MarketModel, ours: Car, row: int
) -> None:
    """Fitted anew with the purchase at half and at three times its price, penalties kept.

    What is left is what the noise took of it.
    """
    markets = {f: fitted_with(small_market, row, f) for f in (0.5, 1.0, 3.0)}
    own = {f: appraise(m, ours) for f, m in markets.items()}
    shown = {f: appraise(customers_market(m, ours), ours) for f, m in markets.items()}
    for factor in (0.5, 3.0):
        told = abs(np.log(own[factor].central / own[1.0].central))
        left = abs(np.log(shown[factor].central / shown[1.0].central))
        assert told > 0.02
        assert left < MOVED
    sales = {f: [c.sale_id for c in v.comparables] for f, v in shown.items()}
    assert sales[0.5] == sales[1.0] == sales[3.0]

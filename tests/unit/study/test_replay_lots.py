"""Which past lots can be bid on again, their cars and their hammer prices."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.appraisal.data import cars_table
from valuation.bidding.costs import Costs, WayOfBuying
from valuation.features.table import day_number
from valuation.premium import PremiumSlice, with_premium
from valuation.records import Car
from valuation.study.replay_lots import car_of_sale, hammer_of, past_lot
from valuation.synthetic.market import SyntheticMarket

LOADED = "hammer price plus buyer's premium"
SLICES = (PremiumSlice(Decimal(15), Decimal(50_000)), PremiumSlice(Decimal(10)))
WHOLE = (
    PremiumSlice(Decimal(15), Decimal(50_000), "on the whole price"),
    PremiumSlice(Decimal(10), applied="on the whole price"),
)
LEAST = (PremiumSlice(Decimal(10), minimum=Decimal(500), cap=Decimal(6_000)),)
HOUSE = WayOfBuying("Harbour Rooms", "EUR", premium=SLICES)
COSTS = Costs("EUR", {"default": WayOfBuying("default", "EUR"), "Harbour Rooms": HOUSE})


@pytest.fixture(scope="module")
def row(small_world: SyntheticMarket) -> dict[str, Any]:
    """Return a sold lot of the small market, at its hammer price."""
    t = small_world.table
    (found, *_) = t[(t["channel"] == "live auction") & (t["outcome"] == "sold")].to_dict("records")
    return {**found, "venue": "Harbour Rooms", "basis": "hammer price", "price": 41_500.0}


@given(st.integers(1, 40_000_000), st.sampled_from([SLICES, LEAST]))
def test_the_premium_is_taken_out_to_the_cent(
    hammer: int, premium: tuple[PremiumSlice, ...]
) -> None:
    price = float(with_premium(Decimal(hammer) / 100, premium))
    found = hammer_of(price, LOADED, premium)
    assert found is not None
    # A step of the rounding may make two hammer prices one price: both are that price.
    assert abs(found - hammer) <= 1


def test_a_price_on_record_may_be_rounded_to_whole_units() -> None:
    loaded = round(float(with_premium(Decimal(41_273), SLICES)))
    found = hammer_of(float(loaded), LOADED, SLICES)
    assert found is not None
    assert abs(found - 4_127_300) <= 50


@pytest.mark.parametrize(
    ("price", "hammer"),
    [
        # 15 % up to 50,000 and 10 % beyond: 56,000 is 48,695.65 in one tier and 50,909.09 in the
        # other, so that nobody knows which it was; 60,500 can only be 55,000.
        (56_000.0, None),
        (60_500.0, 5_500_000),
        (23_000.0, 2_000_000),
    ],
)
def test_tiers_on_the_whole_price_may_leave_it_open(price: float, hammer: int | None) -> None:
    assert hammer_of(price, LOADED, WHOLE) == hammer


def test_no_premium_leaves_the_price() -> None:
    assert hammer_of(12_345.0, LOADED, ()) == 1_234_500
    assert hammer_of(12_345.0, "hammer price", SLICES) == 1_234_500
    assert hammer_of(12_345.0, "unknown", SLICES) is None
    # A minimum of 500 leaves no hammer price for a total of 400.
    assert hammer_of(400.0, LOADED, LEAST) is None


def test_a_sold_lot_is_bid_on_at_its_house(row: Mapping[str, Any]) -> None:
    left_out: Counter[str] = Counter()
    lot = past_lot(row, COSTS, left_out)
    assert lot is not None
    assert (lot.sale_id, lot.way.name, lot.hammer) == (row["sale_id"], "Harbour Rooms", 4_150_000)
    assert lot.day == row["sale_date"].date()
    assert not left_out


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"outcome": "not sold"}, "not sold: the reserve lay above the highest bid"),
        ({"outcome": "unknown"}, "whether they sold is not known"),
        ({"basis": "unknown"}, "the record says no hammer price"),
    ],
)
def test_what_cannot_be_bid_on_is_counted(
    row: Mapping[str, Any], change: Mapping[str, Any], reason: str
) -> None:
    left_out: Counter[str] = Counter()
    assert past_lot({**row, **change}, COSTS, left_out) is None
    ((said, n),) = left_out.items()
    assert said.startswith(reason)
    assert n == 1


def test_a_house_abroad_is_left_out(row: Mapping[str, Any]) -> None:
    left_out: Counter[str] = Counter()
    abroad = replace(HOUSE, currency="GBP", rate_low=Decimal(1), rate_high=Decimal(1))
    costs = replace(COSTS, ways={**COSTS.ways, "Harbour Rooms": abroad})
    assert past_lot(row, costs, left_out) is None
    assert left_out == {"bought in another currency than the resale's": 1}


def test_a_car_of_a_sale_has_the_columns_of_the_sale(
    small_world: SyntheticMarket, as_car: Callable[[Mapping[Any, Any]], Car]
) -> None:
    rows = small_world.table.iloc[:40].to_dict("records")
    cars = [car_of_sale({str(k): v for k, v in r.items()}) for r in rows]
    plain = [as_car(r) for r in rows]
    assert [dict(c.values) for c in cars] == [dict(c.values) for c in plain]
    assert [dict(c.sale) for c in cars] == [dict(c.sale) for c in plain]
    day = day_number(rows[0]["sale_date"].date())
    ours, theirs = cars_table(cars, day), cars_table(plain, day)
    for name, numbers in theirs.numbers.items():
        np.testing.assert_array_equal(ours.numbers[name], numbers)
    # What a title says is read as well: the book kept it beside the sale.
    assert any(c.said for c in cars)

"""What stands in where nobody expects a value to be stated."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from valuation.features.table import OWN_WORDS, FeatureTable
from valuation.features.usual import UsualValues, fill_usual, learn_usual
from valuation.schema import ATTRIBUTES

Make = Callable[..., FeatureTable]


@pytest.fixture
def table(by_hand: Make) -> FeatureTable:
    """Return two lines: the first mostly of four gears and petrol, the second divided."""
    return by_hand(
        10,
        make=["Torvane"] * 6 + ["Ystrix"] * 4,
        gears=[4.0, 4.0, 4.0, 5.0, np.nan, np.nan, 3.0, 4.0, np.nan, np.nan],
        fuel=["petrol", "petrol", None, None, None, None, "petrol", None, None, None],
    )


LINES = ("torvane |", "ystrix |")


def usual_of(table: FeatureTable) -> dict[str, tuple[Any, ...]]:
    return {u.name: u.values for u in learn_usual(table, LINES)}


def test_a_clear_majority_stands_in(table: FeatureTable) -> None:
    gears = usual_of(table)["gears"]
    assert gears[0] == 4.0
    assert np.isnan(gears[1])  # one against one


def test_one_sale_is_no_majority(table: FeatureTable) -> None:
    assert usual_of(table)["fuel"] == ("petrol", "")


def test_only_what_is_typical_stands_in(market: Any) -> None:
    lines = market.table.factors["line"].levels
    policy = {a.name: a.when_silent for a in ATTRIBUTES}
    found = learn_usual(market.table, lines)
    assert found
    for u in found:
        assert policy[u.name] == "typical"
        assert u.name not in ("make", "model", "generation", "variant")
        assert len(u.values) == len(lines)


def test_what_nobody_states_has_no_stand_in(by_hand: Make) -> None:
    assert usual_of(by_hand(4, make=["Torvane"] * 4)) == {}


def test_what_all_sales_state_may_be_missing_in_a_later_car(by_hand: Make) -> None:
    sales = by_hand(4, make=["Torvane"] * 4, gears=[4.0] * 4, fuel=["petrol"] * 4)
    usual = learn_usual(sales, LINES)
    car = fill_usual(by_hand(1, make=["Torvane"]), usual, np.array([0]))
    assert car.numbers["gears"].tolist() == [4.0]
    assert car.factors["fuel"].text() == ["petrol"]


def test_a_word_no_sale_has_gives_way_to_the_usual_one(by_hand: Make) -> None:
    sales = by_hand(4, make=["Torvane"] * 4, fuel=["petrol"] * 3 + ["diesel"])
    usual = learn_usual(sales, LINES)
    cars = by_hand(3, make=["Torvane"] * 3, fuel=["peat", "diesel", OWN_WORDS])
    full = fill_usual(cars, usual, np.array([0, 0, -1]))
    assert full.factors["fuel"].text() == ["petrol", "diesel", OWN_WORDS]


def test_a_car_of_no_known_line_starts_from_its_make(by_hand: Make) -> None:
    sales = by_hand(
        8,
        make=["Torvane"] * 5 + ["Ystrix"] * 3,
        gears=[3.0, 4.0, 4.0, 5.0, 5.0, 6.0, 6.0, np.nan],
        fuel=["petrol", "petrol", "diesel", None, None, "diesel", "diesel", "diesel"],
    )
    usual = learn_usual(sales, LINES)
    cars = by_hand(3, make=["Torvane", "Ystrix", "Corbel"], model=["New"] * 3)
    full = fill_usual(cars, usual, np.array([-1, -1, -1]))
    # The middle number and the most frequent word of the make; of all sales for a new make.
    assert full.numbers["gears"].tolist() == [4.0, 6.0, 5.0]
    assert full.factors["fuel"].text() == ["petrol", "diesel", "diesel"]


def test_a_line_that_is_divided_does_not_lean_on_its_make(by_hand: Make) -> None:
    sales = by_hand(5, make=["Torvane"] * 2 + ["Ystrix"] * 3, gears=[3.0, 4.0, 4.0, 4.0, 4.0])
    car = fill_usual(by_hand(1, make=["Torvane"]), learn_usual(sales, LINES), np.array([0]))
    assert np.isnan(car.numbers["gears"][0])


def test_words_that_count_without_a_sale_are_kept(by_hand: Make) -> None:
    """The baseline has its effect (none) by definition, an assumed word its own."""
    sales = by_hand(4, make=["Torvane"] * 4, mileage_status=["proven"] * 4)
    usual = learn_usual(sales, LINES, {"mileage_status": {"exempt": None}})
    cars = by_hand(3, make=["Torvane"] * 3, mileage_status=["stated", "exempt", "unknown"])
    full = fill_usual(cars, usual, np.array([0, 0, 0]))
    assert full.factors["mileage_status"].text() == ["stated", "exempt", "proven"]


def test_stand_ins_fill_gaps_alone(table: FeatureTable) -> None:
    usual = learn_usual(table, LINES)
    full = fill_usual(table, usual, table.factors["line"].codes)
    np.testing.assert_array_equal(full.numbers["gears"], [4, 4, 4, 5, 4, 4, 3, 4, np.nan, np.nan])
    assert full.factors["fuel"].text() == ["petrol"] * 7 + [""] * 3
    assert np.isnan(table.numbers["gears"][4])


def test_a_line_never_seen_has_no_stand_in(by_hand: Make) -> None:
    usual = (UsualValues("gears", True, (4.0,)), UsualValues("fuel", False, ("petrol",)))
    full = fill_usual(by_hand(1), usual, np.array([-1]))
    assert np.isnan(full.numbers["gears"][0])
    assert full.factors["fuel"].text() == [""]


def test_a_line_never_seen_takes_after_its_make(table: FeatureTable, by_hand: Make) -> None:
    usual = learn_usual(table, LINES)
    cars = by_hand(4, make=["Torvane", "Ystrix", "Nobody's", "Torvane"], gears=[np.nan] * 3 + [6.0])
    full = fill_usual(cars, usual, np.array([-1] * 4))
    # Median of 4, 4, 4, 5; of 3, 4; of all six; and what is stated stays.
    assert full.numbers["gears"].tolist() == [4.0, 3.5, 4.0, 6.0]
    assert full.factors["fuel"].text() == ["petrol"] * 4


def test_without_stand_ins_the_table_is_the_same(table: FeatureTable) -> None:
    assert fill_usual(table, (), table.factors["line"].codes) is table

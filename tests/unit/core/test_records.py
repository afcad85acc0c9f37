"""What one record is: a car, a book of sales, an empty table."""

from __future__ import annotations

import dataclasses
import re
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import pandas as pd
import pytest

from valuation.records import (
    Car,
    Cure,
    Fault,
    SalesBook,
    SetAside,
    Work,
    ZoneMark,
    empty_table,
)
from valuation.schema import ATTRIBUTES, SALE_FIELDS
from valuation.schema.kinds import NOT_ON_THIS_CAR

# The empty table


def test_the_empty_table_has_every_column_of_the_contract_once() -> None:
    names = [f.name for f in SALE_FIELDS] + [a.name for a in ATTRIBUTES]
    names += ["statements", "file", "row"]
    assert list(empty_table(2).columns) == names
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("n", [0, 1, 3])
def test_nothing_is_stated_in_it(n: int) -> None:
    table = empty_table(n)
    assert len(table) == n
    assert table.drop(columns=["file", "row"]).isna().all().all()


def test_its_columns_have_the_kinds_of_the_contract() -> None:
    table = empty_table(2)
    for a in ATTRIBUTES:
        assert table[a.name].dtype == ("float64" if a.kind == "number" else object), a.name
    assert table["price"].dtype == "float64"
    assert table["sale_date"].dtype == "datetime64[s]"
    assert table["row"].dtype == "int64"
    assert table["make"].tolist() == [None, None]


# A book


@pytest.fixture
def book() -> SalesBook:
    table = empty_table(4)
    table["price"] = [1000.0, 2000.0, 3000.0, 4000.0]
    aside = (SetAside("sales.csv", 6, (Fault("no price", "Price", "", "Fill it"),), {}),)
    return SalesBook(table, "EUR", True, aside, 5, ("A remark.",))


def test_length_of_a_book_is_the_sales_in_use(book: SalesBook) -> None:
    assert len(book) == 4
    assert book.rows == len(book) + len(book.set_aside)


@pytest.mark.parametrize(
    "keep",
    [
        np.array([True, False, True, False]),
        pd.Series([True, False, True, False]),
        np.array([0, 2]),
        slice(0, 3, 2),
    ],
    ids=["mask", "series", "positions", "slice"],
)
def test_part_of_a_book(book: SalesBook, keep: object) -> None:
    part = book.subset(keep)
    assert part.table["price"].tolist() == [1000.0, 3000.0]
    assert part.table.index.tolist() == [0, 1]
    assert (part.currency, part.dated, part.notes) == ("EUR", True, ("A remark.",))
    assert (part.rows, part.set_aside) == (2, ())
    assert len(book) == 4


def test_positions_may_change_the_order(book: SalesBook) -> None:
    assert book.subset(np.array([3, 1])).table["price"].tolist() == [4000.0, 2000.0]


def test_records_are_frozen(book: SalesBook) -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        book.currency = "SEK"


# A car


def test_a_car_knows_only_attributes_of_the_contract() -> None:
    with pytest.raises(ValueError, match=r"^Car: no such attribute \(got: doors, wings\)$"):
        Car({"make": "Torvane", "wings": 2.0, "doors": 4.0})


def test_a_car_keeps_its_own_copy() -> None:
    values: dict[str, float | str | tuple[str, ...]] = {"make": "Torvane"}
    car = Car(values, sale={"channel": "dealer"})
    values["make"] = "Other"
    kept = car.values  # noqa: PD011 (a mapping of attributes, not a frame)
    assert kept["make"] == "Torvane"
    with pytest.raises(TypeError):
        kept["make"] = "Other"
    with pytest.raises(TypeError):
        car.sale["channel"] = "private"


@pytest.mark.parametrize(
    ("car", "name"),
    [
        (Car({"year": 1967.0, "make": "Torvane", "model": "GT", "variant": "S"}),
         "1967 Torvane GT S"),
        (Car({"make": "Torvane", "model": "GT"}), "Torvane GT"),
        (Car({"year": 1967.0, "make": "Torvane"}, label="The red one"), "The red one"),
        (Car({}, title="Barn find, runs"), "Barn find, runs"),
        (Car({}), "car"),
    ],
)  # fmt: skip
def test_name_for_people(car: Car, name: str) -> None:
    assert car.name == name


def test_a_car_has_nothing_that_was_not_said() -> None:
    car = Car({})
    assert car.not_looked_at == car.cannot_be_told == frozenset()
    assert (car.asking, car.seen_on, car.notes) == (None, None, ())
    assert Car({}, seen_on=date(2025, 9, 12)).seen_on == date(2025, 9, 12)


def test_a_car_has_no_work_marks_cure_or_stops_that_were_not_said() -> None:
    car = Car({})
    assert (car.work, dict(car.marks), car.cure, car.stops) == ((), {}, None, ())


def test_a_car_keeps_its_own_copy_of_its_marks() -> None:
    marks: dict[str, ZoneMark] = {"paint": 6.5, "underside": (2.0, 8.0), "top": NOT_ON_THIS_CAR}
    car = Car({}, marks=marks)
    marks["paint"] = 9.0
    assert dict(car.marks) == {"paint": 6.5, "underside": (2.0, 8.0), "top": NOT_ON_THIS_CAR}


def test_a_car_knows_only_marks_from_0_to_10() -> None:
    wrong: dict[str, ZoneMark] = {
        "paint": 10.5, "boot": -0.5, "top": "gone", "brakes": (6.0, 4.0), "interior": 10.0,
        "underside": (0.0, 10.5), "heating": float("nan"),
    }  # fmt: skip
    listed = "boot, brakes, heating, paint, top, underside"
    with pytest.raises(ValueError, match=rf"^Car: a mark is 0 to 10 \(got: {listed}\)$"):
        Car({}, marks=wrong)


# Work and cures


def test_a_line_of_work_puts_right_a_zone_or_changes_an_attribute() -> None:
    line = Work("respray", Decimal(4000), Decimal(6000), "EUR", zone="paint", mark=8.5, days=20)
    assert (line.zone, line.mark, line.attribute, line.value) == ("paint", 8.5, "", None)
    other = Work("repaint", Decimal(1), Decimal(1), attribute="colour", value="red")
    assert (other.attribute, other.value, other.currency, other.days) == ("colour", "red", "", None)


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ({"low": Decimal(3)}, "Work: 0, low, high have to rise (got: 3, 2)"),
        ({"low": Decimal(-1)}, "Work: 0, low, high have to rise (got: -1, 2)"),
        ({"high": Decimal("NaN")}, "Work: 0, low, high have to rise (got: 1, NaN)"),
        ({"high": Decimal("Infinity")}, "Work: 0, low, high have to rise (got: 1, Infinity)"),
        ({"days": -1.0}, "Work: days are 0 or more (got: -1.0)"),
        ({"days": float("nan")}, "Work: days are 0 or more (got: nan)"),
        ({"zone": "paint"}, "Work: a zone and its mark go together"),
        ({"mark": 7.0}, "Work: a zone and its mark go together"),
        ({"attribute": "colour"}, "Work: an attribute and its value go together"),
        ({"value": "red"}, "Work: an attribute and its value go together"),
        ({"zone": "paint", "mark": 7.0, "attribute": "colour", "value": "red"},
         "Work: a zone or an attribute, not both"),
        ({"zone": "paint", "mark": 10.5}, "Work: a mark is 0 to 10 (got: 10.5)"),
        ({"attribute": "wings", "value": 2.0}, "Work: no such attribute (got: wings)"),
    ],
)  # fmt: skip
def test_what_is_no_line_of_work(entries: dict[str, Any], told: str) -> None:
    made: dict[str, Any] = {"what": "work", "low": Decimal(1), "high": Decimal(2), **entries}
    with pytest.raises(ValueError, match=f"^{re.escape(told)}"):
        Work(**made)


def test_a_cure_may_be_half_known() -> None:
    assert Cure(days=30.0).low is None
    assert Cure(low=Decimal(0), high=Decimal(80), currency="EUR").days is None
    assert Cure() == Cure(None, None, None, "")


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ({"low": Decimal(3)}, "Cure: both ends of the cost or neither"),
        ({"high": Decimal(3)}, "Cure: both ends of the cost or neither"),
        ({"low": Decimal(3), "high": Decimal(2)}, "Cure: 0, low, high have to rise (got: 3, 2)"),
        ({"days": -2.0}, "Cure: days are 0 or more (got: -2.0)"),
    ],
)
def test_what_is_no_cure(entries: dict[str, Any], told: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(told)}"):
        Cure(**entries)

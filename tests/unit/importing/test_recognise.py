from __future__ import annotations

from collections.abc import Sequence

import pytest

from valuation.importing.content import Column, economy_number, fits, guess
from valuation.importing.raw import RawTable, make_table
from valuation.importing.recognise import recognise
from valuation.importing.source_map import ColumnUse, SourceMap


def table(header: Sequence[str], *columns: Sequence[object], rows: int = 20) -> RawTable:
    """Make a table whose columns repeat the given entries."""
    body = [[str(c[i % len(c)]) for c in columns] for i in range(rows)]
    return make_table("f.csv", [list(header), *body])


def read_as(source: SourceMap) -> dict[str, tuple[str, ...]]:
    return {u.target: u.columns for u in source.uses}


PRICES = [f"{20_000 + 317 * i}" for i in range(20)]
YEARS = [1962 + i % 9 for i in range(20)]
MAKES = ["Kora", "Torvane"]


def test_names_and_content_together() -> None:
    source = recognise(
        table(["Marke", "Baujahr", "Preis", "Getriebe"], MAKES, YEARS, PRICES, ["manuell", "M/T"])
    )
    assert read_as(source) == {
        "make": ("Marke",),
        "year": ("Baujahr",),
        "price": ("Preis",),
        "transmission": ("Getriebe",),
    }
    assert all(u.how == "name" for u in source.uses)
    assert source.notes == ()


def test_examples_and_shares_are_kept() -> None:
    use = recognise(table(["Make", "Price"], ["Kora", "Kora", "", "Torvane"], PRICES)).use("make")
    assert use is not None
    assert use.examples == ("Kora", "Torvane")
    assert use.stated == pytest.approx(0.75)


def test_two_spellings_of_one_name_complete_each_other() -> None:
    source = recognise(
        table(
            ["make", "price", "mileage", "mileage2"],
            MAKES,
            PRICES,
            ["13,255", "", "42,112", ""],
            ["60.1", "38,852", "57.7", "11,952"],
        )
    )
    assert source.use("mileage") is not None
    assert read_as(source)["mileage"] == ("mileage", "mileage2")
    assert source.notes[0] == (
        '"mileage" and "mileage2" both read as mileage: where the first is empty or implausible, '
        "the next one counts."
    )


def test_a_column_that_contradicts_its_name_is_left_out_and_said() -> None:
    source = recognise(
        table(["make", "price", "condition"], MAKES, PRICES, ["Used", "Certified", "Used"])
    )
    assert "condition_grade" not in read_as(source)
    assert source.notes == (
        '"condition" is not read as condition grade: only 0% of its entries could be that.',
    )


def test_a_contradicting_column_is_recognised_by_what_stands_in_it() -> None:
    source = recognise(
        table(["make", "price", "mileage"], MAKES, PRICES, ["red", "black", "silver", "blue"])
    )
    assert read_as(source)["colour"] == ("mileage",)
    assert '"mileage" is read as colour by what stands in it.' in source.notes


@pytest.mark.parametrize(
    ("cells", "target"),
    [
        (["manual", "automatic"], "transmission"),
        (["EUR", "USD"], "currency"),
        (["petrol", "diesel"], "fuel"),
        (["1967 Kora GT", "1968 Torvane Zephyr"], "title"),
        (["2024-05-06", "2024-06-07"], "sale_date"),
        (["AB1CD23E4FG567891", "AB1CD23E4FG567892"], "chassis"),
        (["saloon", "coupe"], "body"),
        (["abc", "def"], ""),
    ],
)
def test_columns_without_a_telling_name(cells: list[str], target: str) -> None:
    source = recognise(table(["make", "price", "year", "F7"], MAKES, PRICES, YEARS, cells))
    found = {u.target for u in source.uses if u.columns == ("F7",)}
    assert found == ({target} if target else set())


def test_a_price_by_its_signs_alone() -> None:
    source = recognise(table(["make", "F7"], MAKES, [f"€ {p}" for p in PRICES]))
    assert read_as(source)["price"] == ("F7",)


def test_the_make_is_the_column_that_the_model_determines() -> None:
    models = ["GT", "Zephyr", "R12", "Canzon", "GT", "Quill"]
    makers = ["Kora", "Torvane", "Kora", "Torvane", "Kora", "Torvane"]
    source = recognise(table(["Co", "Model", "Price"], makers, models, PRICES, rows=60))
    assert read_as(source)["make"] == ("Co",)


def test_empty_columns_are_counted() -> None:
    source = recognise(table(["make", "price", "Year", "Baujahr"], MAKES, PRICES, [""], YEARS))
    assert read_as(source)["year"] == ("Baujahr",)
    assert source.notes == ("Columns without any entry: 1 (Year).",)


def test_first_registration_stands_for_the_year_only_at_need() -> None:
    both = recognise(
        table(["make", "price", "year", "Erstzulassung"], MAKES, PRICES, YEARS, ["1999"])
    )
    assert read_as(both)["year"] == ("year",)
    assert '"Erstzulassung" is left out: "year" is read as year.' in both.notes
    alone = recognise(table(["make", "price", "Erstzulassung"], MAKES, PRICES, YEARS))
    assert read_as(alone)["year"] == ("Erstzulassung",)


def test_a_map_goes_before_and_the_rest_is_recognised() -> None:
    raw = table(["make", "price", "a", "b"], MAKES, PRICES, ["red", "blue"], YEARS)
    given = SourceMap((ColumnUse("variant", ("a",)),), ignore=("make",))
    source = recognise(raw, given)
    assert read_as(source) == {"variant": ("a",), "price": ("price",), "year": ("b",)}
    only = recognise(raw, SourceMap((ColumnUse("variant", ("a",)),), only_these=True))
    assert read_as(only) == {"variant": ("a",)}


@pytest.mark.parametrize(
    ("name", "cells", "unit", "note"),
    [
        ("Mileage", ["48,200", "51,000"], "miles", "states no unit and is read as miles."),
        ("Mileage km", ["48200", "51000"], "km", ""),
        ("Przebieg", ["48200", "51000"], "km", ""),
        ("Miles", ["48200 km", "51000 km"], "km", "its entries say km"),
    ],
)
def test_units_of_mileage(name: str, cells: list[str], unit: str, note: str) -> None:
    source = recognise(table(["make", "price", name], MAKES, PRICES, cells))
    use = source.use("mileage")
    assert use is not None
    assert use.unit == unit
    assert (note in " ".join(source.notes)) if note else not source.notes


def test_mileage_in_thousands() -> None:
    cells = [str(3 + 7 * i) for i in range(25)]
    source = recognise(table(["make", "price", "mileage"], MAKES, PRICES, cells, rows=25))
    use = source.use("mileage")
    assert use is not None
    assert use.unit == "thousand miles"
    assert '"mileage": all entries are below 1,000; read as thousand miles.' in source.notes


def test_scales_orders_and_engine_units() -> None:
    source = recognise(
        table(
            ["make", "price", "grade", "date", "engine"],
            MAKES,
            PRICES,
            ["1.5", "4.5", "3.0"],
            ["13/02/2024", "03/04/2024"],
            ["302", "350", "454"],
        )
    )
    grade, day, engine = (source.use(t) for t in ("condition_grade", "sale_date", "engine_size"))
    assert grade is not None
    assert (grade.worst, grade.best) == (1.0, 5.0)
    assert day is not None
    assert day.order == "day first"
    assert engine is not None
    assert engine.unit == "ci"


def test_a_grade_of_0_to_100_is_no_other_scale() -> None:
    use = recognise(table(["make", "price", "grade"], MAKES, PRICES, ["64", "81"])).use(
        "condition_grade"
    )
    assert use is not None
    assert (use.worst, use.best) == (None, None)


@pytest.mark.parametrize(
    ("text", "value"),
    [("55.4", 55.4), ("16 City / 24 Highway", 20.0), ("7,4 l/100 km", None), ("£20", None)],
)
def test_fuel_economy(text: str, value: float | None) -> None:
    assert economy_number(text) == value


def test_fits_and_guess_on_an_empty_column() -> None:
    import pandas as pd

    column = Column("x", pd.Series(["", "n/a"], dtype=object))
    assert fits("make", column) == 0.0
    assert guess(column, ["make", "year"]) == ""


def test_columns_that_are_not_used_are_named() -> None:
    source = recognise(table(["make", "price", "doors", "CO2"], MAKES, PRICES, ["2"], ["119 g"]))
    assert source.notes == ("Columns that are not used: doors, CO2.",)


def test_fiscal_ratings_are_no_horsepower() -> None:
    source = recognise(table(["make", "price", "Puissance"], MAKES, PRICES, ["5", "7", "9"]))
    assert "power" not in read_as(source)
    assert source.notes == (
        '"Puissance" is not read as power: only 0% of its entries could be that.',
    )
    assert "power" in read_as(
        recognise(table(["make", "price", "PS"], MAKES, PRICES, ["90", "120"]))
    )

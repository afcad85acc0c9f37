"""Columns of sales or of one car, keyed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.features.columns import Bag, Factor, key
from valuation.features.table import (
    LEVELLED,
    OWN_WORDS,
    SALE_FACTORS,
    FeatureTable,
    day_number,
    table_of_book,
    table_of_cars,
)
from valuation.records import Car
from valuation.schema import ATTRIBUTES
from valuation.schema.statements import Statement

Make = Callable[..., FeatureTable]
STEADY = settings(max_examples=60, deadline=None, derandomize=True)
WORDS = st.sampled_from([None, "", " ", "Red", "red", "RED ", "sea  green", "Sea Green", "blue"])
SETS = st.one_of(st.none(), st.lists(st.sampled_from(["A", "a", "b", "c d", "C  D", ""])))


def test_words_are_counted_in_lower_case_with_single_blanks() -> None:
    assert key("  Sea \t GREEN ") == "sea green"
    assert key("STRASSE") == key("straße")
    assert key(4) == "4"


def test_days_are_counted_from_1970() -> None:
    assert day_number(date(1970, 1, 1)) == 0.0
    assert day_number(date(1969, 12, 31)) == -1.0
    assert day_number(date(2025, 9, 12)) == (date(2025, 9, 12) - date(1970, 1, 1)).days


# Factors


def test_a_factor() -> None:
    found = Factor.of(["Red", None, "blue", float("nan"), "  ", "RED"])
    assert found.levels == ("blue", "red")
    assert found.codes.tolist() == [1, -1, 0, -1, -1, 1]
    assert found.text() == ["red", "", "blue", "", "", "red"]
    assert found.take([2, 1]).text() == ["blue", ""]


def test_a_factor_without_a_statement() -> None:
    for values in ([None], [None, None], [float("nan")], [""]):
        found = Factor.of(values)
        assert (found.levels, set(found.codes.tolist())) == ((), {-1})
    assert Factor.of([]).levels == ()


@STEADY
@given(st.lists(WORDS, min_size=1))
def test_a_factor_says_of_one_value_what_it_says_of_many(values: list[str | None]) -> None:
    found = Factor.of(values)
    assert found.text() == [key(v) if v else "" for v in values]
    assert found.text() == [Factor.of([v]).text()[0] for v in values]
    assert list(found.levels) == sorted(set(found.text()) - {""})


def test_a_stand_in_is_taken_only_where_nothing_is_stated() -> None:
    found = Factor.of(["red", None, None, None]).filled(["blue", "red", "", "green"])
    assert found.text() == ["red", "red", "", "green"]


def test_only_some_levels_of_a_factor() -> None:
    factor = Factor.of(["red", "blue", None, "green"])
    assert factor.only(frozenset({"red", "green"})).text() == ["red", "", "", "green"]
    assert factor.only(frozenset({"red", "blue", "green", "pink"})) is factor


# Bags


def test_a_bag() -> None:
    found = Bag.of([("Bills", "books"), None, (), ("books",)])
    assert found.levels == ("bills", "books")
    assert found.rows.tolist() == [0, 0, 3]
    assert found.codes.tolist() == [0, 1, 1]
    assert found.stated.tolist() == [True, False, True, True]


def test_a_word_counts_once_a_row_however_it_is_written() -> None:
    found = Bag.of([("Hard Top", "hard  top", "")])
    assert found.levels == ("hard top",)
    assert found.codes.tolist() == [0]


def sets_of(bag: Bag) -> list[set[str] | None]:
    found: list[set[str] | None] = [set() if s else None for s in bag.stated]
    for row, code in zip(bag.rows, bag.codes, strict=True):
        inner = found[row]
        assert inner is not None
        inner.add(bag.levels[code])
    return found


@STEADY
@given(st.lists(SETS, min_size=1, max_size=12), st.data())
def test_taking_rows_of_a_bag(sets: list[list[str] | None], data: st.DataObject) -> None:
    rows = data.draw(st.lists(st.integers(0, len(sets) - 1)))
    whole = [None if s is None else {key(w) for w in s if w} for s in sets]
    bag = Bag.of(sets)
    assert sets_of(bag) == whole
    assert sets_of(bag.take(np.array(rows, dtype=np.intp))) == [whole[i] for i in rows]
    mask = np.array([i % 2 == 0 for i in range(len(sets))])
    assert sets_of(bag.take(mask)) == whole[::2]


# Tables


def test_a_table_has_every_column(market: Any) -> None:
    table = market.table
    kinds = {"number": table.numbers, "category": table.factors, "set": table.bags}
    for a in ATTRIBUTES:
        assert a.name in kinds[a.kind], a.name
    assert {"day", "age"} <= set(table.numbers)
    more = {*SALE_FACTORS, "line", "family", "era", "specification", "version", "chassis"}
    assert more | {f"{n} level" for n in LEVELLED} <= set(table.factors)
    assert {"wording", "engine wording", "gearbox wording"} <= set(table.bags)
    assert all(len(x) == table.n for x in table.numbers.values())
    assert all(len(f.codes) == table.n for f in table.factors.values())
    assert all(len(b.stated) == table.n for b in table.bags.values())


def test_a_line_is_make_model_and_generation(by_hand: Make) -> None:
    table = by_hand(
        4,
        make=["Torvane", "Torvane", "Torvane", "Ystrix"],
        model=["GT", "GT", None, None],
        generation=["Series 2", None, None, None],
        words=[("x",), ("y",), ("touring", "saloon"), ()],
    )
    assert table.factors["line"].text() == [
        "torvane | gt | series 2", "torvane | gt", "torvane | (touring)", "ystrix |",
    ]  # fmt: skip
    assert table.factors["family"].text() == [
        "torvane | gt", "torvane | gt", "torvane | (touring)", "ystrix |",
    ]  # fmt: skip


def test_a_version_is_its_set_of_title_words(by_hand: Make) -> None:
    table = by_hand(3, words=[("b", "a"), ("a", "b"), ()])
    assert table.factors["version"].text() == ["a b", "a b", ""]


def test_numbers_that_set_versions_apart(by_hand: Make) -> None:
    table = by_hand(3, year=[1967.0, 1959.0, np.nan], engine_size=[2.54, np.nan, 3.0])
    assert table.factors["year level"].text() == ["1967", "1959", ""]
    assert table.factors["engine_size level"].text() == ["2.5", "", "3.0"]
    assert table.factors["era"].text() == ["1960", "1950", ""]


def test_a_specification_needs_the_engine_size(by_hand: Make) -> None:
    table = by_hand(
        3, engine_size=[2.0, 2.0, np.nan], fuel=["petrol", None, "petrol"],
        transmission=["manual", "manual", "manual"],
    )  # fmt: skip
    assert table.factors["specification"].text() == ["2.0 petrol manual", "2.0 manual", ""]


def test_age_at_sale_is_counted_from_the_model_year(by_hand: Make) -> None:
    dates = pd.Series(pd.to_datetime(["2020-01-01", "2020-01-01", None])).astype("datetime64[s]")
    table = by_hand(3, year=[2000.0, 2021.0, 2000.0], sale_date=dates)
    assert table.numbers["age"][0] == pytest.approx(20.0, abs=0.01)
    assert table.numbers["age"][1] == 0.0
    assert np.isnan(table.numbers["age"][2])


def test_another_day_changes_day_and_age_alone(market: Any) -> None:
    table = market.table
    day = day_number(date(2030, 1, 1))
    found = table.at(day)
    assert set(found.numbers["day"]) == {day}
    expected = np.maximum(2030.0 - table.numbers["year"], 0.0)
    np.testing.assert_allclose(found.numbers["age"], expected, atol=0.01)
    assert found.factors is table.factors
    assert found.numbers["mileage"] is table.numbers["mileage"]


def test_a_gearbox_in_words_of_no_known_kind_is_not_silent(by_hand: Make) -> None:
    """Whoever describes the gearbox says something, even if no kind is recognised in it."""
    shifts = [("four", "on", "the", "tree"), ("manual",), ()]
    table = by_hand(3, transmission=[None, "manual", None], gearbox=shifts)
    assert table.factors["transmission"].text() == [OWN_WORDS, "manual", ""]


def test_words_outside_a_vocabulary_are_not_stated(market: Any) -> None:
    found = market.table.without({"fuel": frozenset({"petrol"})})
    assert set(found.factors["fuel"].text()) <= {"", "petrol"}
    assert found.factors["colour"] is market.table.factors["colour"]


def test_taking_rows_is_building_from_those_rows(market: Any) -> None:
    rng = np.random.default_rng(0)
    rows = rng.choice(market.table.n, 80, replace=False)
    titles = [tuple(dict.fromkeys(t.casefold().split())) for t in market.book.table["title"]]
    none = [()] * 80
    rebuilt = table_of_book(
        market.book.subset(rows),
        {"wording": [titles[i] for i in rows], "engine wording": none, "gearbox wording": none},
    )
    taken = market.table.take(rows)
    assert taken.n == rebuilt.n == 80
    for name, x in rebuilt.numbers.items():
        np.testing.assert_array_equal(taken.numbers[name], x, err_msg=name)
    for name, f in rebuilt.factors.items():
        assert taken.factors[name].text() == f.text(), name
    for name, b in rebuilt.bags.items():
        assert sets_of(taken.bags[name]) == sets_of(b), name


def test_a_mask_takes_what_its_positions_take(market: Any) -> None:
    mask = np.arange(market.table.n) % 3 == 0
    by_mask, by_rows = market.table.take(mask), market.table.take(np.flatnonzero(mask))
    assert by_mask.n == by_rows.n
    assert by_mask.factors["line"].text() == by_rows.factors["line"].text()
    assert sets_of(by_mask.bags["wording"]) == sets_of(by_rows.bags["wording"])


def test_a_car_alone_reads_as_its_sale(market: Any) -> None:
    for i in (0, 17, 333):
        one, row = market.car_table(i), market.table.take([i]).to_come()
        for name, x in row.numbers.items():
            np.testing.assert_allclose(one.numbers[name], x, err_msg=name)
        for name, f in row.factors.items():
            assert one.factors[name].text() == f.text(), name
        for name, b in row.bags.items():
            assert sets_of(one.bags[name]) == sets_of(b), name


def test_a_car_of_which_nothing_is_known() -> None:
    table = table_of_cars([Car({})], float("nan"), {})
    assert table.n == 1
    assert np.isnan(table.numbers["year"][0])
    assert table.factors["colour"].codes.tolist() == [-1]
    assert not table.bags["documents"].stated[0]


def test_what_stands_in_changes_what_follows_from_it(by_hand: Make) -> None:
    table = by_hand(2, engine_size=[2.0, np.nan], fuel=["petrol", "petrol"])
    full = table.filled({"engine_size": np.array([9.0, 3.0])}, {"colour": ["red", ""]})
    assert full.numbers["engine_size"].tolist() == [2.0, 3.0]
    assert full.factors["engine_size level"].text() == ["2.0", "3.0"]
    assert full.factors["specification"].text() == ["2.0 petrol", "3.0 petrol"]
    assert full.factors["colour"].text() == ["red", ""]
    assert np.isnan(table.numbers["engine_size"][1])


def test_what_each_row_states(by_hand: Make) -> None:
    table = by_hand(
        2, engine_size=[2.0, np.nan], fuel=[None, "petrol"], documents=[("bills",), None]
    )
    found = table.stated(("engine_size", "fuel", "documents", "colour", "sale"))
    assert found.tolist() == [
        [True, False, True, False, True],  # what is no attribute of the contract counts as stated
        [False, True, False, False, True],
    ]
    # Stated and empty: that there is none is known.
    assert by_hand(1, documents=[()]).stated(("documents",)).tolist() == [[True]]


# What buyers believe


def test_a_reading_that_nobody_believes_counts_for_nothing(by_hand: Make) -> None:
    status = [None, "actual", "unknown", "exempt", "unknown"]
    table = by_hand(5, mileage=[900.0, 900.0, 900.0, 80_000.0, np.nan], mileage_status=status)
    typical = next(a.typical for a in ATTRIBUTES if a.name == "mileage")
    np.testing.assert_array_equal(
        table.numbers["mileage"], [900.0, 900.0, typical, typical, np.nan]
    )


def test_statements_that_no_attribute_expresses_are_kept(by_hand: Make) -> None:
    table = by_hand(3, statements=[("faults: rust", "not faults: leak"), (), None])
    bag = table.bags["statements"]
    assert bag.levels == ("faults: rust", "not faults: leak")
    np.testing.assert_array_equal(bag.stated, [True, True, False])
    said = (Statement("faults", "rust", "claimed"), Statement("title", "lien", "claimed"))
    car = Car({"year": 1966.0, "title_status": "lien"}, said=said)
    words: dict[str, Any] = {n: [()] for n in ("wording", "engine wording", "gearbox wording")}
    assert table_of_cars([car], 0.0, words).bags["statements"].levels == ("faults: rust",)

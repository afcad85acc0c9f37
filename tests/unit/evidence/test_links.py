"""Which records tell of one event: worked by hand, and never by the order of rows."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.evidence.links import chassis_codes, join_offers, repeat_sales
from valuation.importing.faults import FaultList
from valuation.importing.repeats import find_reoffers
from valuation.records import empty_table

DAY = date(2024, 5, 4)

FEW = settings(max_examples=40, deadline=None)
"""Each example makes tables, which takes its time on a busy machine."""


def table_of(*sales: dict[str, Any]) -> pd.DataFrame:
    """Return a table of sales that differ from one another as told."""
    table = empty_table(len(sales))
    usual = {
        "make": "Torvane",
        "model": "GT",
        "year": 1968.0,
        "price": 41_000.0,
        "sale_date": DAY,
        "venue": "Harbour Rooms",
        "batch": "a",
    }
    names = [n for n in dict.fromkeys(n for s in (usual, *sales) for n in s) if n != "row"]
    for name in names:
        values = [(usual | s).get(name) for s in sales]
        if name == "sale_date":
            table[name] = np.array(values, dtype="datetime64[s]")
        elif name in table:
            table[name] = pd.Series(values, dtype=table[name].dtype)
        else:
            table[name] = pd.Series(values, dtype=object)
    rows = [s.get("row", i + 2) for i, s in enumerate(sales)]
    table["row"] = rows
    table["sale_key"] = pd.Series(
        [f"{b}:{r}" for b, r in zip(table["batch"], rows, strict=True)], dtype=object
    )
    return table


def joined(table: pd.DataFrame) -> set[tuple[str, str, str]]:
    """Return who is joined with whom, and why, by keys."""
    found = join_offers(table)
    keys = table["sale_key"].tolist()
    pairs = zip(found.row.tolist(), found.by.tolist(), found.code.tolist(), strict=True)
    return {(keys[row], keys[by], code) for row, by, code in pairs}


def later(days: int) -> date:
    return DAY + timedelta(days)


class TestChassis:
    def test_the_record_that_states_most_stands_for_the_sale(self) -> None:
        table = table_of(
            {"chassis": "TR4-1180-K"},
            {"chassis": "tr4 1180 k", "batch": "b", "mileage": 61_200.0, "row": 9},
        )
        assert joined(table) == {("a:2", "b:9", "same sale")}

    def test_of_equals_the_first_key_does(self) -> None:
        table = table_of(
            *({"chassis": "TR4-1180-K", "batch": b, "row": 2} for b in ("b", "c", "a"))
        )
        assert joined(table) == {("b:2", "a:2", "same sale"), ("c:2", "a:2", "same sale")}

    def test_the_last_of_several_offers_counts(self) -> None:
        table = table_of(
            {"chassis": "TR4-1180-K", "price": 38_000.0},
            {"chassis": "TR4-1180-K", "sale_date": later(40), "batch": "b"},
            {"chassis": "TR4-1180-K", "sale_date": later(100), "batch": "c"},
            {"chassis": "TR4-1180-K", "sale_date": later(161), "batch": "d"},
        )
        assert joined(table) == {("a:2", "c:4", "re-offer"), ("b:3", "c:4", "re-offer")}

    def test_another_price_on_the_same_day_is_another_offer(self) -> None:
        table = table_of(
            {"chassis": "TR4-1180-K", "price": 38_000.0},
            {"chassis": "TR4-1180-K", "price": 41_800.0, "batch": "b", "colour": "red"},
        )
        assert joined(table) == {("a:2", "b:3", "re-offer")}

    def test_short_numbers_are_of_one_make_and_long_ones_of_all(self) -> None:
        table = table_of(
            {"chassis": "1180-K"},
            {"chassis": "1180-K", "make": "Ystrix", "batch": "b"},
            {"chassis": "WX0ZZZ93ZHS009172", "row": 7},
            {"chassis": "WX0ZZZ93ZHS009172", "make": "Ystrix", "batch": "b", "row": 8},
            {"chassis": "00000", "row": 9, "mileage": 1.0},
        )
        codes = chassis_codes(table)
        assert codes[0] != codes[1]
        assert codes[2] == codes[3]
        assert codes[4] == -1
        assert joined(table) == {("b:8", "a:7", "same sale")}

    def test_offers_without_a_day_are_one_while_the_price_holds(self) -> None:
        table = table_of(
            {"chassis": "TR4-1180-K", "sale_date": None},
            {"chassis": "TR4-1180-K", "sale_date": None, "batch": "b"},
            {"chassis": "TR4-1180-K", "sale_date": None, "batch": "b", "price": 39_000.0},
        )
        assert joined(table) == {("b:3", "a:2", "same sale")}

    @FEW
    @given(
        st.lists(
            st.tuples(st.sampled_from(["TR4-1180-K", "TR4-2291-K", ""]), st.integers(0, 300)),
            max_size=12,
        )
    )
    def test_within_one_file_it_is_what_reading_it_does(self, cars: list[tuple[str, int]]) -> None:
        # On one day reading keeps the later row, which no order of files can tell.
        once = list(dict.fromkeys(cars))
        table = table_of(*({"chassis": c, "sale_date": later(d), "mileage": 0.0} for c, d in once))
        if not len(table):
            return
        faults = FaultList()
        find_reoffers(table, faults)
        assert set(join_offers(table).row.tolist()) == set(faults.by_row)


class TestWithoutChassis:
    def test_agreement_in_everything_is_one_sale(self) -> None:
        table = table_of(
            {},
            {"batch": "b", "venue": "HARBOUR ROOMS", "make": "torvane", "colour": "red"},
        )
        assert joined(table) == {("a:2", "b:3", "same sale")}

    @pytest.mark.parametrize(
        "other",
        [
            {"make": "Ystrix"},
            {"model": "Quill"},
            {"year": 1969.0},
            {"sale_date": later(1)},
            {"price": 41_001.0},
            {"venue": "Plumbline Lots"},
            {"mileage": 61_200.0},
        ],
    )
    def test_any_difference_makes_two(self, other: dict[str, Any]) -> None:
        assert joined(table_of({}, {"batch": "b", **other})) == set()

    def test_one_file_tells_of_as_many_sales_as_it_has_rows(self) -> None:
        assert joined(table_of({}, {}, {})) == set()

    def test_the_second_of_one_file_is_the_second_of_another(self) -> None:
        table = table_of({}, {}, {"batch": "b"}, {"batch": "b"}, {"batch": "b"})
        assert joined(table) == {("b:4", "a:2", "same sale"), ("b:5", "a:3", "same sale")}

    def test_a_record_with_a_number_stands_for_one_without(self) -> None:
        table = table_of({"chassis": "TR4-1180-K"}, {"batch": "b", "colour": "red"})
        assert joined(table) == {("b:3", "a:2", "same sale")}

    def test_unless_its_own_file_has_that_chassis_too(self) -> None:
        table = table_of(
            {"chassis": "TR4-1180-K"},
            {"batch": "b", "chassis": "TR4-1180-K"},
            {"batch": "b"},
        )
        assert joined(table) == {("b:3", "a:2", "same sale")}

    def test_two_numbers_are_two_cars_whatever_agrees(self) -> None:
        table = table_of({"chassis": "TR4-1180-K"}, {"chassis": "TR4-2291-K", "batch": "b"})
        assert joined(table) == set()

    def test_each_with_a_number_stands_for_one_without(self) -> None:
        table = table_of(
            {"chassis": "TR4-1180-K"},
            {"chassis": "TR4-2291-K"},
            {"batch": "b"},
            {"batch": "b"},
            {"batch": "b"},
            {"batch": "c"},
            {"batch": "c"},
            {"batch": "c"},
        )
        assert joined(table) == {
            ("b:4", "a:2", "same sale"),
            ("b:5", "a:3", "same sale"),
            ("c:7", "a:2", "same sale"),
            ("c:8", "a:3", "same sale"),
            ("c:9", "b:6", "same sale"),
        }


SALE = st.fixed_dictionaries(
    {
        "batch": st.sampled_from("abc"),
        "chassis": st.sampled_from(["TR4-1180-K", "TR4-2291-K", None]),
        "sale_date": st.sampled_from([DAY, later(30), later(200), None]),
        "price": st.sampled_from([30_000.0, 41_000.0]),
        "mileage": st.sampled_from([float("nan"), 61_200.0]),
        "colour": st.sampled_from([None, "red"]),
    }
)


@FEW
@given(st.lists(SALE, max_size=14), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(sales: list[dict[str, Any]], luck: Any) -> None:
    table = table_of(*({**s, "row": i + 2} for i, s in enumerate(sales)))
    order = list(range(len(table)))
    luck.shuffle(order)
    assert joined(table.iloc[order].reset_index(drop=True)) == joined(table)


@FEW
@given(st.lists(SALE, max_size=14))
def test_each_record_is_joined_once_and_a_chassis_that_stays_no_more(
    sales: list[dict[str, Any]],
) -> None:
    table = table_of(*({**s, "row": i + 2} for i, s in enumerate(sales)))
    found = join_offers(table)
    assert len(set(found.row.tolist())) == len(found.row)
    assert not set(found.row.tolist()) & set(found.by[found.code == "re-offer"].tolist())
    left = table.drop(index=found.row.tolist())
    numbered = left[left["chassis"].notna()].reset_index(drop=True)
    assert joined(numbered) == set()


def test_nothing_is_joined_in_nothing() -> None:
    assert joined(table_of()) == set()


def test_a_chassis_that_was_sold_again() -> None:
    table = table_of(
        {"chassis": "TR4-1180-K", "price": 40_000.0, "sale_date": later(400)},
        {"chassis": "TR4-1180-K", "price": 50_000.0},
        {"chassis": "TR4-2291-K"},
        {"chassis": "TR4-1180-K", "price": 60_000.0, "sale_date": later(900)},
        {"chassis": "TR4-1180-K", "sale_date": None},
        {},
    )
    pairs = repeat_sales(table)
    assert pairs[["first", "second", "days"]].to_numpy().tolist() == [[1, 0, 400], [0, 3, 500]]
    assert pairs["ratio"].tolist() == [0.8, 1.5]
    assert pairs["chassis"].tolist() == ["TR4-1180-K", "TR4-1180-K"]
    assert len(repeat_sales(table_of())) == 0

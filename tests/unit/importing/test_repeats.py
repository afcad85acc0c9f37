from __future__ import annotations

import pandas as pd
import pytest

from valuation.importing.faults import FaultList
from valuation.importing.raw import make_table
from valuation.importing.recognise import recognise
from valuation.importing.repeats import (
    chassis_key,
    find_duplicates,
    find_reoffers,
    row_signature,
)
from valuation.records import empty_table


@pytest.mark.parametrize(
    ("chassis", "make", "key"),
    [
        ("TR4-1180-K", "Torvane", "torvane:tr41180k"),
        ("tr4 1180 k", "TORVANE", "torvane:tr41180k"),
        ("AB1CD23E4FG567891", "Kora", "ab1cd23e4fg567891"),
        ("AB1CD23E4FG567891", None, "ab1cd23e4fg567891"),
        ("0000", "Kora", ""),
        ("unknown", "Kora", ""),
        ("12", "Kora", ""),
        (None, "Kora", ""),
    ],
)
def test_chassis_keys(chassis: str | None, make: str | None, key: str) -> None:
    assert chassis_key(chassis, make) == key


def _table(days: list[str | None], chassis: list[str | None]) -> pd.DataFrame:
    n = len(days)
    table = empty_table(n)
    table["sale_date"] = pd.Series(days, dtype="datetime64[s]")
    table["chassis"] = pd.Series(chassis, dtype=object)
    table["make"] = pd.Series(["Kora"] * n, dtype=object)
    table["file"] = "f.csv"
    table["row"] = range(2, n + 2)
    return table


def test_the_last_of_several_offers_within_weeks_counts() -> None:
    faults = FaultList()
    days = ["2024-01-01", "2024-02-15", "2024-04-01", "2024-07-01"]
    find_reoffers(_table(list(days), ["A-1204"] * 4), faults)
    # 45 and 46 days apart are one event; the fourth, 91 days later, is another.
    assert sorted(faults.by_row) == [0, 1]
    assert faults.by_row[0][0].got == "offered again within 60 days, row 4 of f.csv"
    assert faults.by_row[0][0].code == "re-offer"


def test_sixty_days_are_within_and_sixty_one_are_not() -> None:
    for last, expected in (("2024-03-01", [0]), ("2024-03-02", [])):
        faults = FaultList()
        find_reoffers(_table(["2024-01-01", last], ["A-1204"] * 2), faults)
        assert sorted(faults.by_row) == expected


def test_rows_with_faults_without_dates_or_chassis_are_passed_over() -> None:
    faults = FaultList()
    faults.add(2, "no price")
    table = _table(
        ["2024-01-01", None, "2024-01-03", "2024-01-04", "2024-01-05"],
        ["A-1204", "A-1204", "A-1204", None, "B-1204"],
    )
    find_reoffers(table, faults)
    assert sorted(faults.by_row) == [2]


def test_the_same_row_twice_whatever_its_number() -> None:
    header = ["", "Lot", "Make", "Price", "Year"]
    rows = [
        ["1", "11", "Kora", "20000", "1967"],
        ["2", "12", "Kora", "21000", "1967"],
        ["3", "13", "Kora", "20000", "1967"],
        ["4", "14", "Kora", "20000", "1967"],
    ]
    raw = make_table("f.csv", [header, *rows])
    faults = FaultList()
    where = [("f.csv", r) for r in raw.rows]
    find_duplicates(row_signature(raw, recognise(raw)), faults, where)
    assert sorted(faults.by_row) == [2, 3]
    assert faults.by_row[3][0].got == "the same as row 2 of f.csv"


def test_prices_that_rise_from_row_to_row_are_no_running_number() -> None:
    rows = [["Kora", "1967", "20000"], ["Kora", "1967", "21000"], ["Kora", "1967", "22000"]]
    raw = make_table("f.csv", [["Make", "Year", "Price"], *rows])
    faults = FaultList()
    find_duplicates(row_signature(raw, recognise(raw)), faults, [("f.csv", r) for r in raw.rows])
    assert not faults.by_row


def test_subtotals_are_no_duplicates() -> None:
    faults = FaultList()
    faults.no_sale(0, "subtotal row", "")
    faults.no_sale(1, "subtotal row", "")
    find_duplicates(["a", "a"], faults, [("f", 2), ("f", 3)])
    assert [f.code for f in faults.by_row[1]] == ["subtotal row"]

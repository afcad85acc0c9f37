from __future__ import annotations

import pytest

from valuation.importing.raw import find_header, make_table

ROWS = [["Kora", "1967", "20000"], ["Torvane", "1968", "21000"]]
HEADER = ["Make", "Year", "Price"]


def test_rows_are_counted_as_a_spreadsheet_does() -> None:
    table = make_table("f.csv", [HEADER, *ROWS])
    assert table.rows == (2, 3)
    assert list(table.cells.columns) == HEADER
    assert table.notes == ()


def test_the_header_need_not_be_the_first_row() -> None:
    records = [["Sales of the season", "", ""], [], HEADER, *ROWS]
    table = make_table("f.csv", records)
    assert find_header(records) == (2, 2)
    assert table.rows == (4, 5)
    assert table.notes == ("f.csv: the header is row 3, rows above it that are not data: 2.",)


def test_two_header_rows_are_joined() -> None:
    records = [
        ["", "Car", "", "Sale", ""],
        ["Lot", "Make", "Year", "Date", "Price"],
        ["1", "Kora", "1967", "2024-01-02", "20000"],
        ["2", "Kora", "1968", "2024-01-03", "21000"],
    ]
    table = make_table("f.csv", records)
    assert list(table.cells.columns) == ["Lot", "Car Make", "Car Year", "Sale Date", "Sale Price"]
    assert table.rows == (3, 4)
    assert table.notes == ("f.csv: the header is rows 1 and 2.",)


def test_blank_rows_and_trailing_blank_columns_are_no_data() -> None:
    table = make_table("f.csv", [[*HEADER, "", ""], ROWS[0], ["", "", ""], [*ROWS[1], "", ""], []])
    assert table.rows == (2, 4)
    assert list(table.cells.columns) == HEADER
    assert table.notes == ("f.csv: blank rows that are not data: 2.",)


def test_short_rows_are_filled_and_long_ones_noted() -> None:
    table = make_table("f.csv", [HEADER, ["Kora"], [*ROWS[1], "250"], *ROWS])
    assert table.cells.iloc[0].tolist() == ["Kora", "", ""]
    assert dict(table.faults) == {1: ("too many cells", "250")}


def test_columns_beyond_the_header_are_kept_where_most_rows_have_them() -> None:
    table = make_table("f.csv", [HEADER, *[[*r, "red"] for r in ROWS * 3]])
    assert list(table.cells.columns) == [*HEADER, "column 4"]
    assert not table.faults


@pytest.mark.parametrize(
    "row",
    [
        ["Total", "", "41000"],
        ["Subtotal January", "", "41000"],
        ["Summe:", "", ""],
        ["", "", "Total"],
        ["Kora Total", "", "41000"],
        ["Zwischensumme", "2", "41000"],
    ],
)
def test_subtotal_rows(row: list[str]) -> None:
    table = make_table("f.csv", [HEADER, *ROWS, row])
    assert table.faults[2][0] == "subtotal row"


@pytest.mark.parametrize("row", [["Suma Motor", "1967", "20000"], ["Kora", "1967", ""]])
def test_sales_that_are_no_subtotals(row: list[str]) -> None:
    assert not make_table("f.csv", [HEADER, *ROWS, row]).faults


def test_a_header_that_comes_again_is_no_sale() -> None:
    table = make_table("f.csv", [HEADER, ROWS[0], HEADER, ROWS[1]])
    assert dict(table.faults) == {1: ("repeated header", "Make")}


def test_names_that_occur_twice_are_numbered() -> None:
    table = make_table("f.csv", [["Make", "Price", "Price", ""], ["Kora", "1", "2", ""]])
    assert list(table.cells.columns) == ["Make", "Price", "Price (2)"]
    assert table.notes == ("f.csv: column names that occur twice were numbered: Price.",)


def test_nothing_at_all() -> None:
    assert make_table("f.csv", []).cells.empty
    assert find_header([]) == (0, 0)

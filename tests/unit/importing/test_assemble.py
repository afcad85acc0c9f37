"""What stands in the columns of a file becomes values: merged, completed, translated, dropped."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from valuation.importing.sales import propose_map, read_sales
from valuation.importing.source_map import ColumnUse, SourceMap

Writer = Callable[..., Path]
HEADER = ("Lot", "Date", "Make", "Model", "Year", "Price", "Mileage")


def rows(n: int = 24) -> list[list[object]]:
    return [
        [
            101 + i,
            f"2024-{1 + i // 6:02d}-{1 + 4 * (i % 6):02d}",
            ("Kora", "Torvane")[i % 2],
            ("GT", "Zephyr")[i % 2],
            1962 + i % 11,
            f"€ {20_000 + 310 * i}",
            41_000 + 1_013 * i,
        ]
        for i in range(n)
    ]


def more(*columns: list[object]) -> list[list[object]]:
    """Return the rows with further columns, their entries repeated."""
    return [[*r, *(c[i % len(c)] for c in columns)] for i, r in enumerate(rows())]


def test_words_of_engine_and_gearbox_are_kept(write_csv: Writer) -> None:
    sample = [[*r, "Rebuilt 2.6-Litre V6", "4-Speed Manual, close ratio"] for r in rows()]
    row = read_sales(write_csv((*HEADER, "Engine", "Gearbox"), sample)).table.iloc[0]
    assert (row["engine_size"], row["engine_layout"]) == (2.6, "V6")
    assert (row["transmission"], row["gears"]) == ("manual", 4.0)
    assert row["engine_text"] == "Rebuilt 2.6-Litre V6"
    assert row["transmission_text"] == "4-Speed Manual, close ratio"


def test_titles_fill_what_columns_do_not_state(write_csv: Writer) -> None:
    header = ("Date", "Title", "Price")
    sample = [
        [r[1], f"{r[4]} {r[2]} {r[3]} Coupe {3 + i % 3}-Speed", r[5]] for i, r in enumerate(rows())
    ]
    book = read_sales(write_csv(header, sample))
    row = book.table.iloc[1]
    assert (row["year"], row["make"], row["model"]) == (1963.0, "Torvane", "Zephyr")
    assert (row["body"], row["gears"]) == ("coupe", 4.0)
    assert "sales.csv: filled from titles: year of 24, make of 24, model of 24" in book.notes[-1]


def test_counters_at_the_end_of_titles_are_taken_off(write_csv: Writer) -> None:
    header = ("Date", "Title", "Make", "Price")
    sample = [[r[1], f"{r[4]} Kora GT", "Kora", r[5]] for r in rows()]
    sample[3][1] += " 8"
    book = read_sales(write_csv(header, sample))
    assert book.table["title"].iloc[3] == "1965 Kora GT"
    assert "sales.csv: running numbers taken off the ends of titles: 1." in book.notes


def test_a_list_that_names_no_make(write_csv: Writer) -> None:
    header = ("Date", "Model", "Year", "Price")
    path = write_csv(header, [[r[1], r[3], r[4], r[5]] for r in rows()])
    assert set(read_sales(path).table["make"]) == {"unnamed make"}
    named = read_sales(path, source_map=SourceMap(fixed={"make": "Kora"}))
    assert set(named.table["make"]) == {"Kora"}


def test_contract_columns_with_sets(write_csv: Writer) -> None:
    header = ("sale_date", "make", "year", "price", "currency", "documents", "steering_side")
    sample = [
        [r[1], r[2], r[4], str(r[5])[2:], "EUR", d, "left"]
        for r, d in zip(rows(), ["bills; build record", "none", ""] * 8, strict=True)
    ]
    table = read_sales(write_csv(header, sample)).table
    assert table["documents"].iloc[:3].tolist() == [("bills", "build record"), (), None]
    assert set(table["steering_side"]) == {"left"}


def test_spellings_of_one_make_are_joined(write_csv: Writer) -> None:
    sample = rows()
    sample[0][2], sample[2][2] = "KORA", " kora "
    assert set(read_sales(write_csv(HEADER, sample)).table["make"]) == {"Kora", "Torvane"}


def test_placeholders_and_impossible_values_are_dropped_and_counted(write_csv: Writer) -> None:
    sample = [[*r, "2.6"] for r in rows()]
    sample[0][6], sample[1][6], sample[2][7] = 0, 999_999, "0"
    book = read_sales(write_csv((*HEADER, "Engine size"), sample))
    assert book.table["mileage"].isna().tolist()[:3] == [True, True, False]
    assert book.table["engine_size"].isna().tolist()[:3] == [False, False, True]
    assert '"Mileage": placeholders, taken as not stated: 2 (such as 0, 999999).' in book.notes


def test_condition_scales_are_turned_by_the_prices(write_csv: Writer) -> None:
    best_first = [[*r, 1 + (23 - i) // 6] for i, r in enumerate(rows())]
    path = write_csv((*HEADER, "Grade"), best_first)
    table = read_sales(path).table
    assert table["condition_grade"].iloc[[0, -1]].tolist() == [25.0, 100.0]
    assert (
        '"Grade": a scale 1 to 5 on which 1 is best, as prices show; translated to 0 to 100.'
        in read_sales(path).notes
    )
    proposed = propose_map(path)
    use = proposed.use("condition_grade")
    assert use is not None
    assert (use.worst, use.best) == (5.0, 1.0)
    again = read_sales(
        path, source_map=SourceMap((ColumnUse("condition_grade", ("Grade",), worst=5.0, best=1.0),))
    )
    assert again.table["condition_grade"].tolist() == table["condition_grade"].tolist()


def test_titles_that_name_another_year_are_counted(write_csv: Writer) -> None:
    header = ("Date", "Title", "Make", "Year", "Price")
    sample = [[r[1], f"{r[4]} Kora GT", "Kora", r[4], r[5]] for r in rows()]
    sample[2][3] = 1999
    book = read_sales(write_csv(header, sample))
    assert book.table["year"].iloc[2] == 1999.0
    assert (
        "sales.csv: titles that name another year than the column, which counts: 1." in book.notes
    )


def test_two_columns_complete_each_other_row_by_row(write_csv: Writer) -> None:
    header = ("make", "year", "price", "mileage", "mileage2", "fuel type", "fuel type2")
    sample = [
        ["Kora", 1967, "£8,000", "", "38,852", "Petrol", ""],
        ["Kora", 1968, "£8,100", "13,255", "57.7", "n/a", "Diesel"],
        ["Kora", 1969, "£8,200", "", "", "", "Petrol"],
        ["Kora", 1970, "£8,300", "25", "61,000", "14", "Diesel"],
    ]
    table = read_sales(write_csv(header, sample * 1)).table
    assert table["mileage"].fillna(-1).tolist() == [38_852.0, 13_255.0, -1.0, 61_000.0]
    assert table["fuel"].tolist() == ["petrol", "diesel", "petrol", "diesel"]


def test_a_doubled_price_is_completed_by_the_next(write_csv: Writer) -> None:
    sample = [
        ["Kora", 1967, "£8,000", ""],
        ["Kora", 1968, "0", "£9,000"],
        ["Kora", 1969, "", "£7,000"],
    ]
    table = read_sales(write_csv(("make", "year", "price", "price"), sample)).table
    assert table["price"].tolist() == [8_000.0, 9_000.0, 7_000.0]


def test_units_are_brought_to_those_of_the_contract(write_csv: Writer) -> None:
    header = (*HEADER[:6], "Laufleistung", "Leistung kW", "Hubraum ccm")
    sample = [[*r[:6], 48_280, 100, 2600] for r in rows()]
    row = read_sales(write_csv(header, sample)).table.iloc[0]
    assert row["mileage"] == pytest.approx(30_000, abs=1)
    assert row["power"] == pytest.approx(134.1, abs=0.01)
    assert row["engine_size"] == 2.6


def test_the_unit_in_a_cell_goes_before_that_of_the_column(write_csv: Writer) -> None:
    sample = rows()
    sample[0][6] = "48,280 km"
    table = read_sales(write_csv(HEADER, sample)).table
    assert table["mileage"].iloc[0] == pytest.approx(30_000, abs=1)
    assert table["mileage"].iloc[1] == 42_013.0


def test_figures_of_newer_cars(write_csv: Writer) -> None:
    header = (*HEADER, "tax", "mpg", "fuel", "power")
    row = read_sales(
        write_csv(header, more(["£145"], ["16 City / 24 Highway"], ["Hybrid"], ["90 kW"]))
    ).table.iloc[0]
    assert (row["annual_tax"], row["fuel_economy"], row["fuel"]) == (145.0, 20.0, "hybrid")
    assert row["power"] == pytest.approx(120.69, abs=0.01)


def test_figures_outside_the_contract_are_dropped_and_counted(write_csv: Writer) -> None:
    book = read_sales(write_csv((*HEADER, "mpg"), more(["32", "2", "900"])))
    assert book.table["fuel_economy"].notna().sum() == 8
    assert (
        '"mpg": entries outside 3 to 500 miles per gallon, taken as not stated: 16.' in book.notes
    )


def test_words_outside_a_closed_vocabulary_are_said(write_csv: Writer) -> None:
    book = read_sales(
        write_csv(
            (*HEADER, "steering_side", "documents"),
            more(["left", "both"], ["bills", "poem", "none"]),
        )
    )
    assert set(book.table["steering_side"]) == {"left", None}
    assert book.table["documents"].iloc[:3].tolist() == [("bills",), None, ()]
    assert (
        '"steering_side": words outside the vocabulary, taken as not stated: 12 (such as both).'
        in book.notes
    )


def test_mileage_words_become_its_status(write_csv: Writer) -> None:
    sample = rows()
    sample[0][6], sample[1][6] = "TMU", "00012 (exempt)"
    table = read_sales(write_csv(HEADER, sample)).table
    assert table["mileage"].isna().tolist()[:3] == [True, True, False]
    assert table["mileage_status"].tolist()[:3] == ["unknown", "exempt", None]


def test_condition_bands_in_plain_words(write_csv: Writer) -> None:
    book = read_sales(write_csv((*HEADER, "Condition"), more(["driver", "show", "project", "12"])))
    assert book.table["condition_grade"].iloc[:4].tolist() == [55.0, 92.0, 10.0, 12.0]


def test_a_scale_without_a_word_from_the_prices(write_csv: Writer) -> None:
    sample = more([1, 5])
    for i, r in enumerate(sample):
        r[5] = f"€ {20_000 + 310 * (i // 4)}"
        r[2:4] = ["Kora", "GT"]
    book = read_sales(write_csv((*HEADER, "Grade"), sample))
    assert (
        '"Grade": a scale 1 to 5 on which 5 is best, which prices neither show nor deny; '
        "translated to 0 to 100." in book.notes
    )


def test_colours_keep_their_own_words_beside_the_family(write_csv: Writer) -> None:
    table = read_sales(
        write_csv((*HEADER, "Colour"), more(["Midnight Blue", "Chalk", "n/a"]))
    ).table
    assert table["colour"].iloc[:3].tolist() == ["blue", "chalk", None]
    assert table["colour_text"].iloc[:3].tolist() == ["Midnight Blue", "Chalk", None]


def test_a_title_that_names_no_known_make(write_csv: Writer) -> None:
    header = ("Date", "Title", "Make", "Price")
    sample = [[r[1], f"{r[4]} Kora GT", "Kora", r[5]] for r in rows()]
    sample[0][1:3] = ["1961 ombrecq special", ""]
    book = read_sales(write_csv(header, sample))
    assert book.table["make"].iloc[0] == "Ombrecq"
    assert (
        "sales.csv: rows without a known make, for which the first word of the title stands: 1."
        in book.notes
    )


def test_a_distance_in_a_title_does_not_complete_an_odometer_said_to_be_unknown(
    write_csv: Writer,
) -> None:
    header = ("Date", "Title", "Make", "Price", "Mileage")
    sample = [[r[1], f"15,000-km {r[4]} Kora GT", "Kora", r[5], ""] for r in rows()]
    sample[0][4], sample[1][4] = "TMU", "52,000"
    mileage = read_sales(write_csv(header, sample)).table["mileage"]
    assert np.isnan(mileage.iloc[0])
    assert mileage.iloc[1] == 52_000.0
    assert mileage.iloc[2] == pytest.approx(9_320.6, abs=0.1)


def test_what_the_map_fixes_does_not_overwrite_what_a_row_states(write_csv: Writer) -> None:
    sample = more(["Harbour Rooms", ""])
    source = SourceMap(fixed={"venue": "Plumbline Lots"})
    table = read_sales(write_csv((*HEADER, "Venue"), sample), source_map=source).table
    assert table["venue"].iloc[:2].tolist() == ["Harbour Rooms", "Plumbline Lots"]


def test_a_year_that_only_the_title_tells(write_csv: Writer) -> None:
    header = ("Date", "Title", "Make", "Year", "Price")
    sample = [[r[1], f"{r[4]} Kora GT", "Kora", r[4], r[5]] for r in rows()]
    sample[0][3] = "early"
    book = read_sales(write_csv(header, sample))
    assert (len(book), book.table["year"].iloc[0]) == (24, 1962.0)


def test_a_date_that_hardly_any_row_has_makes_no_dated_list(write_csv: Writer) -> None:
    sample = rows()
    for r in sample[2:]:
        r[1] = ""
    book = read_sales(write_csv(HEADER, sample))
    assert (len(book), book.dated) == (24, False)
    assert 'sales.csv: "Date" is left out: only 8% of rows have a date.' in book.notes


def test_a_sale_without_a_number_is_named_by_file_and_row(write_csv: Writer) -> None:
    book = read_sales(write_csv(HEADER[1:], [r[1:] for r in rows()]))
    assert book.table["sale_id"].iloc[0] == "sales.csv, row 2"


def test_condition_words_of_the_map(write_csv: Writer) -> None:
    path = write_csv((*HEADER, "Condition"), more(["good", "fair", "3"]))
    assert read_sales(path).table["condition_grade"].notna().sum() == 0
    source = SourceMap(words={"condition_grade": {"good": "70", "fair": "45"}})
    book = read_sales(path, source_map=source)
    # Words have the figures of the map; a bare figure is translated from its scale.
    assert book.table["condition_grade"].iloc[:3].tolist() == [70.0, 45.0, 50.0]

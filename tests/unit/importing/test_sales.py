from __future__ import annotations

import csv
import io
import tempfile
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.errors import MapError, SaleFileError
from valuation.importing.rates import read_rates
from valuation.importing.sales import NO_CURRENCY, read_sales
from valuation.importing.source_map import ColumnUse, SourceMap
from valuation.premium import PremiumSlice
from valuation.records import SalesBook, empty_table

Writer = Callable[..., Path]
HEADER = ("Lot", "Date", "Make", "Model", "Year", "Price", "Mileage")


def codes(book: SalesBook) -> dict[int, list[str]]:
    return {s.row: [f.code for f in s.faults] for s in book.set_aside}


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


def test_a_clean_file(write_csv: Writer) -> None:
    book = read_sales(write_csv(HEADER, rows()))
    assert (len(book), book.rows, book.set_aside, book.currency, book.dated) == (
        24, 24, (), "EUR", True,
    )  # fmt: skip
    first = book.table.iloc[0]
    assert (first["make"], first["model"], first["year"]) == ("Kora", "GT", 1962.0)
    assert (first["price"], first["mileage"]) == (20_000.0, 41_000.0)
    assert (first["basis"], first["outcome"]) == ("unknown", "unknown")
    assert (first["file"], first["row"], first["sale_id"]) == ("sales.csv", 2, "101")
    assert first["sale_date"] == pd.Timestamp("2024-01-01")
    assert book.notes == ('"Mileage" states no unit and is read as miles.',)


def test_the_table_has_the_types_of_the_contract(write_csv: Writer) -> None:
    table = read_sales(write_csv(HEADER, rows())).table
    for name, column in empty_table(1).items():
        assert table[name].dtype == column.dtype, name
    assert table["title"].iloc[0] is None
    assert table["documents"].iloc[0] is None
    assert np.isnan(table["power"].iloc[0])
    for extra in ("engine_text", "transmission_text", "colour_text"):
        assert table[extra].dtype == object


def test_every_bad_row_is_set_aside_with_its_reasons_and_cells(write_csv: Writer) -> None:
    bad = [
        [1, "2024-05-01", "Kora", "GT", 1967, "", 50_001],
        [2, "2024-05-01", "Kora", "GT", 1967, "much", 50_002],
        [3, "2024-05-01", "Kora", "GT", 1967, "1", 50_003],
        [4, "soon", "Kora", "GT", "x", "-5", 50_004],
        [5, "", "", "", "", "€ 20,500", 50_005],
        [6, "2024-05-01", "Kora", "GT", 2060, "€ 20,500", 50_006],
        [7, "2024-05-01", "Kora", "GT", 1967, "€ 2,100,000", 50_007],
        ["Total", "", "", "", "", "€ 99,999", ""],
        [9, *rows()[3][1:]],
    ]
    book = read_sales(write_csv(HEADER, rows() + bad))
    assert codes(book) == {
        26: ["no price"],
        27: ["unreadable price"],
        28: ["token price"],
        29: ["unreadable date", "unreadable year", "price not above zero"],
        30: ["no date", "no year", "no make"],
        31: ["impossible year"],
        32: ["price out of scale"],
        33: ["subtotal row"],
        34: ["duplicate"],
    }
    assert book.rows == 33 == len(book) + len(book.set_aside)
    unreadable = next(s for s in book.set_aside if s.row == 27)
    assert unreadable.faults[0].column == "Price"
    assert unreadable.faults[0].got == "much"
    assert unreadable.faults[0].remedy == "Write one amount in figures"
    assert unreadable.cells["Lot"] == "2"
    assert list(unreadable.cells) == list(HEADER)


def test_a_list_without_dates_is_a_list_of_asking_prices(write_csv: Writer) -> None:
    book = read_sales(write_csv(HEADER[2:], [r[2:] for r in rows()]))
    assert not book.dated
    assert set(book.table["basis"]) == {"asking price"}
    assert set(book.table["outcome"]) == {"offered"}
    assert book.table["sale_date"].isna().all()
    assert (
        "sales.csv: no column of dates; read as a list of offers without dates (asking price)."
        in book.notes
    )


def test_unsold_lots_keep_their_highest_bid(write_csv: Writer) -> None:
    sample = rows()
    sample[0][5] = "bid to 18.5k"
    sample[1][5] = "not sold"
    book = read_sales(write_csv(HEADER, sample))
    assert book.table["outcome"].iloc[0] == "not sold"
    assert book.table["price"].iloc[0] == 18_500.0
    assert codes(book) == {3: ["no price"]}


def test_a_second_column_of_highest_bids(write_csv: Writer) -> None:
    sample = [[*r, ""] for r in rows()]
    sample[0][5:8] = ["", 41_000, "€ 18,500"]
    book = read_sales(write_csv((*HEADER, "High bid"), sample))
    assert (len(book), book.table["outcome"].iloc[0], book.table["price"].iloc[0]) == (
        24, "not sold", 18_500.0,
    )  # fmt: skip
    assert set(book.table["outcome"].iloc[1:]) == {"unknown"}


@pytest.mark.parametrize(
    ("name", "basis", "outcome"),
    [
        ("Hammer price", "hammer price", "unknown"),
        ("Price incl premium", "hammer price plus buyer's premium", "unknown"),
        ("Asking price", "asking price", "offered"),
        ("Price paid", "price paid", "unknown"),
        ("Price", "unknown", "unknown"),
    ],
)
def test_the_name_of_the_price_tells_its_basis(
    write_csv: Writer, name: str, basis: str, outcome: str
) -> None:
    header = [*HEADER[:5], name, HEADER[6]]
    table = read_sales(write_csv(header, rows())).table
    assert set(table["basis"]) == {basis}
    assert set(table["outcome"]) == {outcome}


def test_foreign_rows_without_and_with_rates(write_csv: Writer, tmp_path: Path) -> None:
    sample = rows()
    sample[0][5], sample[5][5] = "$ 22,000", "CHF 21'000"
    path = write_csv(HEADER, sample)
    book = read_sales(path)
    assert codes(book) == {2: ["no rate"], 7: ["no rate"]}
    assert book.set_aside[0].faults[0].got == "USD"
    (tmp_path / "rates.csv").write_text(
        "currency,date,rate\nUSD,2023-12-30,0.9137\nCHF,2023-01-01,1.05\n", encoding="utf-8"
    )
    book = read_sales(path, rates=read_rates(tmp_path / "rates.csv"))
    assert codes(book) == {7: ["rate too old"]}
    assert book.table["price"].iloc[0] == 20_101.4
    assert set(book.table["currency"]) == {"EUR"}
    assert "Amounts converted to EUR by the rate table: 1." in book.notes


def test_a_currency_nobody_states(write_csv: Writer) -> None:
    sample = [[*r[:5], str(r[5])[2:], r[6]] for r in rows()]
    path = write_csv(HEADER, sample)
    assert read_sales(path).currency == NO_CURRENCY
    assert "Give it in the map or when reading." in read_sales(path).notes[-1]
    book = read_sales(path, currency="gbp")
    assert (book.currency, len(book)) == ("GBP", 24)
    assert book.notes[-1] == "sales.csv: no currency is stated; taken as GBP."
    book = read_sales(path, source_map=SourceMap(fixed={"currency": "SEK"}))
    assert book.currency == "SEK"


def test_hammer_prices_are_raised_exactly(write_csv: Writer) -> None:
    tiers = (PremiumSlice(Decimal(15), Decimal(20_000)), PremiumSlice(Decimal(10)))
    source = SourceMap(fixed={"basis": "hammer price"}, premiums=tiers)
    book = read_sales(write_csv(HEADER, rows()), source_map=source)
    # 15 % of 20,000 and 10 % of the 310 beyond it.
    assert book.table["price"].iloc[:2].tolist() == [23_000.0, 23_341.0]
    assert set(book.table["basis"]) == {"hammer price plus buyer's premium"}
    unknown = read_sales(write_csv(HEADER, rows()), source_map=SourceMap(premiums=tiers))
    assert unknown.table["price"].iloc[0] == 20_000.0
    assert set(unknown.table["basis"]) == {"unknown"}


def test_what_the_map_says_of_words_and_of_every_row(write_csv: Writer) -> None:
    sample = [[*r, ("own box", "manual")[i % 2]] for i, r in enumerate(rows())]
    source = SourceMap(
        fixed={"outcome": "sold", "venue": "Harbour Rooms", "channel": "live auction"},
        words={"transmission": {"own box": "dual-clutch"}},
    )
    table = read_sales(write_csv((*HEADER, "Gearbox"), sample), source_map=source).table
    assert set(table["outcome"]) == {"sold"}
    assert set(table["venue"]) == {"Harbour Rooms"}
    assert table["transmission"].iloc[:2].tolist() == ["dual-clutch", "manual"]


def test_a_map_that_names_columns_the_file_does_not_have(write_csv: Writer) -> None:
    source = SourceMap((ColumnUse("price", ("Zuschlag",)),))
    with pytest.raises(MapError) as error:
        read_sales(write_csv(HEADER, rows()), source_map=source)
    assert str(error.value) == (
        "sales.csv: the map names columns that the file does not have: Zuschlag "
        "(got: Date, Lot, Make, Mileage, Model, Price, Year). Correct the names in the map."
    )


def test_files_that_cannot_be_sales(write_csv: Writer) -> None:
    with pytest.raises(SaleFileError) as error:
        read_sales(write_csv(["Make", "Year"], [["Kora", 1967]] * 3))
    assert str(error.value) == (
        "sales.csv: no column holds a price (got: Make, Year). "
        "Name the price column in a map, or choose a file with prices."
    )
    with pytest.raises(SaleFileError, match="no column and no title holds a year"):
        read_sales(write_csv(["Make", "Price"], [["Kora", 20_000]] * 3))
    with pytest.raises(SaleFileError, match="no file was named"):
        read_sales([])


def test_several_files_make_one_book(write_csv: Writer) -> None:
    one = write_csv(HEADER, rows(12), "one.csv")
    two = write_csv(HEADER, rows(24), "two.csv")
    book = read_sales([one, two])
    assert (book.rows, len(book)) == (36, 24)
    assert Counter(c for s in codes(book).values() for c in s) == {"duplicate": 12}
    assert {s.file for s in book.set_aside} == {"two.csv"}
    assert book.set_aside[0].faults[0].got == "the same as row 2 of one.csv"


def test_a_list_without_dates_beside_dated_sales_is_set_aside(write_csv: Writer) -> None:
    dated = write_csv(HEADER, rows(12), "dated.csv")
    offers = write_csv(HEADER[2:], [r[2:] for r in rows(24)[12:]], "offers.csv")
    book = read_sales([dated, offers])
    assert (len(book), book.dated) == (12, True)
    assert all(c == ["no date"] for c in codes(book).values())


def test_ambiguous_dates_are_set_aside_until_the_map_says_the_order(write_csv: Writer) -> None:
    sample = [[r[0], f"0{1 + i % 9}/0{1 + i // 3}/2024", *r[2:]] for i, r in enumerate(rows(24))]
    path = write_csv(HEADER, sample)
    book = read_sales(path)
    assert {c for s in codes(book).values() for c in s} == {"ambiguous date"}
    assert book.set_aside[0].faults[0].remedy == (
        'Say in the map whether dates are "day first" or "month first"'
    )
    source = SourceMap((ColumnUse("sale_date", ("Date",), order="day first"),))
    assert read_sales(path, source_map=source).set_aside == ()


def test_reoffers_across_the_months(write_csv: Writer) -> None:
    sample = [[*r, f"KO-{4000 + i}"] for i, r in enumerate(rows())]
    sample[6][-1] = sample[0][-1]
    sample[20][-1] = sample[0][-1]
    book = read_sales(write_csv((*HEADER, "Chassis"), sample))
    assert codes(book) == {2: ["re-offer"]}


def test_a_workbook_with_all_its_furniture(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Results of the spring sales"])
    sheet.append([])
    sheet.append(["", "Car", "", "", "Sale", ""])
    sheet.append(["Lot", "Make", "Model", "Year", "Date", "Price", ""])
    for i, r in enumerate(rows(), start=1):
        sheet.append([r[0], r[2], r[3], r[4], r[1], int(str(r[5])[2:])])
        if i % 8 == 0:
            sheet.append(["Subtotal", None, None, None, None, 99_999])
    path = tmp_path / "f.xlsx"
    book.save(path)
    read = read_sales(path)
    assert (len(read), read.rows) == (24, 27)
    assert codes(read) == {13: ["subtotal row"], 22: ["subtotal row"], 31: ["subtotal row"]}
    assert read.table["row"].iloc[0] == 5


_CELLS = st.one_of(
    st.sampled_from(
        ["", "n/a", "Kora", "1967", "2060", "1", "20000", "€ 21.000,00", "bid to 5k", "2024-05-06",
         "05/06/2024", "Total", "x" * 70, "=1+1", "½", "-5", "999999"]
    ),
    st.text(alphabet="abc 123.,;/-€\"'\n", max_size=8),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(_CELLS, min_size=1, max_size=9), max_size=12))
def test_no_row_is_ever_lost(wild: list[list[str]]) -> None:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADER)
    writer.writerows(rows(12) + wild)
    expected = 12 + sum(any(c.strip() for c in row) for row in wild)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "wild.csv"
        path.write_text(out.getvalue(), encoding="utf-8", newline="")
        book = read_sales(path)
    assert book.rows == expected == len(book) + len(book.set_aside)
    seen = sorted([*book.table["row"].tolist(), *(s.row for s in book.set_aside)])
    assert len(seen) == len(set(seen)) == expected
    assert (book.table["price"] > 0).all()
    assert all(s.faults for s in book.set_aside)


def test_the_currency_may_stand_in_the_name_of_the_price(write_csv: Writer) -> None:
    header = [*HEADER[:5], "Hammer (£)", HEADER[6]]
    sample = [[*r[:5], str(r[5])[2:], r[6]] for r in rows()]
    book = read_sales(write_csv(header, sample))
    assert (book.currency, set(book.table["basis"])) == ("GBP", {"hammer price"})


def test_a_currency_that_is_none(write_csv: Writer) -> None:
    with pytest.raises(SaleFileError) as error:
        read_sales(write_csv(HEADER, rows()), currency="Euro")
    assert str(error.value) == (
        "read_sales: no known currency (got: Euro). Use a code of ISO 4217."
    )


def test_offers_without_dates_are_converted_by_the_last_rates(
    write_csv: Writer, tmp_path: Path
) -> None:
    sample = [r[2:] for r in rows()]
    sample[0][3] = "$ 20,000"
    (tmp_path / "rates.csv").write_text(
        "currency,date,rate\nUSD,2020-01-01,0.8\nUSD,2024-01-01,0.9\n", encoding="utf-8"
    )
    rates = read_rates(tmp_path / "rates.csv")
    book = read_sales(write_csv(HEADER[2:], sample), rates=rates)
    assert book.table["price"].iloc[0] == 18_000.0
    assert (
        "Amounts converted to EUR by the last rates of the table, as there are no dates: 1."
        in book.notes
    )

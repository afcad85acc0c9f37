"""A catalogue as a table: its columns, its faults, what is remarked, and nothing lost."""

from __future__ import annotations

import csv
import io
import json
import tempfile
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.errors import LotFileError
from valuation.importing.lot_cars import LONGEST_TEXT, head_and_rest
from valuation.importing.lot_list import FORMAT, Lot, LotList
from valuation.importing.lots import read_lots
from valuation.importing.map_file import map_from_toml
from valuation.importing.sales import read_sales
from valuation.importing.source_map import ColumnUse, SourceMap

Writer = Callable[..., Path]
MAKES = {"Torvane": ("GT", "Oakrise"), "Kora": ("Zephyr",)}
HEADER = ("Lot", "Day", "Year", "Make", "Model", "Title", "Estimate", "Reserve", "Chassis")


def row(i: int = 0, **changes: object) -> list[object]:
    cells: dict[str, object] = {
        "Lot": 101 + i,
        "Day": "Friday, 14 March 2025",
        "Year": 1962 + i,
        "Make": "Torvane",
        "Model": "GT",
        "Title": f"{1962 + i} Torvane GT Coupe, 4-speed",
        "Estimate": f"{40 + i},000 - {50 + i},000 EUR",
        "Reserve": "",
        "Chassis": f"TO62-{4000 + i}",
    }
    return list((cells | changes).values())


def codes(read: LotList) -> dict[int, list[str]]:
    return {s.row: [f.code for f in s.faults] for s in read.set_aside}


def one(write_csv: Writer, **changes: object) -> Lot:
    """Read a list of three lots and return the one that was changed."""
    read = read_lots(
        write_csv(HEADER, [row(0), row(1, **changes), row(2)], "lots.csv"), known_makes=MAKES
    )
    (lot,) = [x for x in read.lots if x.row == 3]
    return lot


def test_a_clean_list(write_csv: Writer) -> None:
    read = read_lots(write_csv(HEADER, [row(i) for i in range(4)], "lots.csv"), known_makes=MAKES)
    assert (len(read), read.rows, read.set_aside, read.currency) == (4, 4, (), "EUR")
    assert read.notes == ()
    lot = read.lots[1]
    assert (lot.number, lot.order, lot.row, lot.file) == ("102", 2, 3, "lots.csv")
    assert (lot.day, lot.sale_date) == ("Friday, 14 March 2025", date(2025, 3, 14))
    assert (lot.estimate_low, lot.estimate_high) == (Decimal(41_000), Decimal(51_000))
    assert (lot.reserve_kind, lot.reserve, lot.currency) == ("not stated", None, "EUR")
    assert (lot.venue, lot.notes, lot.remarks) == ("", "", ())
    assert lot.name == "lot 102, 1963 Torvane GT"
    assert lot.car.chassis == "TO62-4001"
    assert dict(lot.car.values) == {
        "year": 1963.0, "make": "Torvane", "model": "GT", "body": "coupe", "gears": 4.0,
    }  # fmt: skip
    assert lot.car.notes == (
        "Body is read from the title: coupe.", "Forward gears is read from the title: 4.",
    )  # fmt: skip
    assert lot.car.statements["body"] == "title: 1963 Torvane GT Coupe, 4-speed"
    assert dict(lot.car.sale) == {}


def test_every_row_that_is_no_lot_is_set_aside_with_all_its_reasons(write_csv: Writer) -> None:
    bad = [
        row(3, Year="", Title="Torvane GT, red"),
        row(4, Year="", Make="", Model="", Title="T.B.A.", Chassis=""),
        row(5, Year="old", Title="Torvane GT"),
        row(6, Year=2071, Title=""),
        row(7, Year=1955, Make="", Model="", Title="Petrol pump globe", Chassis=""),
        [108, "", "", "", "", "WITHDRAWN", "", "", ""],
        row(0),
        ["Total", "", "", "", "", "", "400,000", "", ""],
        list(HEADER),
        [*row(8), "one cell too many"],
    ]
    path = write_csv(HEADER, [*(row(i) for i in range(3)), *bad, [""] * 9], "lots.csv")
    read = read_lots(path, known_makes=MAKES)
    assert codes(read) == {
        5: ["no year"],
        6: ["no year", "no make"],
        7: ["unreadable year"],
        8: ["impossible year"],
        9: ["no car"],
        10: ["withdrawn"],
        11: ["duplicate"],
        12: ["subtotal row"],
        13: ["repeated header"],
        14: ["too many cells"],
    }
    assert (read.rows, len(read)) == (13, 3)
    by_row = {s.row: s for s in read.set_aside}
    assert by_row[9].faults[0].got == "petrol pump"
    assert by_row[11].faults[0].got == "the same as row 2"
    assert by_row[12].faults[0].remedy == "Nothing to do: it is no lot"
    assert by_row[7].cells["Year"] == "old"
    assert list(by_row[7].cells) == list(HEADER)
    assert read.aside_places[1] == ("105", "Friday, 14 March 2025")
    assert [x.order for x in read.lots] == [1, 2, 3]
    assert read.reasons["no year"] == 2


def test_a_year_to_come_is_measured_by_the_day_of_the_sale(write_csv: Writer) -> None:
    rows = [row(0, Year=2026, Title=""), row(1, Year=2027, Title=""), row(2)]
    assert codes(read_lots(write_csv(HEADER, rows, "lots.csv"))) == {3: ["impossible year"]}


@pytest.mark.parametrize(
    ("changes", "remark"),
    [
        (
            {"Title": "1966 Torvane GT"},
            "Year: the column says 1963, the title says 1966; the column counts until you have "
            "looked.",
        ),
        (
            {"Title": "1963 Kora Zephyr"},
            "Make: the column says Torvane, the title says Kora; the column counts until you have "
            "looked.",
        ),
        (
            {"Make": "Zephyrand", "Title": ""},
            'The make "Zephyrand" is not among the makes of the market.',
        ),
        ({"Model": "Lugger"}, 'The model line "Lugger" is not among those of the market.'),
        ({"Model": "", "Title": "1963 Torvane"}, "No model line is recognised."),
        (
            {"Title": "=cmd|'/C x'!A1"},
            "The text begins like a formula; it is kept as text, never worked out.",
        ),
        (
            {"Estimate": "50,000 - 40,000"},
            "The estimate stands the wrong way round (50,000 to 40,000); the smaller amount is "
            "read as the low one.",
        ),
        (
            {"Estimate": "USD 40,000 - 50,000"},
            "Its estimate is in USD, that of most lots in EUR.",
        ),
        ({"Reserve": "perhaps"}, 'The reserve reads "perhaps" and is taken as not stated.'),
        ({"Lot": 101}, "Lot number 101 stands for another car too: row 2."),
        ({"Chassis": "to62 4000"}, "The same chassis number stands at lot 101."),
        (
            {"Title": "1963 Torvane GT, matching-numbers engine, the engine is a replacement"},
            'Engine originality is left open: the words say "numbers-matching" and "later '
            'replacement", which do not agree.',
        ),
    ],
)
def test_what_is_odd_is_remarked(
    write_csv: Writer, changes: dict[str, object], remark: str
) -> None:
    assert one(write_csv, **changes).remarks == (remark,)


def test_both_lots_of_one_number_are_told(write_csv: Writer) -> None:
    rows = [row(0), row(1, Lot=101), row(2, Lot=101, Day="Saturday")]
    read = read_lots(write_csv(HEADER, rows, "lots.csv"), known_makes=MAKES)
    assert [bool(x.remarks) for x in read.lots] == [True, True, False]
    assert read.notes == ("Lots that share their number with another one: 2.",)


def test_what_words_say_less_of_than_columns_is_no_contradiction(write_csv: Writer) -> None:
    header = ("Lot", "Year", "Make", "Model", "Genuineness", "Restoration", "Description")
    rows = [
        [i, 1962, "Torvane", "GT", "genuine, documented", "fresh restoration, documented", text]
        for i, text in enumerate(
            ("A genuine GT. A fresh restoration.", "A tribute.", "A genuine GT, unrestored.")
        )
    ]
    read = read_lots(write_csv(header, rows, "lots.csv"), known_makes=MAKES)
    assert [len(x.remarks) for x in read.lots] == [0, 1, 1]
    assert "the words say tribute" in read.lots[1].remarks[0]
    assert read.lots[1].car.values["genuineness"] == "genuine, documented"


def test_makes_and_models_are_spelled_as_the_market_does(write_csv: Writer) -> None:
    assert dict(one(write_csv, Make="TORVANE", Model="g.t.", Title="").car.values)["model"] == "GT"
    lot = one(write_csv, Make="", Model="", Title="Torvane Oakrise (1963), 3.8 litre")
    assert (lot.car.name, lot.car.values["engine_size"]) == ("1963 Torvane Oakrise", 3.8)


def test_reserves_and_notes(write_csv: Writer) -> None:
    header = ("Lot", "Title", "No reserve", "My notes", "Remarks")
    rows = [
        [1, "1968 Torvane GT", "yes", "ask about the paint", "No rust."],
        [2, "1969 Torvane GT", "no", "", "Bills on file."],
        [3, "1970 Torvane GT", "", "no rust at all?", ""],
    ]
    read = read_lots(write_csv(header, rows, "lots.csv"))
    assert [x.reserve_kind for x in read.lots] == ["none", "yes", "not stated"]
    assert [x.car.sale.get("reserve") for x in read.lots] == ["none", "yes", None]
    assert [x.notes for x in read.lots] == ["ask about the paint", "", "no rust at all?"]
    assert [[s.text for s in x.car.said] for x in read.lots] == [
        ["not faults: rust"], ["documents: bills"], [],
    ]  # fmt: skip
    assert any(n.startswith('"My notes" is taken for your own notes') for n in read.notes)


def test_an_amount_of_reserve(write_csv: Writer) -> None:
    lot = one(write_csv, Reserve="£35,000", Estimate="")
    assert (lot.reserve_kind, lot.reserve, lot.currency) == ("yes", Decimal(35_000), "GBP")


def test_words_about_engine_and_gearbox_in_one_column(write_csv: Writer) -> None:
    header = ("Lot", "Title", "Engine / gearbox", "Mileage")
    rows = [
        [1, "1968 Torvane GT", "5.3 litre V8, 4-speed manual", "TMU"],
        [2, "1969 Torvane GT 12,000 miles", "3.2 litre inline-6, automatic", "exempt"],
    ]
    read = read_lots(write_csv(header, rows, "lots.csv"))
    first, second = (dict(x.car.values) for x in read.lots)
    assert (first["engine_size"], first["engine_layout"]) == (5.3, "V8")
    assert (first["transmission"], first["gears"]) == ("manual", 4.0)
    assert (second["transmission"], second["mileage_status"]) == ("automatic", "exempt")
    assert "mileage" not in second


def test_a_description_stands_in_for_a_title(write_csv: Writer) -> None:
    rows = [[i, f"196{i} Torvane GT Coupe. One owner. No rust."] for i in range(1, 4)]
    read = read_lots(write_csv(("Lot", "Beschreibung"), rows, "lots.csv"), known_makes=MAKES)
    lot = read.lots[0]
    assert (lot.car.title, lot.car.description) == (
        "1961 Torvane GT Coupe.", "One owner. No rust.",
    )  # fmt: skip
    assert lot.car.name == "1961 Torvane GT"


def test_long_texts_are_cut_and_long_titles_become_texts(write_csv: Writer) -> None:
    lot = one(write_csv, Title="1963 Torvane GT. " + "No rust at all. " * 1000)
    assert lot.car.title == "1963 Torvane GT."
    assert len(lot.car.description) == LONGEST_TEXT
    assert [r.split(";")[0] for r in lot.remarks] == [
        "The title is long", "The text holds 15,999 signs",
    ]  # fmt: skip
    assert head_and_rest("x" * 700) == ("x" * 300, "x" * 400)
    digits = one(write_csv, Title="1963 Torvane GT " + "9" * 90)
    assert digits.car.title == "1963 Torvane GT " + "9" * 24 + "…"


def test_currencies_by_column_by_name_and_by_map(write_csv: Writer) -> None:
    header = ("Lot", "Title", "Low est", "High est", "Currency")
    codes = ("GBP", "GBP", "?!")
    rows = [[i, f"196{i} Torvane GT", 40_000, 50_000, c] for i, c in enumerate(codes)]
    read = read_lots(write_csv(header, rows, "lots.csv"))
    assert [x.currency for x in read.lots] == ["GBP"] * 3
    assert read.lots[2].remarks == ('The currency reads "?!" and is not known.',)
    named = read_lots(
        write_csv(("Lot", "Title", "Low (CHF)", "High (CHF)"), [r[:4] for r in rows], "a.csv")
    )
    assert named.currency == "CHF"
    path = write_csv(header[:4], [r[:4] for r in rows], "b.csv")
    assert read_lots(path).currency == "XXX"
    assert "no currency is stated" in read_lots(path).notes[-1]
    given = SourceMap(fixed={"currency": "SEK", "venue": "Harbour Rooms"})
    read = read_lots(path, source_map=given)
    assert (read.currency, read.lots[0].venue) == ("SEK", "Harbour Rooms")
    assert dict(read.lots[0].car.sale) == {"venue": "Harbour Rooms"}


def test_the_currency_of_the_estimate_counts_before_the_column(write_csv: Writer) -> None:
    header = ("Lot", "Title", "Estimate", "Currency")
    rows = [[i, f"196{i} Torvane GT", "40-50k", "EUR"] for i in range(3)]
    rows[1][2] = "$40-50k"
    read = read_lots(write_csv(header, rows, "lots.csv"))
    assert read.lots[1].currency == "USD"
    assert read.lots[1].remarks == (
        "The column of currencies says EUR, the estimate USD, which counts.",
        "Its estimate is in USD, that of most lots in EUR.",
    )


def test_a_map_from_its_file(write_csv: Writer) -> None:
    header = ("Pos", "Wagen", "Unten", "Oben", "Wann", "Zuschlag")
    rows = [[i, f"196{i} Torvane GT", "40.000", "50.000", "03/04/2025", ""] for i in range(3)]
    given = map_from_toml(
        'format = 1\n[columns]\nsale_id = "Pos"\ntitle = "Wagen"\n"estimate low" = "Unten"\n'
        '"estimate high" = "Oben"\nprice = "Zuschlag"\n'
        '[columns.sale_date]\ncolumn = "Wann"\norder = "day first"\n',
        "m.toml",
    )
    lot = read_lots(write_csv(header, rows, "lots.csv"), source_map=given).lots[2]
    assert (lot.number, lot.sale_date) == ("2", date(2025, 4, 3))
    assert (lot.estimate_low, lot.estimate_high) == (Decimal(40_000), Decimal(50_000))


def test_results_of_last_year_are_read_without_their_prices(write_csv: Writer) -> None:
    rows = [[*row(i)[:6], f"€ {40 + i},250", "sold"] for i in range(6)]
    header = (*HEADER[:6], "Hammer price", "Status")
    read = read_lots(write_csv(header, rows, "lots.csv"))
    assert len(read) == 6
    assert read.lots[0].estimate == ""
    assert any("results of a sale or prices" in n for n in read.notes)
    assert "basis" not in read.lots[0].car.sale


def test_lots_without_numbers_may_share_their_words(write_csv: Writer) -> None:
    rows = [["1968 Torvane GT"], ["1969 Torvane GT"], ["1968 Torvane GT"]]
    read = read_lots(write_csv(("Title",), rows, "lots.csv"), known_makes=MAKES)
    assert len(read) == 3
    assert read.lots[2].remarks == (
        "Its words are the same as row 2: see whether it is another car.",
    )
    assert read.lots[2].place == "row 4"
    assert read.notes[-1] == "Lots without a number: 3; their row stands for it."


def test_a_list_as_plain_data_and_as_text(write_csv: Writer) -> None:
    rows = [row(0), row(1, Estimate="from 40,000 EUR"), row(2, Year="", Title="x")]
    read = read_lots(write_csv(HEADER, rows, "lots.csv"), known_makes=MAKES)
    data = json.loads(json.dumps(read.to_dict()))
    assert (data["format"], data["rows"], data["currency"]) == (FORMAT, 3, "EUR")
    assert data["lots"][0]["estimate_high"] == 50_000
    assert data["lots"][1]["estimate_high"] is None
    assert data["lots"][0]["car"]["values"]["body"] == "coupe"
    assert data["set_aside"][0]["number"] == "103"
    assert data["set_aside"][0]["faults"][0]["code"] == "no year"
    assert [x.estimate for x in read.lots] == ["40,000 to 50,000 EUR", "from 40,000 EUR"]
    assert read.summary() == str(read)
    assert read.summary().splitlines() == [
        "3 rows of a catalogue in EUR: 2 lots read, 1 set aside.",
        "",
        "Set aside (a row may have several reasons):",
        "  lot 103: no year. Fill in the model year, or a title that names it.",
    ]


def test_no_column_that_names_a_car(write_csv: Writer) -> None:
    with pytest.raises(LotFileError) as error:
        read_lots(write_csv(("Lot", "Estimate"), [[1, "40,000"], [2, "50,000"]], "lots.csv"))
    assert str(error.value) == (
        "lots.csv: no column says which car a lot is (got: Lot, Estimate). Name a column of "
        "titles, or of makes and years, in a map."
    )


def test_sales_do_not_mind_columns_of_a_catalogue_in_a_map(write_csv: Writer) -> None:
    from_map = SourceMap((ColumnUse("estimate low", ("Est",)), ColumnUse("price", ("Hammer",))))
    header = ("Lot", "Date", "Title", "Est", "Hammer")
    rows = [[i, f"2024-05-0{1 + i}", f"196{i} Torvane GT", 30_000, 40_000 + i] for i in range(6)]
    book = read_sales(write_csv(header, rows), source_map=from_map)
    assert len(book) == 6
    assert "estimate low" not in book.table.columns


_CELLS = st.one_of(
    st.sampled_from(
        ["", "n/a", "Torvane", "GT", "1967", "2067", "1967 Torvane GT", "Enamel sign", "Friday",
         "40-50k", "sold 5k", "no reserve", "€ 21.000,00", "Total", "x" * 70, "=1+1", "½", "-5",
         "9" * 400, "WITHDRAWN", "Lot", "1e309", "\x00"]
    ),
    st.text(alphabet="abc 123.,;/-€\"'\n", max_size=8),
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(_CELLS, min_size=1, max_size=11), max_size=12), st.booleans())
def test_no_row_is_ever_lost(wild: list[list[str]], known: bool) -> None:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEADER)
    writer.writerows([*(row(i) for i in range(6)), *wild])
    expected = 6 + sum(any(c.replace("\x00", "").strip() for c in cells) for cells in wild)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "wild.csv"
        path.write_text(out.getvalue(), encoding="utf-8", newline="")
        read = read_lots(path, known_makes=MAKES if known else None)
    assert read.rows == expected == len(read.lots) + len(read.set_aside)
    assert len(read.aside_places) == len(read.set_aside)
    seen = sorted([*(x.row for x in read.lots), *(s.row for s in read.set_aside)])
    assert len(seen) == len(set(seen)) == expected
    assert all(s.faults for s in read.set_aside)
    for lot in read.lots:
        values: dict[str, Any] = dict(lot.car.values)
        assert values["make"]
        assert 1885 <= values["year"] <= 2100
        low, high = lot.estimate_low, lot.estimate_high
        assert low is None or high is None or 0 < low <= high
    json.dumps(read.to_dict())

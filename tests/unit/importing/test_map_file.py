from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.errors import MapError
from valuation.importing.map_file import map_from_toml, map_to_toml, read_map, write_map
from valuation.importing.source_map import ColumnUse, SourceMap
from valuation.premium import PremiumSlice

FULL = SourceMap(
    uses=(
        ColumnUse("price", ("Hammer",), decimal=","),
        ColumnUse("mileage", ("km", "km 2"), unit="km"),
        ColumnUse("sale_date", ("Tag",), order="day first"),
        ColumnUse("condition_grade", ("Note",), worst=6.0, best=1.0),
        ColumnUse("transmission", ("Getriebe",)),
    ),
    ignore=("Notes",),
    fixed={"currency": "EUR", "basis": "hammer price", "venue": "Harbour Rooms"},
    words={"transmission": {"wandler": "automatic"}, "condition_grade": {"ok": "55"}},
    premiums=(
        PremiumSlice(Decimal(15), Decimal(50_000), venue="Harbour Rooms", first=date(2024, 1, 1)),
        PremiumSlice(Decimal("12.5"), None, venue="Harbour Rooms", first=date(2024, 1, 1)),
    ),
    only_these=True,
)


def test_a_map_comes_back_from_its_file(tmp_path: Path) -> None:
    path = tmp_path / "map.toml"
    write_map(FULL, path)
    assert read_map(path) == FULL
    assert [p.name for p in tmp_path.iterdir()] == ["map.toml"]


def test_the_text_is_the_same_every_time_and_carries_the_remarks() -> None:
    source = SourceMap(
        (ColumnUse("price", ("Preis",), how="name"), ColumnUse("make", ("Co",), how="content")),
        notes=("A remark.",),
    )
    assert map_to_toml(source) == (
        "# How the files of one source are read.\n"
        "# A remark.\n"
        "format = 1\n"
        "\n"
        "[columns.price] # price; recognised by its name\n"
        'column = "Preis"\n'
        "\n"
        "[columns.make] # make; recognised by what stands in it\n"
        'column = "Co"\n'
    )


def test_short_maps() -> None:
    source = map_from_toml('format = 1\n[columns]\nprice = "Preis"\nmileage = ["a", "b"]\n', "m")
    assert source.uses == (ColumnUse("price", ("Preis",)), ColumnUse("mileage", ("a", "b")))
    assert map_from_toml("format = 1", "m") == SourceMap()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("x = [", "m.toml: it is no TOML (got: Invalid value (at end of document)). "
         "Correct the line named."),
        ("format = 2", "m.toml: the format is not known (got: 2). Write format = 1 on top."),
        ("", "m.toml: the format is not known (got: None). Write format = 1 on top."),
        (
            "format = 1\ncolums = 3",
            'm.toml: "colums" is not known here (got: colums). Use one of: columns, '
            "for_all_rows, format, ignore, only_these, premium, words.",
        ),
        (
            'format = 1\n[columns.mileage]\ncolumn = "x"\nunit = "leagues"',
            "m.toml, [columns.mileage]: the unit is not known (got: leagues). "
            "Use one of: miles, km, thousand miles, thousand km.",
        ),
        (
            'format = 1\n[columns.make]\ncolumn = "x"\nunit = "km"',
            "m.toml, [columns.make]: the unit is not known (got: km). Leave the unit out.",
        ),
        (
            "format = 1\n[columns.price]\ncolumn = 3",
            'm.toml, [columns.price]: no column is named (got: 3). Write it as column = "Price".',
        ),
        (
            "format = 1\n[columns]\nprice = 3",
            "m.toml, [columns.price]: a column is named by text (got: 3). "
            'Write it as column = "Price".',
        ),
        (
            'format = 1\n[columns.price]\ncolumn = "x"\ndecimal = ":"',
            'm.toml, [columns.price]: no decimal sign (got: :). Use "." or ",".',
        ),
        (
            'format = 1\n[columns.sale_date]\ncolumn = "x"\norder = "year first"',
            "m.toml, [columns.sale_date]: no order of day and month (got: year first). "
            "Use one of: day first, month first.",
        ),
        (
            'format = 1\n[columns.condition_grade]\ncolumn = "x"\nworst = 1',
            "m.toml, [columns.condition_grade]: a condition scale needs two different ends "
            "(got: [1, None]). Write worst = 1 and best = 5 for condition_grade.",
        ),
        (
            'format = 1\n[columns]\nprice = "x"\nyear = "x"',
            "m.toml: one column is used for price and for year (got: x). "
            "Let every column have one meaning.",
        ),
        (
            'format = 1\n[for_all_rows]\noutcome = "gone"',
            "m.toml, [for_all_rows], outcome: not an allowed value (got: gone). "
            "Use one of: sold, not sold, offered, unknown.",
        ),
        (
            'format = 1\n[for_all_rows]\ncurrency = "Euro"',
            "m.toml, [for_all_rows], currency: no known currency (got: Euro). "
            "Use a code of ISO 4217.",
        ),
        (
            'format = 1\n[words.transmission]\nx = "banana"',
            "m.toml, [words.transmission], x: not an allowed value (got: banana). Use one of: "
            "manual, automatic, semi-automatic, dual-clutch, continuously variable.",
        ),
        (
            "format = 1\n[words.condition_grade]\ngood = 170",
            "m.toml, [words.condition_grade], good: not an allowed value (got: 170). "
            "Use a number from 0 to 100.",
        ),
        (
            "format = 1\nignore = 3",
            'm.toml: ignore is no list of names (got: 3). Write ignore = ["Notes"].',
        ),
        (
            "format = 1\n[[premium]]\nup_to = 5",
            "m.toml, [[premium]] 1: percent is missing or above 100 (got: None). "
            "Write percent = 15.",
        ),
        (
            'format = 1\n[[premium]]\npercent = 5\napplied = "somehow"',
            "m.toml, [[premium]] 1: applied in no known way (got: somehow). "
            "Use one of: by slice, on the whole price.",
        ),
        (
            "format = 1\n[[premium]]\npercent = 5\ncap = -1",
            "m.toml, [[premium]] 1: cap is no amount (got: -1). Write a number of zero or more.",
        ),
        (
            'format = 1\n[[premium]]\npercent = 5\nfirst = "May"',
            "m.toml, [[premium]] 1: first is no day (got: May). "
            "Write it as 2025-06-14, without quotation marks.",
        ),
        (
            "format = 1\npremium = 5",
            "m.toml: premium is no list (got: 5). Write [[premium]] for every tier.",
        ),
        (
            "format = 1\ncolumns = 5",
            "m.toml: columns is no table (got: 5). Write [columns] on a line of its own.",
        ),
        (
            "format = 1\n[words]\nmake = 5",
            "m.toml, [words.make]: no table (got: 5). Write [words.make] on a line of its own.",
        ),
    ],
)  # fmt: skip
def test_wrong_maps_are_refused_with_a_sentence(text: str, message: str) -> None:
    with pytest.raises(MapError) as error:
        map_from_toml(text, "m.toml")
    assert str(error.value) == message


@pytest.mark.parametrize("table", ["columns", "words"])
def test_unknown_targets_are_refused_with_the_known_ones(table: str) -> None:
    entry = '"x"' if table == "columns" else '{a = "b"}'
    with pytest.raises(MapError, match="no such attribute or field") as error:
        map_from_toml(f"format = 1\n[{table}]\nbanana = {entry}", "m.toml")
    assert "mileage" in error.value.remedy


def test_a_missing_map(tmp_path: Path) -> None:
    with pytest.raises(MapError) as error:
        read_map(tmp_path / "none.toml")
    assert str(error.value) == (
        "none.toml: it can't be read (got: FileNotFoundError). Check the name of the map."
    )

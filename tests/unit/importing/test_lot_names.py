"""Columns of a catalogue by name and content, days, and lots that are no cars."""

from __future__ import annotations

from datetime import date

import pytest

from valuation.importing.lot_columns import lot_map
from valuation.importing.lot_days import is_day, read_days
from valuation.importing.lot_names import AT_NEED, asks_for_none, lot_target
from valuation.importing.lot_things import thing_in, withdrawn
from valuation.importing.raw import make_table
from valuation.importing.source_map import ColumnUse, SourceMap


@pytest.mark.parametrize(
    ("name", "target"),
    [
        ("Lot", "sale_id"),
        ("Lot #", "sale_id"),
        ("N° lot", "sale_id"),
        ("Los-Nr.", "sale_id"),
        ("Kavelnummer", "sale_id"),
        ("Ref", "sale_id"),
        ("Day", "sale_date"),
        ("Jour", "sale_date"),
        ("Session", "sale_date"),
        ("Sale date", "sale_date"),
        ("Low estimate £", "estimate low"),
        ("EstimateHigh", "estimate high"),
        ("estimate_low_usd", "estimate low"),
        ("Schätzpreis von", "estimate low"),
        ("Schätzwert bis", "estimate high"),
        ("Estimation basse", "estimate low"),
        ("Estimación alta", "estimate high"),
        ("Stima minima (EUR)", "estimate low"),
        ("Wycena od", "estimate low"),
        ("Estimate (k EUR)", "estimate"),
        ("Guide price", "estimate"),
        ("Reserve (EUR)", "reserve"),
        ("No reserve", "reserve"),
        ("Mindestpreis", "reserve"),
        ("My notes", "notes"),
        ("Notizen", "notes"),
        ("Engine / Gearbox", "drivetrain"),
        ("Antriebsstrang", "drivetrain"),
    ],
)
def test_names_of_columns(name: str, target: str) -> None:
    match = lot_target(name)
    assert match is not None
    assert match.target == target


@pytest.mark.parametrize(
    "name",
    ["Estimated mileage", "Low mileage", "Engine", "Year", "Hammer price", "Colour"],
)
def test_names_that_are_none_of_the_lots_own(name: str) -> None:
    assert lot_target(name) is None


def test_a_doubtful_name_has_to_be_borne_out() -> None:
    for name in ("Note", "Low", "From", "Sold"):
        match = lot_target(name)
        assert match is not None
        assert match.score <= AT_NEED
    rows = [[str(i), f"196{i} Torvane GT", f"{6 - i}"] for i in range(6)]
    own, source = lot_map(make_table("f", [["Lot", "Title", "Note"], *rows]), None)
    assert own == {"sale_id": "Lot"}
    rows = [[*r[:2], "ask about the paint"] for r in rows]
    own, _ = lot_map(make_table("f", [["Lot", "Title", "Note"], *rows]), None)
    assert own == {"sale_id": "Lot", "notes": "Note"}
    assert source.use("notes") is None


def test_low_and_high_only_count_together() -> None:
    rows = [[str(i), f"196{i} Torvane GT", "40000", "50000"] for i in range(6)]
    own, _ = lot_map(make_table("f", [["Lot", "Title", "Low", "High"], *rows]), None)
    assert own == {"sale_id": "Lot", "estimate low": "Low", "estimate high": "High"}
    own, _ = lot_map(make_table("f", [["Lot", "Title", "Low"], *[r[:3] for r in rows]]), None)
    assert own == {"sale_id": "Lot"}


def test_results_are_left_out_and_said_to_be() -> None:
    rows = [[str(i), f"196{i} Torvane GT", f"$ {40 + i},000", "sold"] for i in range(6)]
    table = make_table("f.csv", [["Lot", "Title", "Hammer price", "Status"], *rows])
    own, source = lot_map(table, None)
    assert {u.target for u in source.uses} == {"title"}
    assert own == {"sale_id": "Lot"}
    assert source.notes == (
        'f.csv: "Hammer price", "Status": results of a sale or prices; a catalogue is read without '
        "them, and they are not used.",
    )


def test_a_map_goes_before() -> None:
    rows = [[f"196{i} Torvane GT", "7", "40000", "fine", "30000"] for i in range(6)]
    table = make_table("f", [["Titel", "A", "B", "Notes", "Zuschlag"], *rows])
    given = SourceMap(
        (
            ColumnUse("sale_id", ("A",)),
            ColumnUse("estimate low", ("B",)),
            ColumnUse("description", ("Notes",)),
            ColumnUse("price", ("Zuschlag",)),
        )
    )
    own, source = lot_map(table, given)
    assert own == {"sale_id": "A", "estimate low": "B"}
    assert [u.target for u in source.uses] == ["description", "title"]
    assert not any("own notes" in n for n in source.notes)


def test_a_map_that_is_all() -> None:
    table = make_table("f", [["Lot", "Titel", "Day"], ["1", "1967 Torvane GT", "Friday"]])
    given = SourceMap((ColumnUse("title", ("Titel",)),), only_these=True)
    assert lot_map(table, given)[0] == {}


def test_no_reserve_asks_the_other_way_round() -> None:
    assert [asks_for_none(n) for n in ("No reserve", "ohne Limit", "Reserve")] == [
        True, True, False,
    ]  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "Friday",
        "SATURDAY",
        "Freitag, 14. März 2025",
        "Day 2: Saturday, 15 March 2025",
        "Session III",
        "sábado",
        "2025-03-15",
        "Friday 14th March 2025",
        "Saturday afternoon",
    ],
)
def test_days(text: str) -> None:
    assert is_day(text)


@pytest.mark.parametrize(
    "text", ["", "Roadster", "1968 Torvane GT", "Sunday driver, red", "So", "112", "Lot 5"]
)
def test_what_is_no_day(text: str) -> None:
    assert not is_day(text)


def test_days_as_dates_where_they_are_some() -> None:
    cells = ["Friday", "Friday, 14 March 2025", "Sat 15/03/2025", "", "2025-03-16"]
    assert read_days(cells) == (
        [None, date(2025, 3, 14), date(2025, 3, 15), None, date(2025, 3, 16)], False,
    )  # fmt: skip
    assert read_days(["03/04/2025"]) == ([None], True)
    assert read_days(["03/04/2025"], "day first") == ([date(2025, 4, 3)], False)


@pytest.mark.parametrize(
    ("title", "thing"),
    [
        ("1955 petrol pump globe, Torvane", "petrol pump"),
        ("Enamel double-sided Torvane sign", "torvane sign"),
        ("Set of four wire wheels for Torvane GT", "wire wheels"),
        ("Gearbox for a 1967 Torvane GT", "gearbox"),
        ("A rare 1960s Vessamir brochure", "brochure"),
        ("1:8 scale model of a 1969 Gorlimar", "scale model"),
        ("Registration number TOR 1", "registration number"),
        ("1956 Tarquelle pedal car", "pedal car"),
        ("Torvane GT engine", "engine"),
        ("Emailschild Torvane, 1950er", "emailschild"),
    ],
)
def test_things_that_are_no_cars(title: str, thing: str) -> None:
    assert thing_in(title) == thing
    assert thing_in(title, like_a_car=True) == ""


@pytest.mark.parametrize(
    "title",
    [
        "1967 Torvane GT Coupe with brochures and spare engine",
        "1967 Torvane GT, rebuilt engine",
        "Torvane GT (1967), rebuilt gearbox",
        "1957 Gorlimar Tumblegrass 2-door hardtop",
        "1956 Tarquelle Brumaia works engine",
        "1969 Gorlimar Lariander 6.9 V8 engine and 4-speed",
        "Torvane GT project, no engine",
        "Parts car: 1967 Torvane GT",
        "1970 Pellandro Lumachel Stopwatch",
        "",
    ],
)
def test_cars_that_speak_of_things(title: str) -> None:
    assert thing_in(title) == ""


def test_withdrawn_lots() -> None:
    said = ("WITHDRAWN", "Lot withdrawn", "zurückgezogen", "Withdrawn from sale")
    assert all(map(withdrawn, said))
    assert not withdrawn("Withdrawn from racing in 1961")

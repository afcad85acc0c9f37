"""Every wrong entry is told at once, with where it stands, what came and what is allowed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.errors import SheetError
from valuation.inspection.contents import Contents, CostRange, Modification, Paper
from valuation.inspection.form import Place
from valuation.inspection.form_parts import inspection_form
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.sheet_files import load_sheet
from valuation.inspection.sheet_reader import read_contents
from valuation.inspection.sheet_toml import sheet_toml
from valuation.inspection.sheet_workbook import sheet_bytes

Read = Callable[[str], Contents]


@pytest.fixture
def read(settings: InspectionSettings, tmp_path: Path) -> Read:
    """Return what reads a sheet from its text."""

    def reader(text: str) -> Contents:
        path = tmp_path / "sheet.toml"
        path.write_text(text, encoding="utf-8")
        return read_contents(load_sheet(path, settings), settings)

    return reader


@pytest.fixture
def complaint(read: Read) -> Callable[[str], str]:
    def reader(text: str) -> str:
        with pytest.raises(SheetError) as error:
            read(text)
        return str(error.value)

    return reader


def test_an_empty_sheet_says_nothing(read: Read, settings: InspectionSettings) -> None:
    found = read(sheet_toml(inspection_form(settings)))
    assert found.stated == {}
    assert found.answers == {}
    assert set(found.marks.values()) == {"not looked at"}
    assert {c.claim for c in found.components.values()} == {"not looked at"}
    assert not any(c.evidence.looked for c in found.components.values())
    assert set(found.papers.values()) == {Paper()}
    assert (found.defects, found.work, found.modifications, found.groups) == ((), (), (), {})
    assert read("") == found


def test_every_wrong_cell_of_a_workbook_is_told(
    settings: InspectionSettings, tmp_path: Path
) -> None:
    wrong = {
        Place("car", "", "currency"): "Taler",
        Place("car", "", "year"): "soon",
        Place("zones", "paint", "mark"): 11,
        Place("components", "engine_block", "claim"): "as new",
        Place("components", "engine_block", "dates"): "cast 3/4/69",
        Place("defects", "2", "zone"): "fins",
    }
    path = tmp_path / "wrong.xlsx"
    path.write_bytes(sheet_bytes(inspection_form(settings), wrong))
    with pytest.raises(SheetError) as error:
        read_contents(load_sheet(path, settings), settings)
    told = str(error.value)
    assert told.startswith(
        "wrong.xlsx: 6 entries are wrong: Car C6 (Currency) has to be a three-letter ISO 4217 "
        "code such as EUR (got: Taler); Car C10 (Model year) has to be a number from 1885 to 2100 "
        "(got: soon); Zones C6 (Paint, mark) has to be a mark from 0 to 10 in halves, or not "
        "looked at, not possible here (got: 11); Components C5 (Engine block, claimed status) has "
        "to be one of numbers-matching, "
    )
    assert "Components E5 (Engine block, dates on it) has to be dates such as 12 March 1969" in told
    assert "(got: cast 3/4/69)" in told
    assert "Defects and work B7 (Defects, line 2, zone) has to be one of Panel fit, " in told
    assert told.endswith("(got: fins). Correct them.")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[cars]\nyear = 1", "cars has to be one of car, history, preview, zones, defects, work, "
         "components, changes, modifications, documents (got: an unknown table)"),
        ("car = 3", "car has to be a table [car] (got: 3)"),
        ("[car]\nspeed = 3", "car.speed has to be one of lot, seen_on, "),
        ("[car]\nyear = {a = 1}", "car.year has to be one value (got: a table)"),
        ("[zones]\npaint = 7", "zones.paint has to be a table [zones.paint] (got: 7)"),
        ("[zones.fins]\nmark = 7", "zones.fins has to be one of panel_fit, paint, "),
        ("[components.heads]\nnumber = '1'", "components.heads.number has to be one of claim, "),
        ("[history]\nflod = 'yes'", "history.flod has to be one of accident, fire, "),
        ("[history]\nflood = 'perhaps'", "history.flood has to be one of yes, no, not looked at, "
         "not possible here (got: perhaps)"),
        ("[defects]\nwhat = 'x'", "defects has to be tables such as [[defects]] (got: {'what'"),
        ("[[defects]]\nhow_bad = 'awful'", "defects, number 1.how_bad has to be one of slight, "
         "marked, severe, dangerous (got: awful)"),
        ("[[modifications]]\nwhat = 'x'", "modifications.1.kind has to be one of engine, "),
        ("[documents.bills]\nanswer = 'lots'", "documents.bills.answer has to be one of seen, "
         "claimed, not seen, none, "),
        ("[preview.shell]\nmark = 'fine'", "preview.shell.mark has to be a mark from 0 to 10 in "),
        ("[car]\nseen_on = 'June 2025'", "car.seen_on has to be a day such as 2025-06-14 or 14 "
         "June 2025 (got: June 2025)"),
        ("[car]\ncurrency = 'LYD'\nasking = 'much'", "car.asking has to be an amount from "
         "0 to 1,000,000,000, such as 1250 (got: much)"),
        ("[car]\ncurrency = 'LYD'\nasking = -5", "car.asking has to be an amount from "
         "0 to 1,000,000,000, such as 1250 (got: -5)"),
        ("[car]\nseen_on = 'soon'", "car.seen_on has to be a day such as 2025-06-14 or 14 June "
         "2025 (got: soon)"),
        ("[car]\nbuilt = 'once'", "car.built has to be a date such as 12 March 1969, "),
        ("[car]\ntitle_days = -3", "car.title_days has to be a number from 0 to 3650 (got: -3)"),
        ("[car]\ntitle_status = 'lost'", "car.title_status has to be one of clear, "),
        ("[components.glass]\npart_years = '69'", "components.glass.part_years has to be "),
    ],
)  # fmt: skip
def test_a_wrong_entry_is_told_with_its_key(
    text: str, said: str, complaint: Callable[[str], str]
) -> None:
    told = complaint(text)
    if "part_years" in said:
        assert "components.glass.part_years" in told
        return
    assert told.startswith(f"sheet.toml: one entry is wrong: {said}")
    assert told.endswith(" Correct it.")


def test_text_that_is_no_toml(complaint: Callable[[str], str]) -> None:
    assert complaint("[car").startswith("sheet.toml: this is not valid TOML (got: ")


def test_amounts_need_their_currency_once(complaint: Callable[[str], str]) -> None:
    told = complaint("[car]\nasking = 4000\n[[defects]]\nwhat='a'\nlow=1\nhigh=2\n")
    assert told == (
        "sheet.toml: one entry is wrong: car.currency has to be the currency of the amounts, such "
        "as EUR (got: nothing). Correct it."
    )


def test_a_currency_beside_an_amount_will_do(read: Read) -> None:
    found = read("[car]\nasking = '46,500 LYD'\n[[defects]]\nwhat='a'\nlow=1\nhigh=2\n")
    assert (found.visit.asking, found.visit.currency) == (Decimal(46_500), "LYD")
    assert found.defects[0].cost == CostRange(Decimal(1), Decimal(2), "LYD")


def test_one_sheet_has_one_currency(complaint: Callable[[str], str]) -> None:
    assert "car.asking has to be in LYD, as the sheet says (got: 900 EUR)" in complaint(
        "[car]\ncurrency = 'LYD'\nasking = '900 EUR'"
    )


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [("0", "0", "0 LYD"), ("1200", "2500.5", "1,200 to 2,500.5 LYD"), ("''", "300", "300 LYD"),
     ("250", "''", "250 LYD")],
)  # fmt: skip
def test_costs_are_exact_and_one_end_is_both(low: str, high: str, told: str, read: Read) -> None:
    text = f"[car]\ncurrency='LYD'\n[[defects]]\nwhat='a'\nlow={low}\nhigh={high}\n"
    cost = read(text).defects[0].cost
    assert cost is not None
    assert cost.shown == told


def test_costs_in_the_wrong_order(complaint: Callable[[str], str]) -> None:
    text = "[car]\ncurrency='LYD'\n[[defects]]\nwhat='a'\nlow=1300\nhigh=900\n"
    assert "defects, number 1.high has to be at least the low end, 1,300 (got: 900)" in complaint(
        text
    )


def test_answers_are_kept_apart(read: Read) -> None:
    found = read(
        "[car]\nmileage = 'not possible here'\ntitle_status = 'not looked at'\n"
        "mileage_status = 'cannot be told'\n[zones.brakes]\nmark = 'not possible'\n"
    )
    assert found.answers == {
        "mileage": "not possible here",
        "title_status": "not looked at",
        "mileage_status": "cannot be told",
    }
    assert found.marks["brakes"] == "not possible here"
    assert found.marks["paint"] == "not looked at"


def test_what_a_box_tells_of_others_counts_less_than_theirs(read: Read) -> None:
    found = read("[car]\ntransmission = '4-speed manual'\nmileage = 'TMU'\n")
    assert found.stated == {"transmission": "manual", "gears": 4.0, "mileage_status": "unknown"}
    found = read("[car]\ngears = 5\nmileage_status = 'stated'\nmileage = 'TMU'\n")
    assert found.stated == {"gears": 5.0, "mileage_status": "stated"}


def test_a_filled_sheet_is_read_whole(read: Read) -> None:
    found = read(
        "[car]\nmake='Torvane'\nmodel='GT'\nyear=1968\nbuilt=1968-05-14\nseen_on=2024-12-09\n"
        "chassis='TO68-1'\nlot=17\nmileage='31,200 km'\n"
        "[zones.paint]\nmark='7½'\nnotes='even'\nphotographs=['a.jpg','b.jpg']\n"
        "[components.engine_block]\nclaim='Numbers-Matching'\nnumber='none'\n"
        "appears_original=true\n[components.top]\n".replace("[components.top]\n", "")
        + "[[modifications]]\nkind='brakes'\nhow='reversible'\nwhat='servo'\n"
        "[documents.bills]\nanswer='seen'\nnotes='folder'\n"
    )
    assert found.facts.built is not None
    assert found.facts.built.shown == "14 May 1968"
    assert (found.visit.lot, found.visit.on) == ("17", date(2024, 12, 9))
    assert found.stated["mileage"] == pytest.approx(19_387, abs=1)
    assert found.remarks == ("Mileage: 31,200 km is 19,387 miles.",)
    assert found.zone_notes["paint"].photographs == ("a.jpg", "b.jpg")
    engine = found.components["engine_block"]
    assert (engine.claim, engine.evidence.no_number) == ("numbers-matching", True)
    assert engine.evidence.appears_original
    assert found.modifications == (Modification("brakes", "reversible", "", "servo"),)
    assert found.modifications[0].level == ""
    assert found.papers["bills"] == Paper("seen", "folder")


def test_zones_are_known_by_label_and_by_name(read: Read) -> None:
    found = read("[[defects]]\nzone='paint'\nwhat='a'\n[[work]]\nzone='Body structure and rust'\n")
    assert found.defects[0].zone == "paint"
    assert found.work[0].zone == "body_structure"

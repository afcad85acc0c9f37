"""Claims and evidence as they stand on a sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest

from valuation.errors import SheetError
from valuation.inspection.date_text import read_date
from valuation.inspection.evidence import (
    CarFacts,
    Evidence,
    build_of,
    read_claims,
    read_evidence,
    read_part_dates,
)
from valuation.inspection.settings import InspectionSettings, MakerRule


def test_claims(settings: InspectionSettings) -> None:
    claims, faults = read_claims(
        {
            "engine_block": "Numbers-Matching",
            "gearbox": "maker’s service replacement",
            "glass": "not on this car",
            "wheels": "",
            "interior": "not possible",
            "heads": "not on this car",
            "ignition": "mint",
            "radio": "original",
        },
        settings,
    )
    assert claims["engine_block"] == "numbers-matching"
    assert claims["gearbox"] == "maker's service replacement"
    assert claims["glass"] == "not on this car"
    assert claims["wheels"] == claims["outer_panels"] == claims["heads"] == "not looked at"
    assert claims["interior"] == "not possible here"
    assert [(f.key, f.got) for f in faults] == [
        ("heads", "not on this car"),
        ("ignition", "mint"),
        ("radio", "no such component"),
    ]
    assert faults[0].allowed.endswith("missing, not looked at, not possible here")


def test_evidence_of_one_line() -> None:
    evidence, faults = read_evidence(
        {
            "number": " 10?231 ",
            "number_on_record": None,
            "dates": "cast 20 January 1969; Assembled on 3 February 1969",
            "part_number": 441207,
            "part_years": "1966-1969",
            "papers": "Bills; build record",
            "photographs": "a.jpg; b.jpg;",
            "notes": "works paint",
            "appears_original": "Yes",
        }
    )
    assert faults == ()
    assert evidence == Evidence(
        number="10?231",
        dates=read_part_dates("cast 20 January 1969; assembled 3 February 1969"),
        part_number="441207",
        part_years=(1966, 1969),
        papers=("bills", "build record"),
        photographs=("a.jpg", "b.jpg"),
        notes="works paint",
        appears_original=True,
    )


@pytest.mark.parametrize("text", ["none", "No number", "blank"])
def test_a_place_without_a_number(text: str) -> None:
    assert read_evidence({"number": text})[0] == Evidence(no_number=True)


def test_all_faults_come_at_once() -> None:
    evidence, faults = read_evidence(
        {"dates": "3/4/69", "part_years": "1969-1966", "papers": "a letter",
         "appears_original": "rather", "colour": "red", "number": "104231"}
    )  # fmt: skip
    assert evidence == Evidence(number="104231")
    assert [(f.key, f.got) for f in faults] == [
        ("dates", "3/4/69"),
        ("part_years", "1969-1966"),
        ("papers", "a letter"),
        ("appears_original", "rather"),
        ("colour", "no such entry"),
    ]
    assert faults[0].allowed.startswith("dates such as 12 March 1969, March 1969")
    assert faults[1].allowed == "years such as 1966-1969"
    assert faults[3].allowed == "yes or no"


def test_dates_of_a_part_say_what_they_tell() -> None:
    (one,) = read_part_dates("March 1969")
    assert (one.verb, one.when) == ("dated", read_date("March 1969"))
    assert read_part_dates(" ; ") == ()
    with pytest.raises(SheetError, match="Components, D7: this can't be read as a date"):
        read_part_dates("cast early 69 or so", where="Components, D7")


def test_looking_is_more_than_paper() -> None:
    assert not Evidence(papers=("bills",), number_on_record="7", part_years=(1, 2)).looked
    assert Evidence(no_number=True).looked
    assert Evidence(notes="works paint").looked


def test_when_a_car_was_built(settings: InspectionSettings) -> None:
    known = read_date("12 March 1969")
    assert build_of(CarFacts("Torvane", 1970, known), settings) == known
    assert build_of(CarFacts("Torvane"), settings) is None
    assumed = build_of(CarFacts("Torvane", 1970), settings)
    assert assumed == read_date("model year 1970")
    rule = MakerRule("Torvane", 1970, 1971, frozenset(), False, False, False, None, None, (10, 1))
    late = replace(settings, makers=(rule,))
    assert build_of(CarFacts("TORVANE", 1970), late) == read_date("model year 1970", starts=(10, 1))
    assert build_of(CarFacts("Torvane", 1972), late) == read_date("model year 1972")


def test_empty_boxes_are_no_faults() -> None:
    empty = dict.fromkeys(("number", "dates", "part_years", "papers", "appears_original"), "")
    assert read_evidence(empty) == (Evidence(), ())
    assert read_evidence({"part_years": None}) == (Evidence(), ())

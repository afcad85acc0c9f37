"""The three sheets of the invented market, from file to what is said aloud."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.importing.car_file import read_car, write_car
from valuation.inspection.concluding import CAUTIONS
from valuation.inspection.contents import CostRange, Title
from valuation.inspection.inspection import Inspection, read_sheet
from valuation.inspection.title_states import NUMBERS_STOP, TITLE_STOPS, title_stop
from valuation.schema import BY_NAME

SHEETS = Path(__file__).parents[3] / "data_synthetic" / "sheets"
BOTH_DATES = (
    "Engine block: claimed to be numbers-matching. Cast on 2 April 1969, 21 days after the car "
    "was built on 12 March 1969: impossible for a part born with the car."
)


@pytest.fixture(scope="module")
def sheet() -> Callable[[str], Inspection]:
    return lambda name: read_sheet(SHEETS / f"{name}.xlsx")


def test_a_clean_car_leaves_nothing_open(sheet: Callable[[str], Inspection]) -> None:
    found = sheet("clean")
    car = found.to_car()
    assert (found.contradictions, found.stops, found.questions, car.open) == ((), (), (), ())
    assert car.not_looked_at == car.cannot_be_told == frozenset()
    assert car.values["engine_originality"] == "numbers-matching"
    assert car.values["documents"] == ("bills", "build record", "ownership chain")
    assert car.values["condition_grade"] == pytest.approx(found.grade.low, abs=0.01)
    assert found.cost is not None
    assert found.cost.shown == "550 to 1,200 EUR"


def test_the_contradicted_engine_is_said_aloud_with_both_dates(
    sheet: Callable[[str], Inspection],
) -> None:
    found = sheet("contradicted")
    assert found.contradictions[0].startswith(BOTH_DATES)
    assert len(found.contradictions) == 3
    assert BOTH_DATES in found.summary()
    assert any(note.startswith(BOTH_DATES) for note in found.to_car().notes)
    title, numbers = found.stops
    assert numbers == NUMBERS_STOP
    assert title == (
        "Title: lien. This stops the purchase: don't pay before the creditor has confirmed in "
        "writing that the lien is released. Cure: 14 days; 300 to 800 EUR."
    )


def test_a_car_seen_for_eight_minutes_has_spans(sheet: Callable[[str], Inspection]) -> None:
    found = sheet("half_seen")
    open_facts = {f.attribute: f for f in found.to_car().open}
    assert {"condition_grade", "originality_score", "engine_originality"} <= set(open_facts)
    assert found.grade.point is not None
    assert found.grade.low < found.grade.point < found.grade.high
    assert "title_status" in found.to_car().not_looked_at
    told = [q.about for q in found.questions]
    assert told.index("Underside") < told.index("Boot")
    assert found.summary().count("Not looked at:") == 1


@pytest.mark.parametrize("name", ["clean", "contradicted", "half_seen"])
def test_the_car_file_of_a_sheet_reads_back(
    name: str, sheet: Callable[[str], Inspection], tmp_path: Path
) -> None:
    car = sheet(name).to_car()
    write_car(car, tmp_path / "car.toml")
    back = read_car(tmp_path / "car.toml")
    assert dict(back.values) == dict(car.values)
    assert back.open == car.open
    assert back.not_looked_at == car.not_looked_at
    assert (back.asking, back.seen_on, back.chassis) == (car.asking, car.seen_on, car.chassis)


@pytest.mark.parametrize("name", ["clean", "contradicted", "half_seen"])
def test_json_holds_everything(name: str, sheet: Callable[[str], Inspection]) -> None:
    found = sheet(name)
    told = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert next(iter(told)) == "format"
    assert told["format"] == 1
    assert len(told["condition"]["zones"]) == 18
    assert len(told["originality"]["components"]) == 15
    assert {"claim", "supported", "contradiction"} < set(told["originality"]["components"][0])
    placed = [*told["attributes"], *told["not_looked_at"], *told["cannot_be_told"]]
    placed += [f["attribute"] for f in told["open"]]
    assert len(placed) == len(set(placed))
    assert set(placed) <= set(BY_NAME)
    assert told["cautions"] == list(CAUTIONS)
    assert told["visit"]["on"] == "2024-12-09"


def test_json_keeps_defects_and_work(sheet: Callable[[str], Inspection]) -> None:
    told = sheet("contradicted").to_dict()
    assert told["defects"][0] == {
        "zone": "panel_fit",
        "what": "door drops",
        "where": "left",
        "how_bad": "marked",
        "cost": {"low": "250", "high": "600", "currency": "EUR"},
        "mark_after": 8.0,
    }
    assert told["defects"][1]["cost"] is None
    assert told["defects"][1]["mark_after"] is None
    assert told["work_done"] == [
        {"zone": "engine_running", "what": "engine rebuilt", "when": "2022",
         "bills": "claimed, not seen"}
    ]  # fmt: skip
    assert told["cost_to_put_right"] == {"low": "250", "high": "600", "currency": "EUR"}


def test_the_summary_of_a_clean_car(sheet: Callable[[str], Inspection]) -> None:
    text = sheet("clean").summary()
    head, _, cautions = text.partition("\nCautions:\n")
    assert head == (
        "1968 Torvane GT Standard, lot 17, seen on 9 December 2024, by Isolde Marrow\n"
        "Condition grade 72.0: sharp.\n"
        "Originality score 89.2.\n"
        "\n"
        "Defects: 550 to 1,200 EUR.\n"
        "  Brakes: hoses cracked (front, both), dangerous, 150 to 300 EUR, mark 8 after that\n"
        "  Paint: blisters (left rear arch), slight, 400 to 900 EUR, mark 8 after that\n"
        "\n"
        "Work done:\n"
        "  engine rebuilt, 2019, bills: seen\n"
    )
    assert cautions == "\n".join(f"  {caution}" for caution in CAUTIONS)


def inspected(text: str, folder: Path) -> Inspection:
    path = folder / "sheet.toml"
    path.write_text(text, encoding="utf-8")
    return read_sheet(path)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("year=1968\nbuilt='12 March 1969'", "Built on 12 March 1969, but model year 1968 was "
         "built from 1 August 1967 to 31 July 1968."),
        ("built='12 March 1969'\nfirst_registered='January 1969'", "First registered in January "
         "1969, before the car was built on 12 March 1969."),
    ],
)  # fmt: skip
def test_years_that_contradict_each_other(text: str, said: str, tmp_path: Path) -> None:
    assert inspected(f"[car]\n{text}\n", tmp_path).contradictions == (said,)


@pytest.mark.parametrize(
    "text",
    [
        "year=1969\nbuilt='12 March 1969'",
        "year=1969\nbuilt='1968'",
        "built='March 1969'\nfirst_registered='1969'",
        "year=1969\nbuilt='14 March of a year ending in 9'",
        "first_registered='1969'",
    ],
)
def test_years_that_may_go_together(text: str, tmp_path: Path) -> None:
    assert inspected(f"[car]\n{text}\n", tmp_path).contradictions == ()


def test_a_year_on_the_title_is_a_fact_of_its_own(tmp_path: Path) -> None:
    found = inspected("[car]\nyear=1969\nyear_on_title=1970\n", tmp_path)
    assert found.to_car().values["year"] == 1969
    sentences = [q.sentence for q in found.questions if q.about == "Title"]
    assert sentences == [
        "The year on the title is 1970, the model year 1969: ask what the papers count."
    ]


@pytest.mark.parametrize("status", BY_NAME["title_status"].levels)
def test_every_state_of_a_title_but_a_clear_one_stops_the_purchase(status: str) -> None:
    assert bool(title_stop(status, Title())) == (status != "clear") == (status in TITLE_STOPS)


def test_a_stop_says_how_it_is_cured() -> None:
    cost = CostRange(Decimal(90), Decimal(250), "LYD")
    assert title_stop("missing", Title(days=1, cost=cost)).endswith("Cure: 1 day; 90 to 250 LYD.")
    assert title_stop("branded", Title()).endswith("Cure: ask how long it takes and what it costs.")


def test_defects_without_figures_are_counted(tmp_path: Path) -> None:
    found = inspected(
        "[[defects]]\nwhat='rust'\nhow_bad='severe'\n[[defects]]\nwhere='top'\n", tmp_path
    )
    assert found.cost is None
    assert "Defects: without a figure.\n  rust, severe\n  something (top)\n" in found.summary()

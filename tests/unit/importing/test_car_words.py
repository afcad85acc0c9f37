"""What a car's listing says, and how it is corrected."""

from __future__ import annotations

from pathlib import Path

import pytest

from valuation.errors import CarFileError
from valuation.importing.car_file import car_from_values, complete_car, read_car, write_car
from valuation.importing.listing_car import write_listing_car
from valuation.reading.statements import read_statements
from valuation.records import Car

TEXT = "Matching-numbers engine. No rust. Clear title."


def texts(car: Car) -> list[str]:
    return [s.text for s in car.said]


def test_words_fill_attributes_with_a_remark_and_what_they_rest_on() -> None:
    car = car_from_values({"description": TEXT})
    assert texts(car) == ["numbers: matching engine", "not faults: rust", "title: clear"]
    assert car.values["title_status"] == "clear"
    assert car.statements["title_status"] == 'words: "Clear title"'
    assert "Title is read from the words of the listing: clear." in car.notes


def test_an_attribute_in_the_file_always_counts() -> None:
    for stated in ("lien", "not looked at", "cannot be told"):
        car = car_from_values({"description": TEXT, "title_status": stated})
        assert car.values.get("title_status") != "clear"
        assert "title_status" not in car.statements


def test_a_correction_stands_in_place_of_what_was_read() -> None:
    car = car_from_values(
        {
            "description": TEXT,
            "statements": {
                "faults: rust": "claimed",
                "title: clear": "not said",
                "numbers: matching engine": "hedged",
                "documents: bills": "claimed",
            },
        }
    )
    assert texts(car) == ["faults: rust", "perhaps numbers: matching engine", "documents: bills"]
    assert "title_status" not in car.values
    assert "engine_originality" not in car.values
    assert car.values["documents"] == ("bills",)
    assert car.statements["documents"] == "words: a correction in the car file"


def test_a_correction_that_only_confirms_keeps_the_words() -> None:
    car = car_from_values({"description": TEXT, "statements": {"faults: rust": "denied"}})
    assert [s.words for s in car.said if s.key == "faults: rust"] == ["No rust"]


def test_contradictions_are_remarks() -> None:
    car = car_from_values({"description": "Raced. It was never raced."})
    assert 'The words both say and deny "history: racing".' in car.notes
    assert "history" not in car.values


def test_wrong_corrections_are_refused_all_at_once() -> None:
    with pytest.raises(CarFileError) as raised:
        car_from_values(
            {
                "title": "1967 Torvane GT",
                "statements": {
                    "faults: moths": "claimed",
                    "colour: red": "no",
                    "faults: rust": "no",
                },
            },
            where="car.toml",
        )
    said = str(raised.value)
    assert said.startswith(
        "car.toml: 3 entries are wrong: statements.faults: moths has to be one of"
    )
    assert '"faults: rust", "faults: filler"' in said
    assert 'a topic and a value such as "faults: rust"; topics are originality, numbers' in said
    assert (
        "statements.faults: rust has to be one of claimed, third-party, documented, hedged, "
        "denied, not said (got: no)" in said
    )


def test_a_list_is_no_table_of_statements() -> None:
    with pytest.raises(CarFileError, match=r"statements has to be a table \[statements\]"):
        car_from_values({"title": "1967 Torvane GT", "statements": ["faults: rust"]})


def test_corrections_survive_writing_and_reading(tmp_path: Path) -> None:
    car = car_from_values(
        {"description": TEXT, "statements": {"faults: rust": "not said", "faults: leak": "hedged"}}
    )
    write_car(car, tmp_path / "car.toml")
    again = read_car(tmp_path / "car.toml")
    assert dict(again.corrections) == {"faults: rust": "not said", "faults: leak": "hedged"}
    assert (again.said, again.values) == (car.said, car.values)


def test_completing_a_car_keeps_what_is_said() -> None:
    car = car_from_values({"title": "1967 Torvane GT", "description": TEXT})
    assert complete_car(car, {"Torvane": ("GT",)}).said == car.said


def test_a_listing_becomes_a_car_file_to_correct(tmp_path: Path) -> None:
    text = f"1967 Torvane GT\n{TEXT}\nRaced, so the registrar says. Never raced."
    path = tmp_path / "car.toml"
    write_listing_car(text, read_statements(text), path)
    written = path.read_text(encoding="utf-8")
    assert '"faults: rust" = "denied" # No rust' in written
    assert '# "history: racing" is said in several ways: Raced' in written
    car = read_car(path, known_makes={"Torvane": ("GT",)})
    assert (car.title, car.values["year"], car.values["make"]) == (
        "1967 Torvane GT",
        1967,
        "Torvane",
    )
    assert car.said == car_from_values({"title": car.title, "description": car.description}).said


def test_one_long_line_is_a_description(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    write_listing_car(TEXT, read_statements(TEXT), path)
    car = read_car(path)
    assert (car.title, car.description) == ("", TEXT)

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from valuation.errors import CarFileError
from valuation.importing.car_file import car_from_values, complete_car, read_car, write_car
from valuation.records import Car
from valuation.schema import ATTRIBUTES

MAKES = {"Kora": ("GT", "Zephyr"), "Torvane": ()}


def _file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "car.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_title_alone(tmp_path: Path) -> None:
    path = _file(tmp_path, 'title = "15k-Mile 1967 Kora GT 2.6-Litre V6 Coupe 4-Speed Manual"')
    car = read_car(path, known_makes=MAKES)
    assert dict(car.values) == {
        "make": "Kora",
        "model": "GT",
        "year": 1967.0,
        "body": "coupe",
        "engine_size": 2.6,
        "engine_layout": "V6",
        "transmission": "manual",
        "gears": 4.0,
        "mileage": 15_000.0,
    }
    assert car.notes[0] == "Make is read from the title: Kora."
    assert len(car.notes) == 9
    assert car.name == "1967 Kora GT"


def test_a_title_read_again_with_the_makes_of_a_market(tmp_path: Path) -> None:
    car = read_car(_file(tmp_path, 'title = "1967 Kora GT"\nmodel = "not looked at"'))
    assert dict(car.values) == {"year": 1967.0}
    known = complete_car(car, MAKES)
    assert dict(known.values) == {"year": 1967.0, "make": "Kora"}
    assert known.not_looked_at == {"model"}
    assert complete_car(known, MAKES) is known


def test_what_is_stated_goes_before_the_title() -> None:
    car = car_from_values({"title": "1967 Kora GT Coupe", "body": "convertible"}, known_makes=MAKES)
    assert car.values["body"] == "convertible"


def test_a_description_tells_of_the_car_but_does_not_name_it() -> None:
    car = car_from_values(
        {"make": "Kora", "description": "Bought in 1999 beside a Torvane; 4-speed manual."},
        known_makes=MAKES,
    )
    assert car.values["transmission"] == "manual"
    assert "year" not in car.values
    assert car.values["make"] == "Kora"


FULL: dict[str, Any] = {
    "title": "A car",
    "description": "Words.",
    "chassis": "KO-1204",
    "label": "Green one",
    "make": "Kora",
    "model": 124,
    "year": "1967½",
    "engine_size": "454ci",
    "engine_layout": "I6",
    "power": "100 kW",
    "transmission": "4-speed manual",
    "steering_side": "RHD",
    "colour": "British green",
    "documents": ["bills", "build record"],
    "modifications": "brakes/reversible/period",
    "history": "none",
    "equipment": [],
    "mileage": "48,200 km",
    "condition_grade": 64,
    "restoration": "not looked at",
    "genuineness": "cannot be told",
    "re_engineered": False,
    "asking": "€ 41.250",
    "seen_on": date(2025, 6, 14),
    "sale": {"channel": "live auction", "basis": "hammer", "reserve": "no reserve", "venue": " "},
}


def test_every_kind_of_entry() -> None:
    car = car_from_values(FULL)
    assert car.values["model"] == "124"
    assert car.values["year"] == 1967.0
    assert car.values["engine_size"] == pytest.approx(7.44, abs=0.01)
    assert car.values["engine_layout"] == "inline-6"
    assert car.values["power"] == pytest.approx(134.1, abs=0.01)
    assert (car.values["transmission"], car.values["gears"]) == ("manual", 4.0)
    assert car.values["steering_side"] == "right"
    assert car.values["colour"] == "green"
    assert car.values["documents"] == ("bills", "build record")
    assert car.values["modifications"] == ("brakes/reversible/period",)
    assert car.values["history"] == () == car.values["equipment"]
    assert car.values["mileage"] == pytest.approx(29_950, abs=1)
    assert car.values["re_engineered"] == "no"
    assert car.not_looked_at == {"restoration"}
    assert car.cannot_be_told == {"genuineness"}
    assert (car.asking, car.seen_on) == (41_250.0, date(2025, 6, 14))
    assert dict(car.sale) == {
        "channel": "live auction",
        "basis": "hammer price",
        "reserve": "none",
    }
    assert car.notes == ("Mileage: 48,200 km is 29,950 miles.",)


def test_a_car_comes_back_from_its_file(tmp_path: Path) -> None:
    car = car_from_values(FULL)
    path = tmp_path / "car.toml"
    write_car(car, path)
    again = read_car(path)
    assert (again.values, again.sale) == (car.values, car.sale)
    assert (again.not_looked_at, again.cannot_be_told) == (car.not_looked_at, car.cannot_be_told)
    assert (again.title, again.description, again.chassis, again.label) == (
        "A car", "Words.", "KO-1204", "Green one",
    )  # fmt: skip
    assert (again.asking, again.seen_on) == (car.asking, car.seen_on)


@pytest.mark.parametrize("attribute", [a for a in ATTRIBUTES if a.example])
def test_every_example_of_the_contract_is_read(attribute: Any) -> None:
    car = car_from_values({attribute.name: attribute.example})
    assert attribute.name in car.values


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        ({"year": 1700}, "year has to be a number from 1885 to 2100 (got: 1700)"),
        (
            {"condition_grade": "splendid"},
            "condition_grade has to be a number from 0 to 100 points (got: splendid)",
        ),
        (
            {"mileage": True},
            "mileage has to be a number from 0 to 2000000 miles (got: True)",
        ),
        (
            {"steering_side": "both"},
            "steering_side has to be one of left, right, centre (got: both)",
        ),
        (
            {"documents": ["bills", "poem"]},
            "documents has to be made of build record, first bill of sale, ownership chain, "
            "restoration photographs, bills (got: poem)",
        ),
        (
            {"documents": 3},
            'documents has to be a list of words, such as ["a", "b"], or "none" (got: 3)',
        ),
        ({"make": ""}, "make has to be text between quotation marks (got: )"),
        ({"milage": 3}, "milage has to be mileage, the nearest known name (got: 3)"),
        ({"title": 1.5}, "title has to be text between quotation marks (got: 1.5)"),
        ({"asking": "-3"}, "asking has to be an amount above zero, such as 41250 (got: -3)"),
        ({"seen_on": "soon"}, "seen_on has to be a day such as 2025-06-14 (got: soon)"),
        ({"sale": "auction"}, "sale has to be a table [sale] (got: auction)"),
        (
            {"sale": {"outcome": "gone"}},
            "sale.outcome has to be one of sold, not sold, offered, unknown (got: gone)",
        ),
        (
            {"sale": {"hall": "4"}},
            "sale.hall has to be one of the keys channel, venue, region, basis, outcome, reserve "
            "(got: hall)",
        ),
        (
            {"sale": {"venue": 4}},
            "sale.venue has to be text between quotation marks (got: 4)",
        ),
    ],
)
def test_wrong_entries(entry: dict[str, Any], message: str) -> None:
    with pytest.raises(CarFileError) as error:
        car_from_values(entry, where="car.toml")
    assert str(error.value) == f"car.toml: one entry is wrong: {message}. Correct it."


def test_all_wrong_entries_are_named_at_once() -> None:
    with pytest.raises(CarFileError) as error:
        car_from_values({"year": 1, "gears": 99, "sale": {"x": 1}})
    assert str(error.value).startswith("car: 3 entries are wrong: year has to be")
    assert str(error.value).endswith("Correct them.")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", 'car.toml: nothing is said about the car. Write at least title = "...".'),
        ("title = ", "car.toml: it is no TOML (got: Invalid value (at end of document)). "
         "Correct the line named."),
    ],
)  # fmt: skip
def test_files_that_say_nothing(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(CarFileError) as error:
        read_car(_file(tmp_path, text))
    assert str(error.value) == message


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(CarFileError) as error:
        read_car(tmp_path / "none.toml")
    assert str(error.value) == (
        "none.toml: it can't be read (got: No such file or directory). Check its name."
    )


def test_a_mileage_that_is_only_a_status() -> None:
    assert dict(car_from_values({"mileage": "TMU"}).values) == {"mileage_status": "unknown"}
    assert isinstance(car_from_values({"make": "Kora"}), Car)

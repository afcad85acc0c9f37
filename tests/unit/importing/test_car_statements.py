"""What a car's texts tell, and the words each value rests on."""

from __future__ import annotations

from valuation.importing.car_file import car_from_values, complete_car

MAKES = {"Torvane": ("GT",)}


def test_values_from_the_title_keep_its_words() -> None:
    car = car_from_values({"title": "1967 Torvane GT Convertible"}, known_makes=MAKES)
    assert car.values["body"] == "convertible"
    assert car.statements["body"] == "title: 1967 Torvane GT Convertible"


def test_engine_and_gearbox_have_texts_of_their_own() -> None:
    car = car_from_values(
        {
            "make": "Torvane",
            "year": 1967,
            "engine_text": "Rebuilt 3.2L V8",
            "transmission_text": "4-Speed Manual Gearbox",
        }
    )
    assert (car.values["engine_size"], car.values["engine_layout"]) == (3.2, "V8")
    assert (car.values["transmission"], car.values["gears"]) == ("manual", 4.0)
    assert car.statements["engine_size"] == "engine text: Rebuilt 3.2L V8"
    assert car.notes[-1] == "Forward gears is read from the transmission text: 4."


def test_what_is_stated_outright_rests_on_no_words() -> None:
    car = car_from_values({"title": "1967 Torvane GT", "year": 1968}, known_makes=MAKES)
    assert car.values["year"] == 1968
    assert "year" not in car.statements


def test_a_car_completed_later_keeps_both() -> None:
    early = car_from_values({"title": "1967 Torvane GT", "engine_text": "2.6L"})
    late = complete_car(early, MAKES)
    assert late.values["model"] == "GT"
    assert set(early.statements) < set(late.statements)

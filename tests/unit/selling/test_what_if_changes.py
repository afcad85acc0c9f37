"""Changes as they are asked, and the car that they make."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from valuation.errors import QuestionError
from valuation.inspection.settings_file import default_inspection_settings
from valuation.records import Car, OpenFact, Work
from valuation.results.what_if_parts import ChangedFact
from valuation.selling.what_if_car import ChangedCar, with_changes
from valuation.selling.what_if_changes import Change, read_change

SETTINGS = default_inspection_settings()

CAR = Car(
    {
        "year": 1968.0,
        "make": "Torvane",
        "model": "GT",
        "transmission": "manual",
        "gears": 4.0,
        "mileage": 58_400.0,
        "condition_grade": 63.0,
        "documents": ("bills",),
        "history": ("major service due",),
        "engine_originality": "later replacement",
    },
    not_looked_at=frozenset({"colour_origin"}),
    transmission_text="4-spd",
    engine_text="3.2 six",
)

MARKED = replace(
    CAR,
    marks={z.name: 6.0 for z in SETTINGS.zones},
    values={**CAR.values, "condition_grade": 60.0},
)


def changed(*texts: str, car: Car = CAR) -> ChangedCar:
    return with_changes(car, [read_change(t) for t in texts], SETTINGS)


def refused(*texts: str, car: Car = CAR) -> str:
    with pytest.raises(QuestionError) as caught:
        changed(*texts, car=car)
    return str(caught.value)


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("mileage=+10000", "mileage", 68_400.0),
        ("mileage=-400", "mileage", 58_000.0),
        ("mileage = 20,000 miles", "mileage", 20_000.0),
        ("condition_grade=+7.5", "condition_grade", 70.5),
        ("documents=+build record; ownership chain", "documents",
         ("bills", "build record", "ownership chain")),
        ("documents=-bills", "documents", ()),
        ("documents=none", "documents", ()),
        ("engine_originality=matching numbers", "engine_originality", "numbers-matching"),
        ("history=+major service done", "history", ("major service done",)),
    ],
)  # fmt: skip
def test_a_value_is_read_as_in_a_car_file_and_a_sign_makes_it_a_step(
    text: str, name: str, value: object
) -> None:
    made = changed(text)
    assert made.car.values[name] == value
    assert [f.name for f in made.facts] == [name]
    assert {n: v for n, v in made.car.values.items() if n != name} == {
        n: v for n, v in CAR.values.items() if n != name
    }


def test_kilometres_are_miles_in_a_step_too() -> None:
    made = changed("mileage=+10000 km")
    assert made.car.values["mileage"] == pytest.approx(58_400 + 6_213.7, abs=0.1)
    assert made.notes == ("Mileage: 10000 km is 6,214 miles.",)


def test_a_settled_value_takes_the_place_of_what_was_open() -> None:
    bare = replace(CAR, values={n: v for n, v in CAR.values.items() if n != "documents"})
    opened = replace(bare, open=(OpenFact("documents", ("bills", "none")),))
    made = changed("documents=bills", "colour_origin=changed", car=opened)
    assert made.car.open == ()
    assert not made.car.not_looked_at
    before = {f.name: f.before for f in made.facts}
    assert before == {"documents": "open: bills or none", "colour_origin": "not looked at"}


@pytest.mark.parametrize("said", ["not stated", "not looked at", "cannot be told"])
def test_a_fact_can_be_unsaid(said: str) -> None:
    car = changed(f"engine_originality={said}").car
    assert "engine_originality" not in car.values
    assert ("engine_originality" in car.not_looked_at) == (said == "not looked at")
    assert ("engine_originality" in car.cannot_be_told) == (said == "cannot be told")


def test_another_gearbox_takes_gears_and_words_with_it() -> None:
    made = changed("transmission=automatic")
    assert "gears" not in made.car.values
    assert made.car.transmission_text == ""
    assert made.car.engine_text == "3.2 six"
    assert [(f.name, f.asked) for f in made.facts] == [("transmission", True), ("gears", False)]
    assert changed("transmission=automatic", "gears=3").car.values["gears"] == 3.0


def test_words_that_nobody_settled_are_taken_to_be_nothing_else() -> None:
    silent = replace(CAR, values={n: v for n, v in CAR.values.items() if n != "documents"})
    made = changed("documents=+bills", car=silent)
    assert made.car.values["documents"] == ("bills",)
    assert made.notes == (
        "Documents: what there is today is not settled; it is taken to be nothing else.",
    )


def test_what_is_so_today_changes_nothing() -> None:
    made = changed("documents=+bills", "mileage=58400")
    assert made.facts == ()
    assert made.car is CAR
    assert with_changes(CAR, [], SETTINGS).car is CAR


def test_values_can_be_given_as_they_are() -> None:
    made = with_changes(CAR, [Change("documents", ()), Change("mileage", 100.0)], SETTINGS)
    assert made.car.values["documents"] == ()
    assert made.car.values["mileage"] == 100.0


def test_work_that_is_planned_is_no_part_of_the_question() -> None:
    planned = replace(CAR, work=(Work("respray", Decimal(1), Decimal(2)),))
    assert changed("mileage=+1", car=planned).car.work == ()


def test_a_better_mark_of_a_zone_raises_the_grade() -> None:
    made = changed("paint=8.5", car=MARKED)
    grade = made.car.values["condition_grade"]
    weight = SETTINGS.zone("paint").weight / sum(z.weight for z in SETTINGS.zones)
    assert grade == pytest.approx(60 + 10 * 2.5 * weight, abs=0.01)
    assert made.facts[0] == ChangedFact("paint", "Paint", "6", "8.5")
    assert made.facts[1].name == "condition_grade"
    assert not made.facts[1].asked
    assert changed("paint=+2.5", car=MARKED).car == made.car


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (("mileage=many",), "mileage has to be a number from 0 to 2000000 miles (got: many)"),
        (("milage=1",), "milage has to be mileage, the nearest known name (got: 1)"),
        (("model=Farthingale",), "another one is another car"),
        (("colour=+red",), "colour has no more and less"),
        (("colour_origin=sort of",), "as it left the works, changed, special order"),
        (("originality_score=+5",), "today's is not settled, so nothing adds to it"),
        (("condition_grade=+50",), "a step that stays within 0 to 100 (today: 63)"),
        (("documents=-build record",), "of what the car has today: bills"),
        (("documents=+poem",), "made of build record"),
        (("mileage=+x",), "+ and a number, such as +10"),
        (("mileage=1", "mileage=2"), "one thing at a time: it is 1 as well"),
        (("mileage=1", "mileage=+2"), "one thing at a time: it is 1 as well"),
        (("paint=8",), "a zone that was marked"),
    ],
)
def test_what_can_t_be_asked_is_told(texts: tuple[str, ...], said: str) -> None:
    assert said in refused(*texts)


def test_all_faults_are_told_at_once() -> None:
    told = refused("milage=1", "mileage=x", "make=Gorlimar")
    assert told.startswith("what-if: 3 entries are wrong: ")
    assert told.endswith("Correct them.")


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (("paint=5",), "a better mark"),
        (("paint=11",), "a mark from 0 to 10 (today: 6)"),
        (("paint=+5",), "a mark from 0 to 10 (today: 6)"),
        (("paint=fine",), "a mark from 0 to 10, such as 8.5, or a step such as +2"),
        (("paint=8", "condition_grade=90"), "left out beside a zone"),
    ],
)
def test_a_mark_is_only_ever_better(texts: tuple[str, ...], said: str) -> None:
    assert said in refused(*texts, car=MARKED)


def test_steps_of_one_fact_go_together() -> None:
    assert changed("mileage=+100", "mileage=+50").car.values["mileage"] == 58_550.0
    assert changed("documents=+build record", "documents=-bills").car.values["documents"] == (
        "build record",
    )


@pytest.mark.parametrize("text", ["mileage", "=3", "mileage=", ""])
def test_a_change_has_a_name_and_a_value(text: str) -> None:
    with pytest.raises(QuestionError, match="Write it as NAME=VALUE"):
        read_change(text)

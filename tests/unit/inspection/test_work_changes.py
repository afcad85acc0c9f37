"""What work can change of a car, and the reasons why it can't change the rest."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from valuation.inspection.after_work import AfterWork, after_work
from valuation.inspection.settings_file import default_inspection_settings
from valuation.inspection.work_changes import CHANGEABLE
from valuation.records import Car, OpenFact, Work
from valuation.schema import ATTRIBUTES, BY_NAME

SETTINGS = default_inspection_settings()
ALONE = "It counts as cost alone."
PROOF = "Only if data plate or build record shows what it left the works with."


def done(values: dict[str, Any], changes: dict[str, Any], **car: Any) -> AfterWork:
    """Return a car after work that changes some of its attributes."""
    work = tuple(
        Work(f"change {name}", Decimal(1), Decimal(2), attribute=name, value=value)
        for name, value in changes.items()
    )
    return after_work(Car(values, work=work, **car), SETTINGS)


def example(name: str) -> Any:
    a = BY_NAME[name]
    if a.kind == "number":
        return a.high
    word = (a.levels or ("anything",))[-1]
    return (word,) if a.kind == "set" else word


@pytest.mark.parametrize(
    "name", [a.name for a in ATTRIBUTES if a.name not in {*CHANGEABLE, "condition_grade"}]
)
def test_what_work_can_not_change(name: str) -> None:
    found = done({}, {name: example(name)})
    assert dict(found.car.values) == {}
    assert found.car.open == ()
    (line,) = found.lines
    assert not line.counts
    assert line.note.startswith(f"{BY_NAME[name].label} can't be changed by work: ")
    assert line.note.endswith(f". {ALONE}")
    assert found.notes == ()


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("engine_originality", "no work brings back the engine a car was born with; a car that "
         "gets another engine needs a file of its own"),
        ("originality_score", "originality is what a car was born with: work can lose it and "
         "never brings it back"),
        ("title_status", "a title is cured by papers: write days and cost under [cure]"),
        ("mileage", "what a car has run stays as it is, and an odometer is never turned back"),
        ("steering_side", "it says which car this is: a car that is built to another needs a "
         "file of its own"),
    ],
)  # fmt: skip
def test_the_reasons(name: str, reason: str) -> None:
    (line,) = done({}, {name: example(name)}).lines
    assert line.note == f"{BY_NAME[name].label} can't be changed by work: {reason}. {ALONE}"


# Colour


def test_another_colour_is_not_that_of_the_works() -> None:
    found = done({"colour": "red", "colour_origin": "as it left the works"}, {"colour": "blue"})
    assert found.car.values == {"colour": "blue", "colour_origin": "changed"}
    (line,) = found.lines
    assert (line.before, line.after, line.counts) == ("red", "blue", True)
    assert line.note == (
        "With another colour it no longer wears the one it left the works in; if this is that "
        "one, say so in a line on colour_origin."
    )


def test_back_to_the_colour_of_the_works() -> None:
    values = {"colour": "red", "colour_origin": "changed"}
    found = done(values, {"colour": "blue", "colour_origin": "as it left the works"})
    assert found.car.values == {"colour": "blue", "colour_origin": "as it left the works"}
    assert [line.note for line in found.lines] == ["", PROOF]


def test_a_colour_that_was_changed_before_is_changed_still() -> None:
    found = done({"colour_origin": "changed"}, {"colour": "blue"})
    assert found.car.values == {"colour_origin": "changed", "colour": "blue"}
    assert found.lines[0].note == ""


def test_a_colour_nobody_looked_at() -> None:
    found = done({}, {"interior_colour": "tan", "colour_origin": "changed"},
                 not_looked_at=frozenset({"colour_origin", "interior_colour"}))  # fmt: skip
    assert found.car.values == {"interior_colour": "tan", "colour_origin": "changed"}
    assert found.car.not_looked_at == frozenset()
    assert [line.note for line in found.lines] == ["", ""]


def test_what_it_is_already() -> None:
    (line,) = done({"colour": "blue"}, {"colour": "blue"}).lines
    assert (line.counts, line.note) == (False, f"Colour is that without this line. {ALONE}")


# Gearbox


def test_another_gearbox_is_not_that_of_the_works() -> None:
    values = {"transmission": "automatic", "gears": 3.0, "transmission_origin":
              "as it left the works", "originality_score": 80.0}  # fmt: skip
    found = done(values, {"transmission": "manual"})
    assert found.car.values == {"transmission": "manual", "transmission_origin": "converted later"}
    # A gearbox weighs 10 of 100.
    (fact,) = found.car.open
    assert (fact.attribute, fact.low, fact.high) == ("originality_score", 70.0, 80.0)
    assert found.lines[0].note == (
        "With another gearbox the origin of the transmission is converted later, and the "
        "originality score may fall by what a gearbox counts."
    )


def test_more_gears_are_another_gearbox() -> None:
    score = OpenFact("originality_score", low=4.0, high=60.0, claim="60")
    found = done({"transmission": "manual", "gears": 4.0}, {"gears": 5.0}, open=(score,))
    assert found.car.values == {
        "transmission": "manual", "gears": 5.0, "transmission_origin": "converted later",
    }  # fmt: skip
    (fact,) = found.car.open
    assert (fact.low, fact.high, fact.claim) == (0.0, 60.0, "60")


def test_a_car_converted_before_loses_nothing_more() -> None:
    values = {"transmission": "manual", "transmission_origin": "converted later",
              "originality_score": 70.0}  # fmt: skip
    found = done(values, {"transmission": "automatic", "gears": 3.0})
    assert found.car.values == values | {"transmission": "automatic", "gears": 3.0}
    assert found.car.open == ()


def test_the_kind_of_the_works_put_back() -> None:
    values = {"transmission": "automatic", "transmission_origin": "converted later",
              "originality_score": 70.0}  # fmt: skip
    changes = {"transmission": "manual", "transmission_origin": "as it left the works"}
    found = done(values, changes)
    assert found.car.values == values | changes
    assert [line.note for line in found.lines] == ["", PROOF]


# Restoration, history, modifications


@pytest.mark.parametrize(
    ("today", "value", "note"),
    [
        ("unrestored, worn", "fresh restoration", ""),
        ("older restoration", "fresh restoration, documented",
         "Only with photographs and bills of the work."),
        (None, "partly restored", ""),
    ],
)  # fmt: skip
def test_a_restoration(today: str | None, value: str, note: str) -> None:
    found = done({"restoration": today} if today else {}, {"restoration": value})
    assert found.car.values == {"restoration": value}
    assert found.lines[0].note == note


@pytest.mark.parametrize(
    ("today", "value", "note"),
    [
        ("fresh restoration", "partly restored",
         "The car is further than that without this line: fresh restoration."),
        ("unrestored, worn", "unrestored, preserved", "Work makes a car one of: partly restored, "
         "fresh restoration, fresh restoration, documented."),
        ("unrestored, worn", "older restoration", "Work makes a car one of: partly restored, "
         "fresh restoration, fresh restoration, documented."),
    ],
)  # fmt: skip
def test_no_restoration(today: str, value: str, note: str) -> None:
    found = done({"restoration": today}, {"restoration": value})
    assert found.car.values == {"restoration": today}
    assert found.lines[0].note == f"{note} {ALONE}"


SERVED = {"history": ("major service done",)}


@pytest.mark.parametrize(
    ("today", "after"),
    [
        ({}, ("major service done",)),
        ({"history": ("long stored", "major service due")}, ("long stored", "major service done")),
        ({"history": ()}, ("major service done",)),
    ],
)
def test_a_major_service(today: dict[str, Any], after: tuple[str, ...]) -> None:
    assert done(today, SERVED).car.values["history"] == after


def test_a_major_service_of_a_car_with_an_open_history() -> None:
    fact = OpenFact("history", ("none", "accident; major service due"), where="papers")
    (after,) = done({}, SERVED, open=(fact,)).car.open
    assert after.levels == ("major service done", "accident; major service done")
    assert after.where == "papers"


def test_a_history_that_nobody_asked_for() -> None:
    found = done({}, SERVED, not_looked_at=frozenset({"history"}))
    assert found.car.values == SERVED
    assert found.car.not_looked_at == frozenset()


@pytest.mark.parametrize(
    ("today", "value", "note"),
    [
        (("accident",), (), "Of the history work makes only this: major service done."),
        ((), ("major service done", "racing"),
         "Of the history work makes only this: major service done."),
        (("accident", "major service done"), ("major service done",),
         "History says that without this line."),
    ],
)  # fmt: skip
def test_history_is_not_made(today: Any, value: Any, note: str) -> None:
    found = done({"history": today}, {"history": value})
    assert found.car.values == {"history": today}
    assert found.lines[0].note == f"{note} {ALONE}"


BUILT = ("brakes/reversible/period", "engine/permanent/later", "wheels/reversible/later")


def test_modifications_are_undone() -> None:
    left = ("brakes/reversible/period", "engine/permanent/later")
    assert done({"modifications": BUILT}, {"modifications": left}).car.values == {
        "modifications": left
    }


@pytest.mark.parametrize(
    ("today", "value", "note"),
    [
        ({}, (), "What was modified isn't settled, so nothing can be undone."),
        ({"modifications": BUILT}, BUILT[:1],
         "What is permanent can't be undone: engine/permanent/later."),
        ({"modifications": BUILT}, (*BUILT, "paint/permanent/later"),
         "Work on this list undoes and adds nothing: paint/permanent/later."),
    ],
)  # fmt: skip
def test_modifications_that_stay(today: dict[str, Any], value: Any, note: str) -> None:
    found = done(today, {"modifications": value})
    assert found.car.values == today
    assert found.lines[0].note == f"{note} {ALONE}"

"""The car after the listed work: what each line does, what it can't do, and what it costs."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.errors import CarFileError
from valuation.importing.car_file import car_from_values
from valuation.inspection.after_work import PLANNED, AfterWork, after_work
from valuation.inspection.contents import CostRange
from valuation.inspection.marks import Finding
from valuation.inspection.planned import marks_of
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings
from valuation.records import Car, OpenFact, Work, ZoneMark
from valuation.schema.kinds import NOT_ON_THIS_CAR

SETTINGS = default_inspection_settings()


def on_zone(zone: str, mark: float, low: int = 100, high: int = 200) -> Work:
    return Work(f"put {zone} right", Decimal(low), Decimal(high), "EUR", zone=zone, mark=mark)


def to(attribute: str, value: Any) -> Work:
    return Work(f"change {attribute}", Decimal(10), Decimal(20), attribute=attribute, value=value)


def done(*work: Work, marks: dict[str, ZoneMark] | None = None, **car: Any) -> AfterWork:
    car.setdefault("values", {"make": "Torvane"})
    return after_work(Car(work=work, marks=marks or {}, **car), SETTINGS)


def told(found: AfterWork) -> list[tuple[bool, str]]:
    return [(line.counts, line.note) for line in found.lines]


def grade_of(found: AfterWork) -> Any:
    facts = [(f.low, f.high) for f in found.car.open if f.attribute == "condition_grade"]
    return found.car.values.get("condition_grade", *facts)


@pytest.fixture
def worked(worked_marks: dict[str, Finding]) -> dict[str, ZoneMark]:
    """Return the marks of the worked case: weights 100, mean 76.6, at most 75 by the underside."""
    return marks_of(worked_marks)


# Zones


def test_work_on_zones_raises_the_grade(worked: dict[str, ZoneMark]) -> None:
    values = {"make": "Torvane", "condition_grade": 75.0}
    lines = (on_zone("underside", 6), on_zone("paint", 10, 4000, 6000))
    found = done(*lines, marks=worked, values=values)
    assert grade_of(found) == 78.4
    assert found.car.marks == worked | {"underside": 6.0, "paint": 10.0}
    assert found.car.work == ()
    underside, paint = found.lines
    assert (underside.label, underside.before, underside.after) == ("Underside", 5.0, 6.0)
    assert (paint.zone, paint.before, paint.after, paint.counts) == ("paint", 9.0, 10.0, True)
    assert found.costs == (CostRange(Decimal(4100), Decimal(6200), "EUR"),)
    assert found.notes == (PLANNED,)


def test_done_work_does_nothing_twice(worked: dict[str, ZoneMark]) -> None:
    once = done(on_zone("underside", 6), marks=worked)
    again = after_work(once.car, SETTINGS)
    assert again.car is once.car
    assert (again.lines, again.costs, again.days, again.notes) == ((), (), None, ())
    assert again.summary() == "No work is listed."


def test_a_worse_mark_is_told_and_ignored(worked: dict[str, ZoneMark]) -> None:
    values = {"condition_grade": 75.0}
    lines = (on_zone("paint", 8), on_zone("paint", 9), on_zone("underside", 6),
             on_zone("underside", 5.5))  # fmt: skip
    found = done(*lines, marks=worked, values=values)
    alone = "It counts as cost alone."
    assert told(found) == [
        (False, f"A mark of 8, and without this line it has at least 9. {alone}"),
        (False, f"A mark of 9, and without this line it has that. {alone}"),
        (True, ""),
        (False, f"A mark of 5.5, and without this line it has at least 6. {alone}"),
    ]
    assert found.car.marks == worked | {"underside": 6.0}
    assert grade_of(found) == 77.2


def test_the_grade_may_stay_where_another_zone_holds_it(worked: dict[str, ZoneMark]) -> None:
    found = done(on_zone("paint", 10), marks=worked, values={"condition_grade": 75.0})
    assert grade_of(found) == 75.0
    assert found.notes == (
        "The condition grade is not higher after the work: Underside may hold it down.",
        PLANNED,
    )


def test_a_span_keeps_its_upper_end() -> None:
    fact = OpenFact("condition_grade", low=25.0, high=100.0, where="everywhere", minutes=90.0)
    marks: dict[str, ZoneMark] = {"body_structure": (2.0, 8.0), "underside": 7.0, "paint": (3, 6)}
    found = done(
        on_zone("body_structure", 7), on_zone("paint", 8), marks=marks, values={}, open=(fact,)
    )
    assert found.car.marks == {"body_structure": (7.0, 8.0), "underside": 7.0, "paint": 8.0}
    (after,) = found.car.open
    # Paint weighs 12 of 106 and rises by at least 2 marks; the sills may have been 8 before.
    assert after.low == pytest.approx(25 + 10 * 12 * 2 / 106, abs=0.01)
    assert after.high == 100.0
    assert (after.where, after.minutes) == ("everywhere", 90.0)
    assert found.lines[0].summary() == (
        "put body_structure right: 100 to 200 EUR; Body structure and rust from between 2 and 8 "
        "to between 7 and 8."
    )


def test_without_a_stated_grade_it_follows_from_the_marks(worked: dict[str, ZoneMark]) -> None:
    found = done(
        on_zone("underside", 6), marks=worked, not_looked_at=frozenset({"condition_grade"})
    )
    assert grade_of(found) == 77.2
    assert found.car.not_looked_at == frozenset()
    told = "No condition grade is stated: after the work it follows from the marks."
    assert found.notes == (told, PLANNED)


def test_what_is_open_after_the_work_says_where_to_look() -> None:
    found = done(on_zone("paint", 8), marks={"paint": 5.0}, values={})
    (fact,) = found.car.open
    assert fact.where.startswith("Body structure and rust: sills, posts")
    assert fact.how
    assert fact.minutes


@pytest.mark.parametrize("state", ["values", "open", "not_looked_at", "nothing"])
def test_work_on_zones_without_marks_is_a_cost_alone(state: str) -> None:
    car: dict[str, Any] = {
        "values": {"values": {"condition_grade": 63.0}},
        "open": {"values": {}, "open": (OpenFact("condition_grade", low=50.0, high=70.0),)},
        "not_looked_at": {"values": {}, "not_looked_at": frozenset({"condition_grade"})},
        "nothing": {"values": {}},
    }[state]
    found = done(on_zone("paint", 8), **car)
    assert told(found) == [
        (False, "Paint has no mark today, so what the work adds can't be told. It counts as cost "
         "alone.")
    ]  # fmt: skip
    assert found.car == Car(**car)
    assert found.notes == ()


def test_a_zone_that_is_not_on_the_car_can_not_be_put_right(worked: dict[str, ZoneMark]) -> None:
    found = done(on_zone("top", 8), marks=worked)
    assert told(found) == [
        (False, "Soft or sliding top is not on this car. It counts as cost alone.")
    ]


def test_a_grade_that_is_not_that_of_its_marks(worked: dict[str, ZoneMark]) -> None:
    found = done(on_zone("underside", 8), marks=worked, values={"condition_grade": 82.0})
    assert told(found) == [
        (False, "The stated condition grade isn't that of the marks. It counts as cost alone.")
    ]
    assert grade_of(found) == 82.0


def test_unknown_zones_are_all_named() -> None:
    car = Car(
        {"make": "Torvane", "model": "GT"},
        marks={"fins": 5.0, "paint": 6.0, "underside": NOT_ON_THIS_CAR},
        work=(on_zone("paint", 8), on_zone("tail", 7)),
    )
    with pytest.raises(CarFileError) as caught:
        after_work(car, SETTINGS)
    text = str(caught.value)
    assert text.startswith("Torvane GT: 3 entries are wrong: marks.fins has to be one of the zones")
    assert "panel_fit, paint, " in text
    assert "marks.underside has to be a mark: every car has this zone (got: not on this" in text
    assert "work 2.zone has to be one of the zones panel_fit, " in text
    assert text.endswith("(got: tail). Correct them.")


# A grade that rests on no marks


def test_a_stated_grade_is_raised_and_never_lowered() -> None:
    found = done(to("condition_grade", 80.0), to("condition_grade", 70.0),
                 values={"condition_grade": 63.0})  # fmt: skip
    assert grade_of(found) == 80.0
    assert told(found) == [
        (True, ""),
        (False, "A grade of 70, and without this line it is at least 80. It counts as cost alone."),
    ]


@pytest.mark.parametrize(
    ("value", "after"), [(50.0, (55.0, 70.0)), (60.0, (60.0, 70.0)), (70.0, 70.0), (90.0, 90.0)]
)
def test_an_open_grade_is_narrowed(value: float, after: Any) -> None:
    fact = OpenFact("condition_grade", low=55.0, high=70.0, how="look")
    found = done(to("condition_grade", value), values={}, open=(fact,))
    assert grade_of(found) == after
    assert all(f.how == "look" for f in found.car.open)


def test_a_grade_of_which_only_the_work_speaks() -> None:
    found = done(to("condition_grade", 80.0), cannot_be_told=frozenset({"condition_grade"}))
    assert grade_of(found) == 80.0
    assert found.car.cannot_be_told == frozenset()
    assert told(found) == [
        (True, "Nobody graded it as it stands: the grade rests on this line alone.")
    ]


def test_marks_go_before_a_grade_by_hand(worked: dict[str, ZoneMark]) -> None:
    found = done(to("condition_grade", 90.0), marks=worked, values={"condition_grade": 75.0})
    assert told(found) == [
        (False, "The condition grade follows from the marks: name a zone and its mark. It counts "
         "as cost alone.")
    ]  # fmt: skip
    assert grade_of(found) == 75.0


# The car and the money


def test_all_else_of_the_car_stays() -> None:
    engine = OpenFact("engine_originality", ("date-correct", "correct type"))
    car = car_from_values(
        {
            "title": "1967 Kora GT",
            "description": "Some rust in the sills.",
            "body": "coupe",
            "mileage": "not looked at",
            "condition_grade": 60,
            "colour": "red",
            "stops": ["Two numbers."],
            "cure": {"days": 3},
            "asking": 41_000,
            "open": [{"attribute": "engine_originality",
                      "could_be": ["date-correct", "correct type"]}],
            "work": [{"what": "paint", "cost": 1, "attribute": "colour", "value": "blue"}],
        },
        known_makes={"Kora": ("GT",)},
    )  # fmt: skip
    found = after_work(car, SETTINGS)
    after = found.car
    assert after.open == (engine,)
    assert after.values == car.values | {"colour": "blue", "colour_origin": "changed"}
    for kept in ("title", "description", "said", "stops", "cure", "asking", "not_looked_at",
                 "marks", "notes"):  # fmt: skip
        assert getattr(after, kept) == getattr(car, kept)
    assert found.notes[-1] == (
        "The listing still says so after the work: rust. Correct it under [statements] if the "
        "work puts it right."
    )


def test_words_that_no_longer_hold_are_not_quoted() -> None:
    car = car_from_values({
        "title": "1967 Kora GT, automatic",
        "work": [{"what": "gearbox", "cost": 1, "attribute": "transmission", "value": "manual"}],
    })  # fmt: skip
    assert "transmission" in car.statements
    after = after_work(car, SETTINGS).car
    assert after.values["transmission"] == "manual"
    assert "transmission" not in after.statements
    assert after.statements["year"] == car.statements["year"]


def test_a_preserved_car_may_not_stay_one(worked: dict[str, ZoneMark]) -> None:
    values = {"restoration": "unrestored, preserved"}
    found = done(on_zone("underside", 6), marks=worked, values=values)
    told = (
        "The car counts as unrestored, preserved: if the work ends that, say so in a line on "
        "restoration."
    )
    assert told in found.notes
    ended = done(on_zone("underside", 6), to("restoration", "partly restored"), marks=worked,
                 values=values)  # fmt: skip
    assert told not in ended.notes
    assert ended.car.values["restoration"] == "partly restored"


def test_costs_are_added_up_by_currency() -> None:
    work = (
        Work("a", Decimal("0.10"), Decimal("0.20"), "EUR", days=2.0),
        Work("b", Decimal(5), Decimal(6)),
        Work("c", Decimal("0.20"), Decimal("0.30"), "EUR", days=1.5),
        Work("d", Decimal(0), Decimal(7), "LYD"),
    )
    found = done(*work)
    assert found.costs == (
        CostRange(Decimal("0.30"), Decimal("0.50"), "EUR"),
        CostRange(Decimal(5), Decimal(6), ""),
        CostRange(Decimal(0), Decimal(7), "LYD"),
    )
    assert found.days == 3.5
    assert (
        told(found) == [(False, "It names no zone and no attribute. It counts as cost alone.")] * 4
    )
    assert found.summary() == (
        "Work: 0.30 to 0.50 EUR and 5 to 6 and 0 to 7 LYD, 3.5 days.\n"
        "  a: 0.10 to 0.20 EUR, 2 days. It names no zone and no attribute. It counts as cost "
        "alone.\n"
        "  b: 5 to 6. It names no zone and no attribute. It counts as cost alone.\n"
        "  c: 0.20 to 0.30 EUR, 1.5 days. It names no zone and no attribute. It counts as cost "
        "alone.\n"
        "  d: 0 to 7 LYD. It names no zone and no attribute. It counts as cost alone."
    )


def test_the_machine_readable_form() -> None:
    marks: dict[str, ZoneMark] = {"underside": (2.0, 8.0)}
    found = done(on_zone("underside", 6), to("history", ("major service done",)), marks=marks)
    kept = json.loads(json.dumps(found.to_dict()))
    assert kept["marks"] == {"underside": [6.0, 8.0]}
    assert kept["costs"][0] == {"low": "100", "high": "200", "currency": "EUR"}
    assert kept["days"] is None
    assert kept["lines"][0] == {
        "what": "put underside right", "zone": "underside", "attribute": "",
        "before": [2.0, 8.0], "after": [6.0, 8.0], "low": "100", "high": "200",
        "currency": "EUR", "days": None, "counts": True, "note": "",
    }  # fmt: skip
    assert kept["lines"][1]["after"] == ["major service done"]
    assert kept["notes"] == list(found.notes)


# Any car, any work

ZONES = [z.name for z in SETTINGS.zones]
HALVES = st.integers(0, 20).map(lambda n: n / 2)
SPANS = st.tuples(HALVES, HALVES).map(lambda pair: (min(pair), max(pair)))
MARKS = st.dictionaries(st.sampled_from(ZONES), HALVES | SPANS)
WORK = st.lists(st.tuples(st.sampled_from(ZONES), HALVES), max_size=5)


def ends(found: AfterWork) -> tuple[float, float]:
    grade = grade_of(found)
    return grade if isinstance(grade, tuple) else (grade, grade)


@given(MARKS, st.integers(0, 100), st.integers(0, 60), WORK, WORK)
def test_more_work_never_lowers_the_grade(
    marks: dict[str, ZoneMark],
    low: int,
    wide: int,
    work: list[tuple[str, float]],
    more: list[tuple[str, float]],
) -> None:
    fact = OpenFact("condition_grade", low=float(low), high=float(min(100, low + wide)))
    some = done(*(on_zone(*w) for w in work), marks=marks, values={}, open=(fact,))
    full = done(*(on_zone(*w) for w in work + more), marks=marks, values={}, open=(fact,))
    assert fact.low is not None
    assert fact.high is not None
    assert ends(some)[0] >= fact.low
    assert ends(some)[1] >= fact.high
    assert ends(full)[0] >= ends(some)[0]
    assert ends(full)[1] >= ends(some)[1]
    assert len(full.lines) == len(work) + len(more)
    assert sum((c.low for c in full.costs), Decimal(0)) == 100 * len(full.lines)


@given(MARKS, WORK)
def test_the_order_of_the_work_changes_nothing(
    marks: dict[str, ZoneMark], work: list[tuple[str, float]]
) -> None:
    there = done(*(on_zone(*w) for w in work), marks=marks)
    back = done(*(on_zone(*w) for w in reversed(work)), marks=marks)
    assert there.car == back.car
    assert there.costs == back.costs


def test_the_settings_of_the_firm_count(settings: InspectionSettings) -> None:
    with pytest.raises(CarFileError, match=r"work 1\.zone has to be one of the zones panel_fit"):
        after_work(Car({}, work=(on_zone("wings", 5),)), settings)

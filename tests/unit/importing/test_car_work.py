"""Work, marks, cure and stops of a car file: read, written back, every wrong entry named."""

from __future__ import annotations

import string
import tempfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.errors import CarFileError
from valuation.importing.car_file import car_from_values, read_car, write_car
from valuation.records import Car, Cure, Work, ZoneMark
from valuation.schema.kinds import NOT_ON_THIS_CAR

FILE = """
make = "Kora"
title_status = "lien"
stops = ["Two numbers differ. See the authority first."]

[marks]
paint = 5.5
underside = [2, 8]
top = "not on this car"
boot = "not looked at"

[cure]
days = 21
low = 150
high = "400 EUR"

[[work]]
what = "respray"
low = 4000
high = 6000.50
currency = "eur"
zone = "paint"
mark = 8.5
days = 20

[[work]]
what = "paint it in its first colour"
cost = "1.200,00 €"
attribute = "colour"
value = "dark red"

[[work]]
what = "major service"
low = 900
attribute = "history"
value = ["major service done"]

[[work]]
what = "clean it"
cost = 0
"""


def _written(car: Car) -> tuple[str, Car]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "car.toml"
        write_car(car, path)
        return path.read_text(encoding="utf-8"), read_car(path)


def _same(one: Car, other: Car) -> bool:
    return all(getattr(one, k) == getattr(other, k) for k in ("work", "marks", "cure", "stops"))


def test_work_marks_cure_and_stops_are_read(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_text(FILE, encoding="utf-8")
    car = read_car(path)
    assert car.stops == ("Two numbers differ. See the authority first.",)
    assert dict(car.marks) == {"paint": 5.5, "underside": (2.0, 8.0), "top": NOT_ON_THIS_CAR}
    assert car.cure == Cure(21.0, Decimal(150), Decimal(400), "EUR")
    respray, colour, service, clean = car.work
    assert respray == Work(
        "respray", Decimal(4000), Decimal("6000.5"), "EUR", zone="paint", mark=8.5, days=20.0
    )
    assert (colour.low, colour.high, colour.currency) == (Decimal(1200), Decimal(1200), "EUR")
    assert (colour.attribute, colour.value) == ("colour", "red")
    assert (service.low, service.high) == (Decimal(900), Decimal(900))
    assert service.value == ("major service done",)
    assert clean == Work("clean it", Decimal(0), Decimal(0))


def test_they_come_back_from_their_file(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_text(FILE, encoding="utf-8")
    car = read_car(path)
    text, again = _written(car)
    assert _same(car, again)
    assert again == car
    assert _written(again)[0] == text
    assert '[[work]]\nwhat = "respray"\nlow = 4000\nhigh = 6000.5\ncurrency = "EUR"' in text
    assert "[marks]\npaint = 5.5\nunderside = [2, 8]\n" in text


def test_a_car_without_them_is_written_as_before() -> None:
    text, again = _written(Car({"make": "Kora", "year": 1967.0}))
    assert text == 'make = "Kora"\nyear = 1967\n'
    assert (again.work, dict(again.marks), again.cure, again.stops) == ((), {}, None, ())


def test_a_cure_of_which_nothing_is_known_is_none() -> None:
    assert car_from_values({"cure": {}}).cure is None
    assert car_from_values({"cure": {"days": 3}}).cure == Cure(3.0)
    assert car_from_values({"cure": {"cost": 80}}).cure == Cure(None, Decimal(80), Decimal(80))


LINE = {"what": "w", "cost": 1}
AMOUNT = "an amount from 0 to 1,000,000,000, such as 1250"


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({"work": "respray"}, "work has to be tables, each under [[work]] (got: respray)"),
        ({"work": [{"cost": 1}]}, "work 1.what has to be what is to be done (got: nothing)"),
        ({"work": [{"what": 3, "cost": 1}]},
         "work 1.what has to be text between quotation marks (got: 3)"),
        ({"work": [{"what": "w"}]},
         f"work 1.low has to be {AMOUNT}: what the work costs (got: nothing)"),
        ({"work": [{"what": "w", "low": -1, "high": 5}]},
         f"work 1.low has to be {AMOUNT} (got: -1)"),
        ({"work": [{"what": "w", "cost": "3 to 5k"}]},
         f"work 1.cost has to be {AMOUNT} (got: 3 to 5k)"),
        ({"work": [{"what": "w", "cost": True}]}, f"work 1.cost has to be {AMOUNT} (got: True)"),
        ({"work": [{"what": "w", "cost": 2e9}]},
         f"work 1.cost has to be {AMOUNT} (got: 2000000000.0)"),
        ({"work": [{"what": "w", "low": 900, "high": 800.5}]},
         "work 1.high has to be at least the low end, 900 (got: 800.5)"),
        ({"work": [{"what": "w", "low": 1, "cost": 2}]},
         "work 1.cost has to be left out beside low and high (got: 2)"),
        ({"work": [LINE | {"currency": "money"}]},
         "work 1.currency has to be a three-letter ISO 4217 code such as EUR (got: MONEY)"),
        ({"work": [{"what": "w", "low": "5 EUR", "high": "7 USD"}]},
         "work 1.high has to be in EUR (got: 7 USD)"),
        ({"work": [LINE | {"zone": "paint"}]},
         "work 1.mark has to be a mark from 0 to 10: that of the zone after the work "
         "(got: nothing)"),
        ({"work": [LINE | {"mark": 7}]},
         "work 1.zone has to be the zone whose mark it is, such as paint (got: nothing)"),
        ({"work": [LINE | {"zone": "paint", "mark": 10.5}]},
         "work 1.mark has to be a mark from 0 to 10 (got: 10.5)"),
        ({"work": [LINE | {"zone": "paint", "mark": -0.5}]},
         "work 1.mark has to be a mark from 0 to 10 (got: -0.5)"),
        ({"work": [LINE | {"zone": "paint", "mark": "good"}]},
         "work 1.mark has to be a mark from 0 to 10 (got: good)"),
        ({"work": [LINE | {"attribute": "shine", "value": 3}]},
         "work 1.attribute has to be an attribute such as colour (got: shine)"),
        ({"work": [LINE | {"attribute": "colour_origin", "value": "nearly"}]},
         "work 1.value has to be one of as it left the works, changed, special order "
         "(got: nearly)"),
        ({"work": [LINE | {"attribute": "condition_grade", "value": 140}]},
         "work 1.value has to be a number from 0 to 100 points (got: 140)"),
        ({"work": [LINE | {"attribute": "colour", "value": "n/a"}]},
         "work 1.value has to be a known colour (got: n/a)"),
        ({"work": [LINE | {"attribute": "colour"}]},
         "work 1.value has to be the colour after the work (got: nothing)"),
        ({"work": [LINE | {"value": "red"}]},
         "work 1.attribute has to be the attribute whose value it is, such as colour "
         "(got: nothing)"),
        ({"work": [LINE | {"zone": "paint", "mark": 8, "attribute": "colour", "value": "red"}]},
         "work 1.attribute has to be left out beside a zone: a line puts right a zone or changes "
         "an attribute (got: colour)"),
        ({"work": [LINE | {"days": -1}]},
         "work 1.days has to be a number of days from 0 to 3650, such as 10 (got: -1)"),
        ({"work": [LINE | {"who": "us"}]},
         "work 1.who has to be one of the keys what, low, high, cost, currency, zone, mark, "
         "attribute, value, days (got: who)"),
        ({"marks": 7}, "marks has to be a table [marks] (got: 7)"),
        *(({"marks": {"paint": wrong}},
           "marks.paint has to be a mark from 0 to 10, the lowest and the highest mark such as "
           f"[4, 7], or not looked at, not on this car (got: {wrong})")
          for wrong in (11, -1, True, "good", [7, 4], [4], [4, 5, 6], [4, 11], ["4", "7"])),
        ({"cure": 7}, "cure has to be a table [cure] (got: 7)"),
        ({"cure": {"low": 9, "high": 8}},
         "cure.high has to be at least the low end, 9 (got: 8)"),
        ({"cure": {"days": "soon"}},
         "cure.days has to be a number of days from 0 to 3650, such as 10 (got: soon)"),
        ({"cure": {"who": "us"}},
         "cure.who has to be one of the keys days, low, high, cost, currency (got: who)"),
        *(({"stops": wrong},
           f'stops has to be a list of sentences, such as ["Two numbers."] (got: {wrong})')
          for wrong in ("Two numbers.", [3], [" "])),
    ],
)  # fmt: skip
def test_wrong_entries(entry: dict[str, Any], told: str) -> None:
    with pytest.raises(CarFileError) as caught:
        car_from_values(entry)
    assert str(caught.value) == f"car: one entry is wrong: {told}. Correct it."


def test_all_wrong_entries_are_named_at_once() -> None:
    line = {"what": "", "low": 9, "high": -8, "zone": "paint", "days": "few"}
    entries = {"year": 3000, "work": [line, {"what": "w"}], "marks": {"boot": 12, "paint": "x"},
               "cure": {"days": -1}, "stops": [1]}  # fmt: skip
    with pytest.raises(CarFileError) as caught:
        car_from_values(entries)
    told = str(caught.value)
    assert told.startswith("car: 10 entries are wrong: ")
    places = ("year", "work 1.what", "work 1.high", "work 1.mark", "work 1.days", "work 2.low",
              "marks.boot", "marks.paint", "cure.days", "stops")  # fmt: skip
    assert all(f"{place} has to be " in told for place in places)


WORDS = st.text(string.ascii_letters + "äß'\"\\; -", min_size=1, max_size=20).map(str.strip)
SAID = WORDS.filter(bool)
AMOUNTS = st.decimals(min_value=0, max_value=10**9, places=2)
COSTS = st.tuples(AMOUNTS, AMOUNTS).map(lambda pair: tuple(sorted(pair)))
CURRENCY = st.sampled_from(["", "EUR", "LYD"])
DAYS = st.none() | st.floats(0, 3650)
MARKS = st.floats(0, 10)
ZONES = st.sampled_from(["paint", "underside", "a zone of our own"])
CHANGES = st.sampled_from(
    [("", None), ("colour", "red"), ("condition_grade", 71.5), ("history", ("major service done",)),
     ("modifications", ())]
)  # fmt: skip


@st.composite
def lines(draw: st.DrawFn) -> Work:
    (low, high), currency = draw(COSTS), draw(CURRENCY)
    attribute, value = draw(CHANGES)
    zone = "" if attribute else draw(st.just("") | ZONES)
    mark = draw(MARKS) if zone else None
    return Work(draw(SAID), low, high, currency, zone, mark, attribute, value, draw(DAYS))


@st.composite
def cures(draw: st.DrawFn) -> Cure | None:
    cost = draw(st.none() | COSTS)
    days = draw(DAYS)
    if cost is None:
        return None if days is None else Cure(days)
    return Cure(days, *cost, draw(CURRENCY))


SPANS = st.tuples(MARKS, MARKS).map(lambda pair: (min(pair), max(pair)))
ZONE_MARKS: st.SearchStrategy[ZoneMark] = MARKS | SPANS | st.just(NOT_ON_THIS_CAR)


@given(
    work=st.lists(lines(), max_size=3),
    marks=st.dictionaries(ZONES, ZONE_MARKS),
    cure=cures(),
    stops=st.lists(SAID, max_size=2),
)
def test_any_plan_comes_back_from_its_file(
    work: list[Work], marks: dict[str, ZoneMark], cure: Cure | None, stops: list[str]
) -> None:
    car = Car({"make": "Kora"}, work=tuple(work), marks=marks, cure=cure, stops=tuple(stops))
    text, again = _written(car)
    assert again == car
    assert _written(again)[0] == text

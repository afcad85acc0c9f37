"""Every unit of money is explained, and nothing on a page is empty or no number."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from valuation.appraisal.appraise import appraise, appraise_all
from valuation.appraisal.contrast import contrast
from valuation.appraisal.lines import Line, contributions
from valuation.appraisal.market import MarketModel
from valuation.features.table import day_number
from valuation.importing.car_file import car_from_values, read_car
from valuation.records import Car, Value
from valuation.results.valuation import Valuation
from valuation.schema import ATTRIBUTES
from valuation.schema.kinds import Attribute
from valuation.schema.sale import BASES

CAR_FILES = sorted((Path(__file__).parents[3] / "data_synthetic" / "cars").glob("*.toml"))
DAY = date(2025, 1, 15)


def check(valuation: Valuation) -> None:
    """Check what must hold for any valuation of any car."""
    v = valuation
    assert v.start + sum(c.amount for c in v.contributions) == v.central
    exact = math.fsum(c.exact for c in v.contributions)
    # The sum is rounded to half a unit, and the start gives or takes up to one so that all adds up.
    assert exact == pytest.approx(v.central - v.start, abs=1.5)
    for c in v.contributions:
        assert abs(c.amount - c.exact) <= 1.0
        assert c.lower <= c.exact <= c.upper
        assert 0.0 <= c.evidence_share <= 1.0
        assert c.sales >= 0
        assert c.label
    for sale in v.comparables:
        assert sale.price + sum(a.amount for a in sale.adjustments) == sale.adjusted_price
        assert sum(a.percent for a in sale.adjustments) == pytest.approx(sale.net_adjustment)
        assert abs(sale.net_adjustment) <= sale.gross_adjustment + 1e-9
        assert 0.0 <= sale.weight <= 1.0
        assert sale.title
        grown = sale.price * math.exp(sale.net_adjustment / 100)
        assert sale.adjusted_price == pytest.approx(grown, abs=0.51)
    assert v.start > 0
    assert v.central > 0
    assert len(v.cautions) == 3
    text = json.dumps(v.to_dict(), allow_nan=False)  # raises on NaN and on infinity
    assert "nan" not in v.summary().lower().split()
    assert json.loads(text)["format"] == 1


def test_every_twentieth_sale_is_explained(small_market: MarketModel, sold_cars: list[Car]) -> None:
    assert len(sold_cars) == 40
    for car in sold_cars:
        check(appraise(small_market, car, as_of=DAY))


@pytest.mark.parametrize(
    "path", [p for p in CAR_FILES if p.stem != "incomplete"], ids=lambda p: p.stem
)
def test_the_cars_of_the_demo_are_explained(small_market: MarketModel, path: Path) -> None:
    check(appraise(small_market, read_car(path, known_makes=small_market.makes), as_of=DAY))


def test_a_heading_alone_is_explained(small_market: MarketModel) -> None:
    path = next(p for p in CAR_FILES if p.stem == "incomplete")
    car = read_car(path, known_makes=small_market.makes)
    valuation = appraise(small_market, car, as_of=DAY)
    check(valuation)
    assert valuation.car == "1967 Torvane GT"
    assert "Year is read from the title: 1967." in valuation.evidence.warnings


def _value_of(a: Attribute) -> st.SearchStrategy[Value]:
    if a.kind == "number":
        return st.floats(a.low, a.high, allow_nan=False)
    word = st.sampled_from(a.levels) if a.levels else st.sampled_from(["red", "Ölgrün", "x" * 40])
    if a.kind == "category":
        return word
    return st.lists(word, max_size=4, unique=True).map(lambda words: tuple(sorted(words)))


_REST = {a.name: _value_of(a) for a in ATTRIBUTES if a.name not in ("year", "make", "model")}


@st.composite
def any_cars(draw: st.DrawFn) -> Car:
    """Draw cars as odd as the contract allows: most attributes stated, any make, any size."""
    values = draw(st.fixed_dictionaries({}, optional=_REST))
    values["year"] = float(draw(st.integers(1900, 2020)))
    values["make"] = draw(st.sampled_from(["Torvane", "Vessamir", "gorlimar", "Nobody's"]))
    model = draw(st.sampled_from(["", "GT", "Chancel", "Never Seen"]))
    if model:
        values["model"] = model
    unstated = [n for n in _REST if n not in values]
    unknown = draw(st.sets(st.sampled_from(unstated), max_size=3)) if unstated else set()
    return Car(
        values,
        not_looked_at=frozenset(unknown),
        title=draw(st.sampled_from(["", "1967 Torvane GT High Output", "a rare find"])),
        sale=draw(
            st.fixed_dictionaries(
                {},
                optional={
                    "channel": st.sampled_from(["dealer", "live auction", "by post"]),
                    "basis": st.sampled_from(BASES),
                    "outcome": st.sampled_from(["sold", "not sold", "offered"]),
                },
            )
        ),
    )


@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(car=any_cars())
def test_any_car_is_explained(small_market: MarketModel, car: Car) -> None:
    check(appraise(small_market, car, as_of=DAY))


def test_money_of_lines_is_exact_and_small_lines_are_joined() -> None:
    lines = [
        Line("condition_grade", "Condition grade", "80 points", math.log(1.2), 0.02, 40, 0.9),
        Line("body", "Body", "coupe", math.log(1.25), 0.01, 90, 1.0),
        Line("colour", "Colour", "red", math.log(0.9), 0.03, 70, 0.8),
        Line("mileage", "Mileage", "60,000 miles", math.log(0.92), 0.0, 70, 0.7),
        Line("gears", "Forward gears", "4 gears", 0.0002, 0.001, 5, 0.4),
        Line("steering_side", "Steering side", "not stated", -0.002, 0.002, 9, 0.3),
        Line("fuel", "Fuel", "petrol", -0.002, 0.002, 9, 0.3),
    ]
    start, central, made = contributions(math.log(40_000), lines, {"body": "Cpé"})
    assert start == 40_000
    grown = 40_000 * 1.2 * 1.25 * 0.9 * 0.92 * math.exp(0.0002 - 0.004)
    assert central == round(grown)
    assert math.fsum(c.exact for c in made) == pytest.approx(grown - 40_000, abs=1e-8)
    assert [c.attribute for c in made] == [
        "condition_grade", "body", "colour", "mileage", "fuel", "everything else",
    ]  # fmt: skip
    factor = (grown - 40_000) / math.log(grown / 40_000)
    assert made[0].exact == pytest.approx(factor * math.log(1.2))
    assert made[0].upper - made[0].exact == pytest.approx(1.6448536 * 0.02 * factor)
    assert made[1].statement == "Cpé"
    rest = made[-1]
    assert (rest.label, rest.value, rest.sales) == ("Everything else", "2 small differences", 9)
    assert rest.exact == pytest.approx(factor * (0.0002 - 0.002))
    assert rest.evidence_share == 0.3


def test_lines_say_where_they_come_from(small_market: MarketModel, sold_cars: list[Car]) -> None:
    valuation = appraise(small_market, sold_cars[3], as_of=DAY)
    assert [c.attribute for c in valuation.contributions][-1] in ("everything else", "correction")
    named = {c.attribute for c in valuation.contributions}
    assert named & {"condition_grade", "originality_score", "mileage", "colour"}
    assert "start" not in named
    assert valuation.start_label.startswith("Typical ")
    assert valuation.start_label.endswith(" sales)")


def _graded(car: Car, name: str, value: float) -> Car:
    return Car({**car.values, name: value}, title=car.title, chassis=car.chassis, sale=car.sale)


@pytest.mark.parametrize("name", ["condition_grade", "originality_score"])
def test_better_is_never_worth_less(
    small_market: MarketModel, sold_cars: list[Car], name: str
) -> None:
    day = day_number(DAY)
    rose = 0
    for car in sold_cars:
        ladder = [_graded(car, name, float(g)) for g in np.linspace(0, 100, 11)]
        steps = [contrast(small_market.fitted, a, b, day=day).effect for a, b in pairwise(ladder)]
        assert min(steps) >= -1e-9
        rose += sum(steps) > 0.05
    assert rose > len(sold_cars) / 2


def test_a_contrast_turns_round_and_knows_nothing_of_itself(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    car, day = sold_cars[0], day_number(DAY)
    better = _graded(car, "condition_grade", 95.0)
    there = contrast(small_market.fitted, car, better, day=day)
    back = contrast(small_market.fitted, better, car, day=day)
    assert there.effect == pytest.approx(-back.effect)
    assert there.sd == pytest.approx(back.sd)
    low, high = there.interval()
    assert high - low == pytest.approx(2 * 1.6448536 * there.sd)
    same = contrast(small_market.fitted, car, car, day=day)
    assert (same.effect, same.sd) == (0.0, 0.0)


def test_a_line_names_the_words_it_rests_on(small_market: MarketModel) -> None:
    car = car_from_values({"title": "1967 Torvane GT Convertible"}, known_makes=small_market.makes)
    lines = {c.attribute: c.statement for c in appraise(small_market, car).contributions}
    assert lines["body"] == "title: 1967 Torvane GT Convertible"
    assert lines["year"] == "title: 1967 Torvane GT Convertible"
    assert lines["closest sales"] == ""


def test_cars_together_are_valued_as_one_by_one(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    cars = sold_cars[:12]
    together = appraise_all(small_market, cars)
    for v, car in zip(together, cars, strict=True):
        alone = appraise(small_market, car)
        assert replace(v, contributions=(), comparables=()) == replace(
            alone, contributions=(), comparables=()
        )
        for one, other in zip(v.contributions, alone.contributions, strict=True):
            assert (one.label, one.value, one.amount) == (other.label, other.value, other.amount)
            assert one.exact == pytest.approx(other.exact, abs=1e-6)
    assert appraise_all(small_market, []) == []

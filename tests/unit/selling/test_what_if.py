"""Answers to what-if questions on a small invented market."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from asking import asked, busy_car, day_of, put
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from valuation.appraisal.appraise import appraise
from valuation.appraisal.contrast import contrast
from valuation.appraisal.data import cars_table
from valuation.appraisal.market import MarketModel
from valuation.errors import CarFileError, QuestionError
from valuation.records import Car, OpenFact
from valuation.results.valuation import NoRange, PriceRange
from valuation.results.what_if import TOGETHER, WhatIf
from valuation.schema import BY_NAME
from valuation.selling.questions import Question, default_questions
from valuation.selling.what_if import what_if, what_ifs
from valuation.selling.what_if_changes import Change

STATED = {
    "condition_grade": ("45", "63", "82"),
    "engine_originality": ("numbers-matching", "later replacement", "date-correct"),
    "documents": ("none", "bills", "build record; bills"),
    "transmission": ("manual", "automatic"),
    "mileage": ("12000", "58000", "120000"),
    "colour_origin": ("changed", "as it left the works"),
}


@pytest.fixture(scope="module")
def car(small_market: MarketModel) -> Car:
    """Return a car of the model line with most sales, well described."""
    return busy_car(small_market)


def test_the_step_is_the_contrast_of_the_two_cars(small_market: MarketModel, car: Car) -> None:
    answer = asked(small_market, car, "engine_originality=numbers-matching", "condition_grade=80")
    other = put(small_market, car, engine_originality="numbers-matching", condition_grade=80.0)
    day = day_of(small_market)
    by_hand = contrast(small_market.fitted, put(small_market, car), other, day=day)
    assert answer.effect == pytest.approx(by_hand.effect, abs=1e-12)
    assert answer.sd == pytest.approx(by_hand.sd, rel=1e-9)
    low, high = by_hand.interval()
    # The central estimate is told in whole units, the interval is made from the exact one.
    assert answer.lower == pytest.approx(answer.of.central * np.expm1(low), rel=1e-4)
    assert answer.upper == pytest.approx(answer.of.central * np.expm1(high), rel=1e-4)


def test_the_variance_is_that_of_the_whole_covariance(small_market: MarketModel, car: Car) -> None:
    answer = asked(small_market, car, "documents=+build record", "mileage=+20000")
    cars = [
        put(small_market, car),
        put(small_market, car, documents=("bills", "build record"), mileage=78_000.0),
    ]
    fitted = small_market.fitted
    a, b = fitted.spec.transform(cars_table(cars, day_of(small_market))).X.toarray()
    step = (b - a)[:, None]
    variance = float((step.T @ fitted.covariance_times(step)).item())
    assert answer.effect == pytest.approx(float((b - a) @ fitted.coef), abs=1e-12)
    assert answer.sd**2 == pytest.approx(variance * fitted.sigma**2 * fitted.inflation, rel=1e-4)


def test_after_is_the_price_of_the_other_car_with_the_closest_sales_held(
    small_market: MarketModel, car: Car
) -> None:
    answer = asked(small_market, car, "condition_grade=85", "transmission=automatic")
    other = put(small_market, car, condition_grade=85.0, transmission="automatic")
    day = day_of(small_market)
    one, two = small_market.fitted.forecast(
        cars_table([put(small_market, car), other], day)
    ).log_price
    beside = float(np.log(answer.of.central)) - one
    assert answer.after == pytest.approx(np.exp(two + beside), rel=2e-5)
    assert sum(s.amount for s in answer.steps) == answer.change


def test_the_car_as_it_is_comes_to_what_a_valuation_says(
    small_market: MarketModel, car: Car
) -> None:
    valued = appraise(small_market, put(small_market, car))
    answer = what_if(small_market, car, [])
    assert answer.of.central == valued.central
    assert isinstance(answer.of.range, PriceRange)
    assert isinstance(valued.range, PriceRange)
    assert answer.of.range.lower == pytest.approx(valued.range.lower)
    assert answer.of.range.upper == pytest.approx(valued.range.upper)


def test_no_change_is_nothing(small_market: MarketModel, car: Car) -> None:
    for changes in ([], [Change("documents", "bills")], [Change("mileage", "+0")]):
        answer = what_if(small_market, car, changes)
        assert (answer.change, answer.lower, answer.upper, answer.sd) == (0, 0.0, 0.0, 0.0)
        assert answer.steps == answer.sides == answer.facts == ()
        assert answer.range_after == answer.of.range
        assert "nothing changes" in answer.summary()


@given(
    name=st.sampled_from(sorted(STATED)),
    picks=st.tuples(st.integers(0, 2), st.integers(0, 2)),
)
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_change_and_its_reverse_cancel(
    small_market: MarketModel, car: Car, name: str, picks: tuple[int, int]
) -> None:
    words = STATED[name]
    one, other = (words[p % len(words)] for p in picks)
    first = asked(small_market, car, f"{name}={one}")
    there = _with(car, first, name, one)
    forth = asked(small_market, there, f"{name}={other}")
    back = asked(small_market, _with(there, forth, name, other), f"{name}={one}")
    assert forth.effect == pytest.approx(-back.effect, abs=1e-12)
    assert forth.sd == pytest.approx(back.sd, abs=1e-12)
    assert forth.evidence_share == pytest.approx(back.evidence_share, abs=0.01)


def _with(car: Car, answer: WhatIf, name: str, text: str) -> Car:
    """Return the car as an answer has it."""
    if not answer.facts:
        return car
    value: Any = text
    if BY_NAME[name].kind == "number":
        value = float(text)
    elif BY_NAME[name].kind == "set":
        value = () if text == "none" else tuple(sorted(text.split("; ")))
    return replace(car, values={**car.values, name: value})


def test_an_open_fact_starts_from_the_mean_over_what_it_can_be(
    small_market: MarketModel, car: Car
) -> None:
    levels = ("date-correct", "later replacement")
    bare = {n: v for n, v in car.values.items() if n != "engine_originality"}
    opened = replace(car, values=bare, open=(OpenFact("engine_originality", levels),))
    to_each = [asked(small_market, opened, f"engine_originality={level}") for level in levels]
    apart = contrast(
        small_market.fitted,
        *(put(small_market, car, engine_originality=level) for level in levels),
        day=day_of(small_market),
    )
    assert to_each[0].effect - to_each[1].effect == pytest.approx(-apart.effect, abs=1e-9)
    assert to_each[0].effect * to_each[1].effect < 0
    for answer in to_each:
        assert 0 < answer.sd < apart.sd
        assert any("it can turn out otherwise" in w for w in answer.warnings)
        assert answer.facts[0].before == "open: date-correct or later replacement"
        assert _width(answer.range_after) < _width(answer.of.range)


def _width(found: PriceRange | NoRange) -> float:
    assert isinstance(found, PriceRange)
    return float(np.log(found.upper / found.lower))


def test_several_questions_are_asked_alone_and_together(
    small_market: MarketModel, car: Car
) -> None:
    found = what_ifs(small_market, car, default_questions())
    assert [a.name for a in found.answers] == [q.name for q in default_questions()]
    assert found.together is not None
    assert found.together.name == TOGETHER
    alone = [a.effect for a in found.answers]
    assert found.together.effect == pytest.approx(sum(alone), abs=0.02)
    single = asked(small_market, car, "engine_originality=numbers-matching")
    assert found.answers[0].effect == pytest.approx(single.effect, abs=1e-12)
    assert (found.answers[0].lower, found.answers[0].after) == (single.lower, single.after)


def test_questions_that_contradict_each_other_are_not_asked_together(
    small_market: MarketModel, car: Car
) -> None:
    questions = [
        Question(n, f"{n}?", (Change("engine_originality", n),))
        for n in ("numbers-matching", "date-correct")
    ]
    found = what_ifs(small_market, car, questions)
    assert found.together is None
    assert "it is numbers-matching as well" in found.apart
    assert "Not all together:" in found.summary()


def test_what_can_t_be_asked_is_told_and_stops_no_other(
    small_market: MarketModel, car: Car
) -> None:
    silent = replace(car, values={n: v for n, v in car.values.items() if n != "mileage"})
    found = what_ifs(small_market, silent, default_questions())
    (refused,) = found.not_asked
    assert refused.name == "another 10,000 miles"
    assert "nothing adds to it" in refused.reason
    assert len(found.answers) == len(default_questions()) - 1
    miles = default_questions()[3]
    both = [miles, replace(miles, name="again")]
    with pytest.raises(QuestionError, match="none of these questions can be asked"):
        what_ifs(small_market, silent, both)
    with pytest.raises(QuestionError, match="one entry is wrong: mileage has to be"):
        what_ifs(small_market, silent, [miles])


def test_a_cost_belongs_to_one_question(small_market: MarketModel, car: Car) -> None:
    answer = asked(small_market, car, "condition_grade=+15", cost=(2_000, 5_000))
    paid = answer.pay_back
    assert paid is not None
    assert paid.net == answer.change - 3_500
    assert answer.lower - 5_000 < paid.lower < answer.lower - 2_000
    assert "no forecast that the work succeeds" in answer.summary()
    with pytest.raises(QuestionError, match="a cost belongs to one question"):
        what_ifs(small_market, car, default_questions(), cost=(1, 2))


def test_a_car_needs_a_year_and_a_make(small_market: MarketModel) -> None:
    with pytest.raises(CarFileError, match="without year and make"):
        what_if(small_market, Car({"model": "GT"}), [])


def test_true_changes_lie_inside_their_intervals(
    small_market: MarketModel, small_world: Any, sold_cars: list[Car]
) -> None:
    questions = {
        "engine_originality": "numbers-matching",
        "condition_grade": "+10",
        "mileage": "+10000",
        "colour_origin": "as it left the works",
        "documents": "+build record",
    }
    hits = []
    for sold in sold_cars[::2]:
        stated = [Question(n, n, (Change(n, v),)) for n, v in questions.items() if n in sold.values]
        if not stated or not {"year", "make", "model"} <= sold.values.keys():
            continue
        for answer in what_ifs(small_market, sold, stated).answers:
            if answer.facts:
                true = _true_step(small_market, small_world, sold, answer)
                low, high = np.log1p(
                    [answer.lower / answer.of.central, answer.upper / answer.of.central]
                )
                hits.append(bool(low <= true <= high))
    assert len(hits) > 30
    assert 0.75 <= np.mean(hits) <= 1.0


def _true_step(market: MarketModel, world: Any, car: Car, answer: WhatIf) -> float:
    (name,) = [f.name for f in answer.facts]
    value: Any = {
        "engine_originality": "numbers-matching",
        "condition_grade": 10.0,
        "mileage": 10_000.0,
        "colour_origin": "as it left the works",
        "documents": ("build record",),
    }[name]
    was = car.values[name]
    if isinstance(was, float):
        value = was + value
    elif isinstance(was, tuple):
        value = tuple(sorted({*was, *value}))
    one, two = (
        world.true_log_price(v, day=market.as_of, channel="dealer", basis="price paid")
        for v in (dict(car.values), {**car.values, name: value})
    )
    return float(two - one)

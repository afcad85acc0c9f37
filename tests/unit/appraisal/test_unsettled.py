"""Open facts in the price: mixtures lie between their extremes, and an answer is an answer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from valuation.appraisal.appraise import appraise, appraise_all
from valuation.appraisal.market import MarketModel
from valuation.appraisal.unsettled import Unsettled, unsettle
from valuation.errors import CarFileError
from valuation.features.table import day_number
from valuation.records import Car, OpenFact, Value
from valuation.results.valuation import Valuation
from valuation.schema import BY_NAME

GT: dict[str, Value] = {
    "make": "Torvane", "model": "GT", "generation": "Series 2", "year": 1966.0, "body": "coupe",
    "engine_size": 3.2, "condition_grade": 70.0, "transmission": "manual",
}  # fmt: skip
LATE = (
    "The block was cast between 3 and 9 May 1968, after the car was built on 12 June 1967: it was "
    "not born with the car."
)
ENGINE = OpenFact(
    "engine_originality", ("date-correct", "correct type"), claim="numbers-matching",
    contradiction=LATE,
)  # fmt: skip


def opened(*facts: OpenFact, **values: Value) -> Car:
    """Return the car with some facts open and some values stated."""
    names = {f.attribute for f in facts}
    kept = {k: v for k, v in (GT | values).items() if k not in names}
    return Car(kept, open=facts)


def width(valuation: Valuation) -> float:
    found = next(r for r in valuation.ranges if r.level == 0.8)
    return float(np.log(found.upper / found.lower))


def unsettled(market: MarketModel, car: Car, day: float = 20_000.0) -> Unsettled:
    """Price what is still to be found out about one car."""
    (found,) = unsettle(market, [car], day)
    return found


def adds_up(valuation: Valuation) -> bool:
    moved = sum(c.amount for c in valuation.contributions)
    return valuation.start + moved == valuation.central


def test_a_settled_car_costs_nothing(small_market: MarketModel) -> None:
    car = Car(GT)
    found = unsettled(small_market, car)
    assert found.car is car
    assert (found.row, found.facts, found.variance) == (None, (), 0.0)


@pytest.mark.parametrize(
    ("name", "value", "fact"),
    [
        ("transmission", "automatic", OpenFact("transmission", ("automatic",))),
        ("condition_grade", 55.0, OpenFact("condition_grade", low=55.0, high=55.0)),
        ("documents", ("bills",), OpenFact("documents", ("bills",))),
        ("documents", (), OpenFact("documents", ("none",))),
        ("year", 1967.0, OpenFact("year", low=1967.0, high=1967.0)),
        ("variant", "Injection", OpenFact("variant", ("Injection",))),
    ],
)
def test_a_fact_with_one_value_left_is_that_value(
    small_market: MarketModel, name: str, value: Value, fact: OpenFact
) -> None:
    settled = appraise(small_market, Car(GT | {name: value}))
    found = appraise(small_market, opened(fact))
    assert (found.central, found.ranges) == (settled.central, settled.ranges)
    amounts = [(c.attribute, c.amount) for c in found.contributions]
    assert amounts == [(c.attribute, c.amount) for c in settled.contributions]
    assert found.checks == ()


FACTS = {
    "transmission": ("manual", "automatic"),
    "engine_originality": BY_NAME["engine_originality"].levels,
    "genuineness": BY_NAME["genuineness"].levels,
    "body": ("coupe", "convertible", "saloon"),
    "restoration": BY_NAME["restoration"].levels,
    "documents": ("none", "bills", "bills; build record"),
    "condition_grade": (0.0, 100.0),
    "originality_score": (0.0, 100.0),
    "year": (1962.0, 1970.0),
    "mileage": (10_000.0, 150_000.0),
}


@st.composite
def open_facts(draw: st.DrawFn) -> OpenFact:
    """Draw an open fact that is narrowed down."""
    name = draw(st.sampled_from(sorted(FACTS)))
    if BY_NAME[name].kind == "number":
        low, high = sorted(draw(st.tuples(*2 * [st.floats(*FACTS[name])])))
        return OpenFact(name, low=low, high=high)
    levels = draw(st.lists(st.sampled_from(FACTS[name]), min_size=1, unique=True))
    return OpenFact(name, tuple(levels))


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(facts=st.lists(open_facts(), min_size=1, max_size=4, unique_by=lambda f: f.attribute))
def test_a_mixture_lies_between_its_extremes_and_is_explained_to_the_unit(
    small_market: MarketModel, facts: list[OpenFact]
) -> None:
    found = appraise(small_market, opened(*facts))
    assert adds_up(found)
    for check in found.checks:
        assert check.bad <= found.central <= check.good
        assert (check.bad + check.good, check.fall <= 0 <= check.rise) == (
            2 * found.central + check.fall + check.rise,
            True,
        )
        assert 0 < check.bad_chance < 1
        assert 0 < check.good_chance < 1
        assert 0 <= check.worth <= check.good - found.central
    day = day_number(found.as_of) if found.as_of else 0.0
    for priced in unsettled(small_market, opened(*facts), day).facts:
        assert priced.shares.sum() == pytest.approx(1.0)
        assert float(priced.shares @ priced.steps) == pytest.approx(0.0, abs=1e-9)


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    name=st.sampled_from([n for n in sorted(FACTS) if BY_NAME[n].kind == "number"]),
    at=st.lists(st.floats(0, 1), min_size=4, max_size=4).map(sorted),
)
def test_a_wider_span_adds_no_less_spread(
    small_market: MarketModel, name: str, at: list[float]
) -> None:
    low, high = FACTS[name]
    a, b, c, d = (float(low) + (float(high) - float(low)) * x for x in at)
    wide = opened(OpenFact(name, low=a, high=d))
    narrow = opened(OpenFact(name, low=b, high=c))
    inner, outer = (unsettled(small_market, car).variance for car in (narrow, wide))
    assert inner <= outer * (1 + 1e-6) + 1e-9


def test_wider_spans_give_wider_ranges(small_market: MarketModel) -> None:
    spans = [(70.0, 70.0), (66.0, 74.0), (60.0, 80.0), (45.0, 90.0), (10.0, 100.0)]
    cars = [opened(OpenFact("condition_grade", low=a, high=b)) for a, b in spans]
    widths = [width(v) for v in appraise_all(small_market, cars)]
    assert widths == sorted(widths)
    assert widths[-1] > 1.2 * widths[0]


def test_the_extremes_are_what_the_car_would_cost_with_the_fact_known(
    small_market: MarketModel,
) -> None:
    found = appraise(small_market, opened(OpenFact("transmission", ("manual", "automatic"))))
    (check,) = found.checks
    for word, central in ((check.if_bad, check.bad), (check.if_good, check.good)):
        known = appraise(small_market, Car(GT | {"transmission": word}))
        assert central == pytest.approx(known.central, rel=0.05)


def test_several_facts_are_priced_side_by_side(small_market: MarketModel) -> None:
    gearbox = OpenFact("transmission", ("manual", "automatic"))
    grade = OpenFact("condition_grade", low=60.0, high=80.0)
    both = unsettled(small_market, opened(gearbox, grade))
    alone = [unsettled(small_market, opened(f)) for f in (gearbox, grade)]
    assert both.variance == pytest.approx(sum(u.variance for u in alone))
    for priced, single in zip(both.facts, alone, strict=True):
        assert priced.shares == pytest.approx(single.facts[0].shares)


def test_the_line_of_an_open_fact_says_what_it_is_open_between(small_market: MarketModel) -> None:
    grade = OpenFact("condition_grade", low=55.0, high=71.5)
    found = appraise(small_market, opened(ENGINE, grade))
    said = {c.attribute: c.value for c in found.contributions}
    assert said["engine_originality"] == "open: date-correct or correct type"
    assert said["condition_grade"] == "open: 55 to 71.5 points"
    assert (
        "Not settled: Engine originality: date-correct or correct type; Condition grade: 55 to "
        "71.5 points. The estimate is the mean over what it can still be; settle it before you buy."
    ) in found.evidence.warnings


def test_a_contradiction_is_said_aloud_with_its_dates_and_its_money(
    small_market: MarketModel,
) -> None:
    found = appraise(small_market, opened(ENGINE))
    first = found.evidence.warnings[0]
    assert first.startswith(
        f"Engine originality: claimed numbers-matching, contradicted. {LATE} As claimed the car "
        "would come to "
    )
    claimed = appraise(small_market, Car(GT | {"engine_originality": "numbers-matching"}))
    said = [int(w.replace(",", "")) for w in first.split() if w.replace(",", "").isdigit()][-3:]
    assert said[0] == pytest.approx(claimed.central, rel=0.05)
    assert said[1] == found.central
    assert said[2] == said[0] - said[1] > 0
    assert first.endswith(" EUR less.")


def test_a_claim_that_is_no_value_is_said_without_money(small_market: MarketModel) -> None:
    odd = replace(ENGINE, claim="all as new", contradiction="The block is of another year")
    found = appraise(small_market, opened(odd))
    assert found.evidence.warnings[0] == (
        "Engine originality: claimed all as new, contradicted. The block is of another year."
    )
    bare = replace(ENGINE, claim="", levels=("correct type",))
    assert appraise(small_market, opened(bare)).evidence.warnings[0] == (
        f"Engine originality: contradicted. {LATE}"
    )


def test_a_claim_does_not_move_the_shares(small_market: MarketModel) -> None:
    quiet = appraise(small_market, opened(replace(ENGINE, claim="", contradiction="")))
    assert appraise(small_market, opened(ENGINE)).central == quiet.central


def test_open_to_anything_is_not_looked_at(small_market: MarketModel) -> None:
    unseen = appraise(small_market, Car(GT, not_looked_at=frozenset({"engine_originality"})))
    anything = appraise(small_market, opened(OpenFact("engine_originality")))
    assert (anything.central, anything.ranges) == (unseen.central, unseen.ranges)
    silent = appraise(small_market, Car(GT))
    assert silent.central == anything.central
    assert width(silent) < width(anything)


def test_silence_that_costs_more_than_any_value_gives_way_to_the_mixture(
    small_market: MarketModel,
) -> None:
    car = Car(GT, not_looked_at=frozenset({"documents"}))
    (priced,) = unsettled(small_market, car).facts
    assert priced.moved
    assert float(priced.shares @ priced.steps) == pytest.approx(0.0, abs=1e-9)
    found = appraise(small_market, car)
    assert adds_up(found)
    for check in found.checks:
        assert check.bad <= found.central <= check.good


def test_a_year_may_be_open_and_a_make_may_not(small_market: MarketModel) -> None:
    found = appraise(small_market, opened(OpenFact("year", low=1965.0, high=1967.0)))
    assert {c.attribute: c.value for c in found.contributions}["year"] == "open: 1965 to 1967"
    with pytest.raises(CarFileError, match="a car can't be valued without make"):
        appraise(small_market, opened(OpenFact("make", ("Torvane", "Kora"))))


def test_a_car_of_one_of_three_model_lines(small_market: MarketModel) -> None:
    lines = [line for line in small_market.typical.lines if line.startswith("torvane | gt |")]
    assert len(lines) == 3
    series = tuple(line.rpartition(" | ")[2] for line in lines)
    found = appraise(small_market, opened(OpenFact("generation", series)))
    assert adds_up(found)
    assert found.evidence.level == "model line"
    assert found.ranges
    known = [appraise(small_market, Car(GT | {"generation": s})).central for s in series]
    assert 0.98 * min(known) <= found.central <= 1.02 * max(known)


def test_open_cars_are_priced_in_company_as_alone(small_market: MarketModel) -> None:
    cars = [Car(GT), opened(ENGINE), Car(GT, not_looked_at=frozenset({"restoration"}))]
    together = appraise_all(small_market, cars)
    assert together == [appraise(small_market, car) for car in cars]


def test_a_number_by_which_versions_go_takes_whole_values(small_market: MarketModel) -> None:
    # Half a year would round to a year that lies outside the span.
    half = unsettled(small_market, opened(OpenFact("year", low=1963.25, high=1963.5))).facts
    settled = unsettled(small_market, opened(OpenFact("year", low=1963.0, high=1963.0))).facts
    assert [f.steps.tolist() for f in half] == [f.steps.tolist() for f in settled]
    (wide,) = unsettled(small_market, opened(OpenFact("year", low=1962.2, high=1966.9))).facts
    years = {float(v) for v in wide.values}
    assert years <= {1963.0, 1964.0, 1965.0, 1966.0}

"""What to check before bidding: worth, order, words."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.appraisal.checks import contradictions, what_to_check, worth_of_knowing
from valuation.appraisal.looking import how_to_look, look_at
from valuation.appraisal.unsettled import PricedFact
from valuation.records import OpenFact, Value
from valuation.results.valuation import Check
from valuation.schema import ATTRIBUTES, BY_NAME

CENTRAL = float(np.log(40_000.0))


def priced(
    fact: OpenFact, outcomes: dict[Value, tuple[float, float]], **changes: Any
) -> PricedFact:
    """Return a fact from value to share and price against 40,000."""
    shares = np.array([share for share, _ in outcomes.values()])
    steps = np.log(np.array([price for _, price in outcomes.values()]) / 40_000.0)
    return PricedFact(fact, tuple(outcomes), shares, steps, 0.0, **changes)


ENGINE = priced(
    OpenFact("engine_originality", ("date-correct", "correct type")),
    {"date-correct": (0.25, 46_000.0), "correct type": (0.75, 38_000.0)},
)


def only(*facts: PricedFact) -> Check:
    (check,) = what_to_check(facts, CENTRAL)
    return check


def test_worth_by_hand() -> None:
    values, shares = np.array([46_000.0, 38_000.0]), np.array([0.25, 0.75])
    # Who knows gains 6,000 one time in four; who does not know expects 40,000 for 40,000.
    assert worth_of_knowing(values, shares, 40_000.0) == pytest.approx(1_500.0)
    # At 41,000 he would leave it unseen; knowing still wins 5,000 one time in four.
    assert worth_of_knowing(values, shares, 41_000.0) == pytest.approx(1_250.0)
    # At 37,000 it is bought whatever it turns out to be.
    assert worth_of_knowing(values, shares, 37_000.0) == pytest.approx(0.0)


OUTCOMES = st.lists(st.tuples(st.floats(1.0, 1e6), st.floats(0.01, 1.0)), min_size=1, max_size=8)


@given(outcomes=OUTCOMES, cost=st.floats(1.0, 1e6))
def test_knowing_is_never_worth_less_than_nothing_nor_more_than_the_best_case(
    outcomes: list[tuple[float, float]], cost: float
) -> None:
    values = np.array([v for v, _ in outcomes])
    shares = np.array([s for _, s in outcomes])
    shares /= shares.sum()
    worth = worth_of_knowing(values, shares, cost)
    assert 0.0 <= worth <= max(values.max() - cost, 0.0) + 1e-6
    if values.min() >= cost or values.max() <= cost:
        assert worth == pytest.approx(0.0, abs=1e-6 * values.max())


def test_a_check_names_the_worst_and_the_best_with_money_and_chance() -> None:
    check = only(ENGINE)
    assert (check.if_bad, check.bad, check.fall, check.bad_chance) == (
        "correct type", 38_000, -2_000, 0.75,
    )  # fmt: skip
    assert (check.if_good, check.good, check.rise, check.good_chance) == (
        "date-correct", 46_000, 6_000, 0.25,
    )  # fmt: skip
    assert (check.state, check.possible, check.worth) == (
        "open", "date-correct or correct type", 1_500,
    )  # fmt: skip
    assert (check.attribute, check.label) == ("engine_originality", "Engine originality")


def test_the_fact_most_worth_knowing_comes_first() -> None:
    gearbox = priced(
        OpenFact("transmission", ("manual", "automatic")),
        {"manual": (0.9, 40_500.0), "automatic": (0.1, 36_000.0)},
    )
    title = priced(
        OpenFact("title_status", ("clear", "branded")),
        {"clear": (0.5, 50_000.0), "branded": (0.5, 30_000.0)},
    )
    names = [c.attribute for c in what_to_check([gearbox, ENGINE, title], CENTRAL)]
    assert names == ["title_status", "engine_originality", "transmission"]


def test_what_moves_no_money_is_no_check() -> None:
    idle = priced(
        OpenFact("steering_side", ("left", "right")),
        {"left": (0.5, 40_000.1), "right": (0.5, 39_999.9)},
    )
    nobody = PricedFact(OpenFact("colour"), (), np.zeros(0), np.zeros(0), 0.0)
    assert what_to_check([idle, nobody], CENTRAL) == ()


def test_values_of_one_price_are_named_together() -> None:
    fact = OpenFact("engine_originality", BY_NAME["engine_originality"].levels)
    names = fact.levels
    prices = [44_000.0, *[39_000.0] * 5]
    check = only(priced(fact, {n: (1 / 6, p) for n, p in zip(names, prices, strict=True)}))
    assert check.if_bad == "date-correct, correct type or 3 others"
    assert check.bad_chance == pytest.approx(5 / 6)
    pair = {names[0]: (0.5, 44_000.0), names[1]: (0.2, 36_000.0), names[2]: (0.3, 36_000.0)}
    assert only(priced(fact, dict(pair))).if_bad == "date-correct or correct type"


def test_of_many_numbers_the_outer_tenths_are_named() -> None:
    grades: dict[Value, tuple[float, float]] = {
        float(g): (0.05, 20_000.0 + 500.0 * g) for g in range(31, 71, 2)
    }
    check = only(priced(OpenFact("condition_grade", low=30.0, high=70.0), grades))
    assert (check.if_bad, check.bad) == ("33 points or less", 36_500)
    assert (check.if_good, check.good) == ("67 points or more", 53_500)
    assert check.bad_chance == check.good_chance == pytest.approx(0.1)
    assert check.possible == "30 to 70 points"


def test_more_is_not_always_better() -> None:
    miles: dict[Value, tuple[float, float]] = {
        1000.0 * m: (0.05, 60_000.0 - 500.0 * m) for m in range(20, 60, 2)
    }
    check = only(priced(OpenFact("mileage"), miles, looked_at=False))
    assert (check.if_bad, check.if_good) == ("56,000 miles or more", "22,000 miles or less")
    assert (check.state, check.possible) == ("not looked at", "anything")


def test_where_an_effect_turns_neither_less_nor_more_is_said() -> None:
    # Least money in the middle, most at both ends.
    miles: dict[Value, tuple[float, float]] = {
        1000.0 * m: (0.05, 30_000.0 + 100.0 * abs(m - 39.5) ** 2) for m in range(20, 60, 2)
    }
    check = only(priced(OpenFact("mileage"), miles))
    assert (check.if_bad, check.if_good) == ("38,000 miles or worse", "58,000 miles or better")


def test_what_is_rare_is_named_only_where_somebody_says_it_is_possible() -> None:
    outcomes: dict[Value, tuple[float, float]] = {
        "date-correct": (0.004, 90_000.0), "correct type": (0.5, 41_000.0),
        "later replacement": (0.496, 38_000.0),
    }  # fmt: skip
    assert only(priced(OpenFact("engine_originality"), outcomes)).if_good == "correct type"
    said = OpenFact("engine_originality", tuple(str(v) for v in outcomes))
    assert only(priced(said, outcomes)).if_good == "date-correct"


def test_how_to_look_is_known_for_every_attribute() -> None:
    looks = how_to_look()
    assert list(looks) == list(dict.fromkeys(looks))
    assert set(looks) == {a.name for a in ATTRIBUTES}
    for look in looks.values():
        assert look.how.endswith(".")
        assert look.where
        assert look.tool
        assert look.minutes
        assert 0 < look.minutes <= 120


def test_the_words_of_the_fact_go_before_those_of_its_attribute() -> None:
    usual = how_to_look()["engine_originality"]
    own = OpenFact("engine_originality", where="on the pad", how="Read it.", minutes=4.0)
    found = look_at(own)
    assert (found.where, found.tool, found.how, found.minutes) == ("on the pad", "", "Read it.", 4)
    placed = look_at(OpenFact("engine_originality", where="on the pad", tool="mirror"))
    assert (placed.where, placed.tool, placed.how) == ("on the pad", "mirror", usual.how)
    assert look_at(OpenFact("engine_originality")) == usual


def test_a_contradiction_may_find_more_than_is_claimed() -> None:
    fact = OpenFact("engine_originality", claim="correct type", contradiction="It is date-correct.")
    (said,) = contradictions(
        [PricedFact(fact, (), np.zeros(0), np.zeros(0), 0.0, claim=-0.1)], CENTRAL, "EUR"
    )
    assert said == (
        "Engine originality: claimed correct type, contradicted. It is date-correct. As claimed "
        "the car would come to 36,193 EUR; as supported it comes to 40,000 EUR, 3,807 EUR more."
    )

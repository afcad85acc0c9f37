"""The difference of two cars in whole units: an exact sum that turns its sign with the cars."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from valuation.money import log_mean
from valuation.selling.beside_lines import Step, in_money

EFFECTS = st.lists(st.floats(-1.5, 1.5, allow_subnormal=False), min_size=1, max_size=12)
PRICES = st.floats(500.0, 900_000.0)


def steps_of(effects: list[float]) -> list[Step]:
    return [Step(f"a{i}", f"A{i}", "x", "y", e, 0.1, 0.5) for i, e in enumerate(effects)]


def whole(price: float) -> int:
    return math.floor(price + 0.5)


@given(PRICES, EFFECTS)
def test_the_amounts_are_the_difference_of_the_estimates(
    theirs: float, effects: list[float]
) -> None:
    ours = theirs * math.exp(math.fsum(effects))
    total = whole(ours) - whole(theirs)
    lines = in_money(steps_of(effects), theirs, ours, total)
    assert sum(line.amount for line in lines) == total
    for line, effect in zip(lines, effects, strict=True):
        assert abs(line.amount - line.exact) < 1 + 1e-6
        assert math.isclose(line.exact, effect * log_mean(theirs, ours), rel_tol=1e-12)


@given(PRICES, EFFECTS)
def test_swapping_the_cars_turns_every_sign(theirs: float, effects: list[float]) -> None:
    ours = theirs * math.exp(math.fsum(effects))
    total = whole(ours) - whole(theirs)
    there = in_money(steps_of(effects), theirs, ours, total)
    back = in_money(steps_of([-e for e in effects]), ours, theirs, -total)
    assert [x.amount for x in there] == [-x.amount for x in back]
    assert all(math.isclose(x.lower, -y.upper) for x, y in zip(there, back, strict=True))


def test_cars_of_one_price_still_share_units_the_same_both_ways() -> None:
    effects = [0.00003, -0.00001, -0.00001, -0.00001]
    there = in_money(steps_of(effects), 50_000.0, 50_000.0, 0)
    back = in_money(steps_of([-e for e in effects]), 50_000.0, 50_000.0, 0)
    assert [x.amount for x in there] == [-x.amount for x in back]
    assert any(x.amount for x in there)


def test_nothing_apart_makes_no_line() -> None:
    assert in_money([], 40_000.0, 40_000.0, 0) == ()

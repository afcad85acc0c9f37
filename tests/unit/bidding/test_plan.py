"""The plan of a day: never over the budget, and never worse than any other choice."""

from __future__ import annotations

from decimal import Decimal
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from valuation.bidding.plan import Chance, best_within

LOTS = st.lists(st.tuples(st.integers(1, 90), st.integers(-5, 40)), max_size=8)


@given(LOTS, st.integers(0, 200))
def test_no_other_choice_within_the_budget_promises_more(
    lots: list[tuple[int, int]], budget: int
) -> None:
    # Every outlay is a whole part of the budget, so that rounding up takes nothing away.
    chances = [Chance(Decimal(o * 10), Decimal(m)) for o, m in lots]
    money = Decimal(budget * 10)
    chosen = best_within(chances, money)

    def worth(pick: tuple[bool, ...]) -> tuple[Decimal, Decimal]:
        took = [c for c, yes in zip(chances, pick, strict=True) if yes]
        return sum((c.outlay for c in took), Decimal(0)), sum((c.margin for c in took), Decimal(0))

    outlay, margin = worth(chosen)
    assert outlay <= money
    rounded = money - money / 2000 * len(lots)
    choices = [worth(p) for p in product([False, True], repeat=len(lots))]
    assert margin >= max(m for o, m in choices if o <= rounded or not o)


def test_of_equal_plans_the_earlier_lots_are_taken() -> None:
    same = [Chance(Decimal(50), Decimal(5))] * 3
    assert best_within(same, Decimal(100)) == (True, True, False)


def test_lots_that_promise_nothing_or_cost_too_much_are_left() -> None:
    lots = [Chance(Decimal(10), Decimal(0)), Chance(Decimal(200), Decimal(90))]
    assert best_within(lots, Decimal(100)) == (False, False)
    assert best_within(lots, Decimal(0)) == (False, False)

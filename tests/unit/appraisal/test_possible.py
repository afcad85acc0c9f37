"""What a fact can still be, counted among such cars."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from valuation.appraisal.possible import DOUBT, EVEN, possible
from valuation.appraisal.stated import MOST_VALUES, StatedValues
from valuation.records import OpenFact


def sales(**columns: list[Any]) -> StatedValues:
    made = {}
    for name, values in columns.items():
        column = np.empty(len(values), dtype=object)
        column[:] = values
        made[name] = column
    return StatedValues(made)


def gearboxes(manual: int, automatic: int) -> StatedValues:
    """Return sales of Kora as given, and of Torvane 30 automatics and 10 manuals."""
    words = ["manual"] * manual + ["automatic"] * automatic
    return sales(
        make=["Kora"] * len(words) + ["Torvane"] * 40 + ["KORA"],
        transmission=[*words, *["automatic"] * 30, *["manual"] * 10, None],
    )


BOTH = OpenFact("transmission", ("manual", "automatic"))


@pytest.mark.parametrize(
    ("manual", "automatic", "weights"), [(8, 2, [8, 2]), (8, 1, [18, 31]), (0, 0, [10, 30])]
)
def test_sales_of_the_make_count_if_ten_state_it(
    manual: int, automatic: int, weights: list[int]
) -> None:
    found = possible(BOTH, gearboxes(manual, automatic), "kora")
    assert found.values == ("manual", "automatic")
    assert (found.weights - DOUBT).tolist() == weights
    assert found.narrowed


def test_a_value_that_no_sale_has_may_still_be() -> None:
    fact = OpenFact("transmission", ("dual-clutch", "manual"))
    found = possible(fact, gearboxes(12, 3), "Kora")
    assert found.weights.tolist() == [DOUBT, 12 + DOUBT]
    assert found.likeliest == "manual"


def test_sets_are_compared_as_sets() -> None:
    rows: list[Any] = [("bills", "build record")] * 7 + [()] * 5 + [None]
    stated = sales(make=["Kora"] * 13, documents=rows)
    fact = OpenFact("documents", ("build record; bills", "none", "bills"))
    found = possible(fact, stated, "Kora")
    assert found.values == (("bills", "build record"), (), ("bills",))
    assert (found.weights - DOUBT).tolist() == [7, 5, 0]


def test_a_set_may_be_empty_though_nobody_says_so() -> None:
    stated = sales(make=["Kora"] * 10, documents=[("bills",)] * 10)
    found = possible(OpenFact("documents"), stated, "Kora")
    assert found.values == ((), ("bills",))
    assert found.weights.tolist() == [DOUBT, 10]
    assert not found.narrowed


def grades(*values: float) -> StatedValues:
    return sales(make=["Kora"] * len(values), condition_grade=list(values))


def test_numbers_are_those_of_the_sales_within_the_span() -> None:
    stated = grades(*[60.0] * 6, *[70.0] * 5, 90.0, float("nan"))
    found = possible(OpenFact("condition_grade", low=55.0, high=75.0), stated, "Kora")
    assert found.values == (55.0, 60.0, 70.0, 75.0)
    assert found.weights.tolist() == [0, 6, 5, 0]
    assert found.counts is not None
    assert found.counts.of_all.tolist() == [0, 6, 5, 0]


def test_other_makes_speak_where_the_make_has_too_few() -> None:
    stated = sales(make=["Kora"] * 9 + ["Torvane"] * 9, condition_grade=[60.0] * 9 + [70.0] * 9)
    found = possible(OpenFact("condition_grade", low=60.0, high=70.0), stated, "Kora")
    assert found.weights.tolist() == [9, 9]


def test_a_span_with_few_sales_is_even() -> None:
    stated = grades(*[60.0] * 9)
    found = possible(OpenFact("condition_grade", low=58.0, high=79.0), stated, "Kora")
    numbers = np.array(found.values)
    even = numbers[found.weights > 0]
    assert len(even) == EVEN
    assert set(found.weights.tolist()) == {0.0, 1.0}
    assert float(even.mean()) == pytest.approx(68.5)
    assert float(even.var()) == pytest.approx(21**2 / 12, rel=0.01)
    assert (numbers[0], numbers[-1]) == (58.0, 79.0)


def test_anything_is_what_sales_state() -> None:
    found = possible(OpenFact("condition_grade"), grades(*[60.0] * 6, *[70.0] * 5), "Kora")
    assert (found.values, found.weights.tolist()) == ((60.0, 70.0), [6, 5])


NOTHING = sales(make=["Kora"], engine_originality=[None], documents=[None], colour=[None],
                condition_grade=[np.nan], mileage=[np.nan])  # fmt: skip


@pytest.mark.parametrize(
    ("name", "count", "first"),
    [
        ("engine_originality", 6, "numbers-matching"),
        ("documents", 6, ()),
        ("colour", 0, None),
        ("condition_grade", EVEN, 35.0),
        ("mileage", 0, None),
    ],
)
def test_where_sales_are_silent_the_contract_speaks(name: str, count: int, first: Any) -> None:
    found = possible(OpenFact(name), NOTHING, "Kora")
    assert len(found.values) == len(found.weights) == count
    assert found.values[:1] == ((first,) if count else ())
    assert not found.narrowed


def test_an_empty_set_is_as_likely_as_all_others_together() -> None:
    weights = possible(OpenFact("documents"), NOTHING, "Kora").weights
    assert weights[0] == weights[1:].sum()


def test_many_numbers_are_drawn_together_and_keep_their_ends() -> None:
    miles = [float(x) ** 2 for x in range(400)]
    counts = sales(make=["Kora"] * 400, mileage=miles).counts("mileage", "Kora")
    assert len(counts.values) <= MOST_VALUES
    assert (counts.values[0], counts.values[-1]) == (0.0, 399.0**2)
    assert counts.of_make.sum() == counts.of_all.sum() == 400


def test_rare_words_are_left_out() -> None:
    words = [f"colour {i}" for i in range(100)] + ["red", "Red", "RED"]
    counts = sales(make=["Kora"] * 103, colour=words).counts("colour", "Kora")
    assert len(counts.values) == MOST_VALUES
    assert counts.of_all[counts.values.index("red")] == 3

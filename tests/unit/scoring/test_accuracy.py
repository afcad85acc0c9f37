"""Accuracy of central estimates and ranges, together and by group."""

from __future__ import annotations

import json
import math
from datetime import date
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.scoring.accuracy import AccuracySummary, accuracy_summary, by_group
from valuation.scoring.checks import ScoreInputError

NAN = float("nan")
KEYS = [
    "tested",
    "median_abs_pct_error",
    "within_10_pct",
    "within_20_pct",
    "median_ratio",
    "coverage_80",
    "median_width_80_pct",
    "share_priced",
]
money = st.integers(min_value=100, max_value=5_000_000)
pairs = st.lists(st.tuples(money, money), min_size=1, max_size=30)


def test_all_measures_by_hand() -> None:
    summary = accuracy_summary(
        price=[100, 200, 400, 1000],
        central=[110, 160, 400, 700],
        lower=[90, 150, NAN, 600],
        upper=[130, 199, NAN, 950],
    )
    assert summary == AccuracySummary(
        tested=4,
        median_abs_pct_error=15.0,  # errors 10, 20, 0, 30 %
        within_10_pct=50.0,
        within_20_pct=75.0,
        median_ratio=0.9,  # 1.1, 0.8, 1.0, 0.7
        coverage_80=pytest.approx(100 / 3),  # only the first of three ranges
        median_width_80_pct=pytest.approx(100 * 40 / 110),  # 36.4, 30.6, 50 %
        share_priced=75.0,
    )


@pytest.mark.parametrize("price", [70, 100, 130, 190, 290, 1_010, 12_345_670])
def test_exactly_ten_and_twenty_per_cent_count_as_within(price: int) -> None:
    over = accuracy_summary([price] * 2, [price // 10 * 11, price // 10 * 9])
    assert over.within_10_pct == 100.0
    assert accuracy_summary([price], [price // 10 * 12]).within_20_pct == 100.0
    assert accuracy_summary([price], [price // 10 * 11 + 0.01]).within_10_pct == 0.0


def test_a_price_on_a_bound_is_covered() -> None:
    assert accuracy_summary([5, 7], [6, 6], [5, 5], [7, 7]).coverage_80 == 100.0


def test_no_car_gives_none_and_never_nan() -> None:
    summary = accuracy_summary([], [], [], [])
    assert summary.to_dict() == {**dict.fromkeys(KEYS), "tested": 0}


def test_no_car_with_a_range() -> None:
    summary = accuracy_summary([100], [100], [NAN], [NAN])
    assert (summary.coverage_80, summary.median_width_80_pct) == (None, None)
    assert summary.share_priced == 0.0


def test_ranges_not_tested() -> None:
    summary = accuracy_summary([100], [100])
    assert summary.share_priced is summary.coverage_80 is summary.median_width_80_pct is None
    assert summary.median_abs_pct_error == 0.0


def test_plain_form_has_exactly_these_keys_and_turns_into_json() -> None:
    plain = accuracy_summary([100, 120], [100, 130], [90, NAN], [110, NAN]).to_dict()
    assert list(plain) == KEYS
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ([1, 2], [1]),
            "accuracy summary: the inputs have different lengths (got: price 2, central "
            "estimate 1). Give one value a car in each.",
        ),
        (
            ([1, 2], [1, 2], [1], [2]),
            "accuracy summary: the inputs have different lengths (got: price 2, central "
            "estimate 2, range 1). Give one value a car in each.",
        ),
        (
            ([1], [NAN]),
            "accuracy summary: each central estimate must be a finite amount above zero (got: nan "
            "at position 0; 1 of 1 are wrong). Leave these cars out or mend the amounts.",
        ),
        (
            ([1], [1], [1]),
            "accuracy summary: a range needs both bounds (got: only the lower one). "
            "Give lower and upper, or neither.",
        ),
        (
            ([1], [1], None, [1]),
            "accuracy summary: a range needs both bounds (got: only the upper one). "
            "Give lower and upper, or neither.",
        ),
    ],
)
def test_wrong_input(arguments: tuple[Any, ...], message: str) -> None:
    with pytest.raises(ScoreInputError) as caught:
        accuracy_summary(*arguments)
    assert str(caught.value) == message


def test_groups_come_sorted_and_hold_their_own_cars() -> None:
    keys = np.array(["saloon", "coupé", "saloon", "coupé"])
    groups = by_group(keys, [100] * 4, [90, 130, 110, 130], [80] * 4, [120] * 4)
    assert list(groups) == ["coupé", "saloon"]
    assert groups["coupé"] == accuracy_summary([100] * 2, [130] * 2, [80] * 2, [120] * 2)
    assert groups["saloon"].median_abs_pct_error == pytest.approx(10.0)


@pytest.mark.parametrize(
    "keys", [[3, 1, 2], [date(2025, 3, 1), date(2025, 1, 1), date(2025, 2, 1)]]
)
def test_groups_of_other_kinds(keys: list[Any]) -> None:
    assert list(by_group(keys, [1, 1, 1], [1, 1, 1])) == sorted(keys)


def test_keys_of_an_array_come_back_as_plain_values() -> None:
    assert [type(k) for k in by_group(np.array([2, 1]), [1, 1], [1, 1])] == [int, int]


def test_no_car_has_no_group() -> None:
    assert by_group([], [], []) == {}


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        (
            ["a", None],
            "accuracy by group: a car has no group (got: None at position 1). "
            "Give missing groups a name such as 'not stated'.",
        ),
        (
            [NAN, 1.0],
            "accuracy by group: a car has no group (got: nan at position 0). "
            "Give missing groups a name such as 'not stated'.",
        ),
        (
            ["a", 1],
            "accuracy by group: the groups can't be put in order (got: keys of kind int, str). "
            "Make all keys text or all keys numbers.",
        ),
        (
            ["a"],
            "accuracy by group: the inputs have different lengths (got: key 1, price 2). "
            "Give one value a car in each.",
        ),
    ],
)
def test_wrong_groups(keys: list[Any], message: str) -> None:
    with pytest.raises(ScoreInputError) as caught:
        by_group(keys, [1, 1], [1, 1])
    assert str(caught.value) == message


@given(pairs)
def test_perfect_estimates(cars: list[tuple[int, int]]) -> None:
    price = [p for p, _ in cars]
    summary = accuracy_summary(price, price, price, price)
    assert list(summary.to_dict().values()) == [len(price), 0, 100, 100, 1, 100, 0, 100]


@given(pairs, st.integers(min_value=-6, max_value=6))
def test_currency_does_not_matter(cars: list[tuple[int, int]], power: int) -> None:
    price, central = np.array(cars, dtype=float).T
    k = 2.0**power
    here = accuracy_summary(price, central, 0.5 * central, 2 * central)
    there = accuracy_summary(k * price, k * central, k * 0.5 * central, k * 2 * central)
    assert here == there


@given(pairs)
def test_groups_add_up(cars: list[tuple[int, int]]) -> None:
    price, central = np.array(cars, dtype=float).T
    groups = by_group([len(str(p)) for p, _ in cars], price, central)
    whole = accuracy_summary(price, central)
    hits = sum(g.tested * (g.within_20_pct or 0.0) for g in groups.values())
    assert sum(g.tested for g in groups.values()) == whole.tested
    assert whole.within_20_pct is not None
    assert math.isclose(hits / whole.tested, whole.within_20_pct, abs_tol=1e-9)

"""What comes in is checked, and every message says where, what, what came, what to do."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from valuation.errors import ValuationError
from valuation.scoring.checks import (
    ScoreInputError,
    ScoreUndefinedError,
    as_level,
    as_positive,
    as_range,
    need_sales,
    same_length,
)

NAN = float("nan")


def test_errors_belong_to_the_tree_and_are_value_errors() -> None:
    assert issubclass(ScoreInputError, ValuationError)
    assert issubclass(ScoreInputError, ValueError)
    assert issubclass(ScoreUndefinedError, ScoreInputError)


@pytest.mark.parametrize("given", [[1, 2], (1.0, 2.0), np.array([1, 2]), [Decimal(1), Decimal(2)]])
def test_positive_takes_any_row_of_numbers(given: Any) -> None:
    row = as_positive("here", "price", given)
    assert row.dtype == np.float64
    assert row.tolist() == [1.0, 2.0]


def test_positive_takes_no_car_at_all() -> None:
    assert as_positive("here", "price", []).size == 0


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (
            [5, 0, -1],
            "here: each price must be a finite amount above zero (got: 0 at position 1; "
            "2 of 3 are wrong). Leave these cars out or mend the amounts.",
        ),
        (
            [NAN, 4],
            "here: each price must be a finite amount above zero (got: nan at position 0; "
            "1 of 2 are wrong). Leave these cars out or mend the amounts.",
        ),
        (
            [4, float("inf")],
            "here: each price must be a finite amount above zero (got: inf at position 1; "
            "1 of 2 are wrong). Leave these cars out or mend the amounts.",
        ),
        (
            ["dear"],
            "here: each price must be a number (got: list). Give plain numbers in one currency.",
        ),
        (
            5.0,
            "here: each price must stand in one row of numbers (got: 0 dimensions). "
            "Give a list or a one-dimensional array.",
        ),
        (
            [[1.0], [2.0]],
            "here: each price must stand in one row of numbers (got: 2 dimensions). "
            "Give a list or a one-dimensional array.",
        ),
    ],
)
def test_positive_says_what_is_wrong(given: Any, message: str) -> None:
    with pytest.raises(ScoreInputError) as caught:
        as_positive("here", "price", given)
    assert str(caught.value) == message


def test_range_keeps_blanks() -> None:
    low, high = as_range("here", [1, NAN, 3], [1, NAN, 4])
    assert np.isnan(low).tolist() == np.isnan(high).tolist() == [False, True, False]


@pytest.mark.parametrize(
    ("low", "high", "came"),
    [
        (5.0, 4.0, "5 to 4"),
        (NAN, 4.0, "nan to 4"),
        (3.0, NAN, "3 to nan"),
        (0.0, 4.0, "0 to 4"),
        (3.0, float("inf"), "3 to inf"),
    ],
)
def test_range_refuses_half_and_turned_ranges(low: float, high: float, came: str) -> None:
    with pytest.raises(ScoreInputError) as caught:
        as_range("here", [1.0, low], [2.0, high])
    assert str(caught.value) == (
        "here: a range needs two finite bounds above zero, the lower one first "
        f"(got: {came} at position 1). Put NaN in both bounds where no range is given."
    )


def test_lengths_are_named() -> None:
    same_length("here", {"price": 2, "estimate": 2})
    with pytest.raises(ScoreInputError) as caught:
        same_length("here", {"price": 2, "estimate": 3})
    assert str(caught.value) == (
        "here: the inputs have different lengths (got: price 2, estimate 3). "
        "Give one value a car in each."
    )


def test_too_few_sales() -> None:
    need_sales("here", 3, 3, "a cut")
    with pytest.raises(ScoreUndefinedError) as caught:
        need_sales("here", 2, 3, "a cut")
    assert str(caught.value) == (
        "here: a cut needs at least 3 sales (got: 2). Pool more sales or leave this measure out."
    )


@pytest.mark.parametrize("level", [0.0, 1.0, 80.0, -0.1, NAN])
def test_level_is_a_share(level: float) -> None:
    with pytest.raises(ScoreInputError, match=r"a level lies between 0 and 1 \(got: .*0\.8\.$"):
        as_level("here", level)

"""The grid of adjustments: which sales are shown, and every step in money."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from valuation.appraisal.grid import adjustment_grid, choose
from valuation.models.comparables import Neighbourhood
from valuation.results.valuation import Comparable

ATTRIBUTES = ("start", "condition_grade", "market", "body", "colour", "gears", "mileage")
TEXT: dict[str, list[str | None]] = {
    "title": ["1966 Torvane GT", None],
    "body": ["coupe", None],
    "basis": ["hammer price", None],
    "outcome": ["sold", None],
    "channel": ["live auction", None],
}
FRAME = pd.DataFrame(
    {
        "sale_id": ["A", "B"],
        "make": ["Torvane", "Torvane"],
        "model": ["GT", "GT"],
        "year": [1966.0, 1967.0],
        "sale_date": pd.to_datetime(["2024-03-05", None]),
        "price": [50_000.0, 40_000.0],
        "condition_grade": [60.0, math.nan],
        **{name: pd.Series(cells, dtype=object) for name, cells in TEXT.items()},
    }
)
CELLS = {"condition_grade": 80.0, "body": "convertible", "sale_date": date(2025, 1, 31)}


def around(weight: list[float]) -> Neighbourhood:
    """Return sales around a car with the given weights."""
    n = len(weight)
    return Neighbourhood(np.arange(n), np.zeros(n), np.array(weight), 0.0, sum(weight), 0.0, 0.0)


def grid(
    ours: list[float], theirs: list[list[float]], prices: tuple[float, ...] = (50_000, 40_000)
) -> tuple[Comparable, ...]:
    return adjustment_grid(
        around([3.0, 1.0]),
        [0, 1],
        effects=np.array(ours),
        theirs=np.array(theirs, dtype=np.float32),
        attributes=ATTRIBUTES,
        columns={c: FRAME[c].to_numpy() for c in FRAME} | {"price": np.array(prices)},
        cells=CELLS,
    )


@pytest.fixture
def two() -> tuple[Comparable, ...]:
    ours = [9.0, 0.25, 0.5, -0.5, 0.0003, 0.0, -0.25]
    return grid(
        ours, [[9.0, 0.0, 0.375, -0.25, 0.0, 0.0005, -0.25], [9.0, 0.25, 0.5, -0.5, 0, 0, -0.25]]
    )


def test_the_market_comes_first_then_the_largest_steps(two: tuple[Comparable, ...]) -> None:
    first = two[0]
    named = [a.attribute for a in first.adjustments]
    assert named[:3] == ["market", "condition_grade", "body"]
    assert first.adjustments[1].percent == pytest.approx(25.0)
    assert first.net_adjustment == pytest.approx(100 * (0.125 + 0.25 - 0.25 - 0.0002), abs=1e-3)
    assert first.gross_adjustment == pytest.approx(100 * (0.125 + 0.5 + 0.0008), abs=1e-3)


def test_steps_are_said_in_words(two: tuple[Comparable, ...]) -> None:
    said = [(a.label, a.theirs, a.ours) for a in two[0].adjustments[:3]]
    assert said == [
        ("Market", "2024-03-05", "2025-01-31"),
        ("Condition grade", "60 points", "80 points"),
        ("Body", "coupe", "convertible"),
    ]


def test_money_of_the_steps_adds_up(two: tuple[Comparable, ...]) -> None:
    first = two[0]
    assert first.price == 50_000
    assert first.price + sum(a.amount for a in first.adjustments) == first.adjusted_price
    assert first.adjusted_price == round(50_000 * math.exp(0.125 - 0.0002))
    factor = (first.adjusted_price - 50_000) / 0.1248
    assert first.adjustments[0].amount == pytest.approx(factor * 0.125, abs=2)


def test_the_price_shown_taken_up_by_the_steps_is_the_adjusted_price() -> None:
    # Prices converted from another currency have a fraction, and a step may be threefold.
    steps = [0.0, 1.0, 0.125, 0.0, 0.0, 0.0, 0.0]
    first, second = grid(steps, [[0.0] * 7] * 2, (16_962.49, 16_962.5))
    assert (first.price, second.price) == (16_962, 16_963)
    assert first.adjusted_price == round(16_962 * math.exp(1.125))
    assert second.adjusted_price == round(16_963 * math.exp(1.125))


def test_a_sale_like_the_car_needs_no_step(two: tuple[Comparable, ...]) -> None:
    second = two[1]
    assert second.price == 40_000
    assert sum(abs(a.percent) for a in second.adjustments) < 0.05
    assert abs(second.adjusted_price - 40_000) < 20


def test_what_is_not_known_of_a_sale_is_not_invented(two: tuple[Comparable, ...]) -> None:
    second = two[1]
    assert second.sale_date is None
    assert (second.basis, second.outcome, second.channel) == ("unknown", "unknown", "")
    assert second.title == "1967 Torvane GT"
    first = two[0]
    assert (first.sale_id, first.title) == ("A", "1966 Torvane GT")
    assert (first.basis, first.outcome, first.channel) == ("hammer price", "sold", "live auction")
    assert first.sale_date == date(2024, 3, 5)


def test_weights_are_shares(two: tuple[Comparable, ...]) -> None:
    assert [c.weight for c in two] == [0.75, 0.25]


@pytest.mark.parametrize(
    ("adjusted", "shown"),
    [
        ([11.0, 9.0, 11.0, 9.0, 11.0], [4, 0, 1]),  # both sides among the first three
        ([11.0, 9.0, 11.0, 11.0, 11.0], [4, 0, 1]),
        ([11.0, 11.0, 9.0, 9.5, 11.0], [4, 0, 3]),  # the last gives way to the best below
        ([9.0, 9.0, 9.0, 11.0, 9.0], [4, 0, 3]),  # or above
        ([9.0, 9.0, 9.0, 9.0, 9.0], [4, 0, 1]),  # where there is none, there is none
    ],
)
def test_one_sale_on_each_side_is_shown(adjusted: list[float], shown: list[int]) -> None:
    found = choose(around([0.5, 0.4, 0.1, 0.3, 0.9]), np.array(adjusted), 10.0, most=3)
    assert found == shown


def test_no_sales_are_no_grid() -> None:
    nothing: Any = around([])
    assert choose(nothing, np.zeros(0), 10.0) == []

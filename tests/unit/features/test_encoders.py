"""Encoders: what each makes of a value, of one never seen and of one not stated."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from valuation.features.calendar import Stretches, Walk
from valuation.features.encoders import (
    Crossed,
    Curve,
    Encoder,
    Levels,
    Members,
    Ones,
    Silent,
    Straight,
    scaled,
)
from valuation.features.shapes import curve_of
from valuation.features.table import FeatureTable

Make = Callable[..., FeatureTable]


def dense(encoder: Encoder, table: FeatureTable) -> np.ndarray:
    """Return the columns as a matrix; cells that meet add up."""
    out = np.zeros((table.n, len(encoder.labels)))
    cells = encoder.encode(table)
    np.add.at(out, (cells.row, cells.col), cells.val)
    return out


def on_days(by_hand: Make, days: list[float]) -> FeatureTable:
    stamps = pd.to_datetime(pd.Series(days, dtype="float64"), unit="D").astype("datetime64[s]")
    return by_hand(len(days), sale_date=stamps)


def test_scales() -> None:
    x = np.array([0.0, 4.0, np.nan])
    assert scaled(x, "plain") is x
    np.testing.assert_allclose(scaled(x, "root"), [0.0, 2.0, np.nan])
    assert scaled(x, "log")[1] == pytest.approx(np.log(4.0))
    assert np.isfinite(scaled(x, "log")[0])
    assert np.isnan(scaled(x, "log")[2])


def test_ones(by_hand: Make) -> None:
    assert dense(Ones("ones"), by_hand(3)).tolist() == [[1.0], [1.0], [1.0]]


# Numbers


def test_straight_is_measured_from_a_centre(by_hand: Make) -> None:
    table = by_hand(3, mileage=[10_000.0, 40_000.0, 0.0])
    encoder = Straight("mileage", scale="root", centre=100.0, spread=50.0)
    assert dense(encoder, table).ravel().tolist() == [0.0, 2.0, -2.0]
    assert encoder.labels == ("mileage",)


def test_straight_has_no_cell_where_nothing_is_stated(by_hand: Make) -> None:
    table = by_hand(2, mileage=[np.nan, 5.0])
    assert Straight("mileage").encode(table).row.tolist() == [1]


def test_straight_is_left_out_of_flat_lines(by_hand: Make) -> None:
    table = by_hand(
        3, make=["Torvane", "Ystrix", "Corbel"], model=["GT", "Quill", "One"], mileage=[5.0] * 3
    )
    encoder = Straight("mileage", flat_lines=("torvane | gt",))
    assert dense(encoder, table).ravel().tolist() == [0.0, 5.0, 5.0]


@pytest.fixture
def curve(market: Any) -> tuple[Curve, np.ndarray]:
    x = market.table.numbers["condition_grade"]
    straight = Straight("condition_grade", centre=60.0, spread=20.0)
    made = curve_of(straight, x, 6)
    assert made is not None
    return made, x


def test_a_curve_is_orthogonal_to_its_line(market: Any, curve: tuple[Curve, np.ndarray]) -> None:
    """Over the sales it was learned from: slope and bend can't trade places."""
    encoder, x = curve
    stated = ~np.isnan(x)
    columns = dense(encoder, market.table)[stated]
    z = (x[stated] - 60.0) / 20.0
    assert len(encoder.knots) == len(encoder.labels) == 6
    np.testing.assert_allclose(columns.sum(0), 0.0, atol=1e-8)
    np.testing.assert_allclose(z @ columns, 0.0, atol=1e-8)


def test_a_curve_bends_at_its_knots_alone(by_hand: Make, curve: tuple[Curve, np.ndarray]) -> None:
    encoder, _ = curve
    z = np.linspace(-3.0, 3.0, 601)
    columns = dense(encoder, by_hand(601, condition_grade=60.0 + 20.0 * z))
    for column, knot in zip(columns.T, encoder.knots, strict=True):
        bends = np.abs(np.diff(column, 2)) > 1e-9
        assert np.abs(z[1:-1][bends] - knot).max() < 0.011


def test_a_curve_has_no_cell_where_nothing_is_stated(
    by_hand: Make, curve: tuple[Curve, np.ndarray]
) -> None:
    assert not len(curve[0].encode(by_hand(2)).row)


def test_a_curve_is_left_out_of_flat_lines(by_hand: Make, curve: tuple[Curve, np.ndarray]) -> None:
    table = by_hand(2, make=["A", "B"], model=["x", "y"], condition_grade=[90.0, 90.0])
    columns = dense(replace(curve[0], flat_lines=("b | y",)), table)
    assert columns[0].any()
    assert not columns[1].any()


def test_a_number_of_few_values_has_no_curve() -> None:
    straight = Straight("gears")
    assert curve_of(straight, np.array([3.0, 4.0, 5.0] * 20), 6) is None
    assert curve_of(straight, np.full(9, np.nan), 6) is None


# Silence


@pytest.mark.parametrize(
    ("holder", "source", "values"),
    [
        ("number", "mileage", [5.0, np.nan, 0.0]),
        ("factor", "restoration", ["partly restored", None, "older restoration"]),
        ("bag", "documents", [("bills",), None, ()]),
    ],
)
def test_silence_is_where_nothing_is_stated(
    by_hand: Make, holder: str, source: str, values: list[object]
) -> None:
    column = pd.Series(values, dtype="float64" if holder == "number" else object)
    table = by_hand(3, **{source: column})
    assert dense(Silent(source, holder=holder), table).ravel().tolist() == [0.0, 1.0, 0.0]


# Levels and words


def test_levels_of_a_category(by_hand: Make) -> None:
    encoder = Levels("colour", levels=("blue", "red"))
    table = by_hand(4, colour=["Red", "blue", "green", None])
    # Neither a level never seen nor silence has a column.
    assert dense(encoder, table).tolist() == [[0, 1], [1, 0], [0, 0], [0, 0]]
    assert encoder.labels == ("colour = blue", "colour = red")


def test_levels_of_a_table_without_any(by_hand: Make) -> None:
    assert not dense(Levels("colour", levels=("red",)), by_hand(2)).any()


def test_words_of_a_set(by_hand: Make) -> None:
    encoder = Members("documents", levels=("bills", "build record"))
    sets = [("bills", "build record"), ("ownership chain",), (), None]
    table = by_hand(4, documents=pd.Series(sets, dtype=object))
    assert dense(encoder, table).tolist() == [[1, 1], [0, 0], [0, 0], [0, 0]]
    assert encoder.labels == ("documents: bills", "documents: build record")


def test_words_of_a_table_without_any(by_hand: Make) -> None:
    for parts in (False, True):
        encoder = Members("modifications", levels=("brakes",), parts=parts)
        assert not dense(encoder, by_hand(2)).any()


def test_a_modification_has_a_kind_and_a_manner(by_hand: Make) -> None:
    levels = ("brakes", "permanent/later", "reversible/period")
    encoder = Members("modifications", levels=levels, parts=True)
    sets = [
        ("brakes/reversible/period",),
        ("engine/permanent/later",),
        ("brakes/permanent/later", "brakes/reversible/period"),
    ]
    table = by_hand(3, modifications=pd.Series(sets, dtype=object))
    # Each modification counts, so two on the brakes count twice.
    assert dense(encoder, table).tolist() == [[1, 0, 1], [0, 1, 0], [2, 1, 1]]


def test_without_parts_a_modification_is_one_word(by_hand: Make) -> None:
    encoder = Members("modifications", levels=("brakes/reversible/period",))
    sets = [("brakes/reversible/period",), ("brakes/permanent/later",)]
    table = by_hand(2, modifications=pd.Series(sets, dtype=object))
    assert dense(encoder, table).ravel().tolist() == [1, 0]


# Time


WALK = Walk("day", nodes=(100.0, 110.0, 130.0))


def test_the_walk_is_zero_on_the_last_day_and_flat_outside(by_hand: Make) -> None:
    table = on_days(by_hand, [0.0, 100.0, 105.0, 110.0, 120.0, 130.0, 9000.0])
    assert dense(WALK, table).tolist() == [
        [-1, -1], [-1, -1], [-0.5, -1], [0, -1], [0, -0.5], [0, 0], [0, 0],
    ]  # fmt: skip
    assert WALK.labels == ("level from day 100", "level from day 110")


def test_an_undated_sale_is_sold_today(by_hand: Make) -> None:
    assert not dense(WALK, on_days(by_hand, [np.nan])).any()


STRETCHES = Stretches("day", first=100.0, width=10.0, stretches=(0, 2, 5), sizes=(1.0, 2.5, 4.0))


def test_a_stretch_of_days(by_hand: Make) -> None:
    table = on_days(by_hand, [100.0, 109.0, 120.0, 151.0])
    assert dense(STRETCHES, table).tolist() == [[1, 0, 0], [1, 0, 0], [0, 2.5, 0], [0, 0, 4]]
    assert STRETCHES.labels == (
        "sales from day 100", "sales from day 120", "sales from day 150",
    )  # fmt: skip


def test_a_day_outside_every_stretch_has_no_column(by_hand: Make) -> None:
    table = on_days(by_hand, [50.0, 99.0, 115.0, 145.0, 160.0, 9000.0, np.nan])
    assert not len(STRETCHES.encode(table).row)


def test_a_car_to_be_valued_is_none_of_the_sales_of_its_day(by_hand: Make) -> None:
    assert not len(STRETCHES.encode(on_days(by_hand, [105.0, 120.0]).to_come()).row)
    assert not len(STRETCHES.encode(on_days(by_hand, [0.0]).at(120.0)).row)


# Crossed


def test_levels_crossed_with_lines(by_hand: Make) -> None:
    inner = Levels("colour", levels=("blue", "red"))
    encoder = Crossed("colour", inner, "make", ("torvane", "ystrix"), (0, 1, 3))
    table = by_hand(
        5,
        make=["Torvane", "Torvane", "Ystrix", "Ystrix", "Corbel"],
        colour=["blue", "red", "red", "blue", "red"],
    )
    # The blue Ystrix is a pair never seen, the Corbel a group never seen.
    assert dense(encoder, table).tolist() == [
        [1, 0, 0], [0, 1, 0], [0, 0, 1], [0, 0, 0], [0, 0, 0],
    ]  # fmt: skip
    assert encoder.labels == (
        "colour = blue, torvane", "colour = red, torvane", "colour = red, ystrix",
    )  # fmt: skip


def test_a_crossed_slope_is_measured_from_its_groups_mean(by_hand: Make) -> None:
    encoder = Crossed("gears", Straight("gears"), "make", ("torvane", "ystrix"), (0, 1), (4.0, 5.0))
    table = by_hand(4, make=["Torvane", "Torvane", "Ystrix", None], gears=[3.0, np.nan, 6.0, 4.0])
    assert dense(encoder, table).tolist() == [[-1, 0], [0, 0], [0, 1], [0, 0]]


def test_a_group_of_one_column(by_hand: Make) -> None:
    encoder = Crossed("ones", Ones("ones"), "make", ("torvane",), (0,))
    table = by_hand(3, make=["Torvane", "Ystrix", None])
    assert dense(encoder, table).ravel().tolist() == [1, 0, 0]


def test_crossed_with_nothing(by_hand: Make) -> None:
    encoder = Crossed("ones", Ones("ones"), "make", ("torvane",), ())
    assert not len(encoder.encode(by_hand(2, make=["Torvane", None])).row)

"""Directions of which the trade is certain hold over the whole effect of a model line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from valuation.features.assumptions import NO_ASSUMPTIONS
from valuation.features.direction import hold_direction
from valuation.features.learn import learn_spec
from valuation.features.settings import FeatureSettings
from valuation.features.table import FeatureTable
from valuation.features.terms import FeatureSpec
from valuation.models.hedonic import HedonicRegressor

Make = Callable[..., FeatureTable]
CERTAIN = ("condition_grade", "originality_score")


def fit(
    spec: FeatureSpec, table: FeatureTable, y: np.ndarray, kept: dict[str, float]
) -> HedonicRegressor:
    start = np.array([kept.get(t.name, 10.0) for t in spec.terms])
    model = HedonicRegressor(
        spec.layout(), robust_df=None, penalties=start, keep_penalties=bool(kept)
    )
    return model.fit(spec.transform(table).X, y)


def held(
    spec: FeatureSpec, table: FeatureTable, y: np.ndarray, *, passes: int = 12
) -> tuple[FeatureSpec, np.ndarray, list[list[str]]]:
    """Fit and tighten until nothing is said."""
    kept: dict[str, float] = {}
    said: list[list[str]] = []
    for _ in range(passes):
        model = fit(spec, table, y, kept)
        tighter, more = hold_direction(spec, model.coef_, table)
        if not more:
            return spec, model.coef_, said
        said.append(more)
        kept = dict(zip([t.name for t in spec.terms], model.penalties_.tolist(), strict=True))
        spec = tighter
    raise AssertionError(said)


def effects(
    spec: FeatureSpec, coef: np.ndarray, table: FeatureTable, name: str
) -> dict[str, np.ndarray]:
    """Return for each model line the effect of an attribute over its whole range."""
    x, line = table.numbers[name], table.factors["line"]
    grid = np.linspace(0.0, 100.0, 101)
    mine = coef * (spec.column_attribute == spec.attributes.index(name))
    found = {}
    for code, label in enumerate(line.levels):
        rows = np.flatnonzero((line.codes == code) & ~np.isnan(x))[:1]
        if len(rows):
            cars = table.take(np.repeat(rows, len(grid)))
            cars = replace(cars, numbers={**cars.numbers, name: grid})
            found[label] = np.asarray(spec.transform(cars).X @ mine)
    return found


@pytest.fixture(scope="module")
def three_lines(by_hand: Make) -> FeatureTable:
    """Return three model lines, 60 sales each, every one with its grade."""
    rng = np.random.default_rng(4)
    return by_hand(
        180,
        make=np.repeat(["Torvane", "Ystrix", "Corbel"], 60),
        model=np.repeat(["GT", "Quill", "One"], 60),
        year=rng.integers(1955, 1975, 180).astype(float),
        condition_grade=rng.uniform(20, 95, 180).round(),
    )


def prices(table: FeatureTable, slopes: tuple[float, float, float]) -> np.ndarray:
    """Return log prices with another slope for each line."""
    rng = np.random.default_rng(5)
    z = (table.numbers["condition_grade"] - 60.0) / 20.0
    return 10.0 + np.repeat(slopes, 60) * z + rng.normal(0, 0.1, table.n)


def spec_of(table: FeatureTable) -> FeatureSpec:
    return learn_spec(table, settings=FeatureSettings(), assumptions=NO_ASSUMPTIONS)


def test_right_effects_are_left_alone(three_lines: FeatureTable) -> None:
    spec = spec_of(three_lines)
    model = fit(spec, three_lines, prices(three_lines, (0.3, 0.4, 0.5)), {})
    same, said = hold_direction(spec, model.coef_, three_lines)
    assert said == []
    assert same is spec


def test_a_line_of_the_wrong_sign_is_held_flat(three_lines: FeatureTable) -> None:
    y = prices(three_lines, (0.5, 0.4, -0.3))
    spec = spec_of(three_lines)
    before = effects(spec, fit(spec, three_lines, y, {}).coef_, three_lines, "condition_grade")
    assert np.diff(before["corbel | one"]).mean() < 0
    tight, coef, said = held(spec, three_lines, y)
    after = effects(tight, coef, three_lines, "condition_grade")
    assert "Condition grade: held flat in corbel | one" in [s for each in said for s in each]
    assert np.ptp(after["corbel | one"]) == 0.0
    assert np.diff(after["torvane | gt"]).min() > 0
    # The others keep nearly the slope they have.
    assert np.polyfit(np.arange(101), after["torvane | gt"], 1)[0] == pytest.approx(0.025, rel=0.1)


def test_a_common_curve_that_turns_back_is_dropped(three_lines: FeatureTable) -> None:
    z = (three_lines.numbers["condition_grade"] - 60.0) / 20.0
    rng = np.random.default_rng(6)
    y = 10.0 + 0.1 * z - 0.3 * np.maximum(z - 0.7, 0.0) + rng.normal(0, 0.05, 180)
    spec = spec_of(three_lines)
    tight, coef, said = held(spec, three_lines, y)
    assert said[0] == ["Condition grade: the curve turned back and is held straight"]
    left = {t.name for t in tight.terms}
    assert "condition_grade curve" in {t.name for t in spec.terms}
    assert not {"condition_grade curve", "condition_grade curve by model line"} & left
    for effect in effects(tight, coef, three_lines, "condition_grade").values():
        assert np.diff(effect).min() >= -1e-9


def test_a_flat_line_does_not_follow_the_common_curve(three_lines: FeatureTable) -> None:
    """A curve that suits steep lines turns back where the slope is taken from it."""
    z = (three_lines.numbers["condition_grade"] - 60.0) / 20.0
    bend = 0.6 * np.maximum(z - 0.4, 0.0) + 0.3 * z
    rng = np.random.default_rng(8)
    y = 10.0 + np.where(np.arange(180) < 120, bend, -0.2 * z) + rng.normal(0, 0.05, 180)
    tight, coef, _ = held(spec_of(three_lines), three_lines, y)
    after = effects(tight, coef, three_lines, "condition_grade")
    assert np.ptp(after["corbel | one"]) == 0.0
    steps = np.diff(after["torvane | gt"])
    assert steps.min() >= -1e-9
    assert steps[-5:].mean() > 1.5 * steps[:5].mean()  # there the bend is kept


def test_a_line_that_turns_back_is_held_to_the_common_curve(three_lines: FeatureTable) -> None:
    z = (three_lines.numbers["condition_grade"] - 60.0) / 20.0
    hump = np.where(np.arange(180) < 60, -0.5 * np.maximum(z - 0.6, 0.0), 0.0)
    rng = np.random.default_rng(9)
    y = 10.0 + 0.25 * z + hump + rng.normal(0, 0.03, 180)
    tight, coef, said = held(spec_of(three_lines), three_lines, y)
    assert any(
        s in ("Condition grade: held to the common curve in torvane | gt",
              "Condition grade: held straight in torvane | gt")
        for each in said for s in each
    )  # fmt: skip
    assert not any("torvane" not in s for each in said for s in each)
    for effect in effects(tight, coef, three_lines, "condition_grade").values():
        assert np.diff(effect).min() >= -1e-9


def test_what_was_held_stays_held(three_lines: FeatureTable) -> None:
    y = prices(three_lines, (0.5, 0.4, -0.3))
    tight, coef, _ = held(spec_of(three_lines), three_lines, y)
    again, said = hold_direction(tight, coef, three_lines)
    assert said == []
    assert again is tight


def test_lines_that_state_nothing_are_not_spoken_of(three_lines: FeatureTable) -> None:
    grade = three_lines.numbers["condition_grade"].copy()
    grade[120:] = np.nan
    table = replace(three_lines, numbers={**three_lines.numbers, "condition_grade": grade})
    _, _, said = held(spec_of(table), table, prices(three_lines, (0.5, -0.4, 0.0)))
    assert said
    assert not any("corbel" in s for each in said for s in each)


def test_a_spec_without_the_attribute_is_left_alone(by_hand: Make) -> None:
    table = by_hand(20, make=["Torvane"] * 20, year=[1960.0 + i for i in range(20)])
    spec = spec_of(table)
    assert hold_direction(spec, np.zeros(spec.n_columns), table) == (spec, [])


@pytest.mark.parametrize("seed", range(4))
def test_any_market_ends_in_order(make_small_market: Callable[..., Any], seed: int) -> None:
    """Lines of wild slopes, little evidence, much noise: no line runs the wrong way."""
    market = make_small_market(400, seed, lines=6, line_spread=3.0, noise_sd=0.5)
    table = market.table
    grade = np.nan_to_num(table.numbers["condition_grade"], nan=60.0)
    line = table.factors["line"].codes
    y = market.log_price - 0.012 * (grade - 60.0) * (line % 3 == 0)
    tight, coef, said = held(spec_of(table), table, y)
    assert said
    for name in CERTAIN:
        if name in tight.attributes:
            for label, effect in effects(tight, coef, table, name).items():
                assert np.diff(effect).min() >= -1e-9, (name, label)

"""The level of the market day by day: exact between its days, and what the fit says of it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from valuation.appraisal.data import cars_table, make_and_line
from valuation.appraisal.levels import LevelPart, LevelPath, MarketLevels
from valuation.appraisal.market import MarketModel
from valuation.records import Car

STEADY = settings(max_examples=80, deadline=None, derandomize=True)
MARKET = LevelPart("market", np.array([0.0, 100.0, 200.0, 400.0]), np.array([0.1, 0.3, 0.15, 0.0]))
LINE = LevelPart("line", np.array([0.0, 300.0]), np.array([-0.3, 0.0]))


def _paths() -> st.SearchStrategy[LevelPath]:
    steps = st.lists(st.floats(-0.3, 0.3), min_size=2, max_size=7)

    def part(of: str, width: int, drawn: list[float]) -> LevelPart:
        level = np.cumsum([0.0, *drawn])
        return LevelPart(of, width * np.arange(len(level), dtype=float), level - level[-1])

    return st.builds(
        lambda a, b: LevelPath((part("market", 14, a), part("line", 37, b))), steps, steps
    )


def test_a_part_is_straight_between_its_days_and_held_outside() -> None:
    day = np.array([-50.0, 0.0, 50.0, 100.0, 300.0, 400.0, 999.0])
    assert MARKET.at(day).tolist() == pytest.approx([0.1, 0.1, 0.2, 0.3, 0.075, 0.0, 0.0])


def test_a_path_is_the_sum_of_its_parts() -> None:
    path = LevelPath((MARKET, LINE))
    assert path.days.tolist() == [0.0, 100.0, 200.0, 300.0, 400.0]
    assert path.at(np.array([0.0, 150.0, 400.0])).tolist() == pytest.approx([-0.2, 0.075, 0.0])
    assert LevelPath(()).at(np.array([5.0])).tolist() == [0.0]


def test_a_part_that_ends_sooner_gives_the_rate_up_to_its_own_end() -> None:
    assert MARKET.rate(400.0, 91.0) == pytest.approx(-0.00075)
    assert LINE.rate(400.0, 91.0) == pytest.approx(0.001)
    assert LevelPath((MARKET, LINE)).rate(400.0, 91.0) == pytest.approx(0.00025)
    # Half of the 200 days up to day 200 lay in the rise, half in the fall.
    assert MARKET.rate(200.0, 200.0) == pytest.approx((0.15 - 0.1) / 200)


def test_a_young_part_gives_its_rate_as_a_whole_and_none_gives_none() -> None:
    young = LevelPart("make", np.array([0.0, 40.0]), np.array([-0.2, 0.0]))
    assert young.rate(40.0, 91.0) == pytest.approx(0.005)
    assert young.rate(0.0, 91.0) == 0.0


def test_the_worst_change_and_the_largest_fall_by_hand() -> None:
    path = LevelPath((MARKET,))
    assert path.worst_change(400.0, 300.0) == (pytest.approx(-0.3), 400.0)
    assert path.worst_change(400.0, 100.0) == (pytest.approx(-0.15), 200.0)
    assert path.worst_change(100.0, 100.0) == (pytest.approx(0.2), 100.0)
    assert path.worst_fall(400.0) == (pytest.approx(-0.3), 100.0, 400.0)
    assert path.worst_fall(100.0)[0] == 0.0


@STEADY
@given(path=_paths(), share=st.floats(0.05, 0.95), until=st.floats(0.3, 1.0))
def test_no_start_on_a_fine_grid_finds_a_lower_change(
    path: LevelPath, share: float, until: float
) -> None:
    end = until * float(path.days[-1])
    span = share * end
    lowest, when = path.worst_change(end, span)
    starts = np.linspace(0.0, end - span, 4000)
    changes = path.at(starts + span) - path.at(starts)
    assert lowest <= changes.min() + 1e-12
    found = path.at(np.array([when])) - path.at(np.array([when - span]))
    assert lowest == pytest.approx(float(found[0]), abs=1e-12)
    assert span - 1e-9 <= when <= end + 1e-9


@STEADY
@given(path=_paths(), until=st.floats(0.3, 1.0))
def test_no_two_days_on_a_fine_grid_lie_farther_apart(path: LevelPath, until: float) -> None:
    end = until * float(path.days[-1])
    fall, start, stop = path.worst_fall(end)
    assert fall <= 0.0
    assert start <= stop <= end
    level: NDArray[np.float64] = path.at(np.linspace(0.0, end, 1000))
    assert fall <= (level - np.maximum.accumulate(level)).min() + 1e-12


def test_it_is_what_the_fit_says_of_the_market_without_the_selection_of_sales(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    fitted = small_market.fitted
    spec, last = fitted.spec, fitted.last_day
    at = spec.attributes.index("market")
    chosen = next(i for i, t in enumerate(spec.terms) if t.name == "selection of sales")
    columns = slice(spec.starts[chosen], spec.starts[chosen + 1])
    moved = 0.0
    for car in sold_cars[::6]:
        days = last - np.array([1500.0, 720.5, 200.0, 31.0, 0.0])
        tables = [cars_table([car], float(d)) for d in days]
        X = [spec.transform(t).X for t in tables]
        whole = np.array([fitted.by_attribute(x)[0, at] for x in X])
        aside = np.array([(x[:, columns] @ fitted.coef[columns])[0] for x in X])
        path = small_market.levels.of(*make_and_line(car))
        assert path.at(days) == pytest.approx(whole - aside, abs=1e-9)
        moved = max(moved, float(np.ptp(path.at(days))))
    assert moved > 0.01


def test_a_path_is_worked_out_once(small_market: MarketModel) -> None:
    levels = MarketLevels(small_market.fitted)
    assert levels.of("torvane", "torvane | gt") is levels.of("torvane", "torvane | gt")
    strange = levels.of("nobody's", "nobody's | gt")
    assert [p.of for p in strange.parts] == ["market"]


def test_make_and_line_are_those_of_the_table(sold_cars: list[Car]) -> None:
    odd = [
        Car({"make": "Torvane", "year": 1966.0}, title="1966 Torvane Sprint Coupe"),
        Car({"make": "  Torvane ", "model": "gt", "generation": "Series 2", "year": 1966.0}),
        Car({"make": "Torvane", "year": 1966.0}),
        Car({"year": 1966.0}),
    ]
    cars = [*sold_cars, *odd]
    table = cars_table(cars, 2e4)
    found = [make_and_line(car) for car in cars]
    assert [m for m, _ in found] == table.factors["make"].text()
    assert [line for _, line in found] == table.factors["line"].text()
    assert found[-4][1] == "torvane | (sprint)"

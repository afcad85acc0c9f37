"""Comparable sales: which are nearest, how they weigh, what they add."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from valuation.models.comparables import (
    KEPT,
    ComparableSales,
    ComparableSettings,
    Comparands,
    Neighbourhood,
)

PLAIN = ComparableSettings(bandwidth=0.2, half_life=730.0, ballast=1.0, pool=3)


def sales(effects: list[list[float]], **changes: Any) -> ComparableSales:
    """Return sales of one line and make on day 1000, without residuals, fully trusted."""
    n = len(effects)
    made = ComparableSales(
        np.array(effects, dtype=np.float32),
        np.zeros(n),
        np.zeros(n),
        np.ones(n),
        np.zeros(n, dtype=np.intp),
        np.zeros(n, dtype=np.intp),
        np.zeros(n, dtype=np.intp),
        np.full(n, 1000.0),
        PLAIN,
    )
    return replace(made, **changes)


def around(book: ComparableSales, effects: list[float], **changes: Any) -> Neighbourhood:
    asked: dict[str, Any] = {"line": 0, "make": 0, "version": 0, "day": 1000.0, "chassis": -1}
    asked |= changes
    left = asked.pop("leave_out", None)
    cars = Comparands(np.array([effects]), **{k: np.array([v]) for k, v in asked.items()})
    (found,) = book.around(cars, leave_out=left)
    return found


def test_nearest_first() -> None:
    book = sales([[0.5, 0.0], [0.0, -0.1], [0.2, 0.2], [0.0, 0.0]])
    found = around(book, [0.0, 0.0])
    assert found.rows.tolist() == [3, 1, 2, 0]
    np.testing.assert_allclose(found.gross, [0.0, 0.1, 0.4, 0.5], atol=1e-6)
    assert (np.diff(found.weight) < 0).all()


def test_equal_distances_keep_the_order_of_the_sales() -> None:
    found = around(sales([[0.1], [0.0], [-0.1], [0.1]]), [0.0])
    assert found.rows.tolist() == [1, 0, 2, 3]


def test_opposite_adjustments_do_not_cancel() -> None:
    found = around(sales([[0.3, -0.3]]), [0.0, 0.0])
    assert found.gross[0] == pytest.approx(0.6, abs=1e-6)


def test_a_year_between_the_dates_is_a_distance() -> None:
    book = sales([[0.0], [0.0]], day=np.array([1000.0, 1000.0 - 365.25]))
    found = around(book, [0.0])
    assert found.gross.tolist() == pytest.approx([0.0, PLAIN.per_year])


def test_another_version_is_a_distance() -> None:
    book = sales([[0.0], [0.0]], version=np.array([5, 6]))
    assert around(book, [0.0], version=6).gross.tolist() == pytest.approx([0.0, PLAIN.unlike])
    assert around(book, [0.0], version=6).rows.tolist() == [1, 0]


def test_a_version_never_seen_is_like_no_other() -> None:
    book = sales([[0.0], [0.0]], version=np.array([-1, 6]))
    assert around(book, [0.0], version=-1).gross.tolist() == pytest.approx([PLAIN.unlike] * 2)


def test_weight_halves_with_the_half_life() -> None:
    settings = replace(PLAIN, per_year=0.0)
    book = sales([[0.0], [0.0]], day=np.array([1000.0, 270.0]), settings=settings)
    assert around(book, [0.0]).weight.tolist() == pytest.approx([1.0, 0.5])


def test_weight_falls_by_e_over_a_bandwidth() -> None:
    found = around(sales([[0.0], [0.2]]), [0.0])
    assert found.weight.tolist() == pytest.approx([1.0, np.exp(-1.0)])


def test_a_sale_that_the_fit_distrusts_weighs_less() -> None:
    found = around(sales([[0.0], [0.0]], trust=np.array([1.0, 0.25])), [0.0])
    assert found.weight.tolist() == pytest.approx([1.0, 0.25])


def test_undated_sales_have_no_age() -> None:
    book = sales([[0.0], [0.1]], day=np.full(2, np.nan))
    found = around(book, [0.0], day=float("nan"))
    assert found.weight.tolist() == pytest.approx([1.0, np.exp(-0.5)])


def test_later_sales_count_in_full_but_lie_apart() -> None:
    found = around(sales([[0.0]]), [0.0], day=1000.0 - 365.25)
    assert found.gross[0] == pytest.approx(PLAIN.per_year)
    assert found.weight[0] == pytest.approx(np.exp(-PLAIN.per_year / PLAIN.bandwidth))


# What they add


def test_deviation_is_shrunk_by_the_ballast() -> None:
    for n in (1, 3, 30):
        book = sales([[0.0]] * n, residuals=np.full(n, 0.2))
        found = around(book, [0.0])
        assert found.size == pytest.approx(n)
        assert found.deviation == pytest.approx(0.2 * n / (n + 1))


def test_more_ballast_is_more_shrinkage() -> None:
    got = [
        around(
            sales([[0.0]] * 4, residuals=np.full(4, 0.2), settings=replace(PLAIN, ballast=ballast)),
            [0.0],
        ).deviation
        for ballast in (0.0, 0.5, 2.0, 100.0)
    ]
    assert got[0] == pytest.approx(0.2)
    assert got == sorted(got, reverse=True)
    assert got[-1] < 0.01


def test_deviation_follows_the_nearest() -> None:
    book = sales([[0.0], [1.0]], residuals=np.array([0.2, -0.2]))
    assert around(book, [0.0]).deviation > 0 > around(book, [1.0]).deviation


def test_spread_is_that_of_the_honest_residuals() -> None:
    book = sales([[0.0]] * 4, honest=np.array([0.1, -0.1, 0.3, -0.3]))
    assert around(book, [0.0]).spread == pytest.approx(np.sqrt(0.05))


def test_nearest_is_the_mean_of_five() -> None:
    book = sales([[0.1 * i] for i in range(8)])
    assert around(book, [0.0]).nearest == pytest.approx(0.2, abs=1e-6)


# Who is searched


@pytest.fixture
def three_levels() -> ComparableSales:
    """Return a line of four (enough for a pool of three), its make of six, a market of nine."""
    return sales(
        [[0.0]] * 9,
        line=np.array([0, 0, 0, 0, 1, 1, 2, 3, -1]),
        make=np.array([0, 0, 0, 0, 0, 0, 1, 1, -1]),
    )


def test_a_full_line_is_searched_alone(three_levels: ComparableSales) -> None:
    assert three_levels.candidates(0, 0).tolist() == [0, 1, 2, 3]


def test_a_thin_line_is_searched_with_its_make(three_levels: ComparableSales) -> None:
    assert three_levels.candidates(1, 0).tolist() == [0, 1, 2, 3, 4, 5]


def test_a_thin_make_is_searched_with_the_whole_market(three_levels: ComparableSales) -> None:
    assert three_levels.candidates(2, 1).tolist() == list(range(9))


@pytest.mark.parametrize(("line", "make"), [(-1, -1), (99, 99)])
def test_a_car_never_seen_is_searched_in_the_whole_market(
    three_levels: ComparableSales, line: int, make: int
) -> None:
    assert three_levels.candidates(line, make).tolist() == list(range(9))


def test_a_line_never_seen_is_searched_in_its_make(three_levels: ComparableSales) -> None:
    assert three_levels.candidates(-1, 0).tolist() == [0, 1, 2, 3, 4, 5]


def test_left_out_sales_are_not_used() -> None:
    book = sales([[0.0], [0.1], [0.2]], residuals=np.array([9.0, 0.0, 0.0]))
    found = around(book, [0.0], leave_out=np.array([0]))
    assert found.rows.tolist() == [1, 2]
    assert found.deviation == 0.0


def test_when_nothing_is_left_nothing_is_added() -> None:
    found = around(sales([[0.0], [0.1]]), [0.0], leave_out=np.array([0, 1]))
    assert len(found.rows) == 0
    assert (found.deviation, found.size, found.spread) == (0.0, 0.0, 0.0)
    assert found.nearest == np.inf


def test_only_the_nearest_are_kept() -> None:
    rng = np.random.default_rng(5)
    effects = rng.normal(size=(KEPT + 150, 2))
    book = sales(effects.tolist())
    found = around(book, [0.0, 0.0])
    assert len(found.rows) == KEPT
    order = np.argsort(np.abs(effects.astype(np.float32)).sum(1), kind="stable")
    assert found.rows.tolist() == order[:KEPT].tolist()


def test_moving_closer_to_a_sale_raises_its_weight() -> None:
    rng = np.random.default_rng(6)
    book = sales(rng.normal(size=(30, 3)).tolist())
    start, sale = rng.normal(size=3), book.effects[4].astype(float)
    weights = []
    for t in np.linspace(0, 1, 6):
        found = around(book, (start + t * (sale - start)).tolist())
        weights.append(float(found.weight[found.rows == 4][0]))
    assert weights == sorted(weights)


def test_an_earlier_sale_of_the_very_car_speaks_for_itself() -> None:
    book = sales(
        [[0.0], [0.0], [0.0]],
        chassis=np.array([7, -1, 7], dtype=np.intp),
        residuals=np.array([0.2, -0.5, 0.2]),
    )
    found = around(book, [0.0], chassis=7)
    assert found.own_share == pytest.approx(2 / (2 + PLAIN.own_ballast))
    assert found.own == pytest.approx(0.2 * found.own_share)


@pytest.mark.parametrize("chassis", [-1, 8])
def test_without_an_earlier_sale_nothing_is_added(chassis: int) -> None:
    book = sales([[0.0]], chassis=np.array([7], dtype=np.intp), residuals=np.array([0.2]))
    found = around(book, [0.0], chassis=chassis)
    assert (found.own, found.own_share) == (0.0, 0.0)


def test_an_older_or_distrusted_earlier_sale_counts_less() -> None:
    one = {"chassis": np.array([7], dtype=np.intp), "residuals": np.array([0.2])}
    near = around(sales([[0.0]], **one), [0.0], chassis=7)
    old = around(sales([[0.0]], day=np.array([-3000.0]), **one), [0.0], chassis=7)
    odd = around(sales([[0.0]], trust=np.array([0.1]), **one), [0.0], chassis=7)
    assert 0 < old.own < near.own
    assert 0 < odd.own < near.own
    left = around(sales([[0.0]], **one), [0.0], chassis=7, leave_out=np.array([0]))
    assert left.own == 0.0


def test_an_earlier_sale_of_the_car_fades_half_as_fast_as_others() -> None:
    """What is its own stays its own: after two half-lives it still counts half."""
    one = {"chassis": np.array([7], dtype=np.intp), "residuals": np.array([0.2])}
    old = around(sales([[0.0]], day=np.array([1000.0 - 2 * 730.0]), **one), [0.0], chassis=7)
    assert old.own_share == pytest.approx(0.5 / (0.5 + PLAIN.own_ballast))
    undated = sales([[0.0]], day=np.array([np.nan]), **one)
    found = around(undated, [0.0], chassis=7, day=float("nan"))
    assert found.own_share == pytest.approx(1 / (1 + PLAIN.own_ballast))


def test_where_no_chassis_is_known_no_sale_is_the_cars_own() -> None:
    found = around(sales([[0.0]], residuals=np.array([0.2])), [0.0], chassis=0)
    assert (found.own, found.own_share) == (0.0, 0.0)


def test_what_is_known_only_now_does_not_count_twice() -> None:
    """A car sold 0.30 above its silent advert; papers known since explain 0.20 of that."""
    book = sales(
        [[1.0, -0.05], [1.0, 0.10]],
        residuals=np.array([0.30, 0.0]),
        chassis=np.array([7, 8]),
        stated=np.array([[True, False], [True, True]]),
        settings=replace(PLAIN, own_ballast=1.0),
    )
    asked: dict[str, Any] = {"chassis": 7, "day": 1000.0}
    silent = around(book, [1.0, -0.05], stated=[True, False], **asked)
    assert (silent.own, silent.own_share) == pytest.approx((0.5 * 0.30, 0.5))
    papers = around(book, [1.0, 0.15], stated=[True, True], **asked)
    assert (papers.own, papers.own_share) == pytest.approx((0.5 * 0.10, 0.5))
    # What was stated then and changed since is a change of the car: the earlier sale stands.
    other = around(book, [1.4, 0.15], stated=[True, True], **asked)
    assert other.own == pytest.approx(papers.own)
    # Of lists that do not tell what was stated, everything counts as stated.
    plain = replace(book, stated=np.ones((0, 0), dtype=bool))
    assert around(plain, [1.0, 0.15], stated=[True, True], **asked).own == pytest.approx(0.15)

"""Cars valued together: what they share does not cancel in their sum."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np
import pytest

from valuation.appraisal.batch import batches
from valuation.appraisal.brief import Brief, brief_all
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import level_variance
from valuation.features.table import day_number
from valuation.records import Car
from valuation.selling.selling_sale import customers_sale
from valuation.stocking.together import Sum, Together, together


@pytest.fixture(scope="module")
def valued(small_market: MarketModel, sold_cars: list[Car]) -> Together:
    sale = customers_sale(small_market, Car({}))
    return together(small_market, [Car({}), *sold_cars[:14]], sale=sale)


def test_each_car_is_valued_as_alone(
    small_market: MarketModel, sold_cars: list[Car], valued: Together
) -> None:
    sale = customers_sale(small_market, Car({}))
    alone = brief_all(small_market, sold_cars[:14], sale=sale)
    assert valued.briefs[0] is None
    for one, other in zip(valued.briefs[1:], alone, strict=True):
        assert isinstance(one, Brief)
        assert isinstance(other, Brief)
        assert one.central == pytest.approx(other.central)
    assert not valued.ranged[0]
    # What is shared is part of what the range of the car holds, and never all of it.
    own = np.log1p(valued.variance / valued.mean**2)[valued.ranged]
    assert (np.diag(valued.shared)[valued.ranged] < own).all()


def test_two_cars_alike_err_together(small_market: MarketModel, sold_cars: list[Car]) -> None:
    sale = customers_sale(small_market, Car({}))
    twice = together(small_market, [sold_cars[3], sold_cars[3]], sale=sale)
    one, both = twice.sum([0]), twice.sum([0, 1])
    assert one is not None
    assert both is not None
    assert both.mean == pytest.approx(2 * one.mean)
    assert math.sqrt(2) * one.sd * 1.005 < both.sd < 2 * one.sd
    assert both.sd_apart == pytest.approx(math.sqrt(2) * one.sd)


def test_the_sum_is_that_of_draws(small_market: MarketModel, valued: Together) -> None:
    """Draw coefficients, the level and each car's own error, and add up the prices."""
    cars = np.flatnonzero(valued.ranged)
    rng = np.random.default_rng(4)
    log_variance = np.log1p(valued.variance[cars] / valued.mean[cars] ** 2)
    shared = valued.shared[np.ix_(cars, cars)]
    n = 40_000
    values, vectors = np.linalg.eigh(shared)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    own = np.sqrt(log_variance - np.diag(shared))
    logs = rng.standard_normal((n, len(cars))) @ root.T + rng.standard_normal((n, len(cars))) * own
    prices = valued.mean[cars] * np.exp(logs - log_variance / 2)
    drawn = prices.sum(axis=1)
    found = valued.sum(cars.tolist())
    assert found is not None
    assert found.mean == pytest.approx(drawn.mean(), rel=0.01)
    assert found.sd == pytest.approx(drawn.std(), rel=0.03)
    assert found.ends == pytest.approx(tuple(np.quantile(drawn, [0.1, 0.9])), rel=0.01)
    assert found.below(float(np.quantile(drawn, 0.3))) == pytest.approx(0.3, abs=0.02)


def test_what_is_shared_is_the_variance_of_the_fit(
    small_market: MarketModel, sold_cars: list[Car], valued: Together
) -> None:
    sale = customers_sale(small_market, Car({}))
    (batch,) = batches(small_market, sold_cars[:14], as_of=small_market.as_of, sale=sale)
    by_line = [small_market.fitted.variance(batch.forecast.design, i) for i in range(14)]
    assert np.diag(valued.shared)[1:] == pytest.approx(by_line, rel=1e-3)


def test_the_level_may_move_for_all_alike(
    small_market: MarketModel, sold_cars: list[Car], valued: Together
) -> None:
    assert small_market.as_of is not None
    sale = customers_sale(small_market, Car({}))
    day = small_market.as_of + timedelta(days=180)
    later = together(small_market, sold_cars[:2], sale=sale, as_of=day)
    ahead = level_variance(small_market.fitted, day_number(day))
    (batch,) = batches(small_market, sold_cars[:2], as_of=day, sale=sale)
    known = [small_market.fitted.variance(batch.forecast.design, i) for i in range(2)]
    assert ahead > 0
    assert np.diag(later.shared) - known == pytest.approx([ahead, ahead], rel=1e-3)
    assert later.shared[0, 1] > valued.shared[1, 2]


def test_a_sum_of_nothing_and_of_one() -> None:
    nothing = Together((), np.zeros(0), np.zeros(0), np.zeros((0, 0)))
    assert nothing.sum([]) is None
    sure = Sum(100.0, 1e-9, 1e-9)
    assert sure.ends == pytest.approx((100.0, 100.0))
    assert (sure.below(0.0), sure.below(99.0), sure.below(101.0)) == (0.0, 0.0, 1.0)

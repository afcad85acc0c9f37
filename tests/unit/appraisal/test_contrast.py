"""The variance of a difference, over model lines too."""

from __future__ import annotations

import numpy as np
import pytest

from valuation.appraisal.contrast import contrast, variances
from valuation.appraisal.data import cars_table
from valuation.appraisal.market import MarketModel
from valuation.records import Car


def two_lines(cars: list[Car]) -> tuple[Car, Car]:
    first = cars[0]
    name = (first.values["make"], first.values["model"])
    return first, next(c for c in cars if (c.values["make"], c.values["model"]) != name)


def test_between_two_model_lines_both_have_their_part(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    fitted = small_market.fitted
    first, second = two_lines(sold_cars)
    day = fitted.last_day
    there, back = contrast(fitted, first, second, day=day), contrast(fitted, second, first, day=day)
    assert there.sd == pytest.approx(back.sd, rel=1e-6)
    assert there.effect == pytest.approx(-back.effect)
    X = fitted.spec.transform(cars_table([first, second], day)).X.toarray()
    step = (X[1] - X[0])[:, None]
    whole = float((step * fitted.covariance_times(step)).sum())
    assert there.sd**2 == pytest.approx(whole * fitted.sigma**2 * fitted.inflation, rel=1e-6)


def test_within_one_model_line_both_ways_of_reckoning_agree(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    fitted, day = small_market.fitted, small_market.fitted.last_day
    car = sold_cars[0]
    better = Car({**car.values, "condition_grade": 95.0}, sale=car.sale)
    worse = Car({**car.values, "condition_grade": 20.0}, sale=car.sale)
    found = contrast(fitted, worse, better, day=day)
    X = fitted.spec.transform(cars_table([worse, better], day)).X
    assert found.sd**2 == pytest.approx(float(variances(fitted, X[[1]] - X[[0]])[0]), rel=1e-5)
    assert np.isfinite(found.sd)
    assert found.sd > 0

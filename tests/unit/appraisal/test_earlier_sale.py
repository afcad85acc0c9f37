"""A car that was sold before: its own sale is the best comparable there is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.data import cars_table
from valuation.appraisal.market import MarketModel
from valuation.features.table import day_number
from valuation.records import Car


@pytest.fixture
def sold_dear(small_market: MarketModel, as_car: Callable[[Mapping[Any, Any]], Car]) -> Car:
    """Return a car whose own earlier sale brought clearly more than its attributes explain."""
    told = small_market.fitted.sales
    known = small_market.frame["chassis"].notna().to_numpy() & (told.trust > 0.8)
    row = int(np.argmax(np.where(known, told.residuals, -np.inf)))
    return as_car(small_market.frame.iloc[row].to_dict())


def test_it_is_a_line_of_its_own_and_the_sum_holds(
    small_market: MarketModel, sold_dear: Car
) -> None:
    valuation = appraise(small_market, sold_dear)
    (line,) = [c for c in valuation.contributions if c.attribute == "earlier sale"]
    assert line.label == "This car's earlier sale"
    assert line.value == "brought more than its attributes explain"
    assert line.amount > 0
    assert valuation.start + sum(c.amount for c in valuation.contributions) == valuation.central


def test_without_the_chassis_number_it_is_not_known(
    small_market: MarketModel, sold_dear: Car
) -> None:
    unknown = appraise(small_market, replace(sold_dear, chassis=""))
    assert not [c for c in unknown.contributions if c.attribute == "earlier sale"]
    assert unknown.central < appraise(small_market, sold_dear).central


def test_papers_found_since_do_not_count_twice(small_market: MarketModel, sold_dear: Car) -> None:
    """Nobody spoke of its papers when it was sold dear: once known they explain some of that."""
    fitted = small_market.fitted
    silent = replace(
        sold_dear, values={k: v for k, v in sold_dear.values.items() if k != "documents"}
    )
    found = replace(sold_dear, values={**silent.values, "documents": ("bills", "build record")})
    day = small_market.frame["sale_date"].max().date()
    forecast = fitted.forecast(cars_table([silent, found], day_number(day)))
    at = fitted.spec.attributes.index("documents")
    step = forecast.effects[1, at] - forecast.effects[0, at]
    assert step > 0.02
    before, after = forecast.around
    rows = np.flatnonzero(small_market.frame["chassis"] == sold_dear.chassis)
    assert len(rows) == 1
    stated = fitted.sales.stated[rows[0], at]
    told = 0.0 if stated else before.own_share * step
    assert before.own - after.own == pytest.approx(told)
    assert not stated

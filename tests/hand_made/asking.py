"""A well described car of a market, and questions about it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from valuation.appraisal.market import MarketModel
from valuation.features.table import day_number
from valuation.records import Car
from valuation.results.what_if import WhatIf
from valuation.selling.selling_sale import customers_sale
from valuation.selling.what_if import what_if
from valuation.selling.what_if_changes import Change

__all__ = ["asked", "busy_car", "day_of", "put"]


def busy_car(market: MarketModel) -> Car:
    """Return a car of the model line with most sales, well described."""
    frame = market.frame
    make, model, series = frame.groupby(["make", "model", "generation"]).size().idxmax()
    line = frame[(frame["make"] == make) & (frame["model"] == model)]
    return Car(
        {
            "year": float(line["year"].median()),
            "make": str(make),
            "model": str(model),
            "generation": str(series),
            "condition_grade": 63.0,
            "engine_originality": "later replacement",
            "documents": ("bills",),
            "transmission": "manual",
            "mileage": 58_000.0,
            "colour_origin": "changed",
        }
    )


def day_of(market: MarketModel) -> float:
    assert market.as_of is not None
    return day_number(market.as_of)


def asked(market: MarketModel, car: Car, *texts: str, **options: Any) -> WhatIf:
    changes = [Change(*t.split("=", 1)) for t in texts]
    return what_if(market, car, changes, **options)


def put(market: MarketModel, car: Car, **values: Any) -> Car:
    """Return the car with other values, in the sale it is valued for."""
    return replace(car, values={**car.values, **values}, sale=customers_sale(market, car))

"""A small invented market, made and fitted once for all rooms that price with one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pandas as pd
import pytest

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.features.settings import FeatureSettings
from valuation.features.table import SALE_FACTORS
from valuation.records import Car, SalesBook, Value
from valuation.schema import ATTRIBUTES
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

LEAN = ModelSettings(features=FeatureSettings(words=False, local=False), origins=3)
"""Few columns and few forecasts: for tests that need many fits and no accuracy."""


def car_of_row(row: Mapping[Any, Any]) -> Car:
    """Turn a row of the contract's table into a car that is sold the same way."""
    values: dict[str, Value] = {}
    for a in ATTRIBUTES:
        value = row[a.name]
        if value is not None and value == value:
            values[a.name] = float(value) if a.kind == "number" else value
    return Car(
        values,
        title=row["title"] or "",
        chassis=row["chassis"] or "",
        sale={k: row[k] for k in SALE_FACTORS if row[k]},
    )


def without_dates(book: SalesBook) -> SalesBook:
    """Return the same sales as an undated list."""
    days = pd.Series([pd.NaT] * len(book), dtype="datetime64[s]")
    return SalesBook(book.table.assign(sale_date=days), book.currency, False)


@pytest.fixture(scope="session")
def undate() -> Callable[[SalesBook], SalesBook]:
    """Return what takes the dates from a book of sales."""
    return without_dates


@pytest.fixture(scope="session")
def as_car() -> Callable[[Mapping[Any, Any]], Car]:
    """Return what turns a sale into a car to be valued."""
    return car_of_row


@pytest.fixture(scope="session")
def lean() -> ModelSettings:
    """Return settings of a model that is fitted in a blink."""
    return LEAN


@pytest.fixture(scope="session")
def small_world() -> SyntheticMarket:
    """Return 800 invented sales of six years, with the truth."""
    return make_market(MarketSettings(sales=800), seed=5)


@pytest.fixture(scope="session")
def small_market(small_world: SyntheticMarket) -> MarketModel:
    """Return the market fitted to them with the default settings."""
    return fit_market(small_world.book())


@pytest.fixture(scope="session")
def sold_cars(small_world: SyntheticMarket) -> list[Car]:
    """Return every twentieth sale of the small market as a car."""
    return [car_of_row(row) for _, row in small_world.table.iloc[::20].iterrows()]


@pytest.fixture(scope="session")
def tiny_market() -> MarketModel:
    """Return a market of 150 sales and few columns."""
    world = make_market(MarketSettings(sales=150, lines=3), seed=8)
    return fit_market(world.book(), settings=LEAN)

"""Benchmarks are scripts beside each other: let their modules be found."""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd
import pytest

from valuation.appraisal.data import MarketData, market_data
from valuation.records import SalesBook, empty_table
from valuation.synthetic.market import SyntheticMarket

FOLDER = str(Path(__file__).parents[2] / "benchmarks")
if FOLDER not in sys.path:
    sys.path.append(FOLDER)


@pytest.fixture(scope="session")
def dated_sales(small_world: SyntheticMarket) -> MarketData:
    """Return the small invented market as the benchmark sees it."""
    return market_data(small_world.book(), unsold="as bids")


@pytest.fixture(scope="session")
def worded_sales() -> MarketData:
    """Return 60 sales of one line in which one word doubles the price; chassis go in pairs."""
    t = empty_table(60)
    sharp = [i % 4 < 2 for i in range(60)]
    t["make"], t["model"] = "Torvane", "GT"
    t["year"] = [1960.0 + i % 7 for i in range(60)]
    t["title"] = [f"Torvane GT {'Sprint' if s else 'Tourer'} lot" for s in sharp]
    t["price"] = [20_000.0 * (1 + s) * (1 + 0.001 * i) for i, s in enumerate(sharp)]
    t["sale_date"] = pd.to_datetime([f"2024-0{1 + i // 20}-{1 + i % 20:02d}" for i in range(60)])
    t["sale_date"] = t["sale_date"].astype("datetime64[s]")
    t["chassis"] = [f"C{i // 2}" for i in range(60)]
    t["sale_id"] = [f"S{i}" for i in range(60)]
    return market_data(SalesBook(t, "EUR", True), unsold="as bids")

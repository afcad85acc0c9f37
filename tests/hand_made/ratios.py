"""Tested sales of an invented market, for everything that studies or shows ratios."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd

from valuation.results.coverage import CoverageReport
from valuation.results.ratio_strata import RatioReport
from valuation.study.coverage import study_coverage
from valuation.study.ratio_strata import study_ratios

MAKES = ("Torvane", "Kora", "Ombrecq", "Tarquelle", "Quill", "Hestia")


def forecasts(sales: int = 400, *, seed: int = 3, tilt: float = 0.0) -> pd.DataFrame:
    """Return forecasts of which those of one make lie low; with a tilt dear cars do as well."""
    rng = np.random.default_rng(seed)
    value = np.exp(rng.normal(10.4, 0.7, sales))
    make = rng.choice(MAKES, sales, p=(0.4, 0.28, 0.18, 0.1, 0.02, 0.02))
    central = value * (value / np.exp(10.4)) ** -tilt * np.where(make == "Kora", 0.75, 1.0)
    days = pd.Timestamp("2024-01-01") + pd.to_timedelta(rng.integers(0, 180, sales), unit="D")
    outside = rng.random(sales) < 0.05
    frame = pd.DataFrame(
        {
            "sale_id": [f"S{i:04d}" for i in range(sales)],
            "sale_date": days,
            "price": np.round(value * np.exp(rng.normal(0.0, 0.16, sales)), -1),
            "basis": rng.choice(["hammer price", "price paid"], sales, p=(0.8, 0.2)),
            "outcome": rng.choice(["sold", "not sold", "offered"], sales, p=(0.85, 0.1, 0.05)),
            "channel": rng.choice(["live auction", "online auction", "dealer"], sales),
            "make": make,
            "year": rng.integers(1950, 1980, sales).astype(float),
            "central": np.round(central, 2),
            "outside": outside,
            "months_ahead": rng.integers(0, 3, sales).astype(float),
        }
    )
    for suffix, z in (("", 1.2816), ("_50", 0.6745), ("_95", 1.96)):
        for side, sign in (("lower", -1), ("upper", 1)):
            bound = np.round(central * np.exp(sign * 0.16 * z), 2)
            frame[f"{side}{suffix}"] = np.where(outside, np.nan, bound)
    return frame


def with_outliers() -> pd.DataFrame:
    """Return forecasts of which two are far too high."""
    frame = forecasts()
    sold = frame.index[frame["outcome"] == "sold"][:2]
    frame.loc[sold, "central"] *= 9.0
    return frame


@cache
def studied() -> RatioReport:
    """Return a ratio study with everything in it."""
    return study_ratios(with_outliers(), seed=1, currency="EUR", replications=200)


@cache
def covered() -> CoverageReport:
    """Return a coverage report with everything in it."""
    return study_coverage(with_outliers(), currency="EUR")


@cache
def bare() -> RatioReport:
    """Return a ratio study of four sales of which nothing but two amounts is known."""
    sales = pd.DataFrame({"price": [100.0, 200, 300, 400], "central": [110.0, 190, 330, 420]})
    return study_ratios(sales, seed=1)

"""No figure for a customer follows what the firm paid: sheet, what-if questions, comparison."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from refits import fitted_with

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import MarketModel
from valuation.records import Car
from valuation.selling.beside import beside
from valuation.selling.questions import default_questions
from valuation.selling.sheet import customer_sheet
from valuation.selling.what_if import what_ifs

AsCar = Callable[[Mapping[Any, Any]], Car]

MOVED = 0.004
"""Share of the price by which a figure may move with the noise of the fit, which is kept."""

DAY = date(2024, 12, 31)


@pytest.fixture(scope="module")
def row(small_market: MarketModel) -> int:
    """Return a recent sale that names its chassis: the firm's purchase of a car."""
    return int(np.flatnonzero(small_market.frame["chassis"].notna().to_numpy())[-200])


@pytest.fixture(scope="module")
def ours(small_market: MarketModel, row: int, as_car: AsCar) -> Car:
    return replace(as_car(small_market.frame.iloc[row].to_dict()), sale={}, title="")


def told(market: MarketModel, car: Car, theirs: Car) -> dict[str, Any]:
    """Return all that is said of a car, as plain data."""
    asked = [q for q in default_questions() if q.name]
    compared = beside(market, car, theirs, our_price=30_000.0, their_price=28_000.0, as_of=DAY)
    sheet = customer_sheet(market, car, as_of=DAY, asking=30_000.0).to_dict()
    # By what it is, for two that are all but equally near can change places.
    sheet["sales"] = {f"{s['title']} {s['when']} {s['price']}": s for s in sheet["sales"]}
    return {
        "sheet": sheet,
        "what if": what_ifs(market, car, asked, as_of=DAY).to_dict(),
        "compare": compared.to_dict(),
    }


def figures(told: Any, where: str = "") -> Iterator[tuple[str, float]]:
    """Yield every figure with its place."""
    if isinstance(told, Mapping):
        for name, part in told.items():
            yield from figures(part, f"{where}.{name}")
    elif isinstance(told, list | tuple):
        for i, part in enumerate(told):
            yield from figures(part, f"{where}[{i}]")
    elif isinstance(told, int | float) and not isinstance(told, bool):
        yield where, float(told)


@pytest.fixture(scope="module")
def theirs(small_market: MarketModel, row: int, as_car: AsCar) -> Car:
    """Return another car of the line."""
    line = small_market.fitted.sales.line
    other = next(i for i in np.flatnonzero(line == line[row]).tolist() if i != row)
    return replace(as_car(small_market.frame.iloc[other].to_dict()), chassis="")


def test_another_price_on_record_changes_nothing_at_all(
    small_market: MarketModel, ours: Car, theirs: Car, row: int
) -> None:
    frame = small_market.frame.copy()
    frame.loc[row, "price"] *= 3.0
    other = replace(small_market, frame=frame)
    assert told(other, ours, theirs) == told(small_market, ours, theirs)


def test_no_figure_follows_the_price_that_was_paid(
    small_market: MarketModel, ours: Car, theirs: Car, row: int
) -> None:
    """At half and at three times the price the whole market is fitted anew with it."""
    markets = {f: fitted_with(small_market, row, f) for f in (0.5, 1.0, 3.0)}
    central = {f: appraise(m, ours).central for f, m in markets.items()}
    shown = {f: dict(figures(told(m, ours, theirs))) for f, m in markets.items()}
    for factor in (0.5, 3.0):
        assert abs(np.log(central[factor] / central[1.0])) > 0.05
        common = shown[factor].keys() & shown[1.0].keys()
        assert len(common) > 0.9 * max(len(shown[factor]), len(shown[1.0]))
        assert all(where.startswith(".sheet.sales") for where in shown[factor].keys() - common)
        moved = {
            where: (shown[factor][where], shown[1.0][where])
            for where in common
            if abs(shown[factor][where] - shown[1.0][where])
            > MOVED * max(central[1.0], abs(shown[1.0][where]))
        }
        assert moved == {}

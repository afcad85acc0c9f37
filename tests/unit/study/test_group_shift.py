"""How far a group is off is what a fit with an indicator of it says."""

from __future__ import annotations

import numpy as np
import pytest

from valuation.appraisal.market import MarketModel
from valuation.study.group_shift import group_shift
from valuation.study.leave_out import FittedSales


@pytest.fixture(scope="module")
def sales(tiny_market: MarketModel) -> FittedSales:
    return FittedSales(tiny_market)


def with_indicator(sales: FittedSales, rows: np.ndarray, y: np.ndarray) -> tuple[float, float]:
    """Fit anew, densely, with a free column for the group; its coefficient and its error."""
    fitted = sales.market.fitted
    indicator = np.zeros((len(sales), 1))
    indicator[rows] = 1.0
    X = np.hstack([sales.design.X.toarray(), indicator])
    precision = np.append(fitted.sigma**2 / fitted.prior_variance, 0.0)
    mean = np.append(fitted.layout.mean, 0.0)
    pull = np.where(precision > 0, precision * mean, 0.0)
    normal = (X.T * sales.weights) @ X + np.diag(precision)
    right = X.T @ (sales.weights * y) + pull
    last = np.append(np.zeros(len(mean) - 1), 1.0)
    solved, spread = np.linalg.lstsq(normal, np.column_stack([right, last]), rcond=None)[0][-1]
    return float(solved), fitted.sigma * float(np.sqrt(spread * fitted.inflation))


def of_venue(sales: FittedSales, venue: str) -> np.ndarray:
    return np.flatnonzero((sales.data.frame["venue"] == venue).to_numpy(dtype=bool))


def test_a_group_is_off_as_far_as_its_indicator_says(sales: FittedSales) -> None:
    late = np.arange(len(sales) - 30, len(sales))
    for rows in (of_venue(sales, "Harbour Rooms"), np.arange(50, 70), late):
        shift, error = group_shift(sales, rows)
        dense, dense_error = with_indicator(sales, rows, sales.data.log_price)
        assert shift == pytest.approx(dense, abs=4e-3)
        assert error == pytest.approx(dense_error, rel=0.02)


def test_all_sales_together_can_not_be_told_from_the_level(sales: FittedSales) -> None:
    shift, error = group_shift(sales, np.arange(len(sales)))
    assert abs(shift) < 0.2 or error > 1
    assert error > group_shift(sales, np.arange(70))[1]

"""With kept penalties the regression is a ridge regression, as other software solves it."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import Layout, plain_layout

HERE = Path(__file__).parent
EXPECTED = json.loads((HERE / "expected.json").read_text(encoding="utf-8"))["values"]


@pytest.fixture(scope="module")
def sales() -> tuple[np.ndarray, np.ndarray]:
    table = np.loadtxt(HERE / "sales.csv", delimiter=",", skiprows=1)
    return np.column_stack([np.ones(len(table)), table[:, :6]]), table[:, 6]


def kept(layout: Layout | None, penalties: list[float]) -> HedonicRegressor:
    return HedonicRegressor(
        layout, robust_df=None, penalties=np.array(penalties), keep_penalties=True
    )


def test_one_penalty(sales: tuple[np.ndarray, np.ndarray]) -> None:
    X, y = sales
    model = kept(plain_layout(6), [0.0, EXPECTED["penalty"]]).fit(X, y)
    np.testing.assert_allclose(model.coef_, EXPECTED["ridge"], rtol=1e-9)
    np.testing.assert_allclose(model.penalties_, [0.0, EXPECTED["penalty"]])


def test_without_a_layout_the_intercept_is_added(sales: tuple[np.ndarray, np.ndarray]) -> None:
    X, y = sales
    model = kept(None, [0.0, EXPECTED["penalty"]]).fit(X[:, 1:], y)
    np.testing.assert_allclose(model.coef_, EXPECTED["ridge"], rtol=1e-9)
    np.testing.assert_allclose(model.predict(X[:, 1:]), X @ EXPECTED["ridge"], rtol=1e-9)


@pytest.mark.parametrize("owner", [-1, 0], ids=["common", "local"])
def test_one_penalty_a_block(sales: tuple[np.ndarray, np.ndarray], owner: int) -> None:
    X, y = sales
    layout = Layout(
        ("level", "first", "second"),
        ("free", "estimated", "estimated"),
        np.array([0, 1, 1, 2, 2, 2, 2]),
        np.array([-1, -1, -1, owner, owner, owner, owner]),
        np.zeros(7),
        np.full(7, np.inf),
    )
    model = kept(layout, EXPECTED["block_penalties"]).fit(X, y)
    np.testing.assert_allclose(model.coef_, EXPECTED["blocks"], rtol=1e-9)


def test_a_free_block_takes_no_penalty(sales: tuple[np.ndarray, np.ndarray]) -> None:
    X, y = sales
    model = kept(plain_layout(6), [99.0, EXPECTED["penalty"]]).fit(X, y)
    np.testing.assert_allclose(model.coef_, EXPECTED["ridge"], rtol=1e-9)

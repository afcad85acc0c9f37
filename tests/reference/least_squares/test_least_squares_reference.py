"""Without penalty and robustness the regression is least squares, as other software computes it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import sparse

from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import Layout, plain_layout

HERE = Path(__file__).parent
EXACT = {"rtol": 1e-8, "atol": 1e-8}


@pytest.fixture(scope="module")
def table() -> np.ndarray:
    return np.loadtxt(HERE / "sales.csv", delimiter=",", skiprows=1)


@pytest.fixture(scope="module")
def expected() -> dict[str, Any]:
    return json.loads((HERE / "expected.json").read_text(encoding="utf-8"))["values"]


def with_ones(table: np.ndarray) -> np.ndarray:
    return np.column_stack([np.ones(len(table)), table[:, :4]])


def plain(layout: Layout | None = None) -> HedonicRegressor:
    return HedonicRegressor(layout or plain_layout(4, penalty="free"), robust_df=None, tol=1e-9)


def test_ordinary_least_squares(table: np.ndarray, expected: dict[str, Any]) -> None:
    X = with_ones(table)
    model = plain().fit(X, table[:, 4])
    np.testing.assert_allclose(model.predict(X), expected["ols_fitted"], **EXACT)
    np.testing.assert_allclose(model.coef_, expected["ols_coef"], **EXACT)
    np.testing.assert_allclose(model.leverage_, expected["ols_leverage"], **EXACT)
    assert model.sigma_ == pytest.approx(expected["ols_sigma"], rel=1e-8)
    assert model.edf_.sum() == pytest.approx(5.0)


def test_standard_errors(table: np.ndarray, expected: dict[str, Any]) -> None:
    model = plain().fit(with_ones(table), table[:, 4])
    none = np.zeros(0, dtype=np.intp)
    V = model.posterior_.covariance(-1, np.arange(5), none)
    # The covariance is kept in single precision.
    se = np.sqrt(np.diag(V)) * model.sigma_
    np.testing.assert_allclose(se, expected["ols_se"], rtol=2e-6)


def test_sample_weight_counts_rows(table: np.ndarray, expected: dict[str, Any]) -> None:
    X, frequency = with_ones(table), table[:, 5]
    model = plain().fit(X, table[:, 4], sample_weight=frequency)
    np.testing.assert_allclose(model.predict(X), expected["wls_fitted"], **EXACT)
    np.testing.assert_allclose(model.coef_, expected["repeated_coef"], **EXACT)
    assert model.sigma_ == pytest.approx(expected["repeated_sigma"], rel=1e-8)
    again = np.repeat(np.arange(len(X)), frequency.astype(int))
    repeated = plain().fit(X[again], table[again, 4])
    np.testing.assert_allclose(model.coef_, repeated.coef_, **EXACT)


def test_local_columns_give_the_same_fit(table: np.ndarray, expected: dict[str, Any]) -> None:
    """Columns eliminated group by group: a level of its own where the mark is set."""
    X = with_ones(table)
    layout = plain_layout(4, penalty="free")
    local = Layout(
        layout.names, layout.penalties, layout.block, np.array([-1, -1, -1, -1, 7]),
        layout.mean, layout.sd,
    )  # fmt: skip
    model = plain(local).fit(sparse.csr_array(X), table[:, 4])
    np.testing.assert_allclose(model.predict(X), expected["ols_fitted"], **EXACT)
    np.testing.assert_allclose(model.leverage_, expected["ols_leverage"], **EXACT)
    assert model.groups_.tolist() == np.where(table[:, 3] > 0, 7, -1).tolist()


def test_one_column_given_twice_is_refused(table: np.ndarray) -> None:
    twice = np.column_stack([with_ones(table)[:, :4], np.ones(len(table))])
    with pytest.raises(np.linalg.LinAlgError):
        plain().fit(twice, table[:, 4])

"""Bounds, against the direct maximum of the censored likelihood."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import plain_layout

HERE = Path(__file__).parent
EXPECTED = json.loads((HERE / "expected.json").read_text(encoding="utf-8"))["values"]


@pytest.mark.parametrize("case", sorted(EXPECTED))
def test_bounds_give_the_maximum_of_the_likelihood(case: str) -> None:
    table = np.loadtxt(HERE / "sales.csv", delimiter=",", skiprows=1)
    k = 1 if case == "straight_line" else 0
    X = np.column_stack([np.ones(len(table)), table[:, :k]])
    model = HedonicRegressor(
        plain_layout(k, penalty="free"), robust_df=None, tol=1e-9, max_iter=3000
    )
    model.fit(X, table[:, 1], np.full(len(table), 2000.0), bound=table[:, 2] > 0)
    expected = EXPECTED[case]
    assert model.n_iter_ < 3000
    assert model.coef_[0] == pytest.approx(expected["level"], abs=1e-3)
    if k:
        assert model.coef_[1] == pytest.approx(expected["slope"], abs=1e-3)
    assert model.sigma_ == pytest.approx(expected["sigma"], rel=1e-3)
    assert int((table[:, 2] > 0).sum()) >= 3

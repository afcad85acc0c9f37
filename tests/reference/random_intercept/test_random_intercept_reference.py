"""Variance components by restricted maximum likelihood, against a mixed-model library."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import sparse

from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import Layout

HERE = Path(__file__).parent
EXPECTED = json.loads((HERE / "expected.json").read_text(encoding="utf-8"))["values"]


def fitted(name: str, *, local: bool, **options: Any) -> HedonicRegressor:
    """Fit a problem with the groups' levels as common or as local columns."""
    table = np.loadtxt(HERE / f"{name}.csv", delimiter=",", skiprows=1)
    group = table[:, 0].astype(int)
    k = group.max() + 1
    X = sparse.csr_array(np.column_stack([np.ones(len(table)), table[:, 1], np.eye(k)[group]]))
    owner = np.concatenate([[-1, -1], np.arange(k) if local else np.full(k, -1)])
    layout = Layout(
        ("fixed", "group"),
        ("free", "estimated"),
        np.concatenate([[0, 0], np.ones(k)]).astype(np.intp),
        owner.astype(np.intp),
        np.zeros(k + 2),
        np.full(k + 2, np.inf),
    )
    settings = {"robust_df": None, "tol": 1e-7, "max_iter": 500} | options
    return HedonicRegressor(layout, **settings).fit(X, table[:, 2])


@pytest.mark.parametrize("local", [False, True], ids=["common", "local"])
@pytest.mark.parametrize("name", ["balanced", "unbalanced"])
def test_variance_components(name: str, *, local: bool) -> None:
    model, expected = fitted(name, local=local), EXPECTED[name]
    assert model.n_iter_ < 500
    assert model.sigma_**2 == pytest.approx(expected["sigma2"], rel=1e-3)
    group_variance = model.sigma_**2 / model.penalties_[1]
    assert group_variance == pytest.approx(expected["group_variance"], rel=1e-3)
    np.testing.assert_allclose(model.coef_[:2], expected["fixed"], rtol=1e-4)
    np.testing.assert_allclose(model.coef_[2:], expected["levels"], atol=1e-4)


@pytest.mark.parametrize("name", ["balanced", "unbalanced"])
def test_the_usual_stopping_rule_comes_close(name: str) -> None:
    model, expected = fitted(name, local=True, tol=0.05, max_iter=60), EXPECTED[name]
    np.testing.assert_allclose(model.coef_[2:], expected["levels"], atol=0.05)


@pytest.mark.parametrize("start", [1e-4, 0.1, 1e3, 1e6])
def test_the_start_does_not_matter(start: float) -> None:
    model = fitted("unbalanced", local=True, penalties=np.array([0.0, start]))
    group_variance = model.sigma_**2 / model.penalties_[1]
    assert group_variance == pytest.approx(EXPECTED["unbalanced"]["group_variance"], rel=1e-3)

"""Solve two ridge problems with scikit-learn and by dense normal equations; write both files.

One penalty for all columns (scikit-learn's ``Ridge``), and one penalty a block (dense normal
equations, which the first case checks against ``Ridge``).  Nothing of the package is imported.

Run with ``python tests/reference/ridge/derive.py`` and compare the files.
"""

from __future__ import annotations

import json
import platform
from pathlib import Path

import numpy as np
import sklearn
from sklearn.linear_model import Ridge

HERE = Path(__file__).parent
PENALTY = 3.7
BLOCKS = (0.0, 0.5, 0.5, 12.0, 12.0, 12.0, 12.0)


def dense(X: np.ndarray, y: np.ndarray, penalty: np.ndarray) -> np.ndarray:
    """Return the ridge solution by dense normal equations."""
    return np.linalg.solve(X.T @ X + np.diag(penalty), X.T @ y)


def main() -> None:
    """Draw thirty rows of six numbers and solve."""
    rng = np.random.default_rng(44)
    X = np.round(rng.normal(size=(30, 6)), 4)
    y = np.round(10.0 + X @ rng.normal(0, 0.3, 6) + rng.normal(0, 0.2, 30), 5)
    path, header = HERE / "sales.csv", "a,b,c,d,e,f,log_price"
    np.savetxt(path, np.column_stack([X, y]), delimiter=",", header=header, comments="", fmt="%.8g")

    table = np.loadtxt(path, delimiter=",", skiprows=1)
    X, y = table[:, :6], table[:, 6]
    ones = np.column_stack([np.ones(30), X])
    ridge = Ridge(alpha=PENALTY, solver="cholesky").fit(X, y)
    alone = np.append(ridge.intercept_, ridge.coef_)
    check = dense(ones, y, np.append(0.0, np.full(6, PENALTY)))
    np.testing.assert_allclose(alone, check, rtol=1e-11)
    values = {
        "penalty": PENALTY,
        "ridge": alone.tolist(),
        "block_penalties": sorted(set(BLOCKS)),
        "blocks": dense(ones, y, np.array(BLOCKS)).tolist(),
    }
    made = {
        "script": "derive.py",
        "python": platform.python_version(),
        "numpy": np.__version__,
        "scikit-learn": sklearn.__version__,
    }
    text = json.dumps({"made_with": made, "values": values}, indent=2)
    (HERE / "expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

"""Fit two plain regressions with statsmodels and write sales.csv and expected.json.

``frequency`` says how often a row was seen: the fit with frequencies is that of the repeated rows.
Nothing of the package is imported.

Run with ``python tests/reference/least_squares/derive.py`` and compare the files.
"""

from __future__ import annotations

import json
import platform
from pathlib import Path

import numpy as np
import statsmodels
import statsmodels.api as sm

HERE = Path(__file__).parent


def main() -> None:
    """Draw forty rows, fit them once as they are and once repeated."""
    rng = np.random.default_rng(20)
    X = np.round(rng.normal(size=(40, 4)) * (1.0, 10.0, 0.1, 3.0), 4)
    X[:, 3] = X[:, 3] > 0  # one column is a mark, as most columns of a market are
    y = np.round(10.0 + X @ (0.3, -0.02, 1.5, 0.2) + rng.normal(0, 0.2, 40), 5)
    frequency = rng.integers(1, 5, 40)
    path, header = HERE / "sales.csv", "a,b,c,d,log_price,frequency"
    table = np.column_stack([X, y, frequency])
    np.savetxt(path, table, delimiter=",", header=header, comments="", fmt="%.6g")

    table = np.loadtxt(path, delimiter=",", skiprows=1)
    X, y, frequency = table[:, :4], table[:, 4], table[:, 5].astype(int)
    once = sm.OLS(y, sm.add_constant(X)).fit()
    again = np.repeat(np.arange(40), frequency)
    many = sm.OLS(y[again], sm.add_constant(X[again])).fit()
    weighted = sm.WLS(y, sm.add_constant(X), weights=frequency).fit()
    values = {
        "ols_fitted": once.fittedvalues.tolist(),
        "ols_coef": once.params.tolist(),
        "ols_sigma": float(np.sqrt(once.scale)),
        "ols_leverage": once.get_influence().hat_matrix_diag.tolist(),
        "ols_se": once.bse.tolist(),
        "repeated_coef": many.params.tolist(),
        "repeated_sigma": float(np.sqrt(many.scale)),
        "wls_fitted": weighted.fittedvalues.tolist(),
    }
    made = {
        "script": "derive.py",
        "python": platform.python_version(),
        "statsmodels": statsmodels.__version__,
    }
    text = json.dumps({"made_with": made, "values": values}, indent=2)
    (HERE / "expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

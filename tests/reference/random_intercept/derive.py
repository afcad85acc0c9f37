"""Estimate variance components with statsmodels and write the tables and expected.json.

A mean, one slope and a random level of each group, by restricted maximum likelihood.  Nothing of
the package is imported.

Run with ``python tests/reference/random_intercept/derive.py`` and compare the files.
"""

from __future__ import annotations

import json
import platform
from pathlib import Path

import numpy as np
import statsmodels
import statsmodels.api as sm

HERE = Path(__file__).parent
SIZES = {
    "balanced": [8] * 12,
    "unbalanced": [1, 2, 3, 4, 6, 2, 11, 17, 5, 1, 9, 30, 2, 7],
}


def draw(sizes: list[int], rng: np.random.Generator) -> np.ndarray:
    """Draw a problem: group, number, log price."""
    group = np.repeat(np.arange(len(sizes)), sizes)
    x = np.round(rng.normal(size=len(group)), 4)
    level = rng.normal(0, 0.4, len(sizes))
    y = np.round(9.0 + 0.15 * x + level[group] + rng.normal(0, 0.25, len(group)), 5)
    return np.column_stack([group, x, y])


def estimates(table: np.ndarray) -> dict[str, object]:
    """Return what restricted maximum likelihood says of a problem."""
    model = sm.MixedLM(table[:, 2], sm.add_constant(table[:, 1]), groups=table[:, 0])
    fit = model.fit(reml=True, method="lbfgs", maxiter=5000)
    levels = fit.random_effects
    return {
        "sigma2": float(fit.scale),
        "group_variance": float(fit.cov_re[0, 0]),
        "fixed": fit.fe_params.tolist(),
        "levels": [float(levels[g].iloc[0]) for g in sorted(levels)],
    }


def main() -> None:
    """Write both problems and their estimates."""
    rng = np.random.default_rng(31)
    values = {}
    for name, sizes in SIZES.items():
        path = HERE / f"{name}.csv"
        header = "group,number,log_price"
        table = draw(sizes, rng)
        np.savetxt(path, table, delimiter=",", header=header, comments="", fmt="%.6g")
        values[name] = estimates(np.loadtxt(path, delimiter=",", skiprows=1))
    made = {
        "script": "derive.py",
        "python": platform.python_version(),
        "statsmodels": statsmodels.__version__,
    }
    text = json.dumps({"made_with": made, "values": values}, indent=2)
    (HERE / "expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

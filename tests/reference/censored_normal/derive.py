"""Maximise the likelihood of a small censored sample and write sales.csv and expected.json.

Normal noise around a straight line; some responses are only known to lie above what stands there.
Each row was seen 2,000 times, so that degrees of freedom do not matter.  Nothing of the package is
imported.

Run with ``python tests/reference/censored_normal/derive.py`` and compare the files.
"""

from __future__ import annotations

import json
import platform
from pathlib import Path

import numpy as np
import scipy
from scipy.optimize import minimize
from scipy.stats import norm

HERE = Path(__file__).parent


def estimates(table: np.ndarray, *, line: bool) -> dict[str, float]:
    """Return the maximum-likelihood level, slope and scale."""
    x, y, bound = table[:, 0], table[:, 1], table[:, 2] > 0

    def cost(p: np.ndarray) -> float:
        z = (y - p[0] - p[1] * x * line) / np.exp(p[2])
        return -float(norm.logsf(z[bound]).sum() + (norm.logpdf(z[~bound]) - p[2]).sum())

    start = np.array([y.mean(), 0.0, np.log(y.std())])
    found = minimize(cost, start, method="Nelder-Mead", options={"xatol": 1e-11, "fatol": 1e-13})
    level, slope, log_scale = found.x
    return {"level": level, "slope": slope * line, "sigma": float(np.exp(log_scale))}


def main() -> None:
    """Draw twelve rows, five of them bounds."""
    rng = np.random.default_rng(8)
    x = np.round(np.linspace(-1.0, 1.0, 12), 3)
    y = 10.0 + 0.3 * x + rng.normal(0, 0.4, 12)
    reserve = 10.1 + rng.normal(0, 0.2, 12)
    bound = y > reserve
    table = np.column_stack([x, np.round(np.minimum(y, reserve), 4), bound])
    path, header = HERE / "sales.csv", "number,log_price,bound"
    np.savetxt(path, table, delimiter=",", header=header, comments="", fmt="%.6g")

    table = np.loadtxt(path, delimiter=",", skiprows=1)
    values = {
        "level_alone": estimates(table, line=False),
        "straight_line": estimates(table, line=True),
    }
    made = {
        "script": "derive.py",
        "python": platform.python_version(),
        "scipy": scipy.__version__,
    }
    text = json.dumps({"made_with": made, "values": values}, indent=2)
    (HERE / "expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

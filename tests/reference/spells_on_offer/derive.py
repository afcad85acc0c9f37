"""Draw spells of an invented stock, fit them with statsmodels, write spells.csv and expected.json.

Piecewise exponential survival is a Poisson regression of sales with log days as offset.  Nothing of
the package is imported: days are cut at 30 days on offer here as well.

Run with ``python tests/reference/spells_on_offer/derive.py`` and compare the files.
"""

from __future__ import annotations

import json
import platform
from pathlib import Path

import numpy as np
import statsmodels
import statsmodels.api as sm

HERE = Path(__file__).parent
STEP = 30
HEADER = "car,listed_days,days,condition,log_ask_over_value,sold"


def spells(rng: np.random.Generator) -> list[tuple[float, ...]]:
    """Return the spells of eighty cars: a price, and after 50 days a lower one."""
    rows = []
    for car in range(80):
        grade, ask = float(rng.integers(40, 90)), round(float(rng.normal(0.1, 0.08)), 4)
        last = int(rng.integers(60, 200))
        for start, end, asked in ((0, 50, ask), (50, last, round(ask - 0.06, 4))):
            log_rate = -4.2 - 5 * asked + 0.01 * (grade - 60)
            wait = float(rng.exponential(np.exp(-log_rate)))
            sold = wait < end - start
            days = int(wait) + 1 if sold else end - start
            rows.append((car, start, days, grade, asked, float(sold)))
            if sold:
                break
    return rows


def cut(rows: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return columns, sales and days of the pieces on either side of the step."""
    columns, sold, days = [], [], []
    for _, start, length, grade, ask, ends in rows:
        for a, b in ((start, min(start + length, STEP)), (max(start, STEP), start + length)):
            if b > a:
                columns.append((1.0, float(a >= STEP), (grade - 60) / 10, ask))
                sold.append(float(ends and b == start + length))
                days.append(b - a)
    return np.array(columns), np.array(sold), np.array(days, dtype=float)


def main() -> None:
    """Write the spells and what statsmodels says of them."""
    table = np.array(spells(np.random.default_rng(11)))
    np.savetxt(HERE / "spells.csv", table, delimiter=",", header=HEADER, comments="", fmt="%.6g")
    table = np.loadtxt(HERE / "spells.csv", delimiter=",", skiprows=1)
    X, sold, days = cut(table)
    fit = sm.GLM(sold, X, family=sm.families.Poisson(), offset=np.log(days)).fit(tol=1e-13)
    names = ("base", "step", "condition", "ask")
    values = {
        "made_with": f"statsmodels {statsmodels.__version__}, Python {platform.python_version()}",
        "sales": int(sold.sum()),
        "estimate": dict(zip(names, fit.params.tolist(), strict=True)),
        "standard_error": dict(zip(names, fit.bse.tolist(), strict=True)),
    }
    (HERE / "expected.json").write_text(json.dumps(values, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

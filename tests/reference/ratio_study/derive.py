"""Work out every ratio-study measure a second way and write expected.json in each case.

Plain Python and its statistics module, one sale at a time; only the regression of the
price-related bias is left to statsmodels.  Nothing of the package is imported.

Run with ``python tests/reference/ratio_study/derive.py`` and compare the files.
"""

from __future__ import annotations

import csv
import json
import math
import platform
import statistics
from pathlib import Path

import statsmodels
import statsmodels.api as sm

HERE = Path(__file__).parent


def gini(amounts: list[float], order: list[float]) -> float:
    """Twice the area between the diagonal and `amounts` cumulated by rising `order`.

    Equal orders come by rising amount.
    """
    total, height, area = sum(amounts), 0.0, 0.0
    for _, amount in sorted(zip(order, amounts, strict=True)):
        area += (height + amount / total / 2) / len(amounts)
        height += amount / total
    return 1 - 2 * area


def prb(price: list[float], estimate: list[float]) -> tuple[float, float, float]:
    """Slope and 95 % interval, by ordinary least squares."""
    ratio = [e / p for p, e in zip(price, estimate, strict=True)]
    m = statistics.median(ratio)
    x = [math.log2(0.5 * (p + e / m)) for p, e in zip(price, estimate, strict=True)]
    fit = sm.OLS([(r - m) / m for r in ratio], sm.add_constant(x)).fit()
    low, high = fit.conf_int(0.05)[1]
    return float(fit.params[1]), float(low), float(high)


def ranks(values: list[float], z: float) -> tuple[float, float]:
    """Interval of a median by ranks."""
    n, half = len(values), z * math.sqrt(len(values)) / 2
    ordered = sorted(values)
    return ordered[math.ceil(n / 2 - half) - 1], ordered[math.floor(1 + n / 2 + half) - 1]


def vei(price: list[float], estimate: list[float]) -> dict[str, object]:
    """Groups between inclusive quantiles of the value proxy, and what follows from them."""
    ratio = [e / p for p, e in zip(price, estimate, strict=True)]
    m, n = statistics.median(ratio), len(ratio)
    proxy = [0.5 * p + 0.5 * e / m for p, e in zip(price, estimate, strict=True)]
    count = 2 if n <= 50 else 4 if n <= 500 else 10
    cuts = statistics.quantiles(proxy, n=count, method="inclusive")
    groups: list[list[float]] = [[] for _ in range(count)]
    for r, v in zip(ratio, proxy, strict=True):
        groups[sum(v > cut for cut in cuts)].append(r)
    medians = [statistics.median(g) for g in groups]
    spans = [ranks(g, statistics.NormalDist().inv_cdf(0.95)) for g in groups]
    low, high = medians.index(min(medians)), medians.index(max(medians))
    return {
        "vei": 100 * (medians[-1] - medians[0]) / m,
        "vei_significance": 100 * max(0.0, spans[high][0] - spans[low][1]) / m,
        "vei_group_sales": [len(g) for g in groups],
        "vei_group_medians": medians,
        "vei_first_lower": spans[0][0],
        "vei_first_upper": spans[0][1],
        "vei_last_lower": spans[-1][0],
        "vei_last_upper": spans[-1][1],
    }


def chasing(ratio: list[float]) -> dict[str, object]:
    """Share of ratios about one beside that of a normal, and the largest heap there."""
    near = [r for r in ratio if 0.98 <= r <= 1.02]
    bell = statistics.NormalDist(statistics.fmean(ratio), statistics.stdev(ratio))
    heaps = [sum(round(r, 3) == round(s, 3) for r in near) for s in near]
    share = 100 * len(near) / len(ratio)
    expected = 100 * (bell.cdf(1.02) - bell.cdf(0.98))
    step = 100 * max(heaps, default=0) / len(ratio)
    return {
        "share_near_one": share,
        "share_near_one_expected": expected,
        "largest_step": step,
        "sales_chasing": share - expected > 5 and step > 5,
    }


def measures(price: list[float], estimate: list[float]) -> dict[str, object]:
    """All measures of one case."""
    ratio = [e / p for p, e in zip(price, estimate, strict=True)]
    m, mean = statistics.median(ratio), statistics.fmean(ratio)
    weighted = sum(estimate) / sum(price)
    slope, low, high = prb(price, estimate)
    q1, _, q3 = statistics.quantiles(ratio, n=4, method="inclusive")
    span = ranks(ratio, statistics.NormalDist().inv_cdf(0.975))
    found: dict[str, object] = {
        "sum_prices": sum(price),
        "sum_estimates": sum(estimate),
        "median_ratio": m,
        "median_lower": span[0],
        "median_upper": span[1],
        "mean_ratio": mean,
        "weighted_mean_ratio": weighted,
        "cod": 100 * statistics.fmean(abs(r - m) for r in ratio) / m,
        "cov": 100 * statistics.stdev(ratio) / mean,
        "prd": mean / weighted,
        "prb": slope,
        "prb_lower": low,
        "prb_upper": high,
        "mki": gini(estimate, price) / gini(price, price),
        "outliers": sum(not q1 - 3 * (q3 - q1) <= r <= q3 + 3 * (q3 - q1) for r in ratio),
    }
    found |= vei(price, estimate) if len(ratio) >= 20 else {}
    return found | (chasing(ratio) if len(ratio) >= 30 else {})


def main() -> None:
    """Write expected.json beside each sales.csv."""
    made = {
        "script": "derive.py",
        "python": platform.python_version(),
        "statsmodels": statsmodels.__version__,
    }
    for table in sorted(HERE.glob("*/sales.csv")):
        with table.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        values = measures([float(r["price"]) for r in rows], [float(r["estimate"]) for r in rows])
        text = json.dumps({"made_with": made, "values": values}, indent=2)
        (table.parent / "expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

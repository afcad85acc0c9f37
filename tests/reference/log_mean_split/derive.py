"""Explain one price difference in money in five ways and write expected.json.

A start of 40,000 and four factors.  The logarithmic mean (Ang 2004) in exact decimals; the Shapley
value over all 24 orders; and three ways that do not add up or depend on the order.  Nothing of the
package is imported.

Run with ``python tests/reference/log_mean_split/derive.py`` and compare the files.
"""

from __future__ import annotations

import json
import math
import platform
from decimal import Decimal
from itertools import permutations
from pathlib import Path

HERE = Path(__file__).parent


def log_mean(start: Decimal, factors: dict[str, Decimal]) -> dict[str, float]:
    """Share of each factor by the logarithmic mean, to 28 digits."""
    end = start * math.prod(factors.values())
    mean = (end - start) / (end / start).ln()
    return {name: float(mean * f.ln()) for name, f in factors.items()}


def in_order(
    start: Decimal, factors: dict[str, Decimal], order: tuple[str, ...]
) -> dict[str, Decimal]:
    """Step of each factor when they are applied in an order."""
    steps, price = {}, start
    for name in order:
        steps[name] = price * (factors[name] - 1)
        price += steps[name]
    return steps


def main() -> None:
    """Write every column of the table."""
    case = json.loads((HERE / "case.json").read_text(encoding="utf-8"))
    start = Decimal(case["start"])
    factors = {name: Decimal(f) for name, f in case["factors"].items()}
    end = start * math.prod(factors.values())
    orders = [in_order(start, factors, order) for order in permutations(factors)]
    values = {
        "end": float(end),
        "log_mean": float((end - start) / (end / start).ln()),
        "by_log_mean": log_mean(start, factors),
        "by_shapley": {n: float(sum(o[n] for o in orders) / len(orders)) for n in factors},
        "by_first": {n: float(start * (f - 1)) for n, f in factors.items()},
        "by_last": {n: float(end - end / f) for n, f in factors.items()},
        "least": {n: float(min(o[n] for o in orders)) for n in factors},
        "most": {n: float(max(o[n] for o in orders)) for n in factors},
    }
    made = {"script": "derive.py", "python": platform.python_version()}
    text = json.dumps({"made_with": made, "values": values}, indent=2)
    (HERE / "expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

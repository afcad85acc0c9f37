"""What the earlier sale of the very car earns, where more is known of the car now than then.

The cars of invented firms were bought from listings that say little, and inspected afterwards.
Each is valued with its car file, and the estimate held against its true value when it was listed:
as it is done; counting in the earlier sale also what only the inspection told; and without the
chassis number, so that no earlier sale is known.  A script, never a test.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from valuation.appraisal.brief import Brief, brief_all
from valuation.appraisal.market import MarketModel, fit_market
from valuation.importing.car_file import read_car
from valuation.importing.sales import read_sales
from valuation.records import Car
from valuation.selling.selling_sale import customers_sale
from valuation.synthetic.yard import make_yard
from valuation.synthetic.yard_files import yard_files


def errors(market: MarketModel, cars: Iterable[Car], values: list[float]) -> np.ndarray:
    """Return log estimates less log values."""
    made = brief_all(market, list(cars), sale=customers_sale(market, Car({})))
    pairs = zip(made, values, strict=True)
    return np.array([b.central - np.log(v) for b, v in pairs if isinstance(b, Brief)])


def line(seed: int) -> str:
    """Measure one firm."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for path, content in yard_files(make_yard(seed=seed)).items():
            (folder / path).parent.mkdir(parents=True, exist_ok=True)
            (folder / path).write_bytes(content)
        market = fit_market(read_sales(folder / "sales.csv"))
        truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))["cars"]
        values = {c["stock"]: c["value_when_listed"] for c in truth}
        files = sorted(folder.glob("cars*/*.toml"))
        cars = [read_car(f, known_makes=market.makes) for f in files]
    known = [values[f.stem] for f in files]
    sales = replace(market.fitted.sales, stated=np.ones((0, 0), dtype=bool))
    twice = replace(market, fitted=replace(market.fitted, sales=sales))
    ways = (
        errors(market, cars, known),
        errors(twice, cars, known),
        errors(market, (replace(c, chassis="") for c in cars), known),
    )
    found = " | ".join(f"{100 * np.median(abs(e)):.1f} | {100 * e.mean():+.1f}" for e in ways)
    return f"| {seed} | {len(known)} | {found} |"


def main() -> None:
    """Print a line for each firm."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, nargs="+", default=[5, 6, 7])
    words = parser.parse_args()
    print("| firm | cars | once: error, % | bias, % | twice | bias | not at all | bias |")
    print("|---|---:|---:|---:|---:|---:|---:|---:|")
    for seed in words.seeds:
        print(line(seed), flush=True)


if __name__ == "__main__":
    main()

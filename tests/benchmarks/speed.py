"""How long the work takes, beside a boosted fit and a neighbour query timed in the same run.

Run ``python tests/benchmarks/speed.py --sales 10000 100000 1000000``.  Every measurement is a
process of its own, so that its peak of memory is its own too; the processes follow one another.
For each size: seconds to bring the sales to a table and to fit them (penalties and weights),
beside a boosted fit of 1,000 trees on the same rows reduced to numbers and codes; seconds to
calibrate; milliseconds to price one car with comparables, range and explanation, beside a plain
nearest-neighbour query; seconds for 1,000 such valuations, and for what a run list needs of 1,000
cars.  Prints the table and keeps it as
``speed.csv`` and ``speed.md`` in a folder.  A script, never a test: times depend on the machine,
ratios less so.
"""

from __future__ import annotations

import argparse
import csv
import json
import math
import resource
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.neighbors import NearestNeighbors

from valuation.appraisal.appraise import appraise, appraise_all
from valuation.appraisal.brief import brief_all
from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.features.assumptions import default_assumptions
from valuation.records import Car, SalesBook
from valuation.schema import ATTRIBUTES
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

RESULTS = Path(__file__).parent / "results"

Measures = dict[str, float]


@dataclass
class Row:
    """What was measured of one size; NaN for what was left out."""

    sales: int
    make_s: float = math.nan
    table_s: float = math.nan
    fit_s: float = math.nan
    fit_gb: float = math.nan
    growth: float = math.nan
    boosted_s: float = math.nan
    boosted_gb: float = math.nan
    fit_to_boosted: float = math.nan
    whole_s: float = math.nan
    calibrate_s: float = math.nan
    origins: float = math.nan
    market_gb: float = math.nan
    one_car_ms: float = math.nan
    thousand_cars_s: float = math.nan
    briefs_s: float = math.nan
    open_briefs_s: float = math.nan
    neighbours_ms: float = math.nan


HEADS = {
    "sales": "Sales",
    "make_s": "Making the sales, s",
    "table_s": "Table, s",
    "fit_s": "Fit, s",
    "fit_gb": "Fit, peak GB",
    "growth": "Growth of the fit (exponent)",
    "boosted_s": "1,000 boosted trees, s",
    "boosted_gb": "Trees, peak GB",
    "fit_to_boosted": "Fit / trees",
    "whole_s": "Table, fit and calibration, s",
    "calibrate_s": "Of these calibration, s",
    "origins": "Past fits",
    "market_gb": "Fit and calibration, peak GB",
    "one_car_ms": "One car, ms (median)",
    "thousand_cars_s": "1,000 cars, s",
    "briefs_s": "1,000 cars of a run list, s",
    "open_briefs_s": "The same, two facts of each not looked at, s",
    "neighbours_ms": "Neighbour query, ms",
}

DIGITS = {
    "sales": 0,
    "origins": 0,
    "growth": 2,
    "fit_to_boosted": 2,
    "neighbours_ms": 2,
    "briefs_s": 2,
    "open_briefs_s": 2,
}

UNSEEN = ("condition_grade", "documents", "engine_originality", "mileage", "restoration")
"""Facts of which two in turn are not looked at: numbers, words and sets."""


def seconds(work: Callable[[], object]) -> float:
    """Return how long something takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def peak() -> float:
    """Return the most memory this process has held so far, GB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6


def matrix(data: MarketData) -> np.ndarray:
    """Return numbers and category codes, as a boosted model takes them."""
    columns = [*data.table.numbers.values()]
    columns += [f.codes.astype(float) for f in data.table.factors.values()]
    told = [c for c in columns if np.unique(c[~np.isnan(c)]).size > 1]
    return np.column_stack(told)


def cars(frame: object, count: int) -> list[Car]:
    """Return sales of the market as cars to be priced."""
    out = []
    for _, row in frame.sample(count, random_state=0).iterrows():
        stated = {a.name: row[a.name] for a in ATTRIBUTES}
        kept = {k: v for k, v in stated.items() if v is not None and v == v}
        out.append(Car(kept, title=row["title"] or ""))
    return out


def not_looked_at(some: list[Car]) -> list[Car]:
    """Return the cars with two facts of each not looked at."""
    out = []
    for i, car in enumerate(some):
        names = frozenset(UNSEEN[(i + k) % len(UNSEEN)] for k in range(2))
        kept = {k: v for k, v in car.values.items() if k not in names}
        out.append(replace(car, values=kept, not_looked_at=names))
    return out


def measure_fit(book: SalesBook, _: int) -> Measures:
    """Time the table and the fit."""
    made: list[MarketData] = []
    table = seconds(lambda: made.append(market_data(book, unsold="as bids")))
    settings, assumed = ModelSettings(), default_assumptions()
    fit = seconds(lambda: fit_market_data(made[0], settings=settings, assumptions=assumed))
    return {"table_s": table, "fit_s": fit, "fit_gb": peak()}


def measure_boosted(book: SalesBook, _: int) -> Measures:
    """Time 1,000 boosted trees and a neighbour query on the same rows."""
    data = market_data(book, unsold="as bids")
    X = matrix(data)
    peer = HistGradientBoostingRegressor(max_iter=1000, early_stopping=False, random_state=0)
    boosted = seconds(lambda: peer.fit(X, data.log_price))
    most = peak()
    filled = np.nan_to_num((X - np.nanmean(X, 0)) / (np.nanstd(X, 0) + 1e-9))
    index = NearestNeighbors(n_neighbors=6).fit(filled)
    query = statistics.median(
        1000 * seconds(lambda i=i: index.kneighbors(filled[i : i + 1])) for i in range(100)
    )
    return {"boosted_s": boosted, "boosted_gb": most, "neighbours_ms": query}


def measure_market(book: SalesBook, origins: int) -> Measures:
    """Time the whole market model, then its valuations."""
    settings = ModelSettings(origins=origins)
    made: list[MarketModel] = []
    whole = seconds(lambda: made.append(fit_market(book, settings=settings)))
    most, market = peak(), made[0]
    some = cars(market.frame, min(1000, len(market.frame)))
    appraise(market, some[0])
    one = statistics.median(seconds(lambda c=c: appraise(market, c)) for c in some[:100])
    many = seconds(lambda: appraise_all(market, some))
    unseen = not_looked_at(some)
    briefs = seconds(lambda: brief_all(market, some))
    open_briefs = seconds(lambda: brief_all(market, unseen))
    return {
        "whole_s": whole,
        "origins": float(origins),
        "market_gb": most,
        "one_car_ms": 1000 * one,
        "thousand_cars_s": many * 1000 / len(some),
        "briefs_s": briefs * 1000 / len(some),
        "open_briefs_s": open_briefs * 1000 / len(some),
    }


KINDS = {"fit": measure_fit, "boosted": measure_boosted, "market": measure_market}


def measure(kind: str, size: int, seed: int, origins: int) -> Measures:
    """Make the sales and measure one kind of work, in this process."""
    made: list[SalesBook] = []
    make = seconds(lambda: made.append(make_market(MarketSettings(sales=size), seed=seed).book()))
    return {"make_s": make, **KINDS[kind](made[0], origins)}


def measure_apart(kind: str, size: int, seed: int, origins: int) -> Measures:
    """Measure in a process of its own."""
    asked = ["--one", kind, "--sales", str(size), "--seed", str(seed), "--origins", str(origins)]
    done = subprocess.run(
        [sys.executable, __file__, *asked], check=True, capture_output=True, text=True
    )
    found: Measures = json.loads(done.stdout.splitlines()[-1])
    return found


def command_start(times: int = 7) -> float:
    """Return the median seconds of ``valuation --help``, NaN if the command isn't installed."""
    command = shutil.which("valuation", path=str(Path(sys.executable).parent))
    if command is None:
        return math.nan
    return statistics.median(
        seconds(lambda: subprocess.run([command, "--help"], check=True, capture_output=True))
        for _ in range(times)
    )


def complete(rows: list[Row]) -> None:
    """Add what follows from the measurements: ratios and growth from size to size."""
    for before, row in zip([None, *rows[:-1]], rows, strict=True):
        row.fit_to_boosted = row.fit_s / row.boosted_s
        row.calibrate_s = row.whole_s - row.table_s - row.fit_s
        if before is not None and before.sales != row.sales:
            row.growth = math.log(row.fit_s / before.fit_s) / math.log(row.sales / before.sales)


def shown(name: str, value: float) -> str:
    """Return a measurement as a table shows it."""
    return "" if math.isnan(value) else f"{value:,.{DIGITS.get(name, 1)}f}"


def markdown(rows: list[Row], start: float) -> str:
    """Return the table with one column a size."""
    lines = ["# How long the work takes", ""]
    lines += [
        "Two threads at most; each measurement in a process of its own, one after the other, on "
        "invented markets.",
        "",
        "| | " + " | ".join(f"{r.sales:,}" for r in rows) + " |",
        "|---|" + "---:|" * len(rows),
    ]
    for name, head in HEADS.items():
        if name != "sales":
            cells = [shown(name, getattr(r, name)) for r in rows]
            lines.append(f"| {head} | " + " | ".join(cells) + " |")
    lines += ["", f"`valuation --help`: {start:.2f} s (median of 7)."]
    return "\n".join(lines) + "\n"


def save(rows: list[Row], start: float, out: Path) -> None:
    """Keep the table as CSV and Markdown."""
    out.mkdir(parents=True, exist_ok=True)
    with (out / "speed.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        names = [f.name for f in fields(Row)]
        writer.writerow([*names, "help_s"])
        for r in rows:
            cells = [getattr(r, n) for n in names]
            writer.writerow(["" if math.isnan(v) else round(v, 4) for v in (*cells, start)])
    (out / "speed.md").write_text(markdown(rows, start), encoding="utf-8")


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, nargs="+", default=[10_000, 100_000, 1_000_000])
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--origins", type=int, default=12, help="past fits of the calibration")
    parser.add_argument(
        "--whole",
        type=int,
        default=200_000,
        help="largest size calibrated with all past fits; a larger one gets one, to be priced",
    )
    parser.add_argument("--kinds", nargs="+", choices=list(KINDS), default=list(KINDS))
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--one", choices=list(KINDS), help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        print(json.dumps(measure(chosen.one, chosen.sales[0], chosen.seed, chosen.origins)))
        return
    rows = []
    for size in chosen.sales:
        row = Row(size)
        origins = chosen.origins if size <= chosen.whole else 1
        for kind in chosen.kinds:
            for name, value in measure_apart(kind, size, chosen.seed, origins).items():
                setattr(row, name, value)
        rows.append(row)
        complete(rows)
        start = command_start()
        print(markdown(rows, start), flush=True)
        save(rows, start, chosen.out)


if __name__ == "__main__":
    main()

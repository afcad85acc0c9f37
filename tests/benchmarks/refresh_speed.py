"""How long the fits of a month take: the candidate, and a year of months forecast forward.

Run ``python tests/benchmarks/refresh_speed.py --sales 5000 20000 --workers 1 2``.  Each line is a
process of its own on an invented market: the candidate with the forecasts of its own past that
calibrate it, then twelve calendar months, each from what was known at its start.  Seconds by the
clock depend on what else the machine does; seconds of processor time, which hold those of the
workers, hardly.  Memory is the most that the process held, and the most that one of its workers
held.  The forecasts of all lines of one size are compared: they must be the same bytes.  Prints
the table and keeps it as ``refresh_speed.csv`` and ``refresh_speed.md`` in a folder.  A script,
never a test.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from valuation.appraisal.market import fit_market
from valuation.running.runner import Runner
from valuation.study.forecasts import forward_forecasts
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

RESULTS = Path(__file__).parent / "results"


@dataclass
class Row:
    """What was measured of one size on one number of processes."""

    sales: int
    workers: int
    candidate_s: float
    candidate_cpu_s: float
    forward_s: float
    forward_cpu_s: float
    whole_s: float
    whole_cpu_s: float
    memory_gb: float
    worker_gb: float
    tested: int
    error_pct: float
    held_80_pct: float
    sha256: str


HEADS = {
    "sales": "Sales",
    "workers": "Processes",
    "candidate_s": "Candidate, s",
    "candidate_cpu_s": "Candidate, processor s",
    "forward_s": "12 months, s",
    "forward_cpu_s": "12 months, processor s",
    "whole_s": "Both, s",
    "whole_cpu_s": "Both, processor s",
    "memory_gb": "Peak GB",
    "worker_gb": "Peak GB of a worker",
    "tested": "Sales forecast",
    "error_pct": "Median error, %",
    "held_80_pct": "80% ranges that held, %",
}


def processor_seconds() -> float:
    """Return the processor time of this process and of the workers it has ended."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(u.ru_utime + u.ru_stime for u in used)


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Return how long something takes by the clock and in processor time."""
    start, used = time.perf_counter(), processor_seconds()
    work()
    return time.perf_counter() - start, processor_seconds() - used


def measure(sales: int, workers: int, seed: int) -> Row:
    """Measure one size, in this process and its workers."""
    book = make_market(MarketSettings(sales=sales), seed=seed).book()
    made = []

    def candidate() -> None:
        with Runner(workers=workers) as run:
            fit_market(book, run=run)

    def forward() -> None:
        with Runner(workers=workers) as run:
            made.append(forward_forecasts(book, run=run))

    clock = [timed(candidate), timed(forward)]
    result = made[0].result
    peaks = [
        resource.getrusage(who).ru_maxrss / 1e6
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    ]
    return Row(
        sales,
        workers,
        *clock[0],
        *clock[1],
        clock[0][0] + clock[1][0],
        clock[0][1] + clock[1][1],
        peaks[0],
        peaks[1] if workers > 1 else 0.0,
        result.overall.tested,
        result.overall.median_abs_pct_error or 0.0,
        result.overall.coverage_80 or 0.0,
        hashlib.sha256(made[0].frame.to_csv().encode()).hexdigest(),
    )


def measure_apart(sales: int, workers: int, seed: int) -> Row:
    """Measure in a process of its own."""
    asked = ["--one", "--sales", str(sales), "--workers", str(workers), "--seed", str(seed)]
    done = subprocess.run(
        [sys.executable, __file__, *asked], check=True, capture_output=True, text=True
    )
    return Row(**json.loads(done.stdout.splitlines()[-1]))


def shown(value: float) -> str:
    """Return a measurement as a table shows it."""
    return f"{value:,}" if isinstance(value, int) else f"{value:,.1f}"


def markdown(rows: list[Row]) -> str:
    """Return the table with one column a line that was measured."""
    lines = [
        "# How long the fits of a month take",
        "",
        "On invented markets; each column in a process of its own, one after the other.",
        "",
    ]
    for i, (name, head) in enumerate(HEADS.items()):
        lines.append(f"| {head} | " + " | ".join(shown(getattr(r, name)) for r in rows) + " |")
        if not i:
            lines.append("|---|" + "---:|" * len(rows))
    sizes = {r.sales for r in rows}
    same = all(len({r.sha256 for r in rows if r.sales == n}) == 1 for n in sizes)
    said = "are the same bytes" if same else "DIFFER"
    return "\n".join([*lines, "", f"Forecasts of one size on any number of processes {said}.", ""])


def save(rows: list[Row], out: Path) -> None:
    """Keep the table as CSV and Markdown."""
    out.mkdir(parents=True, exist_ok=True)
    with (out / "refresh_speed.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, [f.name for f in fields(Row)])
        writer.writeheader()
        writer.writerows(asdict(r) for r in rows)
    (out / "refresh_speed.md").write_text(markdown(rows), encoding="utf-8")


def main() -> None:
    """Measure, print, keep."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, nargs="+", default=[5_000, 20_000])
    parser.add_argument("--workers", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--seed", type=int, default=3)
    parser.add_argument("--out", type=Path, default=RESULTS)
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    chosen = parser.parse_args()
    if chosen.one:
        print(json.dumps(asdict(measure(chosen.sales[0], chosen.workers[0], chosen.seed))))
        return
    rows: list[Row] = []
    for sales in chosen.sales:
        for workers in chosen.workers:
            rows.append(measure_apart(sales, workers, chosen.seed))
            print(markdown(rows), flush=True)
            save(rows, chosen.out)


if __name__ == "__main__":
    main()

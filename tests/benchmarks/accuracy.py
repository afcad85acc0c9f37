"""How close estimates come to prices, beside peers on the same sales, in one run.

Run ``python tests/benchmarks/accuracy.py --data DIR``.  DIR holds one or more of the files
``auction_lots``, ``one_model_lots``, ``wholesale`` and ``dealer_listings`` (``.csv.gz``).  Every
method is fitted to the same sales and prices the same later ones (the split of the package's
backtest), each in a process of its own.  Tables are printed and saved as CSV and Markdown under
``--out``; the same data give the same bytes, except for the files named ``cost``.  What a method
said is kept under ``--out``/runs and used again; ``--again`` runs it anew.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from accuracy_methods import ABLATIONS, OURS, PEERS, run_one, stored
from accuracy_pages import page_of, ratios_of, tables_of
from accuracy_splits import FILES, REFIT, Schedule
from accuracy_tables import cost_csv, csv_text
from tqdm import tqdm

from valuation.files import write_in_one_step

Job = tuple[str, str, Schedule]
"""Method, file and schedule."""


def parse(arguments: Sequence[str] | None = None) -> argparse.Namespace:
    """Return what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True, help="folder of the sale files")
    parser.add_argument("--files", nargs="+", choices=FILES, default=list(FILES))
    parser.add_argument("--schedule", nargs="+", choices=list(REFIT), default=["frozen"])
    parser.add_argument("--out", type=Path, default=Path("tests/benchmarks/results"))
    parser.add_argument("--peers", nargs="*", choices=list(PEERS), default=list(PEERS))
    parser.add_argument("--ablations", action="store_true", help="take out one part at a time")
    parser.add_argument("--without-ours", action="store_true", help="run the peers alone")
    parser.add_argument("--again", action="store_true", help="run what is stored already")
    parser.add_argument("--one", metavar="METHOD", help="run one method here, print nothing")
    return parser.parse_args(arguments)


def target(out: Path, job: Job) -> Path:
    """Return where what a method said is kept, without its ending."""
    method, file, schedule = job
    return out / "runs" / f"{file}-{schedule}-{method}"


def jobs(asked: argparse.Namespace) -> list[Job]:
    """Return what has to be run, small files first."""
    methods = [*asked.peers, *([] if asked.without_ours else [OURS])]
    methods += list(ABLATIONS) if asked.ablations else []
    order = sorted(asked.files, key=lambda f: (asked.data / f"{f}.csv.gz").stat().st_size)
    every = [(m, f, s) for s in asked.schedule for f in order for m in methods]
    return [
        j for j in every if asked.again or not target(asked.out, j).with_suffix(".json").exists()
    ]


def run(asked: argparse.Namespace, job: Job) -> None:
    """Run one job in a process of its own, so that its peak memory is its own."""
    method, file, schedule = job
    command = [sys.executable, __file__, "--data", str(asked.data), "--out", str(asked.out)]
    command += ["--one", method, "--files", file, "--schedule", schedule]
    threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    subprocess.run(command, check=True, env={**os.environ, **threads, "PYTHONHASHSEED": "0"})


def report(asked: argparse.Namespace, file: str, schedule: Schedule) -> str:
    """Save the tables of one file by one schedule; return them as a page."""
    names = [OURS, *PEERS, *ABLATIONS]
    paths = {m: target(asked.out, (m, file, schedule)) for m in names}
    runs = {m: stored(p) for m, p in paths.items() if p.with_suffix(".json").exists()}
    tables = tables_of(runs)
    page = page_of(f"{file}, {schedule}", tables, runs, ratios_of(runs))
    where = asked.out / f"{file}-{schedule}"
    for ending, text in (
        (".csv", csv_text(tables)),
        (".md", page),
        ("-cost.csv", cost_csv({m: r.cost for m, r in runs.items()})),
    ):
        write_in_one_step(f"{where}{ending}", text.encode(), what="table")
    return page


def main(arguments: Sequence[str] | None = None) -> None:
    """Run what is missing, then print and save the tables."""
    asked = parse(arguments)
    if asked.one:
        (file,), (schedule,) = asked.files, asked.schedule
        run_one(
            asked.one, asked.data, file, schedule, target(asked.out, (asked.one, file, schedule))
        )
        return
    with tqdm(jobs(asked), delay=2.0, unit="run") as bar:
        for job in bar:
            bar.set_description(" ".join(job))
            run(asked, job)
    for schedule in asked.schedule:
        for file in asked.files:
            print(report(asked, file, schedule), flush=True)


if __name__ == "__main__":
    main()

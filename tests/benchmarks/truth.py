"""How near fits of invented markets come to the truth that made their prices.

Run ``python tests/benchmarks/truth.py --sizes 300 1000 3000 --cache FOLDER``.  Parts:

1. ``error``: error of the fitted log price of cars the fit has not seen, against the true expected
   log price; beside a fit with the true variance components held, and the noise of a single sale.
2. ``effects``: share of true effects inside their 90 % intervals, in all and by attribute.
3. ``index``: error of the market level, and share of days inside its 90 % band.
4. ``sizes``: how these fall with the number of sales.
5. ``broken``: markets that break an assumption, beside the plain one of the same seeds, with the
   80 % ranges of a short backtest.

Prints one table a part and writes CSV and Markdown to ``--out``.  The same sources give the same
tables; seconds stand in a file of their own.  A run that was stopped goes on where it was if it is
given the same ``--cache``.  A script, never a test: it takes an hour.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

import pandas as pd
from tqdm import tqdm
from truth_cache import HERE, Cache, Job, digest_of
from truth_markets import MARKETS, seeds_for
from truth_run import measure_fit, measure_range
from truth_tables import PARTS, TITLES, as_markdown, tables_of

import valuation
from valuation.files import write_in_one_step


def jobs_for(chosen: argparse.Namespace) -> list[Job]:
    """Return the markets to be measured, small ones first."""
    jobs = {
        Job("fit", "plain", size, seed)
        for size in chosen.sizes
        for seed in seeds_for(size, chosen.seeds)
    }
    if "broken" in chosen.parts:
        for size in chosen.broken_sizes:
            few = seeds_for(size, chosen.broken_seeds)
            jobs |= {Job("fit", market, size, seed) for market in chosen.markets for seed in few}
            few = seeds_for(size, chosen.range_seeds)
            jobs |= {Job("range", market, size, seed) for market in chosen.markets for seed in few}
    order = list(MARKETS)
    return sorted(jobs, key=lambda j: (j.size, order.index(j.market), j.kind, j.seed))


def measure(jobs: Sequence[Job], cache: Cache, *, quiet: bool = False) -> None:
    """Measure what the cache does not hold."""
    for job in tqdm([j for j in jobs if j not in cache.results], disable=quiet, unit="market"):
        work = measure_fit if job.kind == "fit" else measure_range
        cache.keep(job, *work(job.market, job.size, job.seed))


def seconds_table(jobs: Sequence[Job], cache: Cache) -> pd.DataFrame:
    """Return the seconds of each job."""
    return pd.DataFrame(
        [
            vars(j) | {k: round(v, 2) for k, v in cache.results[j]["seconds"].items()}
            for j in jobs
            if j in cache.results
        ]
    )


def save(tables: dict[str, pd.DataFrame], out: Path, digest: str) -> None:
    """Write each table as CSV, and all of them as one Markdown page that names its sources."""
    page = ["# Fits against the truth of invented markets", "", f"Sources: {digest}", ""]
    for name, table in tables.items():
        write_in_one_step(
            out / f"truth_{name}.csv", table.to_csv(index=False).encode(), what="table"
        )
        page += [f"## {TITLES[name]}", "", as_markdown(table), ""]
    write_in_one_step(out / "truth.md", "\n".join(page).encode(), what="page")


def arguments() -> argparse.ArgumentParser:
    """Return the parser of the command line."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    add = parser.add_argument
    add("--sizes", type=int, nargs="+", default=[300, 1_000, 3_000])
    add("--seeds", type=int, default=20, help="seeds of the plain market")
    add("--parts", nargs="+", choices=PARTS, default=list(PARTS))
    add("--markets", nargs="+", choices=list(MARKETS), default=list(MARKETS))
    add("--broken-sizes", type=int, nargs="+", default=[1_000])
    add("--broken-seeds", type=int, default=20, help="seeds of each broken market")
    add("--range-seeds", type=int, default=8, help="backtests of each market")
    add("--out", type=Path, default=HERE / "results")
    add("--cache", type=Path, help="folder of results to go on from")
    return parser


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print and save."""
    chosen = arguments().parse_args(words)
    cache = Cache(chosen.cache, digest_of([Path(valuation.__file__).parent, HERE]))
    jobs = jobs_for(chosen)
    measure(jobs, cache)
    broken = [(m, s) for s in chosen.broken_sizes for m in chosen.markets]
    tables = tables_of(
        cache,
        parts=chosen.parts,
        sizes=chosen.sizes,
        broken=broken if "broken" in chosen.parts else [],
    )
    for name, table in tables.items():
        print(f"\n{TITLES[name]}\n{table.to_string(index=False)}")
    save(tables, chosen.out, cache.digest)
    csv = seconds_table(jobs, cache).to_csv(index=False).encode()
    write_in_one_step(chosen.out / "truth_seconds.csv", csv, what="table")


if __name__ == "__main__":
    main()

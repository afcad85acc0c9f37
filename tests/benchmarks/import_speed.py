"""Reading sales in and storing them: seconds of processor time and memory, beside a plain load.

Each measurement is a process of its own on one core.  The peer reads the same file with
``pandas.read_csv`` and puts its cells into a new DuckDB database: it recognises nothing, checks
nothing and keeps nothing, so it says what the bare bytes cost on this machine at this moment.

Run: python tests/benchmarks/import_speed.py --sales 10000 100000
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import duckdb
import pandas as pd

from valuation.evidence.book import evidence_book
from valuation.evidence.opening import reading
from valuation.evidence.parquet import import_files
from valuation.evidence.workspace import workspace_at
from valuation.importing.sales import read_sales
from valuation.synthetic.files import csv_bytes, sales_cells
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

NOW = datetime(2025, 1, 31, 12, tzinfo=UTC)


def _plain(file: Path, folder: Path) -> int:
    """Load a file as it is: the peer."""
    frame = pd.read_csv(file, low_memory=False)
    with duckdb.connect(str(folder / "plain.duckdb"), config={"threads": 1}) as con:
        con.register("frame", frame)
        con.execute("CREATE TABLE sales AS SELECT * FROM frame")
    return len(frame)


def _read(file: Path, folder: Path) -> int:
    return read_sales(file).rows


def _import(file: Path, folder: Path) -> int:
    """Read a file in: recognised, checked, stored and kept."""
    workspace = workspace_at(folder / "firm", {}, make=True)
    done = import_files(workspace, [file], who="benchmark", now=NOW)
    return sum(f.batch.rows for f in done.files if f.batch)


def _book(file: Path, folder: Path) -> int:
    """Take the evidence of an earlier import out as one book."""
    with reading(workspace_at(folder / "firm", {})) as con:
        return evidence_book(con).rows


def _make(file: Path, folder: Path) -> int:
    """Write a market; in a process of its own, for a child's peak starts at its parent's size."""
    n = int(file.stem.removeprefix("sales_"))
    market = make_market(MarketSettings(sales=n), seed=1)
    file.write_bytes(csv_bytes(*sales_cells(market.table)))
    with duckdb.connect(":memory:", config={"threads": 1}) as con:
        cells = con.read_csv(str(file), all_varchar=True)
        cells.write_parquet(str(file.with_suffix(".parquet")))
    return n


STEPS = {
    "make": _make,
    "plain load": _plain,
    "read": _read,
    "read and store": _import,
    "book": _book,
}


def _measure(step: str, file: Path, folder: Path) -> dict[str, float]:
    """Run a step in a process of its own; return seconds of processor time and megabytes."""
    told = subprocess.run(
        [sys.executable, __file__, "--step", step, "--file", str(file), "--folder", str(folder)],
        check=True,
        capture_output=True,
        text=True,
    )
    return json.loads(told.stdout.splitlines()[-1])


def _one_step(step: str, file: Path, folder: Path) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF)
    rows = STEPS[step](file, folder)
    after = resource.getrusage(resource.RUSAGE_SELF)
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(json.dumps({"rows": rows, "seconds": seconds, "peak": after.ru_maxrss / 1024}))


def _report(n: int) -> None:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        file = folder / f"sales_{n}.csv"
        _measure("make", file, folder)
        plain = _measure("plain load", file, folder)
        rows = [("plain load", plain)]
        rows += [(s, _measure(s, file, folder)) for s in ("read", "read and store", "book")]
        parts = _measure("read and store", file.with_suffix(".parquet"), folder / "parts")
        rows.append(("Parquet, in parts", parts))
        for name, measured in rows:
            ratio = measured["seconds"] / plain["seconds"]
            print(
                f"{measured['rows']:>9,}  {name:<18} {measured['seconds']:>9.1f} "
                f"{measured['peak']:>9,.0f} {ratio:>8.1f}",
                flush=True,
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, nargs="+", default=[10_000, 100_000])
    parser.add_argument("--step", choices=STEPS)
    parser.add_argument("--file", type=Path)
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    if asked.step:
        _one_step(asked.step, asked.file, asked.folder)
        return
    print(f"{'rows':>9}  {'step':<18} {'CPU s':>9} {'peak MB':>9} {'× plain':>8}")
    for n in asked.sales:
        _report(n)


if __name__ == "__main__":
    main()

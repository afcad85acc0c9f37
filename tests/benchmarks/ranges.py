"""How honest the ranges are on files of real sales.

Run ``python tests/benchmarks/ranges.py --data DIR``.  Each file is priced twice, from a model that
is fitted once (frozen) and from one that is fitted anew every month, over the newest 30 % of its
sales (20 % of an undated list); prices of 500 and less are left out.  Two tables: how many ranges
held at three levels, with the interval of the 80 % ranges that knows that sales of one month miss
together, and the segments that fail; and the frozen model by months ahead.  Printed and saved as
Markdown under ``--out``; the same data give the same bytes.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from accuracy_splits import FILES, LEAST_PRICE, REFIT, UNDATED_SEED, Schedule, book_of, share_of
from accuracy_tables import markdown_table
from tqdm import tqdm

from valuation.files import write_in_one_step
from valuation.study.backtest import BacktestResult, backtest
from valuation.study.ranges import RangeCheck

Row = list[str]

HEADS = (
    "file",
    "schedule",
    "sales",
    "given a range %",
    "50 % held",
    "80 % held",
    "95 % held",
    "80 % held, interval by months",
    "meets 78 to 82 %",
    "segments tested",
    "too narrow",
)
AHEAD = ("file", "months ahead", "ranges", "80 % held")


def backtest_of(folder: Path, file: str, schedule: Schedule) -> BacktestResult:
    """Price the newest sales of a file from the earlier ones."""
    book = book_of(folder, file)
    return backtest(
        book,
        test_share=share_of(book),
        refit=REFIT[schedule],
        undated_seed=UNDATED_SEED,
        least_price=LEAST_PRICE,
    )


def row_of(file: str, schedule: str, result: BacktestResult) -> Row:
    """Return what a backtest says of its ranges."""
    r, s = result.ranges, result.overall
    return [
        file,
        schedule,
        f"{s.tested:,}",
        f"{s.share_priced:.1f}",
        *(f"{r.held_pct[level]:.1f}" if r.held_pct else "–" for level in (50, 80, 95)),
        interval_of(r),
        {True: "yes", False: "no", None: "–"}[r.meets],
        f"{len(r.segments)}",
        "; ".join(f"{x.by.replace('_', ' ')} {x.segment} ({x.held_pct:.0f} %)" for x in r.failing)
        or "none",
    ]


def interval_of(r: RangeCheck) -> str:
    """Return the interval of the 80 % ranges in per cent."""
    if r.interval is None:
        return "–"
    return f"{100 * r.interval.lower:.1f} to {100 * r.interval.upper:.1f}"


def ahead_of(file: str, r: RangeCheck) -> list[Row]:
    """Return how the ranges of a frozen model held month after month."""
    return [
        [file, x.segment, f"{x.ranges:,}", f"{x.held_pct:.1f}"]
        for x in r.segments
        if x.by == "months_ahead" and x.segment != "undated"
    ]


def page_of(held: Sequence[Row], ahead: Sequence[Row]) -> str:
    """Return both tables as a page."""
    parts = [
        "# Ranges on real sales",
        "A segment (make, era, band of the estimate, month, months ahead; at least 30 ranges) is "
        "too narrow if significantly fewer than 75 % of its 80 % ranges held, with Bonferroni's "
        "correction for the number of segments of its kind. A car outside the evidence gets no "
        "range; every other car gets one.",
        markdown_table(HEADS, held),
        "## A model fitted once, by months ahead",
        markdown_table(AHEAD, ahead),
    ]
    return "\n\n".join(parts) + "\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Price, print and save."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True, help="folder of the sale files")
    parser.add_argument("--files", nargs="+", choices=FILES, default=list(FILES))
    parser.add_argument("--out", type=Path, default=Path("tests/benchmarks/results"))
    asked = parser.parse_args(arguments)
    held, ahead = [], []
    jobs = [(f, s) for f in asked.files for s in REFIT]
    for file, schedule in tqdm(jobs, delay=2.0, unit="run"):
        result = backtest_of(asked.data, file, schedule)
        held.append(row_of(file, schedule, result))
        if schedule == "frozen":
            ahead += ahead_of(file, result.ranges)
    page = page_of(held, ahead)
    write_in_one_step(asked.out / "ranges.md", page.encode(), what="table")
    print(page)


if __name__ == "__main__":
    main()

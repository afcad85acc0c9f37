"""Chances of a sale beside the sales that came, on invented firms whose buyers are known.

For every month of a firm's second year the chance to sell is learned from what its ledger said
before; the firm's own idea of each car stands for the estimate.  Prints a line for each firm, and
the groups of chances of all firms together.  A script, never a test.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from datetime import date

from asking import offered
from scipy.stats import binom

from valuation.results.chance_check import ChanceCheck, ChanceRow
from valuation.running.runner import Runner
from valuation.stocking.chance_check import check_chances
from valuation.stocking.settings import default_stock_settings
from valuation.synthetic.yard import make_yard

UNTIL = date(2024, 12, 31)


def check(until: date, seed: int) -> ChanceCheck:
    """Check the chances of one firm."""
    cars = offered(make_yard(seed=seed), until)
    return check_chances(cars, default_stock_settings(), currency="EUR", as_of=until)


def line(name: str, rows: Sequence[ChanceRow]) -> str:
    """Return a line of all rows together."""
    times, sold = sum(r.times for r in rows), sum(r.sold for r in rows)
    expected = sum(r.expected for r in rows)
    low, high = binom.interval(0.95, times, expected / times)
    inside = sum(r.inside for r in rows)
    return (
        f"| {name} | {times:,} | {expected:,.1f} | {sold:,} | {low:,.0f} to {high:,.0f} | "
        f"{inside} of {len(rows)} |"
    )


def main() -> None:
    """Check the firms and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3])
    parser.add_argument("--workers", type=int, default=1)
    words = parser.parse_args()
    with Runner(workers=words.workers) as run:
        found = list(run.each(check, words.seeds, common=UNTIL, what="checking"))
    print("| firm | times on offer | foretold | sold | 95 % limits | groups of chances inside |")
    print("|---|---:|---:|---:|---:|---:|")
    for seed, of in zip(words.seeds, found, strict=True):
        whole, groups = of.overall, of.kinds[0].rows
        if whole is not None:
            told = f"{whole.times:,} | {whole.expected:,.1f} | {whole.sold:,}"
            inside = f"{sum(r.inside for r in groups)} of {len(groups)}, p {of.p_value or 1:.2g}"
            print(f"| {seed} | {told} | {whole.lower:,} to {whole.upper:,} | {inside} |")
    print(line("all", [of.overall for of in found if of.overall is not None]))
    most = max(len(of.kinds[0].rows) for of in found)
    for place in range(most):
        rows = [of.kinds[0].rows[place] for of in found if len(of.kinds[0].rows) > place]
        print(line(f"group {place + 1}, from the lowest chance", rows))


if __name__ == "__main__":
    main()

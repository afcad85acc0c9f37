"""Whole batches screened: how many clean months pass, and how many spoiled ones are held.

    python tests/benchmarks/screens.py --seeds 8

Each seed is an invented market of 24 months; it is fitted on the first 20, and each of the last
four months is screened as it is and with each fault planted in it.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[1] / "hand_made"))

from planted import chased, part_times, times

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.records import SalesBook
from valuation.store.modelfile import load_model, save_model
from valuation.study.batch_screens import screen_batch
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

Fault = Callable[[MarketModel, pd.DataFrame, np.random.Generator], pd.DataFrame]

FAULTS: dict[str, Fault] = {
    "clean": lambda market, table, rng: table,
    "currency 1.1": lambda market, table, rng: times(table, 1.1),
    "currency 0.85": lambda market, table, rng: times(table, 0.85),
    "currency 7": lambda market, table, rng: times(table, 7.0),
    "doubled": lambda market, table, rng: times(table, 2.0),
    "a third doubled": lambda market, table, rng: part_times(table, 2.0, 0.33, rng),
    "a fifth doubled": lambda market, table, rng: part_times(table, 2.0, 0.2, rng),
    "a third at 1.2": lambda market, table, rng: part_times(table, 1.2, 0.33, rng),
    "a fifth at 7": lambda market, table, rng: part_times(table, 7.0, 0.2, rng),
    "chased, no noise": lambda market, table, rng: chased(market, table, 1.0, 0.0, rng),
    "chased, 1% noise": lambda market, table, rng: chased(market, table, 1.0, 0.01, rng),
    "chased, 2% noise": lambda market, table, rng: chased(market, table, 1.0, 0.02, rng),
    "a third chased, 1%": lambda market, table, rng: chased(market, table, 0.33, 0.01, rng),
}


BESIDE = ("clean", "currency 1.1", "currency 0.85", "doubled")
"""What is also screened as half a month beside the other half, which is right."""


def halved(table: pd.DataFrame, k: int) -> pd.DataFrame:
    return table.iloc[k::2].reset_index(drop=True)


def months_of(table: pd.DataFrame) -> dict[str, pd.DataFrame]:
    name = table["sale_date"].dt.strftime("%Y-%m")
    return {str(k): part.reset_index(drop=True) for k, part in table.groupby(name)}


def book_of(table: pd.DataFrame) -> SalesBook:
    return SalesBook(table, "EUR", True, rows=len(table))


def fitted(seed: int, sales: int, cache: str | None) -> tuple[dict[str, pd.DataFrame], MarketModel]:
    """Return the months of a market and the model of the first twenty, kept where that is asked."""
    settings = MarketSettings(sales=sales, start=date(2022, 1, 1), end=date(2023, 12, 31))
    parts = months_of(make_market(settings, seed=seed).table)
    kept = Path(cache) / f"screens-{sales}-{seed}.model" if cache else None
    if kept is not None and kept.exists():
        return parts, load_model(kept)
    known = pd.concat([parts[n] for n in sorted(parts)[:20]], ignore_index=True)
    market = fit_market(book_of(known), settings=ModelSettings(origins=6))
    if kept is not None:
        save_model(market, kept)
    return parts, market


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=8)
    parser.add_argument("--sales", type=int, default=1800)
    parser.add_argument("--first", type=int, default=300)
    parser.add_argument("--cache", metavar="DIR", help="keep fitted models here")
    parser.add_argument("--verbose", action="store_true")
    arguments = parser.parse_args()
    found: Counter[tuple[str, str, str]] = Counter()
    shifts: dict[str, list[float]] = {}
    for seed in range(arguments.first, arguments.first + arguments.seeds):
        parts, market = fitted(seed, arguments.sales, arguments.cache)
        print(f"seed {seed}: {len(market.frame):,} sales", flush=True)
        for name in sorted(parts)[20:]:
            for fault, spoil in FAULTS.items():
                rng = np.random.default_rng(seed)
                for alone in (True, False)[: 2 if fault in BESIDE else 1]:
                    mine, others = parts[name], ()
                    if not alone:
                        mine, other = (halved(parts[name], k) for k in (0, 1))
                        others = (book_of(other),)
                    screen = screen_batch(market, book_of(spoil(market, mine, rng)), others=others)
                    kind = fault if alone else f"{fault}, beside another batch"
                    found[kind, screen.verdict, ""] += 1
                    for doubt in screen.doubts:
                        found[kind, doubt.verdict, doubt.kind] += 1
                    if fault == "clean" and screen.doubts and arguments.verbose:
                        print("   ", name, len(mine), screen.summary())
                    if alone and screen.shift is not None:
                        shifts.setdefault(fault, []).append(screen.shift)
    print("| batch | months | pass | warn | hold | held for |")
    print("|---|---|---|---|---|---|")
    beside = [f"{f}, beside another batch" for f in BESIDE]
    for kind in [*FAULTS, *beside]:
        n = [found[kind, v, ""] for v in ("pass", "warn", "hold")]
        why = ", ".join(
            f"{k} {c}" for (f, v, k), c in sorted(found.items()) if f == kind and v == "hold" and k
        )
        print(f"| {kind} | {sum(n)} | {n[0]} | {n[1]} | {n[2]} | {why} |")
    print({f: (round(float(np.mean(s)), 1), round(float(np.std(s)), 1)) for f, s in shifts.items()})


if __name__ == "__main__":
    main()

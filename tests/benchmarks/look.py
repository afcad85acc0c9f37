"""How many planted faults the list of sales to look at finds, and how many innocent sales it names.

python tests/benchmarks/look.py --sales 3000 --seeds 3
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[1] / "hand_made"))

from planted import Planted, batched, plant_factors, plant_source, plant_stories

from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel, market_of
from valuation.appraisal.settings import ModelSettings
from valuation.features.assumptions import default_assumptions
from valuation.importing.repeats import chassis_key
from valuation.models.ranges import PastErrors, calibrate
from valuation.results.look import LookList
from valuation.study.look import sales_to_look_at
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

SETTINGS = ModelSettings(origins=1)
KIND_OF = {"price": "price off by a factor", "two": "contradictory"}


def fitted(planted: Planted) -> MarketModel:
    """Fit without forecasts of the past: the list needs no ranges."""
    data = market_data(planted.book(), unsold=SETTINGS.unsold)
    fit = fit_market_data(data, settings=SETTINGS, assumptions=default_assumptions())
    empty = np.zeros(0)
    none = PastErrors(empty, empty, np.zeros((0, 9)), empty)
    last = data.frame["sale_date"].max().date()
    return market_of(data, fit, calibrate(none, day=0.0), "EUR", last, SETTINGS)


def counted(
    planted: Planted, listed: LookList, short: LookList, total: Counter[tuple[str, str]]
) -> None:
    """Add what was planted, found at all, found for what it is, and found in the first fifty."""
    by_key = {s.key: s.kinds for s in listed.sales}
    first = {s.key for s in short.sales}
    spoiled: set[str] = set()
    for kind, keys in planted.where.items():
        right = KIND_OF.get(kind.split()[0], "")
        for key in keys:
            total[kind, "planted"] += 1
            total[kind, "listed"] += key in by_key
            total[kind, "named"] += right in by_key.get(key, ())
            total[kind, "first 50"] += key in first
        spoiled.update(keys)
    mates = chassis_mates(planted, spoiled)
    for kind in listed.found:
        named = [s for s in listed.sales if kind in s.kinds]
        total[f"listed as {kind}", "listed"] += len(named)
        innocent = [s for s in named if s.key not in spoiled | mates]
        total[f"listed as {kind}", "innocent"] += len(innocent)


def chassis_mates(planted: Planted, spoiled: set[str]) -> set[str]:
    """Return the sales of a spoiled chassis: of two stories nothing tells which is right."""
    table = planted.table
    names = [chassis_key(c, m) for c, m in zip(table["chassis"], table["make"], strict=True)]
    keys = table["sale_key"].tolist()
    theirs = {n for n, k in zip(names, keys, strict=True) if n and k in spoiled}
    return {k for n, k in zip(names, keys, strict=True) if n in theirs}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, default=3000)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--each", type=int, default=5)
    arguments = parser.parse_args()
    singles: Counter[tuple[str, str]] = Counter()
    clean: Counter[tuple[str, str]] = Counter()
    sources: list[str] = []
    for seed in range(arguments.seeds):
        world = make_market(MarketSettings(sales=arguments.sales), seed=100 + seed)
        rng = np.random.default_rng(seed)
        good = batched(world.table)
        listed = sales_to_look_at(fitted(good), most=10_000)
        for kind, n in listed.found.items():
            clean[kind, "listed"] += n
        clean["patterns", "listed"] += len(listed.patterns)
        bad = batched(world.table)
        plant_factors(bad, arguments.each, rng)
        plant_stories(bad, arguments.each, rng)
        market = fitted(bad)
        counted(bad, sales_to_look_at(market, most=10_000), sales_to_look_at(market), singles)
        sources += source_lines(world.table, seed)
    n = arguments.seeds
    print(f"honest markets of {arguments.sales:,} sales, named a market:")
    print(", ".join(f"{kind} {c / n:.1f}" for (kind, _), c in clean.items()))
    print("| planted | sales | listed | named for it | among the first 50 |")
    print("|---|---|---|---|---|")
    for kind in dict.fromkeys(k for k, w in singles if w == "planted"):
        row = [singles[kind, w] for w in ("planted", "listed", "named", "first 50")]
        print(f"| {kind} | {' | '.join(map(str, row))} |")
    for kind in dict.fromkeys(k for k, w in singles if w == "innocent"):
        print(f"{kind}: {singles[kind, 'listed']}, innocent {singles[kind, 'innocent']}")
    print("\n".join(sources))


def source_lines(table: pd.DataFrame, seed: int) -> list[str]:
    out = []
    for factor, batch, venue in (
        (1.15, "", "Harbour Rooms"),
        (1.2, "", "Millrace Online"),
        (0.85, "b00000000007", ""),
        (7.0, "b00000000007", ""),
        (1.5, "b00000000007", "Millrace Online"),
    ):
        bad = batched(table)
        rows = plant_source(bad, factor, batch=batch, venue=venue, kind="source")
        listed = sales_to_look_at(fitted(bad), most=1)
        said = [(p.kind, p.who, round(p.factor, 2), p.sales) for p in listed.patterns]
        out.append(f"seed {seed} factor {factor:.2f} {batch} {venue} ({len(rows)}): {said}")
    return out


if __name__ == "__main__":
    main()

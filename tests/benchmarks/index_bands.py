"""How often the bands of the market index hold the true levels of invented markets.

Run ``python tests/benchmarks/index_bands.py --sales 600 2000 --seeds 9201 9206``.  Each market has
four years of sales and is fitted as the command does; its segments are the invented world's own,
which cut across makes, and the makes.  The truth of a segment is the mean of the true levels of its
sales' kinds of cars, each sale with the same weight in every month.  Levels are told against the
first month, against one a year later and against the last; months past the last sale are told
apart, because there the level is held.  Levels of one segment err together, so the shares are less
sure than their number makes them look.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import date

import numpy as np
import pandas as pd
from accuracy_tables import markdown_table
from numpy.typing import NDArray
from tqdm import tqdm

from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel, market_of
from valuation.appraisal.settings import ModelSettings
from valuation.features.assumptions import default_assumptions
from valuation.models.ranges import DIFFICULTY, PastErrors, calibrate
from valuation.study.index_levels import index_evidence, segment_level
from valuation.study.segments import Segment, make_segments
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import SEGMENTS

Floats = NDArray[np.float64]

START, END, HELD = date(2021, 1, 1), date(2024, 12, 31), 6
MONTHS = pd.period_range("2021-01", "2025-06", freq="M")
BASES = (0, 12, len(MONTHS) - HELD - 1)
FEWEST = 20
Z80, Z95 = 1.2815515655446004, 1.959963984540054


def fitted_market(world: SyntheticMarket) -> MarketModel:
    """Fit a market without forecasts of its past, which an index has no use for."""
    settings = ModelSettings()
    data = market_data(world.book(), unsold=settings.unsold)
    fitted = fit_market_data(data, settings=settings, assumptions=default_assumptions())
    nothing = np.zeros(0)
    past = PastErrors(nothing, nothing, np.zeros((0, len(DIFFICULTY))), nothing)
    none = calibrate(past, day=float(data.day.max()))
    return market_of(data, fitted, none, "EUR", END, settings)


def true_levels(world: SyntheticMarket, spans: list[Floats]) -> Floats:
    """Return the mean true level of each invented segment in each month."""
    levels = world.truth.world.levels
    return np.array(
        [
            [levels.at(np.full(len(d), code), d.astype(int)).mean() for d in spans]
            for code in range(len(SEGMENTS))
        ]
    )


def segments_of_world(world: SyntheticMarket, frame: pd.DataFrame) -> Iterator[tuple[str, Segment]]:
    """Yield the invented segments and the makes."""
    lines = world.truth.lines_table()
    for name in SEGMENTS:
        own = lines[lines["segment"] == name]
        if len(own):
            models = tuple(f"{a} {b}" for a, b in zip(own["make"], own["model"], strict=True))
            yield "segments", Segment(name, models=models)
    for segment in make_segments(frame, least=FEWEST):
        yield "makes", segment


def measure(world: SyntheticMarket) -> Iterator[dict[str, object]]:
    """Yield one row a segment, base and month: error and standard deviation."""
    market = fitted_market(world)
    evidence, frame = index_evidence(market), market.frame
    first = [(m.start_time - pd.Timestamp("1970-01-01")).days for m in MONTHS]
    spans = [
        d + np.arange(m.days_in_month, dtype=float) for d, m in zip(first, MONTHS, strict=True)
    ]
    levels, lines = true_levels(world, spans), world.truth.lines_table()
    keys = zip(lines["make"], lines["model"], strict=True)
    codes = dict(zip(keys, (SEGMENTS.index(s) for s in lines["segment"]), strict=True))
    cars = zip(frame["make"], frame["model"], strict=True)
    own = np.array([codes.get(car, -1) for car in cars])
    for kind, segment in segments_of_world(world, frame):
        rows = segment.rows(frame)
        known = own[rows & (own >= 0)]
        if rows.sum() < FEWEST or not len(known):
            continue
        truth = np.bincount(known, minlength=len(SEGMENTS)) / len(known) @ levels
        for base in BASES:
            found = segment_level(evidence, rows, spans, spans[base])
            off, sd = found.level - (truth - truth[base]), found.sd
            for i in range(len(MONTHS)):
                if i != base:
                    stretch = "held" if i >= len(MONTHS) - HELD else "known"
                    yield {
                        "of": kind, "base": str(MONTHS[base]), "months": stretch,
                        "error": off[i], "sd": sd[i],
                    }  # fmt: skip


def table(rows: list[dict[str, object]]) -> str:
    """Return shares held and errors, by kind of segment, base and stretch."""
    frame = pd.DataFrame(rows)
    out = []
    for (kind, base, months), part in frame.groupby(["of", "base", "months"], sort=False):
        z = (part["error"] / part["sd"]).abs()
        rmse = float(np.sqrt((part["error"] ** 2).mean()))
        cells = (
            100 * (z < Z80).mean(),
            100 * (z < Z95).mean(),
            100 * rmse,
            100 * part["sd"].mean(),
        )
        shares = [f"{v:.0f}" for v in cells[:2]] + [f"{v:.1f}" for v in cells[2:]]
        out.append([str(kind), str(base), str(months), f"{len(part):,}", *shares])
    heads = ["of", "base", "months", "levels", "80% held", "95% held", "error, %", "sd, %"]
    return markdown_table(heads, out)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, nargs="+", default=[600, 2000])
    parser.add_argument(
        "--seeds", type=int, nargs=2, default=[9201, 9206], metavar=("FIRST", "LAST")
    )
    parser.add_argument("--level-sd", type=float, default=0.012, help="monthly steps of a segment")
    asked = parser.parse_args()
    for sales in asked.sales:
        rows: list[dict[str, object]] = []
        for seed in tqdm(range(asked.seeds[0], asked.seeds[1] + 1), desc=f"{sales} sales"):
            settings = MarketSettings(sales=sales, start=START, end=END, level_sd=asked.level_sd)
            rows += measure(make_market(settings, seed=seed))
        print(f"{sales:,} sales, monthly steps of {asked.level_sd:.3f}\n\n{table(rows)}\n")


if __name__ == "__main__":
    main()

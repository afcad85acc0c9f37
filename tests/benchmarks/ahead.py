"""How honest ranges are for sales some months after the last one that the market knew.

Run ``python tests/benchmarks/ahead.py --data DIR``.  Each file is cut on three days; a market is
fitted and calibrated on what was sold up to each, and prices the sales around so many months
later.  Before: ranges widened by the walk of the market level alone; after: by what past forecasts
were revised by as well.  Cars outside the evidence get no range and are left out, and so are
prices of 500 and less.  Printed and saved as Markdown under ``--out``; the same data give the same
bytes.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from pathlib import Path

import numpy as np
from accuracy_splits import book_of, data_of
from accuracy_tables import markdown_table
from numpy.typing import NDArray
from tqdm import tqdm

from valuation.appraisal.data import MarketData
from valuation.appraisal.fitting import Fitted, Forecast, fit_market_data
from valuation.appraisal.foreseen import Foreseen, outlooks
from valuation.appraisal.outlook import level_variance
from valuation.appraisal.settings import ModelSettings
from valuation.appraisal.strength import each_outside
from valuation.appraisal.typical import typical_cars
from valuation.appraisal.walk import past_errors, unseen_chassis
from valuation.features.assumptions import default_assumptions
from valuation.features.table import FeatureTable, day_number
from valuation.files import write_in_one_step
from valuation.importing.sales import read_sales
from valuation.models.ranges import Calibration, calibrate
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Row = list[str]

INVENTED = "invented"
OTHER_SEED = 77
SYNTHETIC = Path(__file__).parents[2] / "data_synthetic" / "sales.csv"

CUTS = {
    "auction_lots": ("2018-12-31", "2019-01-15", "2019-01-31"),
    "one_model_lots": ("2025-02-28", "2025-04-15", "2025-06-15"),
    "wholesale": ("2014-12-31", "2015-01-31", "2015-02-20"),
    INVENTED: ("2022-12-31", "2023-06-30", "2023-12-31"),
    f"{INVENTED} {OTHER_SEED}": ("2022-12-31", "2023-06-30", "2023-12-31"),
}
"""Days on which each file is cut: sales enough before, and half a year of them after."""

MONTHS = {"under 1": (0, 31), "3": (75, 107), "4.5": (121, 153), "6": (167, 199)}
"""Days after the last known sale that count as so many months."""

HEADS = (
    "file",
    "months ahead",
    "ranges",
    "price over estimate %",
    "80 % held, before",
    "median width %, before",
    "80 % held, after",
    "median width %, after",
)
RATES = ("file", "known up to", "sales", "revisions", "level alone, % a year", "revised, % a year")


@dataclass(frozen=True)
class Priced:
    """Sales priced from one cut: how far ahead, how far off, and both ranges."""

    ahead: Floats
    error: Floats
    before: NDArray[np.bool_]
    width_before: Floats
    after: NDArray[np.bool_]
    width_after: Floats


def sales_of(folder: Path, file: str) -> MarketData:
    """Return the sales of a file, or of an invented market."""
    if file == INVENTED:
        return data_of(read_sales(SYNTHETIC))
    if file.startswith(INVENTED):
        return data_of(make_market(MarketSettings(), seed=OTHER_SEED).book())
    return data_of(book_of(folder, file))


def priced_from(data: MarketData, cut: str) -> tuple[Priced, Row]:
    """Price the sales some months after a day from those up to it; say how markets move too."""
    settings, assumptions = ModelSettings(), default_assumptions()
    first = np.flatnonzero(data.day <= day_number(date.fromisoformat(cut)))
    known = data.take(first)
    fitted = fit_market_data(known, settings=settings, assumptions=assumptions)
    errors = past_errors(known, fitted.penalties, settings=settings, assumptions=assumptions)
    calibration = calibrate(errors, day=fitted.last_day)
    rows = _tested(data, first, fitted.last_day)
    table = data.table.take(rows)
    inside = _inside(fitted, known, table)
    rows, table = rows[inside], table.take(inside)
    forecast = fitted.forecast(table)
    price, day = data.log_price[rows], data.day[rows]
    plain = _ranges(fitted, replace(calibration, ahead_rate=0.0), forecast, price, day)
    full = _ranges(fitted, calibration, forecast, price, day)
    rates = (level_variance(fitted, fitted.last_day + 365.0), 365.0 * calibration.ahead_rate)
    told = [cut, f"{len(known):,}", f"{len(errors.revisions):,}"]
    told += [f"{100 * np.sqrt(r):.1f}" for r in rates]
    return Priced(day - fitted.last_day, full[0], *plain[1:], *full[1:]), told


def _tested(data: MarketData, first: Ints, last_day: float) -> Ints:
    """Return the sales so many months after the last known one, of cars not among the known."""
    ahead = data.day - last_day
    in_month = [(ahead >= a) & (ahead < b) & (ahead > 0) for a, b in MONTHS.values()]
    rows = np.flatnonzero(np.any(in_month, axis=0) & ~data.bound)
    return unseen_chassis(data, first, np.setdiff1d(rows, first))


def _inside(fitted: Fitted, known: MarketData, table: FeatureTable) -> Ints:
    """Return the cars that the evidence can carry a range for."""
    outside = each_outside(typical_cars(fitted, known), table)
    return np.flatnonzero(~outside)


def _ranges(
    fitted: Fitted, calibration: Calibration, forecast: Forecast, price: Floats, day: Floats
) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Return the errors, whether each range held, and its width over the estimate in per cent."""
    seen = Foreseen.of(fitted, forecast, day, np.zeros(len(day), dtype=bool))
    central, lower, upper = outlooks(calibration, seen, [0.8])
    low, high = np.log(lower[:, 0]), np.log(upper[:, 0])
    width = 100 * (upper[:, 0] - lower[:, 0]) / central
    return price - np.log(central), (low <= price) & (price <= high), width


def joined(cuts: Sequence[Priced]) -> Priced:
    """Return the sales of several cuts as one lot."""
    return Priced(*(np.concatenate([getattr(p, f.name) for p in cuts]) for f in fields(Priced)))


def rows_of(file: str, p: Priced) -> list[Row]:
    """Return a row for each number of months."""
    out = []
    for months, (a, b) in MONTHS.items():
        m = (p.ahead >= a) & (p.ahead < b)
        if m.any():
            bias = round(float(100 * np.expm1(np.median(p.error[m]))), 1) + 0.0  # no -0.0
            both = ((p.before, p.width_before), (p.after, p.width_after))
            cells = [
                f"{x:.1f}" for held, w in both for x in (100 * held[m].mean(), np.median(w[m]))
            ]
            out.append([file, months, f"{m.sum():,}", f"{bias:+.1f}", *cells])
    return out


def page_of(held: Sequence[Row], rates: Sequence[Row]) -> str:
    """Return both tables as a page."""
    parts = [
        "# Ranges months ahead",
        "Three markets a file, each fitted on what was sold up to a day. Before: ranges widened "
        "by the walk of the market level alone; after: by what past forecasts were revised by as "
        "well. Price over estimate: the median, in per cent; it is not corrected.",
        markdown_table(HEADS, held),
        "## How fast forecasts age",
        "The standard deviation that a year adds to a forecast, in per cent.",
        markdown_table(RATES, rates),
    ]
    return "\n\n".join(parts) + "\n"


def main(arguments: Sequence[str] | None = None) -> None:
    """Price, print and save."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True, help="folder of the sale files")
    parser.add_argument("--files", nargs="+", choices=CUTS, default=list(CUTS))
    parser.add_argument("--out", type=Path, default=Path("tests/benchmarks/results"))
    asked = parser.parse_args(arguments)
    held, rates = [], []
    for file in tqdm(asked.files, delay=2.0, unit="file"):
        data = sales_of(asked.data, file)
        made = [priced_from(data, cut) for cut in CUTS[file]]
        held += rows_of(file, joined([priced for priced, _ in made]))
        rates += [[file, *told] for _, told in made]
    page = page_of(held, rates)
    write_in_one_step(asked.out / "ahead.md", page.encode(), what="table")
    print(page)


if __name__ == "__main__":
    main()

"""How long the work takes, as ratios to peers timed in the same run.

Run ``python tests/benchmarks/speed.py --sales 10000 100000``.  Prints one row a size: seconds to
fit (penalties and weights), beside a boosted fit of 1,000 trees on the same design reduced to its
numbers and codes; milliseconds to price one car with comparables, range and explanation, beside a
plain nearest-neighbour query; seconds for 1,000 forecasts; peak memory.  A script, never a test:
times depend on the machine, ratios less so.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import time
from collections.abc import Callable

import numpy as np
from sklearn.ensemble import HistGradientBoostingRegressor
from sklearn.neighbors import NearestNeighbors

from valuation.appraisal.appraise import appraise
from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.features.assumptions import default_assumptions
from valuation.records import Car, SalesBook
from valuation.schema import ATTRIBUTES
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings


def seconds(work: Callable[[], object]) -> float:
    """Return how long something takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def matrix(data: MarketData) -> np.ndarray:
    """Return numbers and category codes, as a boosted model takes them."""
    columns = [*data.table.numbers.values()]
    columns += [f.codes.astype(float) for f in data.table.factors.values()]
    told = [c for c in columns if np.unique(c[~np.isnan(c)]).size > 1]
    return np.column_stack(told)


def cars(frame: object, count: int) -> list[Car]:
    """Return sales of the market as cars to be priced."""
    out = []
    for _, row in frame.sample(count, random_state=0).iterrows():
        stated = {a.name: row[a.name] for a in ATTRIBUTES}
        kept = {k: v for k, v in stated.items() if v is not None and v == v}
        out.append(Car(kept, title=row["title"] or ""))
    return out


def price_each(market: MarketModel, some: list[Car]) -> float:
    """Return the median milliseconds of one valuation."""
    appraise(market, some[0])
    return 1000 * statistics.median(seconds(lambda c=c: appraise(market, c)) for c in some)


def row(book: SalesBook, *, calibrate: bool) -> list[str]:
    """Measure one size."""
    settings, assumed = ModelSettings(), default_assumptions()
    data = market_data(book, unsold="as bids")
    fit = seconds(lambda: fit_market_data(data, settings=settings, assumptions=assumed))
    X = matrix(data)
    peer = HistGradientBoostingRegressor(max_iter=1000, early_stopping=False, random_state=0)
    boosted = seconds(lambda: peer.fit(X, data.log_price))
    filled = np.nan_to_num((X - np.nanmean(X, 0)) / (np.nanstd(X, 0) + 1e-9))
    index = NearestNeighbors(n_neighbors=6).fit(filled)
    query = statistics.median(
        1000 * seconds(lambda i=i: index.kneighbors(filled[i : i + 1])) for i in range(100)
    )
    whole, one = float("nan"), float("nan")
    if calibrate:
        made: list[MarketModel] = []
        whole = seconds(lambda: made.append(fit_market(book)))
        one = price_each(made[0], cars(made[0].frame, 100))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    return [
        f"{len(data):,}",
        f"{fit:.1f}",
        f"{boosted:.1f}",
        f"{fit / boosted:.2f}",
        f"{whole:.0f}",
        f"{one:.1f}",
        f"{query:.2f}",
        f"{peak:.2f}",
    ]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sales", type=int, nargs="+", default=[6_000])
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--no-calibration", action="store_true", help="time the fit alone")
    chosen = parser.parse_args()
    heads = ["sales", "fit s", "boosted s", "ratio", "fit + calibrate s", "one car ms"]
    heads += ["neighbours ms", "peak GB"]
    print(" | ".join(heads))
    for size in chosen.sales:
        book = make_market(MarketSettings(sales=size), seed=chosen.seed).book()
        print(" | ".join(row(book, calibrate=not chosen.no_calibration)), flush=True)


if __name__ == "__main__":
    main()

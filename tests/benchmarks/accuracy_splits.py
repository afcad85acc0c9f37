"""Which sales are known and which are priced: the very stretches of the package's backtest."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.settings import ModelSettings
from valuation.appraisal.walk import unseen_chassis
from valuation.importing.sales import read_sales
from valuation.records import SalesBook
from valuation.study.walk_forward import Refit, forward_plan

__all__ = [
    "FILES",
    "LEAST_PRICE",
    "REFIT",
    "Schedule",
    "Stretch",
    "book_of",
    "data_of",
    "folds_by_chassis",
    "held_out",
    "share_of",
    "stretches",
]

Ints = NDArray[np.intp]

Schedule = Literal["frozen", "month"]

REFIT: dict[Schedule, Refit] = {"frozen": "never", "month": "month"}

FILES = ("auction_lots", "one_model_lots", "wholesale", "dealer_listings")

LEAST_PRICE = 500.0
"""Sales at this price and less are left out."""

TEST_SHARE, UNDATED_SHARE, UNDATED_SEED = 0.3, 0.2, 0


@dataclass(frozen=True)
class Stretch:
    """Sales that are known, and sales that are priced from them.

    Parameters
    ----------
    known, priced : ndarray of int
        Rows of the market data.
    """

    known: Ints
    priced: Ints


def book_of(folder: Path, file: str) -> SalesBook:
    """Read a file of sales as it comes, without a map."""
    return read_sales(folder / f"{file}.csv.gz")


def data_of(book: SalesBook) -> MarketData:
    """Return the sales as the backtest sees them, prices of 500 and less left out."""
    kept = book.subset((book.table["price"] > LEAST_PRICE).to_numpy())
    settings = ModelSettings()
    return market_data(kept, unsold=settings.unsold, least=settings.least_sales)


def share_of(book: SalesBook) -> float:
    """Return the share that is tested: 30 % of dated sales, 20 % of an undated list."""
    return TEST_SHARE if book.dated else UNDATED_SHARE


def stretches(data: MarketData, share: float, schedule: Schedule) -> list[Stretch]:
    """Return what is known and what is priced, stretch after stretch, as the backtest has it."""
    plan = forward_plan(
        data,
        where="stretches",
        test_share=share,
        months=None,
        refit=REFIT[schedule],
        undated_seed=UNDATED_SEED,
    )
    out, known = [], plan.first
    for rows in plan.stretches:
        out.append(Stretch(known, rows[~data.bound[rows]]))
        known = np.arange(rows.max() + 1) if data.dated else known
    return out


def held_out(data: MarketData, parts: int, share: float, seed: int = 0) -> list[Stretch]:
    """Return walk-forward stretches of the last `share` of known sales, to tune on.

    Dated sales are cut into `parts` stretches, each forecast from all before it; an undated list
    into as many random parts, each forecast from all others.  A chassis is on one side only.
    """
    n = len(data)
    if data.dated:
        edges = np.linspace(n * (1 - share), n, parts + 1).astype(int)
        pairs = [(np.arange(a), np.arange(a, b)) for a, b in pairwise(edges)]
    else:
        fold = folds_by_chassis(data, round(1 / share), seed)
        pairs = [(np.flatnonzero(fold != k), np.flatnonzero(fold == k)) for k in range(parts)]
    return [Stretch(a, unseen_chassis(data, a, b)) for a, b in pairs]


def folds_by_chassis(data: MarketData, k: int, seed: int) -> Ints:
    """Return a random fold of each sale, all sales of a chassis in one."""
    rng = np.random.default_rng(seed)
    chassis = data.table.factors["chassis"].codes
    fold = rng.permutation(len(data)) % k
    known = chassis >= 0
    fold[known] = (rng.permutation(int(chassis.max(initial=0)) + 1) % k)[chassis[known]]
    return fold.astype(np.intp)

"""The methods that are compared, and one run of one of them on one file."""

from __future__ import annotations

import json
import resource
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from accuracy_measures import Predictions
from accuracy_splits import (
    LEAST_PRICE,
    REFIT,
    UNDATED_SEED,
    Schedule,
    book_of,
    data_of,
    share_of,
    stretches,
)
from accuracy_tables import Cost
from numpy.typing import NDArray
from peer_boosted import boosted_a, boosted_b
from peer_explainable import Explainable
from peer_plain import Neighbours, PlainRegression
from peer_ranges import ranges_a_forward, ranges_a_split, ranges_b_forward
from peer_tuning import Chosen

from valuation.appraisal.data import MarketData
from valuation.appraisal.settings import ModelSettings
from valuation.features.table import FeatureTable
from valuation.files import write_in_one_step
from valuation.records import SalesBook
from valuation.study.backtest import backtest

__all__ = ["ABLATIONS", "CENTRES", "OURS", "PEERS", "RANGES", "Run", "run_one", "stored"]

Floats = NDArray[np.float64]

OURS = "ours"


class Peer(Protocol):
    """A method to compare with: chooses its settings once, then forecasts stretches."""

    def choose(self, known: MarketData) -> Chosen:
        """Return settings chosen on known sales."""
        ...

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return log prices, shape (n,), or lower and upper log prices, shape (n, 2)."""
        ...


CENTRES: dict[str, Callable[[], Peer]] = {
    "boosted_a": boosted_a,
    "boosted_b": boosted_b,
    "explainable": Explainable,
    "regression": PlainRegression,
    "neighbours": Neighbours,
}
"""Peers that give a central estimate."""

RANGES: dict[str, Callable[[], Peer]] = {
    "ranges_a_forward": ranges_a_forward,
    "ranges_a_split": ranges_a_split,
    "ranges_b_forward": ranges_b_forward,
}
"""Peers that give a range; its centre is that of the boosted trees of the same library."""

PEERS = {**CENTRES, **RANGES}


def _ablations() -> dict[str, ModelSettings]:
    whole = ModelSettings()
    features, near = whole.features, whole.comparables
    return {
        # So heavy a ballast leaves no deviation: sales nearby are never believed.
        "ours_without_local_deviation": replace(
            whole, comparables=replace(near, ballast=1e12, own_ballast=1e12)
        ),
        "ours_without_model_lines": replace(whole, features=replace(features, local=False)),
        "ours_without_words": replace(whole, features=replace(features, words=False)),
        "ours_without_statements": replace(whole, features=replace(features, statements=False)),
        "ours_without_robust_weights": replace(whole, robust_df=None),
        "ours_without_age_at_sale": replace(whole, features=replace(features, age=False)),
    }


ABLATIONS: dict[str, ModelSettings] = _ablations()
"""Our method with one part taken out."""


@dataclass(frozen=True)
class Run:
    """One method on one file by one schedule, as it was stored.

    Parameters
    ----------
    sale_id : ndarray of str, shape (n,)
        Tested sales.
    predictions : Predictions
        What was said of them.
    outside : ndarray of bool, shape (n,)
        Cars that our method says lie outside the evidence; all False for a peer.
    cost : Cost
        Seconds and peak memory.
    chosen : dict
        Settings a peer has chosen.
    """

    sale_id: NDArray[np.str_]
    predictions: Predictions
    outside: NDArray[np.bool_]
    cost: Cost
    chosen: Chosen


def run_one(method: str, folder: Path, file: str, schedule: Schedule, target: Path) -> None:
    """Run one method and store what it said; the peak memory is that of this process.

    An undated list has no months: it is split once, so both schedules are the same run.
    """
    book = book_of(folder, file)
    frozen = target.with_name(target.name.replace("-month-", "-frozen-"))
    if not book.dated and frozen != target and frozen.with_suffix(".json").exists():
        for ending in (".npz", ".json"):
            content = frozen.with_suffix(ending).read_bytes()
            write_in_one_step(target.with_suffix(ending), content, what="run")
        return
    start = time.perf_counter()
    settings = {OURS: ModelSettings(), **ABLATIONS}.get(method)
    arrays, chosen = (
        _run_peer(PEERS[method](), book, schedule)
        if settings is None
        else (_run_ours(book, schedule, settings), {})
    )
    seconds = time.perf_counter() - start
    target.parent.mkdir(parents=True, exist_ok=True)
    np.savez(target.with_suffix(".npz"), allow_pickle=False, **arrays)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    told = {"seconds": round(seconds, 2), "peak_mb": round(peak, 1), "chosen": dict(chosen)}
    content = json.dumps(told, indent=1, sort_keys=True).encode()
    write_in_one_step(target.with_suffix(".json"), content, what="run")


def _run_ours(
    book: SalesBook, schedule: Schedule, settings: ModelSettings
) -> dict[str, NDArray[np.generic]]:
    result = backtest(
        book,
        test_share=share_of(book),
        refit=REFIT[schedule],
        undated_seed=UNDATED_SEED,
        least_price=LEAST_PRICE,
        settings=settings,
    )
    p = result.predictions
    out = {
        "sale_id": p["sale_id"].to_numpy().astype(str),
        "price": p["price"].to_numpy(dtype=float),
        "central": p["central"].to_numpy(dtype=float),
        "outside": p["outside"].to_numpy(dtype=bool),
        "lower_80": p["lower"].to_numpy(dtype=float),
        "upper_80": p["upper"].to_numpy(dtype=float),
    }
    # Ranges of other levels, as soon as the backtest gives them.
    other = [c for c in p if c.startswith(("lower_", "upper_")) and c.partition("_")[2].isdigit()]
    return out | {c: p[c].to_numpy(dtype=float) for c in other}


def _run_peer(
    peer: Peer, book: SalesBook, schedule: Schedule
) -> tuple[dict[str, NDArray[np.generic]], Chosen]:
    data = data_of(book)
    plan = stretches(data, share_of(book), schedule)
    chosen = peer.choose(data.take(plan[0].known))
    said = [peer.forecast(data.take(s.known), chosen, data.table.take(s.priced)) for s in plan]
    rows = np.concatenate([s.priced for s in plan])
    frame = data.frame.iloc[rows]
    money = np.exp(np.concatenate(said))
    out = {
        "sale_id": frame["sale_id"].to_numpy().astype(str),
        "price": frame["price"].to_numpy(dtype=float),
    }
    if money.ndim == 1:
        return {**out, "central": money}, chosen
    return {**out, "lower_80": money[:, 0], "upper_80": money[:, 1]}, chosen


def stored(target: Path) -> Run:
    """Read what a run has stored."""
    told: Mapping[str, Any] = json.loads(target.with_suffix(".json").read_text())
    with np.load(target.with_suffix(".npz"), allow_pickle=False) as saved:
        a = {k: saved[k] for k in saved.files}
    n = len(a["sale_id"])
    levels = [int(k.partition("_")[2]) for k in a if k.startswith("lower_")]
    ranges = {q: (a[f"lower_{q}"], a[f"upper_{q}"]) for q in levels}
    return Run(
        a["sale_id"],
        Predictions(a["price"], a.get("central", np.full(n, np.nan)), ranges),
        a.get("outside", np.zeros(n, dtype=bool)),
        Cost(float(told["seconds"]), float(told["peak_mb"])),
        dict(told["chosen"]),
    )

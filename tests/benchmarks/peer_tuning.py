"""Tuning on the walk-forward last part of the known sales; nothing of the test is seen."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from accuracy_splits import held_out
from numpy.typing import NDArray
from peer_features import with_words

from valuation.appraisal.data import MarketData

__all__ = [
    "Chosen",
    "Part",
    "absolute",
    "best_of",
    "paced",
    "parts_of",
    "split_of",
    "trees_for_all",
]

Floats = NDArray[np.float64]

Chosen = Mapping[str, Any]
"""Settings a peer has chosen; plain values, so that they can be written down."""

SMALL = 10_000
"""Lists up to this length are tuned on three stretches, longer ones on one."""


@dataclass(frozen=True)
class Part:
    """One stretch to tune on.

    Parameters
    ----------
    train, test : pandas.DataFrame
        Columns of the sales before it and in it.
    y, truth : ndarray
        Their log prices.
    """

    train: pd.DataFrame
    y: Floats
    test: pd.DataFrame
    truth: Floats


def parts_of(known: MarketData) -> list[Part]:
    """Return the stretches to tune on, with columns learned from what is before each."""
    parts, share = (3, 0.3) if len(known) <= SMALL else (1, 0.2)
    return list(_parts(known, parts, share))


def paced(candidates: Sequence[Chosen], n: int, slow: float, fast: float) -> list[Chosen]:
    """Give candidates a learning rate: small lists are learned slowly, long ones in fair time."""
    return [{**c, "learning_rate": slow if n <= SMALL else fast} for c in candidates]


def split_of(known: MarketData) -> tuple[MarketData, MarketData]:
    """Return the known sales in two: the last fifth, and what is known before it."""
    (only,) = held_out(known, 1, 0.2)
    return known.take(only.known), known.take(only.priced)


def _parts(known: MarketData, parts: int, share: float) -> Iterator[Part]:
    for s in held_out(known, parts, share):
        before, after = known.take(s.known), known.take(s.priced)
        train, test = with_words(before, after.table)
        yield Part(train, before.log_price, test, after.log_price)


def absolute(error: Floats) -> float:
    """Return the mean absolute error."""
    return float(np.mean(np.abs(error)))


def best_of(
    candidates: Sequence[Chosen],
    parts: Sequence[Part],
    run: Callable[[Chosen, Part], tuple[Floats, int]],
    loss: Callable[[Floats], float] = absolute,
) -> Chosen:
    """Return the candidate with the least loss over all stretches, with its number of trees.

    Parameters
    ----------
    candidates : sequence of mapping
        Settings to try.
    parts : sequence of Part
        Stretches.
    run : callable
        Forecast minus truth of a candidate on a stretch, and the trees it stopped at.
    loss : callable
        Loss of all errors together.
    """
    best, least = candidates[0], np.inf
    for settings in candidates:
        ran = [run(settings, p) for p in parts]
        value = loss(np.concatenate([errors for errors, _ in ran]))
        if value < least:
            trees = trees_for_all([t for _, t in ran], [len(p.y) for p in parts], parts)
            best, least = {**settings, "trees": trees}, value
    return best


def trees_for_all(trees: Sequence[int], sizes: Sequence[int], parts: Sequence[Part]) -> int:
    """Return the trees for a fit to all known sales: more sales carry a few more trees."""
    whole = max(len(p.y) + len(p.truth) for p in parts)
    return max(round(float(np.mean([t * whole / n for t, n in zip(trees, sizes, strict=True)]))), 1)

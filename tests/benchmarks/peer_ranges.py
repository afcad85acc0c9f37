"""80 % ranges of the peers: quantile boosting, corrected conformally.

Two fits forecast the 10 and the 90 % quantile of the log price.  Both miss on new sales, so the
range is widened (or narrowed) by one amount that would have made it hold on sales set apart
(Romano, Patterson and Candès 2019, conformalised quantile regression).  Set apart are either the
latest known sales, forecast walking forward, after which the quantiles are fitted to all known
sales; or a random quarter, which is the textbook's way and leaves the fits three quarters.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from accuracy_splits import Stretch, folds_by_chassis, held_out
from numpy.typing import NDArray
from peer_features import with_words
from peer_libraries import Cat, Library, Light
from peer_tuning import Chosen, Part, paced, parts_of, trees_for_all

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable

__all__ = [
    "ForwardRanges",
    "SplitRanges",
    "conformal_correction",
    "conformal_scores",
    "pinball",
    "ranges_a_forward",
    "ranges_a_split",
    "ranges_b_forward",
]

Floats = NDArray[np.float64]

LEVEL = 0.8
TAILS = (0.1, 0.9)
LIGHT = (
    {"num_leaves": 15, "min_child_samples": 20, "cat_smooth": 1.0},
    {"num_leaves": 31, "min_child_samples": 10, "cat_smooth": 1.0},
    {"num_leaves": 31, "min_child_samples": 20, "cat_smooth": 10.0},
    {"num_leaves": 63, "min_child_samples": 20, "cat_smooth": 1.0},
)
CAT = (
    {"depth": 6, "max_ctr_complexity": 1},
    {"depth": 8, "max_ctr_complexity": 1},
)


def conformal_scores(y: Floats, low: Floats, high: Floats) -> Floats:
    """Return how far each value lies outside its range, negative inside, shape (n,)."""
    return np.maximum(low - y, y - high)


def conformal_correction(scores: Floats, level: float) -> float:
    """Return what must be added at both ends so that ranges hold at a level.

    The ⌈(n + 1)·level⌉-th smallest score; the largest if there are too few for the level.
    """
    n = len(scores)
    rank = min(math.ceil((n + 1) * level), n)
    return float(np.sort(scores)[rank - 1])


def pinball(error: Floats, tail: float) -> float:
    """Return the mean quantile loss of truth minus forecast."""
    return float(np.mean(np.maximum(tail * error, (tail - 1.0) * error)))


@dataclass(frozen=True)
class Quantiles:
    """Fits of both quantiles.

    Parameters
    ----------
    library : Library
        Where the trees come from.
    candidates : sequence of mapping
        Settings to try.
    """

    library: Library
    candidates: Sequence[Chosen]

    def choose(self, known: MarketData) -> Chosen:
        """Return the settings with the least quantile loss on the last known sales."""
        parts = parts_of(known)
        best: Chosen = {}
        least = np.inf
        for settings in paced(self.candidates, len(known), *self.library.rates):
            ran = {tail: [self._stop(settings, p, tail) for p in parts] for tail in TAILS}
            loss = sum(value for runs in ran.values() for value, _ in runs)
            if loss < least:
                sizes = [len(p.y) for p in parts]
                trees = {
                    f"trees at {tail:.0%}": trees_for_all([t for _, t in runs], sizes, parts)
                    for tail, runs in ran.items()
                }
                best, least = {**settings, **trees}, loss
        return best

    def _stop(self, settings: Chosen, part: Part, tail: float) -> tuple[float, int]:
        said, trees = self.library.stop({**settings, **self.library.quantile(tail)}, part)
        return pinball(part.truth - said, tail) * len(said), trees

    def bounds(
        self, chosen: Chosen, train: pd.DataFrame, y: Floats, test: pd.DataFrame
    ) -> tuple[Floats, Floats]:
        """Return forecasts of both quantiles, the lower never above the upper."""
        kept = {k: v for k, v in chosen.items() if not k.startswith("trees")}
        found = []
        for tail in TAILS:
            settings = {**kept, **self.library.quantile(tail)}
            model = self.library.fit(settings, chosen[f"trees at {tail:.0%}"], 0, (train, y))
            found.append(self.library.predict(model, test))
        return np.minimum(*found), np.maximum(*found)


class ForwardRanges(Quantiles):
    """Corrected on the last 30 % of known sales, forecast walking forward; fitted to all."""

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return lower and upper log prices, shape (n, 2)."""
        scores = [self._scores(known, chosen, s) for s in held_out(known, 3, 0.3)]
        more = conformal_correction(np.concatenate(scores), LEVEL)
        train, test = with_words(known, table)
        low, high = self.bounds(chosen, train, known.log_price, test)
        return _ordered(low - more, high + more)

    def _scores(self, known: MarketData, chosen: Chosen, apart: Stretch) -> Floats:
        before, after = known.take(apart.known), known.take(apart.priced)
        train, test = with_words(before, after.table)
        low, high = self.bounds(chosen, train, before.log_price, test)
        return conformal_scores(after.log_price, low, high)


class SplitRanges(Quantiles):
    """Corrected on a random quarter of the known sales, fitted to the other three."""

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return lower and upper log prices, shape (n, 2)."""
        fold = folds_by_chassis(known, 4, seed=1)
        fitted, apart = known.take(fold != 0), known.take(fold == 0)
        train, own = with_words(fitted, apart.table)
        test = with_words(fitted, table)[1]
        low, high = self.bounds(chosen, train, fitted.log_price, pd.concat([own, test]))
        n = len(apart)
        scores = conformal_scores(apart.log_price, low[:n], high[:n])
        more = conformal_correction(scores, LEVEL)
        return _ordered(low[n:] - more, high[n:] + more)


def _ordered(low: Floats, high: Floats) -> Floats:
    """Return both bounds as columns; a correction may not turn a range inside out."""
    middle = (low + high) / 2
    return np.column_stack([np.minimum(low, middle), np.maximum(high, middle)])


def ranges_a_forward() -> ForwardRanges:
    """Return ranges of library A, corrected walking forward."""
    return ForwardRanges(Light(), LIGHT)


def ranges_a_split() -> SplitRanges:
    """Return ranges of library A, corrected on a random quarter."""
    return SplitRanges(Light(), LIGHT)


def ranges_b_forward() -> ForwardRanges:
    """Return ranges of library B, corrected walking forward."""
    return ForwardRanges(Cat(), CAT)

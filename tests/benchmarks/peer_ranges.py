"""80 % ranges of the peers: quantile boosting, corrected conformally.

Two fits forecast the 10 and the 90 % quantile of the log price.  Both miss on new sales, so the
range is widened (or narrowed) by one amount that would have made it hold on sales set apart
(Romano, Patterson and Candès 2019, conformalised quantile regression).  Set apart are either the
latest known sales, forecast walking forward, after which the quantiles are fitted to all known
sales; or a random quarter, which is the textbook's way and leaves the fits three quarters.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
from accuracy_splits import Stretch, folds_by_chassis, held_out
from numpy.typing import NDArray
from peer_boosted import LIGHT_RATES, MOST_TREES, light_model
from peer_features import with_words
from peer_tuning import Chosen, Part, paced, parts_of, trees_for_all

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable

__all__ = ["ForwardRanges", "SplitRanges", "conformal_correction", "conformal_scores", "pinball"]

Floats = NDArray[np.float64]

LEVEL = 0.8
TAILS = (0.1, 0.9)
QUANTILE = (
    {"num_leaves": 15, "min_child_samples": 20, "cat_smooth": 1.0},
    {"num_leaves": 31, "min_child_samples": 10, "cat_smooth": 1.0},
    {"num_leaves": 31, "min_child_samples": 20, "cat_smooth": 10.0},
    {"num_leaves": 63, "min_child_samples": 20, "cat_smooth": 1.0},
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


def _settings(chosen: Chosen, tail: float) -> dict[str, Any]:
    kept = {k: v for k, v in chosen.items() if not k.startswith("trees")}
    return {**kept, "objective": "quantile", "alpha": tail}


def _stop_early(chosen: Chosen, part: Part, tail: float) -> tuple[float, int]:
    import lightgbm

    model = light_model(_settings(chosen, tail), MOST_TREES)
    model.fit(
        part.train,
        part.y,
        eval_X=part.test,
        eval_y=part.truth,
        eval_metric="quantile",
        callbacks=[lightgbm.early_stopping(100, verbose=False)],
    )
    loss = pinball(part.truth - np.asarray(model.predict(part.test)), tail)
    return loss * len(part.truth), int(model.best_iteration_)


def _choose(known: MarketData) -> Chosen:
    """Return the settings with the least quantile loss on the last known sales."""
    parts = parts_of(known)
    best: Chosen = {}
    least = np.inf
    for settings in paced(QUANTILE, len(known), *LIGHT_RATES):
        ran = {tail: [_stop_early(settings, p, tail) for p in parts] for tail in TAILS}
        loss = sum(value for runs in ran.values() for value, _ in runs)
        if loss < least:
            trees = {
                f"trees at {tail:.0%}": trees_for_all(
                    [t for _, t in runs], [len(p.y) for p in parts], parts
                )
                for tail, runs in ran.items()
            }
            best, least = {**settings, **trees}, loss
    return best


def _quantiles(
    chosen: Chosen, train: pd.DataFrame, y: Floats, test: pd.DataFrame
) -> tuple[Floats, Floats]:
    """Return forecasts of both quantiles, the lower never above the upper."""
    found = []
    for tail in TAILS:
        model = light_model(_settings(chosen, tail), chosen[f"trees at {tail:.0%}"])
        found.append(np.asarray(model.fit(train, y).predict(test)))
    return np.minimum(*found), np.maximum(*found)


def _scores(known: MarketData, chosen: Chosen, apart: Stretch) -> Floats:
    before, after = known.take(apart.known), known.take(apart.priced)
    train, test = with_words(before, after.table)
    low, high = _quantiles(chosen, train, before.log_price, test)
    return conformal_scores(after.log_price, low, high)


class ForwardRanges:
    """Corrected on the last 30 % of known sales, forecast walking forward; fitted to all."""

    choose = staticmethod(_choose)

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return lower and upper log prices, shape (n, 2)."""
        scores = [_scores(known, chosen, s) for s in held_out(known, 3, 0.3)]
        more = conformal_correction(np.concatenate(scores), LEVEL)
        train, test = with_words(known, table)
        low, high = _quantiles(chosen, train, known.log_price, test)
        return _ordered(low - more, high + more)


class SplitRanges:
    """Corrected on a random quarter of the known sales, fitted to the other three."""

    choose = staticmethod(_choose)

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return lower and upper log prices, shape (n, 2)."""
        fold = folds_by_chassis(known, 4, seed=1)
        fitted, apart = known.take(fold != 0), known.take(fold == 0)
        train, own = with_words(fitted, apart.table)
        test = with_words(fitted, table)[1]
        low, high = _quantiles(chosen, train, fitted.log_price, pd.concat([own, test]))
        n = len(apart)
        scores = conformal_scores(apart.log_price, low[:n], high[:n])
        more = conformal_correction(scores, LEVEL)
        return _ordered(low[n:] - more, high[n:] + more)


def _ordered(low: Floats, high: Floats) -> Floats:
    """Return both bounds as columns; a correction may not turn a range inside out."""
    middle = (low + high) / 2
    return np.column_stack([np.minimum(low, middle), np.maximum(high, middle)])

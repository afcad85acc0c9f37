"""Peer C: an explainable boosting machine, sums of curves and of surfaces of two columns."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pandas as pd
from accuracy_splits import folds_by_chassis
from numpy.typing import NDArray
from peer_features import with_words
from peer_libraries import as_text
from peer_tuning import Chosen, absolute, split_of

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable

__all__ = ["Explainable", "level_means"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MANY = 40
"""A category with more levels goes in as the mean log price of its level, cross-fitted."""

BALLAST = 2.0
TRIES = (
    {"interactions": 20, "learning_rate": 0.04},
    {"interactions": 40, "learning_rate": 0.1},
    {"interactions": 60, "learning_rate": 0.1},
)


def level_means(codes: Ints, y: Floats, wanted: Ints) -> Floats:
    """Return the mean of `y` in each wanted level, drawn towards the mean of all (-1: no level)."""
    size = max(int(codes.max(initial=-1)), int(wanted.max(initial=-1))) + 2
    mean = float(y.mean())
    sums = np.bincount(codes + 1, y - mean, size)
    counts = np.bincount(codes + 1, minlength=size)
    return np.asarray((mean + sums / (counts + BALLAST))[wanted + 1])


def _columns(known: MarketData, table: FeatureTable) -> tuple[pd.DataFrame, pd.DataFrame]:
    train, test = with_words(known, table)
    y, fold = known.log_price, folds_by_chassis(known, 5, seed=0)
    for c in [c for c in train if isinstance(train[c].dtype, pd.CategoricalDtype)]:
        if len(train[c].cat.categories) <= MANY:
            continue
        codes, wanted = (f[c].cat.codes.to_numpy().astype(np.intp) for f in (train, test))
        own = np.empty(len(y))
        for k in np.unique(fold):
            own[fold == k] = level_means(codes[fold != k], y[fold != k], codes[fold == k])
        train[c], test[c] = own, level_means(codes, y, wanted)
    return train, test


class Explainable:
    """Explainable boosting machine."""

    def choose(self, known: MarketData) -> Chosen:
        """Return the settings with the least absolute error on the last known sales."""
        before, after = split_of(known)
        train, test = _columns(before, after.table)

        def loss(settings: Chosen) -> float:
            return absolute(_run(settings, train, before.log_price, test) - after.log_price)

        return min(TRIES, key=loss)

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return forecast log prices, shape (n,)."""
        train, test = _columns(known, table)
        return _run(chosen, train, known.log_price, test)


def _run(settings: Chosen, train: pd.DataFrame, y: Floats, test: pd.DataFrame) -> Floats:
    from interpret.glassbox import ExplainableBoostingRegressor

    shown, names = as_text(train)
    options: dict[str, Any] = {**settings}
    model = ExplainableBoostingRegressor(
        feature_types=["nominal" if c in names else "continuous" for c in train],
        outer_bags=6,
        max_bins=256,
        max_interaction_bins=32,
        max_leaves=3,
        smoothing_rounds=75,
        n_jobs=1,
        random_state=0,
        **options,
    )
    with warnings.catch_warnings():
        # Only its charts don't show what is missing; the fit does.
        warnings.filterwarnings("ignore", message="Missing values detected")
        model.fit(shown, y)
    return np.asarray(model.predict(as_text(test)[0]))

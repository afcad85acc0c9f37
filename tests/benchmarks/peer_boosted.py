"""Peers A and B: boosted trees of two libraries, both with their native categories."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from peer_features import with_words
from peer_tuning import Chosen, Part, best_of, paced, parts_of

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable

__all__ = ["LIGHT_RATES", "MOST_TREES", "BoostedA", "BoostedB", "as_text", "light_model"]

Floats = NDArray[np.float64]

MOST_TREES = 4000
LIGHT_RATES, CAT_RATES = (0.03, 0.06), (0.05, 0.12)
"""Learning rates for small and for long lists."""

SEEDS = (0, 1, 2)
"""The forecast is the mean of so many fits, as single fits wobble."""

LIGHT = (
    {"objective": "l1", "num_leaves": 15, "min_child_samples": 20, "cat_smooth": 1.0},
    {"objective": "l1", "num_leaves": 31, "min_child_samples": 10, "cat_smooth": 1.0},
    {"objective": "l1", "num_leaves": 31, "min_child_samples": 20, "cat_smooth": 10.0},
    {"objective": "l1", "num_leaves": 63, "min_child_samples": 10, "cat_smooth": 1.0},
    {"objective": "l1", "num_leaves": 63, "min_child_samples": 20, "cat_smooth": 10.0},
    {"objective": "l1", "num_leaves": 127, "min_child_samples": 20, "cat_smooth": 1.0},
    {
        "objective": "l1",
        "num_leaves": 31,
        "min_child_samples": 10,
        "cat_smooth": 10.0,
        "extra_trees": True,
    },
    {"objective": "l2", "num_leaves": 31, "min_child_samples": 10, "cat_smooth": 10.0},
)

CAT = (
    {"loss_function": "MAE", "depth": 6, "max_ctr_complexity": 1},
    {"loss_function": "MAE", "depth": 8, "max_ctr_complexity": 1},
    {"loss_function": "RMSE", "depth": 6, "max_ctr_complexity": 2},
    {"loss_function": "RMSE", "depth": 8, "max_ctr_complexity": 1},
    {"loss_function": "RMSE", "depth": 8, "max_ctr_complexity": 1, "rsm": 0.6},
    {"loss_function": "RMSE", "depth": 10, "max_ctr_complexity": 1, "rsm": 0.6},
)


def light_model(settings: Chosen, trees: int, seed: int = 0) -> Any:
    """Return an unfitted boosted model of the first library."""
    import lightgbm

    return lightgbm.LGBMRegressor(
        n_estimators=trees,
        subsample=0.8,
        subsample_freq=1,
        colsample_bytree=0.6,
        reg_lambda=1.0,
        min_data_per_group=20,
        random_state=seed,
        n_jobs=1,
        deterministic=True,
        force_col_wise=True,
        verbose=-1,
        **{k: v for k, v in settings.items() if k != "trees"},
    )


def stop_early(settings: Chosen, part: Part, metric: str) -> tuple[Floats, int]:
    """Fit on a stretch until its loss no longer falls; return forecasts and trees."""
    import lightgbm

    model = light_model(settings, MOST_TREES)
    model.fit(
        part.train,
        part.y,
        eval_X=part.test,
        eval_y=part.truth,
        eval_metric=metric,
        callbacks=[lightgbm.early_stopping(100, verbose=False)],
    )
    return np.asarray(model.predict(part.test)), int(model.best_iteration_)


class BoostedA:
    """Boosted trees, library A."""

    def choose(self, known: MarketData) -> Chosen:
        """Return the settings with the least absolute error on the last known sales."""

        def run(settings: Chosen, part: Part) -> tuple[Floats, int]:
            forecast, trees = stop_early(settings, part, "l1")
            return forecast - part.truth, trees

        return best_of(paced(LIGHT, len(known), *LIGHT_RATES), parts_of(known), run)

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return forecast log prices, shape (n,)."""
        train, test = with_words(known, table)

        def one(seed: int) -> Floats:
            model = light_model(chosen, chosen["trees"], seed)
            return np.asarray(model.fit(train, known.log_price).predict(test))

        return _mean_of(one)


class BoostedB:
    """Boosted trees, library B."""

    def choose(self, known: MarketData) -> Chosen:
        """Return the settings with the least absolute error on the last known sales."""

        def run(settings: Chosen, part: Part) -> tuple[Floats, int]:
            model = _cat_model(settings, MOST_TREES, 0)
            train, test, names = _cat_columns(part.train, part.test)
            model.fit(
                train,
                part.y,
                cat_features=names,
                eval_set=(test, part.truth),
                early_stopping_rounds=100,
                use_best_model=True,
            )
            return np.asarray(model.predict(test)) - part.truth, int(model.tree_count_)

        return best_of(paced(CAT, len(known), *CAT_RATES), parts_of(known), run)

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return forecast log prices, shape (n,)."""
        train, test, names = _cat_columns(*with_words(known, table))

        def one(seed: int) -> Floats:
            model = _cat_model(chosen, chosen["trees"], seed)
            return np.asarray(model.fit(train, known.log_price, cat_features=names).predict(test))

        return _mean_of(one)


def _mean_of(one: Callable[[int], Floats]) -> Floats:
    return np.asarray(np.mean([one(seed) for seed in SEEDS], axis=0))


def _cat_model(settings: Chosen, trees: int, seed: int) -> Any:
    from catboost import CatBoostRegressor

    return CatBoostRegressor(
        iterations=trees,
        eval_metric="MAE",
        random_seed=seed,
        thread_count=1,
        verbose=False,
        allow_writing_files=False,
        **{k: v for k, v in settings.items() if k != "trees"},
    )


def as_text(frame: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Return a frame with categories as words, and their names."""
    names = [c for c in frame if isinstance(frame[c].dtype, pd.CategoricalDtype)]
    out = frame.copy()
    for c in names:
        out[c] = frame[c].astype(object).where(frame[c].notna(), "not stated").astype(str)
    return out, names


def _cat_columns(
    train: pd.DataFrame, test: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame, list[str]]:
    shown, names = as_text(train)
    return shown, as_text(test)[0], names

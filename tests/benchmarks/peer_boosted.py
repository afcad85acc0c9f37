"""Peers A and B: boosted trees of two libraries."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from peer_features import with_words
from peer_libraries import Cat, Library, Light
from peer_tuning import Chosen, Part, best_of, paced, parts_of

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable

__all__ = ["Boosted", "boosted_a", "boosted_b"]

Floats = NDArray[np.float64]

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


@dataclass(frozen=True)
class Boosted:
    """Boosted trees: settings from a small grid, trees by early stopping, the mean of fits.

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
        """Return the settings with the least absolute error on the last known sales."""

        def run(settings: Chosen, part: Part) -> tuple[Floats, int]:
            forecast, trees = self.library.stop(settings, part)
            return forecast - part.truth, trees

        tries = paced(self.candidates, len(known), *self.library.rates)
        return best_of(tries, parts_of(known), run)

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return forecast log prices, shape (n,)."""
        train, test = with_words(known, table)
        settings = {k: v for k, v in chosen.items() if k != "trees"}
        said = []
        for seed in SEEDS:
            part = (train, known.log_price)
            model = self.library.fit(settings, chosen["trees"], seed, part)
            said.append(self.library.predict(model, test))
        return np.asarray(np.mean(said, axis=0))


def boosted_a() -> Boosted:
    """Return peer A."""
    return Boosted(Light(), LIGHT)


def boosted_b() -> Boosted:
    """Return peer B."""
    return Boosted(Cat(), CAT)

"""Two libraries of boosted trees behind one face; each is loaded when it is first used."""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from peer_tuning import Chosen, Part

__all__ = ["MOST_TREES", "Cat", "Library", "Light", "as_text"]

Floats = NDArray[np.float64]

MOST_TREES = 4000
PATIENCE = 100
"""Trees without gain after which a fit stops."""


class Library(Protocol):
    """What a peer needs of a library."""

    rates: tuple[float, float]
    """Learning rates for small and for long lists."""

    def fit(
        self, settings: Chosen, trees: int, seed: int, part: tuple[pd.DataFrame, Floats]
    ) -> Any:
        """Return a model that predicts, fitted to columns and log prices."""
        ...

    def stop(self, settings: Chosen, part: Part) -> tuple[Floats, int]:
        """Fit on a stretch until its loss no longer falls; return forecasts and trees."""
        ...

    def predict(self, model: Any, frame: pd.DataFrame) -> Floats:
        """Return forecasts of a fitted model."""
        ...

    def quantile(self, tail: float) -> dict[str, Any]:
        """Return the settings that make a fit forecast a quantile."""
        ...


class Light:
    """The first library, with its native categories."""

    rates = (0.03, 0.06)

    def fit(
        self, settings: Chosen, trees: int, seed: int, part: tuple[pd.DataFrame, Floats]
    ) -> Any:
        """Return a fitted model."""
        return self._model(settings, trees, seed).fit(*part)

    def stop(self, settings: Chosen, part: Part) -> tuple[Floats, int]:
        """Return forecasts and the number of trees at which the loss was least."""
        import lightgbm

        model = self._model(settings, MOST_TREES, 0)
        model.fit(
            part.train,
            part.y,
            eval_X=part.test,
            eval_y=part.truth,
            eval_metric="quantile" if settings["objective"] == "quantile" else "l1",
            callbacks=[lightgbm.early_stopping(PATIENCE, verbose=False)],
        )
        return self.predict(model, part.test), int(model.best_iteration_)

    def predict(self, model: Any, frame: pd.DataFrame) -> Floats:
        """Return forecasts."""
        return np.asarray(model.predict(frame))

    def quantile(self, tail: float) -> dict[str, Any]:
        """Return the settings of a quantile."""
        return {"objective": "quantile", "alpha": tail}

    @staticmethod
    def _model(settings: Chosen, trees: int, seed: int) -> Any:
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
            **settings,
        )


class Cat:
    """The second library, with its native categories as words."""

    rates = (0.05, 0.12)

    def fit(
        self, settings: Chosen, trees: int, seed: int, part: tuple[pd.DataFrame, Floats]
    ) -> Any:
        """Return a fitted model."""
        train, names = as_text(part[0])
        return self._model(settings, trees, seed).fit(train, part[1], cat_features=names)

    def stop(self, settings: Chosen, part: Part) -> tuple[Floats, int]:
        """Return forecasts and the number of trees at which the loss was least."""
        model = self._model(settings, MOST_TREES, 0)
        train, names = as_text(part.train)
        model.fit(
            train,
            part.y,
            cat_features=names,
            eval_set=(as_text(part.test)[0], part.truth),
            early_stopping_rounds=PATIENCE,
            use_best_model=True,
        )
        return self.predict(model, part.test), int(model.tree_count_)

    def predict(self, model: Any, frame: pd.DataFrame) -> Floats:
        """Return forecasts."""
        return np.asarray(model.predict(as_text(frame)[0]))

    def quantile(self, tail: float) -> dict[str, Any]:
        """Return the settings of a quantile."""
        loss = f"Quantile:alpha={tail}"
        return {"loss_function": loss, "eval_metric": loss}

    @staticmethod
    def _model(settings: Chosen, trees: int, seed: int) -> Any:
        from catboost import CatBoostRegressor

        return CatBoostRegressor(
            **{"eval_metric": "MAE", **settings},
            iterations=trees,
            random_seed=seed,
            thread_count=1,
            verbose=False,
            allow_writing_files=False,
        )


def as_text(frame: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Return a frame with categories as words, and their names."""
    names = [c for c in frame if isinstance(frame[c].dtype, pd.CategoricalDtype)]
    out = frame.copy()
    for c in names:
        out[c] = frame[c].astype(object).where(frame[c].notna(), "not stated").astype(str)
    return out, names

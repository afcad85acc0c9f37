"""Peers D and E: plain regression and plain nearest neighbours."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from peer_features import POWERS, Scale, columns
from peer_tuning import Chosen, absolute, split_of
from scipy import sparse
from sklearn import config_context
from sklearn.linear_model import Ridge
from sklearn.neighbors import NearestNeighbors

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable

__all__ = ["Neighbours", "PlainRegression", "neighbour_means"]

Floats = NDArray[np.float64]
Matrix = sparse.csr_array

PENALTIES = (0.03, 0.1, 0.3, 1.0, 3.0, 10.0)
COUNTS = (2, 3, 5, 8, 12, 20)
IDENTITY_WEIGHTS = (0.5, 1.0, 2.0, 4.0)
IDENTITY = ("make", "model", "line", "variant")


def _one_hot(
    train: pd.DataFrame, test: pd.DataFrame, names: Sequence[str]
) -> tuple[Matrix, Matrix]:
    def shown(frame: pd.DataFrame) -> Matrix:
        blocks = []
        for c in names:
            code = frame[c].cat.codes.to_numpy()
            rows = np.flatnonzero(code >= 0)
            shape = (len(frame), len(train[c].cat.categories))
            blocks.append(sparse.csr_array((np.ones(len(rows)), (rows, code[rows])), shape=shape))
        return sparse.csr_array(sparse.hstack(blocks)) if blocks else Matrix((len(frame), 0))

    return shown(train), shown(test)


def _categories(frame: pd.DataFrame) -> list[str]:
    return [c for c in frame if isinstance(frame[c].dtype, pd.CategoricalDtype)]


class PlainRegression:
    """Ridge regression on one-hot categories and polynomials of the numbers."""

    def choose(self, known: MarketData) -> Chosen:
        """Return the penalty with the least absolute error on the last known sales."""
        before, after = split_of(known)

        def loss(penalty: float) -> float:
            said = self._run({"penalty": penalty}, before, after.table)
            return absolute(said - after.log_price)

        return {"penalty": min(PENALTIES, key=loss)}

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return forecast log prices, shape (n,)."""
        return self._run(chosen, known, table)

    @staticmethod
    def _run(chosen: Chosen, known: MarketData, table: FeatureTable) -> Floats:
        train, test = columns(known.table, known.table), columns(known.table, table)
        scale = Scale.learn(known.table)
        number, wanted = (scale.shown(t, POWERS) for t in (known.table, table))
        level, found = _one_hot(train, test, _categories(train))
        X, Z = (sparse.csr_array(sparse.hstack(p)) for p in ((level, number), (found, wanted)))
        model = Ridge(alpha=chosen["penalty"], solver="sparse_cg", tol=1e-7, max_iter=5000)
        return np.asarray(model.fit(X, known.log_price).predict(Z))


class Neighbours:
    """The mean log price of the nearest sales, weighted by inverse distance."""

    def choose(self, known: MarketData) -> Chosen:
        """Return count and weight of the identity with the least error on the last known sales."""
        before, after = split_of(known)
        losses: dict[tuple[int, float], float] = {}
        for weight in IDENTITY_WEIGHTS:
            X, Z = _placed(before, after.table, weight)
            for count, said in neighbour_means(X, before.log_price, Z, COUNTS).items():
                losses[count, weight] = absolute(said - after.log_price)
        count, weight = min(losses, key=losses.__getitem__)
        return {"count": count, "identity": weight}

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return forecast log prices, shape (n,)."""
        X, Z = _placed(known, table, chosen["identity"])
        return neighbour_means(X, known.log_price, Z, (chosen["count"],))[chosen["count"]]


def _placed(known: MarketData, table: FeatureTable, weight: float) -> tuple[Matrix, Matrix]:
    """Return known sales and cars as points: standardised numbers, identity one-hot."""
    train, test = columns(known.table, known.table), columns(known.table, table)
    scale = Scale.learn(known.table)
    pairs = zip(
        _one_hot(train, test, [c for c in IDENTITY if c in train]),
        (scale.shown(t, (1,)) for t in (known.table, table)),
        strict=True,
    )
    X, Z = (sparse.csr_array(sparse.hstack([weight * a, b])) for a, b in pairs)
    return X, Z


def neighbour_means(X: Matrix, y: Floats, Z: Matrix, counts: Sequence[int]) -> dict[int, Floats]:
    """Return for each count the mean of so many nearest rows' values, weighted by 1/distance."""
    most = min(max(counts), len(y))
    with config_context(working_memory=128):  # MB of distances held at once
        far, rows = NearestNeighbors(n_neighbors=most, n_jobs=1).fit(X).kneighbors(Z)
    weight = 1.0 / (far + 1e-3)
    found = {k: (weight[:, :k] * y[rows[:, :k]]).sum(1) / weight[:, :k].sum(1) for k in counts}
    return {k: np.asarray(v) for k, v in found.items()}

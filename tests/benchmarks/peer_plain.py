"""Peers D and E: plain regression and plain nearest neighbours."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from peer_features import POWERS, Scale, columns
from peer_tuning import Chosen, absolute, split_of
from scipy import sparse
from sklearn.linear_model import Ridge
from sklearn.neighbors import NearestNeighbors

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable

__all__ = ["Neighbours", "PlainRegression", "neighbour_means"]

Floats = NDArray[np.float64]
Matrix = sparse.csr_array
Forecast = Callable[[Chosen, MarketData, FeatureTable], Floats]

PENALTIES = (0.03, 0.1, 0.3, 1.0, 3.0, 10.0)
COUNTS = (2, 3, 5, 8, 12, 20)
IDENTITY_SCALES = (0.5, 1.0, 2.0, 4.0)
IDENTITY = ("make", "model", "line", "variant")


def _least(known: MarketData, tries: Sequence[Chosen], forecast: Forecast) -> Chosen:
    """Return the settings with the least absolute error on the last known sales."""
    before, after = split_of(known)

    def loss(settings: Chosen) -> float:
        return absolute(forecast(settings, before, after.table) - after.log_price)

    return min(tries, key=loss)


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
        return _least(known, [{"penalty": p} for p in PENALTIES], self._run)

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
    """The mean log price of the nearest sales, weighted by distance."""

    def choose(self, known: MarketData) -> Chosen:
        """Return count and weight of the identity with the least error on the last known sales."""
        tries = [{"count": k, "identity": s} for s in IDENTITY_SCALES for k in COUNTS]
        return _least(known, tries, self._run)

    def forecast(self, known: MarketData, chosen: Chosen, table: FeatureTable) -> Floats:
        """Return forecast log prices, shape (n,)."""
        return self._run(chosen, known, table)

    @staticmethod
    def _run(chosen: Chosen, known: MarketData, table: FeatureTable) -> Floats:
        train, test = columns(known.table, known.table), columns(known.table, table)
        scale = Scale.learn(known.table)
        number, wanted = (scale.shown(t, (1,)) for t in (known.table, table))
        names = [c for c in IDENTITY if c in train]
        level, found = _one_hot(train, test, names)
        weight = chosen["identity"]
        X, Z = (
            sparse.csr_array(sparse.hstack([weight * a, b]))
            for a, b in ((level, number), (found, wanted))
        )
        return neighbour_means(X, known.log_price, Z, chosen["count"])


def neighbour_means(X: Matrix, y: Floats, Z: Matrix, count: int) -> Floats:
    """Return the mean of the nearest rows' values, weighted by inverse distance."""
    index = NearestNeighbors(n_neighbors=min(count, len(y)), n_jobs=1).fit(X)
    far, rows = index.kneighbors(Z)
    weight = 1.0 / (far + 1e-3)
    return np.asarray((weight * y[rows]).sum(1) / weight.sum(1))

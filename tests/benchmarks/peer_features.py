"""What the peers see: every stated column, and the words as one cross-fitted number.

The peers get what the package gets: numbers, categories and sets of the contract that are stated,
what a text states beside them, age at sale, the sale date as a number, model line, and the words of
title, engine and gearbox texts.  Trees can't use thousands of rare words, so a ridge regression on
words, alone and crossed with make and model line (numbers stand beside them), turns them into a
forecast of the log price.
In training each sale gets the forecast of a regression that saw neither it nor its chassis.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from accuracy_splits import folds_by_chassis
from numpy.typing import NDArray
from scipy import sparse
from sklearn.linear_model import Ridge

from valuation.appraisal.data import MarketData
from valuation.features.table import SALE_FACTORS, FeatureTable
from valuation.schema import ATTRIBUTES

__all__ = ["Scale", "WordRidge", "category_names", "columns", "cross_fitted", "with_words"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

BAGS = ("wording", "engine wording", "gearbox wording")
DAY = "day"
FOLDS = 5
LEAST = 2
PENALTIES = (0.5, 1.0, 2.0, 4.0)
POWERS = (1, 2, 3)
MISSING = "not stated"


def category_names(table: FeatureTable) -> list[str]:
    """Return the categories that tell sales apart; the outcome is known after the price only."""
    names = [a.name for a in ATTRIBUTES if a.kind == "category"]
    names += [*(s for s in SALE_FACTORS if s != "outcome"), "line"]
    return [n for n in names if len(np.unique(table.factors[n].codes)) > 1]


def columns(known: FeatureTable, table: FeatureTable) -> pd.DataFrame:
    """Return the stated columns of a table: numbers, and categories with the levels of `known`.

    Parameters
    ----------
    known : FeatureTable
        Sales that decide which columns and levels there are.
    table : FeatureTable
        Rows that are wanted.

    Returns
    -------
    pandas.DataFrame
        Numbers with NaN and categories with NaN for not stated, unseen or seen once.
    """
    out: dict[str, object] = {}
    for name, x in known.numbers.items():
        told = x[~np.isnan(x)]
        if len(np.unique(told)) > 1:
            out[name] = table.numbers[name]
    for name in category_names(known):
        out[name] = _category(known.factors[name].text(), table.factors[name].text())
    for name in (*(a.name for a in ATTRIBUTES if a.kind == "set"), "statements"):
        out |= _members(name, known, table)
    return pd.DataFrame(out)


def _category(known: Sequence[str], wanted: Sequence[str]) -> pd.Categorical:
    found, counts = np.unique(np.array(known, dtype=object).astype(str), return_counts=True)
    levels = [v for v, c in zip(found.tolist(), counts, strict=True) if v and c >= LEAST]
    kept = set(levels)
    return pd.Categorical([v if v in kept else None for v in wanted], categories=levels)


def _members(name: str, known: FeatureTable, table: FeatureTable) -> dict[str, Floats]:
    """Return an indicator of each word of a set, NaN where nothing is stated."""
    seen, bag = known.bags[name], table.bags[name]
    counts = np.bincount(seen.codes, minlength=len(seen.levels))
    out = {}
    for code in np.flatnonzero(counts >= LEAST):
        word = seen.levels[code]
        x = np.where(bag.stated, 0.0, np.nan)
        if word in bag.levels:
            x[bag.rows[bag.codes == bag.levels.index(word)]] = 1.0
        # One of the libraries takes no colons in the names of columns.
        out[re.sub(r"[^\w ]", "_", f"{name} {word}")] = x
    return out


def _tokens(table: FeatureTable) -> Iterator[tuple[Ints, list[str]]]:
    """Yield rows and names of indicators: make, line, words alone and crossed with both."""
    make = [f"make {v}" for v in table.factors["make"].text()]
    line = [f"line {v}" for v in table.factors["line"].text()]
    everyone = np.arange(table.n)
    yield everyone, make
    yield everyone, line
    for name in BAGS:
        bag = table.bags[name]
        words = [f"{name} {bag.levels[c]}" for c in bag.codes]
        yield bag.rows, words
        for group in (make, line):
            pairs = zip(bag.rows.tolist(), words, strict=True)
            yield bag.rows, [f"{group[i]} × {w}" for i, w in pairs]


@dataclass(frozen=True)
class Scale:
    """Centre and spread of the numbers, so that their powers can be taken.

    The sale date is left out: cars to be priced are sold later than any known one, where powers
    of the date run away.

    Parameters
    ----------
    names : tuple of str
        Numbers that differ between sales.
    centre, spread : ndarray, shape (n_names,)
        Mean and standard deviation of what is stated.
    """

    names: tuple[str, ...]
    centre: Floats
    spread: Floats

    @classmethod
    def learn(cls, table: FeatureTable) -> Scale:
        """Learn from sales."""
        told = {k: x[~np.isnan(x)] for k, x in table.numbers.items() if k != DAY}
        told = {k: _bent(k, x) for k, x in told.items() if len(np.unique(x)) > 1}
        centre = np.array([x.mean() for x in told.values()])
        return cls(tuple(told), centre, np.array([x.std() for x in told.values()]))

    def shown(self, table: FeatureTable, powers: Sequence[int]) -> Floats:
        """Return powers of the standardised numbers, and what is not stated as indicators."""
        x = np.column_stack([_bent(k, table.numbers[k]) for k in self.names])
        # Three spreads from the centre a polynomial says nothing any more.
        z = np.clip(np.nan_to_num((x - self.centre) / self.spread), -3.0, 3.0)
        return np.column_stack([*(z**p for p in powers), np.isnan(x)])


def _bent(name: str, x: Floats) -> Floats:
    """Return a number as it is, the mileage as its root: the first miles cost most."""
    return np.sqrt(np.maximum(x, 0.0)) if name == "mileage" else x


@dataclass(frozen=True)
class WordRidge:
    """Ridge regression of log prices on words, with the numbers beside them.

    Without the numbers a word would answer for the years and miles of the cars it stands on.

    Parameters
    ----------
    place : dict of str to int
        Column of each indicator.
    scale : Scale
        How numbers are shown.
    model : Ridge
        Fitted regression.
    """

    place: dict[str, int]
    scale: Scale
    model: Ridge

    @classmethod
    def fit(cls, table: FeatureTable, y: Floats, penalty: float) -> WordRidge:
        """Fit on sales; indicators that occur once are left out."""
        counts: dict[str, int] = {}
        for _, names in _tokens(table):
            for v in names:
                counts[v] = counts.get(v, 0) + 1
        place = {v: i for i, v in enumerate(sorted(v for v, c in counts.items() if c >= LEAST))}
        scale = Scale.learn(table)
        model = Ridge(alpha=penalty, solver="sparse_cg", tol=1e-6, max_iter=3000)
        return cls(place, scale, model.fit(_design(place, scale, table), y))

    def predict(self, table: FeatureTable) -> Floats:
        """Forecast the log prices of some cars."""
        return np.asarray(self.model.predict(_design(self.place, self.scale, table)))


def _design(place: dict[str, int], scale: Scale, table: FeatureTable) -> sparse.csr_array:
    rows, cols = [], []
    for at, names in _tokens(table):
        code = np.array([place.get(v, -1) for v in names], dtype=np.intp)
        rows.append(at[code >= 0])
        cols.append(code[code >= 0])
    r, c = np.concatenate(rows), np.concatenate(cols)
    words = sparse.csr_array((np.ones(len(r)), (r, c)), shape=(table.n, len(place)))
    return sparse.csr_array(sparse.hstack([words, scale.shown(table, POWERS)]))


def cross_fitted(table: FeatureTable, y: Floats, fold: Ints, penalty: float) -> Floats:
    """Forecast each sale from the sales of the other folds, shape (n,)."""
    out = np.empty(table.n)
    for k in np.unique(fold):
        others, own = np.flatnonzero(fold != k), np.flatnonzero(fold == k)
        out[own] = WordRidge.fit(table.take(others), y[others], penalty).predict(table.take(own))
    return out


def with_words(known: MarketData, table: FeatureTable) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return the columns of known sales and of cars to be priced, each with its word feature.

    The penalty is the one with the least squared error between folds of the known sales.
    """
    fold = folds_by_chassis(known, FOLDS, seed=0)
    tried = {p: cross_fitted(known.table, known.log_price, fold, p) for p in PENALTIES}
    best = min(tried, key=lambda p: float(np.mean((tried[p] - known.log_price) ** 2)))
    train, test = columns(known.table, known.table), columns(known.table, table)
    train["words"] = tried[best]
    test["words"] = WordRidge.fit(known.table, known.log_price, best).predict(table)
    return train, test

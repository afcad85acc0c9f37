"""Contrasts of one attribute that sales tell apart, and what a market makes of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from scipy import sparse

from valuation.appraisal.market import MarketModel
from valuation.appraisal.wordings import say
from valuation.features.columns import Factor
from valuation.features.table import FOLLOWED, FeatureTable
from valuation.running.threads import one_thread
from valuation.schema import ATTRIBUTES, BY_NAME
from valuation.study.change_causes import frame_table

__all__ = ["AttributeContrast", "attribute_contrasts", "contrast_effects", "sample_of"]

SAMPLE = 120
"""Sales over which the effect of a contrast is averaged."""

MOST_LEVELS = 8
"""Levels of a category, or words of a set, that are told apart; the most frequent."""

FEWEST = 10
"""Fewest sales that state a level for a contrast of its own."""

_IDENTITY = ("make", "model", "generation", "variant")
"""What makes a car the car it is; its price is that of segments, model lines and versions."""

_OF_SALE = ("channel", "venue", "region", "basis", "reserve")


@dataclass(frozen=True)
class AttributeContrast:
    """Two values of one attribute.

    Parameters
    ----------
    attribute : str
        Name in the contract.
    words : str
        What is compared with what, such as ``automatic against manual``.
    value, against : Any
        Both values; None or NaN is not stated.
    sales : int
        Sales that state the first value.
    known : int
        The same among the sales of an earlier market.
    """

    attribute: str
    words: str
    value: Any
    against: Any
    sales: int
    known: int


def sample_of(frame: pd.DataFrame) -> pd.DataFrame:
    """Return up to :data:`SAMPLE` sales of a frame, spread evenly over time."""
    return frame.iloc[np.unique(np.linspace(0, len(frame) - 1, SAMPLE).astype(int))]


def contrast_effects(
    market: MarketModel, sample: pd.DataFrame, contrasts: Sequence[AttributeContrast]
) -> list[tuple[float, float]]:
    """Return effect and standard deviation of each contrast, log units.

    Parameters
    ----------
    market : MarketModel
        Whose effects.
    sample : pandas.DataFrame
        Sales over which is averaged: all stated one way against all stated the other way.
    contrasts : sequence of AttributeContrast
        What is compared.
    """
    fitted, table = market.fitted, frame_table(sample, market)
    with one_thread():
        X = fitted.spec.transform(table).X
        means = [
            _columns(market, sample, table, X, c.attribute, v).mean(axis=0)
            for c in contrasts
            for v in (c.value, c.against)
        ]
        steps = (np.array(means[0::2]) - np.array(means[1::2])).T
        variance = np.einsum("ij,ij->j", steps, fitted.covariance_times(steps))
    sd = np.sqrt(np.maximum(variance, 0.0) * fitted.sigma**2 * fitted.inflation)
    return list(zip((steps.T @ fitted.coef).tolist(), sd.tolist(), strict=True))


def _columns(
    market: MarketModel,
    sample: pd.DataFrame,
    table: FeatureTable,
    X: sparse.csr_array,
    name: str,
    value: Any,
) -> sparse.csr_array:
    """Encode the sample with one attribute stated anew, the quick way where nothing follows."""
    spec, n = market.fitted.spec, len(sample)
    if name in FOLLOWED:
        number = BY_NAME[name].kind == "number"
        column = pd.Series([value] * n, index=sample.index, dtype="float64" if number else object)
        return spec.transform(frame_table(sample.assign(**{name: column}), market)).X
    same = np.zeros(n, dtype=np.intp)
    if name in BY_NAME:
        return spec.restated(X, table.stating(name, [value], same), name)
    factors = {**table.factors, name: Factor.of([value]).take(same)}
    return spec.restated(X, replace(table, factors=factors), name)


def attribute_contrasts(old: pd.DataFrame, new: pd.DataFrame) -> Iterator[AttributeContrast]:
    """Yield the contrasts that the newer of two frames of sales can tell.

    Parameters
    ----------
    old, new : pandas.DataFrame
        Sales of two markets; the same twice for one market.
    """
    for a in ATTRIBUTES:
        if a.name in _IDENTITY:
            continue
        if a.kind == "number":
            yield from _number(a.name, old, new)
        elif a.kind == "category":
            yield from _category(a.name, old, new, baseline=a.baseline)
        else:
            yield from _members(a.name, old, new)
    for name in _OF_SALE:
        # Where a dealer has no reserve and a private sale no venue, silence tells nothing.
        yield from (c for c in _category(name, old, new) if c.value is not None)


def _number(name: str, old: pd.DataFrame, new: pd.DataFrame) -> Iterator[AttributeContrast]:
    stated = new[name].dropna()
    if len(stated) < FEWEST:
        return
    known = int(old[name].notna().sum())
    low, middle, high = (float(q) for q in np.quantile(stated, [0.25, 0.5, 0.75]))
    if high > low:
        words = f"{say(name, {name: high})} against {say(name, {name: low})}"
        yield AttributeContrast(name, words, high, low, len(stated), known)
    silent = len(new) - len(stated)
    if silent >= FEWEST:
        words = f"not stated against {say(name, {name: middle})}"
        yield AttributeContrast(name, words, np.nan, middle, silent, len(old) - known)


def _category(
    name: str, old: pd.DataFrame, new: pd.DataFrame, *, baseline: str = ""
) -> Iterator[AttributeContrast]:
    counts = new[name].value_counts()
    frequent = sorted((-int(n), str(v)) for v, n in counts.items() if n >= FEWEST)
    levels = [v for _, v in frequent]
    if not levels:
        return
    against = baseline if baseline in levels else levels[0]
    for level in [v for v in levels if v != against][: MOST_LEVELS - 1]:
        words = f"{say(name, {name: level})} against {say(name, {name: against})}"
        known = int((old[name] == level).sum())
        yield AttributeContrast(name, words, level, against, int((new[name] == level).sum()), known)
    silent = int(new[name].isna().sum())
    if silent >= FEWEST:
        words = f"not stated against {say(name, {name: against})}"
        yield AttributeContrast(name, words, None, against, silent, int(old[name].isna().sum()))


def _members(name: str, old: pd.DataFrame, new: pd.DataFrame) -> Iterator[AttributeContrast]:
    counts, before = (_words_of(frame[name]) for frame in (new, old))
    frequent = sorted((-n, v) for v, n in counts.items() if n >= FEWEST)
    for n, word in frequent[:MOST_LEVELS]:
        words = f"{say(name, {name: (word,)})} against none"
        yield AttributeContrast(name, words, (word,), (), -n, before.get(word, 0))


def _words_of(column: pd.Series[Any]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for words in column.dropna():
        for word in words:
            counts[word] = counts.get(word, 0) + 1
    return counts

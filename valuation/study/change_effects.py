"""What each attribute does to a price by two models, on the same sales."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from scipy import sparse

from valuation.appraisal.market import MarketModel
from valuation.appraisal.wordings import label_of, say
from valuation.features.columns import Factor
from valuation.features.table import FOLLOWED, FeatureTable
from valuation.results.change import AttributeChange
from valuation.running.threads import one_thread
from valuation.schema import ATTRIBUTES, BY_NAME
from valuation.study.change_causes import frame_table

__all__ = ["attribute_changes"]

SAMPLE = 120
"""Sales over which the effect of a contrast is averaged."""

MOST_LEVELS = 8
"""Levels of a category, or words of a set, that are told apart; the most frequent."""

FEWEST = 10
"""Fewest sales that state a level for a contrast of its own."""

_Z90 = 1.6448536269514722

_IDENTITY = ("make", "model", "generation", "variant")
"""What makes a car the car it is; their movement is that of segments and panel."""

_OF_SALE = ("channel", "venue", "region", "basis", "reserve")


@dataclass(frozen=True)
class _Contrast:
    """Two values of one attribute."""

    attribute: str
    words: str
    value: Any
    against: Any
    sales: int
    known: int


def attribute_changes(old: MarketModel, new: MarketModel) -> tuple[AttributeChange, ...]:
    """Compare the effects of all attributes by two models.

    Each contrast is the mean over one sample of the later model's sales, spread evenly over time:
    all of them stated one way against all of them stated the other way.  So effects that depend
    on make, era or model line are averaged over the same cars by both models.

    Parameters
    ----------
    old, new : MarketModel
        Models of one market.

    Returns
    -------
    tuple of AttributeChange
        Those that moved beyond an interval first, then by the size of the step.
    """
    places = np.unique(np.linspace(0, len(new.frame) - 1, SAMPLE).astype(int))
    sample = new.frame.iloc[places]
    contrasts = list(_contrasts(old.frame, new.frame))
    if not contrasts:
        return ()
    before, after = (_effects(m, sample, contrasts) for m in (old, new))
    made = [
        _change(c, b if c.known else None, a)
        for c, b, a in zip(contrasts, before, after, strict=True)
    ]
    return tuple(sorted(made, key=lambda a: (not a.moved, -abs(a.step), a.label, a.contrast)))


def _effects(
    market: MarketModel, sample: pd.DataFrame, contrasts: Sequence[_Contrast]
) -> list[tuple[float, float]]:
    """Return effect and standard deviation of each contrast, log units."""
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


def _change(
    c: _Contrast, old: tuple[float, float] | None, new: tuple[float, float]
) -> AttributeChange:
    before = (None, None, None) if old is None else _percent(old)
    after = _percent(new)
    return AttributeChange(
        attribute=c.attribute,
        label=label_of(c.attribute),
        contrast=c.words,
        old=before[0],
        old_low=before[1],
        old_high=before[2],
        new=after[0],
        new_low=after[1],
        new_high=after[2],
        sales=c.sales,
    )


def _percent(effect: tuple[float, float]) -> tuple[float, float, float]:
    """Return an effect and its 90 % interval in per cent."""
    middle, sd = effect
    low, high = middle - _Z90 * sd, middle + _Z90 * sd
    at, lower, upper = (100.0 * float(np.expm1(v)) for v in (middle, low, high))
    return at, lower, upper


def _contrasts(old: pd.DataFrame, new: pd.DataFrame) -> Iterator[_Contrast]:
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


def _number(name: str, old: pd.DataFrame, new: pd.DataFrame) -> Iterator[_Contrast]:
    stated = new[name].dropna()
    if len(stated) < FEWEST:
        return
    known = int(old[name].notna().sum())
    low, middle, high = (float(q) for q in np.quantile(stated, [0.25, 0.5, 0.75]))
    if high > low:
        words = f"{say(name, {name: high})} against {say(name, {name: low})}"
        yield _Contrast(name, words, high, low, len(stated), known)
    silent = len(new) - len(stated)
    if silent >= FEWEST:
        words = f"not stated against {say(name, {name: middle})}"
        yield _Contrast(name, words, np.nan, middle, silent, len(old) - known)


def _category(
    name: str, old: pd.DataFrame, new: pd.DataFrame, *, baseline: str = ""
) -> Iterator[_Contrast]:
    counts = new[name].value_counts()
    frequent = sorted((-int(n), str(v)) for v, n in counts.items() if n >= FEWEST)
    levels = [v for _, v in frequent]
    if not levels:
        return
    against = baseline if baseline in levels else levels[0]
    for level in [v for v in levels if v != against][: MOST_LEVELS - 1]:
        words = f"{say(name, {name: level})} against {say(name, {name: against})}"
        known = int((old[name] == level).sum())
        yield _Contrast(name, words, level, against, int((new[name] == level).sum()), known)
    silent = int(new[name].isna().sum())
    if silent >= FEWEST:
        words = f"not stated against {say(name, {name: against})}"
        yield _Contrast(name, words, None, against, silent, int(old[name].isna().sum()))


def _members(name: str, old: pd.DataFrame, new: pd.DataFrame) -> Iterator[_Contrast]:
    counts, before = (_words_of(frame[name]) for frame in (new, old))
    frequent = sorted((-n, v) for v, n in counts.items() if n >= FEWEST)
    for n, word in frequent[:MOST_LEVELS]:
        words = f"{say(name, {name: (word,)})} against none"
        yield _Contrast(name, words, (word,), (), -n, before.get(word, 0))


def _words_of(column: pd.Series[Any]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for words in column.dropna():
        for word in words:
            counts[word] = counts.get(word, 0) + 1
    return counts

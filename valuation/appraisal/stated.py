"""What the sales of a market state of an attribute, and how often."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.features.columns import key
from valuation.records import Value
from valuation.schema import BY_NAME

__all__ = ["MOST_VALUES", "Counts", "StatedValues"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MOST_VALUES = 80
"""Values of an attribute that are told apart: the most frequent words, numbers drawn together."""


@dataclass(frozen=True)
class Counts:
    """Values of one attribute with the sales that state them.

    Parameters
    ----------
    values : tuple of Value
        Numbers ascending, words and sets in their order.
    of_make, of_all : ndarray, shape (n_values,)
        Sales of the make, and of the whole market, that state each.
    """

    values: tuple[Value, ...]
    of_make: Floats
    of_all: Floats


@dataclass(frozen=True)
class StatedValues:
    """What the sales of a market state.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n_sales,)
        The sales as they were read, by column.
    """

    columns: Mapping[str, NDArray[Any]]
    _known: dict[str, tuple[tuple[Value, ...], Ints]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )
    _counted: dict[tuple[str, str], Counts] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def counts(self, name: str, make: str) -> Counts:
        """Count how often each value of an attribute is stated.

        Parameters
        ----------
        name : str
            Attribute.
        make : str
            Make of the car.
        """
        asked = (name, key(make))
        if asked not in self._counted:
            self._counted[asked] = self._count(*asked)
        return self._counted[asked]

    def _count(self, name: str, make: str) -> Counts:
        if name not in self._known:
            of = _numbers if BY_NAME[name].kind == "number" else _words
            self._known[name] = of(self.columns[name])
        values, codes = self._known[name]
        stated = codes >= 0
        mine = stated & (self._makes == make)
        n = len(values)
        return Counts(
            values,
            np.bincount(codes[mine], minlength=n).astype(np.float64),
            np.bincount(codes[stated], minlength=n).astype(np.float64),
        )

    @cached_property
    def _makes(self) -> NDArray[np.str_]:
        """Key of the make of each sale."""
        values, codes = _words(self.columns["make"], most=None)
        return np.array([*(key(v) for v in values), ""])[codes]


def _numbers(column: NDArray[Any]) -> tuple[tuple[Value, ...], Ints]:
    """Return distinct numbers and the code of each sale; many are drawn to the nearest of few."""
    numbers = column.astype(np.float64)
    codes = np.full(len(numbers), -1, dtype=np.intp)
    stated = ~np.isnan(numbers)
    x = numbers[stated]
    kept = np.unique(x)
    if len(kept) > MOST_VALUES:
        # Half by their ranks, half by their spread: a tail that is thin is no less a tail.
        ranks = np.quantile(x, np.linspace(0, 1, MOST_VALUES // 2), method="nearest")
        kept = np.union1d(ranks, np.quantile(kept, np.linspace(0, 1, MOST_VALUES // 2)))
    if len(kept):
        codes[stated] = np.searchsorted((kept[1:] + kept[:-1]) / 2, x)
    return tuple(kept.tolist()), codes


def _words(column: NDArray[Any], most: int | None = MOST_VALUES) -> tuple[tuple[Value, ...], Ints]:
    """Return words or sets, each in its first spelling, and the code of each sale."""
    spelled: dict[Any, Value] = {}
    keys = [_key_of(v) for v in column.tolist()]
    for k, value in zip(keys, column.tolist(), strict=True):
        if k is not None:
            spelled.setdefault(k, value)
    counts = Counter(k for k in keys if k is not None)
    frequent = sorted(counts, key=lambda k: (-counts[k], str(k)))[:most]
    at = {k: i for i, k in enumerate(sorted(frequent, key=str))}
    codes = np.array([at.get(k, -1) for k in keys], dtype=np.intp)
    return tuple(spelled[k] for k in at), codes


def _key_of(value: Any) -> Any:
    if value is None or value != value or value == "":
        return None
    return value if isinstance(value, tuple) else key(value)

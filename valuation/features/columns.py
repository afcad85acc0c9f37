"""Columns of words: categories and sets, keyed and coded."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["Bag", "Factor", "key"]

Ints = NDArray[np.intp]


def key(text: object) -> str:
    """Return the form of a word under which it is counted: lower case, single blanks."""
    return " ".join(str(text).casefold().split())


@dataclass(frozen=True)
class Factor:
    """A category: one code a row (-1 for not stated) into `levels`."""

    codes: Ints
    levels: tuple[str, ...]

    @classmethod
    def of(cls, values: Iterable[object]) -> Factor:
        """Factorise values; None, NaN and blanks are not stated."""
        column = np.array(list(values), dtype=object)
        if len(column) == 1:  # one car: factorising costs more than the rest of its features
            word = "" if pd.isna(column[0]) else key(column[0])
            return cls(np.array([0 if word else -1], dtype=np.intp), (word,) if word else ())
        raw, found = pd.factorize(column)
        keys = [key(v) for v in found]
        levels = sorted({k for k in keys if k})
        at = {k: i for i, k in enumerate(levels)}
        recode = np.array([at.get(k, -1) for k in keys] + [-1], dtype=np.intp)
        return cls(recode[raw], tuple(levels))

    def take(self, rows: Any) -> Factor:
        """Return the chosen rows."""
        return Factor(self.codes[rows], self.levels)

    def only(self, levels: frozenset[str]) -> Factor:
        """Return the factor with words outside the given levels as not stated."""
        if levels.issuperset(self.levels):
            return self
        keep = np.array([v in levels for v in self.levels] + [False])
        return Factor(np.where(keep[self.codes], self.codes, -1), self.levels)

    def filled(self, words: Sequence[str]) -> Factor:
        """Return the factor with the given words where it is not stated, empty for none."""
        at = {v: i for i, v in enumerate(self.levels)}
        codes, levels = self.codes.copy(), list(self.levels)
        for i in np.flatnonzero(codes < 0).tolist():
            word = words[i]
            if word:
                if word not in at:
                    at[word] = len(levels)
                    levels.append(word)
                codes[i] = at[word]
        return Factor(codes, tuple(levels))

    def word(self, row: int) -> str:
        """Return the level of one row, empty where not stated."""
        code = self.codes[row]
        return self.levels[code] if code >= 0 else ""

    def text(self) -> list[str]:
        """Return the level of each row, empty where not stated."""
        names = [*self.levels, ""]
        return [names[c] for c in self.codes]


@dataclass(frozen=True)
class Bag:
    """A set of words for each row, as pairs of row and code; `stated` marks rows with a set."""

    rows: Ints
    codes: Ints
    levels: tuple[str, ...]
    stated: NDArray[np.bool_]

    @classmethod
    def of(cls, sets: Sequence[Sequence[str] | None]) -> Bag:
        """Collect sets; None is not stated, the empty set is stated."""
        stated = np.array([s is not None for s in sets], dtype=bool)
        keyed = ((i, dict.fromkeys(key(w) for w in s)) for i, s in enumerate(sets) if s)
        pairs = [(i, w) for i, words in keyed for w in words if w]
        levels = sorted({w for _, w in pairs})
        at = {w: i for i, w in enumerate(levels)}
        rows = np.array([i for i, _ in pairs], dtype=np.intp)
        codes = np.array([at[w] for _, w in pairs], dtype=np.intp)
        return cls(rows, codes, tuple(levels), stated)

    def take(self, rows: Any) -> Bag:
        """Return the chosen rows."""
        chosen = np.arange(len(self.stated))[rows]
        order = np.argsort(self.rows, kind="stable")
        starts = np.searchsorted(self.rows[order], chosen, side="left")
        stops = np.searchsorted(self.rows[order], chosen, side="right")
        counts = stops - starts
        first = np.repeat(starts - np.append(0, np.cumsum(counts)[:-1]), counts)
        picked = order[first + np.arange(counts.sum())]
        return Bag(
            np.repeat(np.arange(len(chosen)), counts),
            self.codes[picked],
            self.levels,
            self.stated[chosen],
        )

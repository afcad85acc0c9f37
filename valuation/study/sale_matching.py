"""Which sales of two models are the same: what came, what went, what was corrected."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["Matched", "match_sales"]

Ints = NDArray[np.intp]

_ORIGIN = ("file", "row", "sale_key", "batch", "own")
"""Columns that say where a sale came from, or whose it was, and nothing of the sale itself."""


@dataclass(frozen=True)
class Matched:
    """The sales of two frames set against each other.

    Attributes
    ----------
    came : ndarray of int
        Positions of sales that only the new frame has.
    went : ndarray of int
        Positions of sales that only the old frame has.
    corrected : tuple of (int, int)
        Old and new position of sales of one origin whose content differs.
    """

    came: Ints
    went: Ints
    corrected: tuple[tuple[int, int], ...]


def match_sales(old: pd.DataFrame, new: pd.DataFrame) -> Matched:
    """Match sales by what they say, then by where they came from.

    A file that is read again has other rows, and one sale may stand in two files: so the content
    counts first.  What is left and has the same key, or the same file and row and day, is one sale
    that was corrected.

    Parameters
    ----------
    old, new : pandas.DataFrame
        Sales in the contract's columns.

    Returns
    -------
    Matched
        Every sale is in at most one of its parts; those in none are the same in both.
    """
    content = sorted((set(old.columns) & set(new.columns)) - set(_ORIGIN))
    left, came = _unmatched(_rows(old, content), _rows(new, content))
    keyed = "sale_key" in old.columns and "sale_key" in new.columns
    origin = ["sale_key"] if keyed else ["file", "row", "sale_date"]
    place = _rows(old, origin)
    at: dict[Hashable, int] = {}
    for i in left:
        at.setdefault(place[i], i)
    corrected: list[tuple[int, int]] = []
    fresh: list[int] = []
    source = _rows(new, origin)
    for j in came:
        if source[j] in at:
            corrected.append((at.pop(source[j]), j))
        else:
            fresh.append(j)
    gone = sorted(set(left) - {i for i, _ in corrected})
    return Matched(_ints(fresh), _ints(gone), tuple(corrected))


def _rows(frame: pd.DataFrame, columns: list[str]) -> list[Hashable]:
    """Return each row as something that can be compared, what is not stated as None."""
    cells = [[_plain(v) for v in frame[name].tolist()] for name in columns]
    return list(zip(*cells, strict=True)) if cells else [()] * len(frame)


def _plain(value: object) -> Hashable:
    if isinstance(value, list | tuple):
        return tuple(value)
    # NaN and NaT alone are unlike themselves.
    if value is None or value != value or not isinstance(value, Hashable):
        return None
    return value


def _unmatched(old: list[Hashable], new: list[Hashable]) -> tuple[list[int], list[int]]:
    """Return the positions left over on both sides when equal rows are paired."""
    at: dict[Hashable, list[int]] = {}
    for i in reversed(range(len(old))):
        at.setdefault(old[i], []).append(i)
    came = []
    for j, row in enumerate(new):
        if at.get(row):
            at[row].pop()
        else:
            came.append(j)
    return sorted(i for left in at.values() for i in left), came


def _ints(places: list[int]) -> Ints:
    return np.array(places, dtype=np.intp)

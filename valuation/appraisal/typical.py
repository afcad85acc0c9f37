"""The typical car of a model line, and what the evidence has seen of it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import MarketData
from valuation.appraisal.fitting import Fitted
from valuation.features.columns import Factor
from valuation.features.table import FeatureTable

__all__ = ["Seen", "TypicalCars", "typical_cars"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

RANGED = ("year", "engine_size")
"""Numbers whose range in the evidence decides whether a car lies outside it."""


@dataclass(frozen=True)
class Seen:
    """What the evidence has seen of a group of sales.

    Parameters
    ----------
    n : int
        Number of sales.
    low, high : ndarray, shape (2,)
        Range of the numbers in :data:`RANGED`, NaN where never stated.
    """

    n: int
    low: Floats
    high: Floats


@dataclass(frozen=True)
class TypicalCars:
    """Mean columns of each model line and make, and of all sales.

    Parameters
    ----------
    lines, makes : tuple of str
        Names of the rows of `rows` after the first, which is the mean of all sales.
    rows : scipy.sparse.csr_array, shape (1 + n_lines + n_makes, n_columns)
        Mean columns.
    counts : ndarray of int
        Sales behind each row.
    low, high : ndarray, shape (n_rows, 2)
        Range of the numbers in :data:`RANGED`.
    used : ndarray of int, shape (n_columns,)
        Sales in which each column is not zero.
    """

    lines: tuple[str, ...]
    makes: tuple[str, ...]
    rows: sparse.csr_array
    counts: Ints
    low: Floats
    high: Floats
    used: Ints
    _line_at: dict[str, int] = field(init=False, repr=False, compare=False)
    _make_at: dict[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        n = 1 + len(self.lines)
        object.__setattr__(self, "_line_at", {v: 1 + i for i, v in enumerate(self.lines)})
        object.__setattr__(self, "_make_at", {v: n + i for i, v in enumerate(self.makes)})

    def find(self, line: str, make: str) -> tuple[int, str]:
        """Return the row for a car and its level: ``model line``, ``make`` or ``market``."""
        if line in self._line_at:
            return self._line_at[line], "model line"
        if make in self._make_at:
            return self._make_at[make], "make"
        return 0, "market"

    def seen(self, row: int) -> Seen:
        """Return what the evidence has seen of a row."""
        return Seen(int(self.counts[row]), self.low[row], self.high[row])


def typical_cars(
    fitted: Fitted, data: MarketData, *, X: sparse.csr_array | None = None
) -> TypicalCars:
    """Average the columns of each model line and make that has sales.

    Parameters
    ----------
    fitted : Fitted
        The fit.
    data : MarketData
        Sales.
    X : scipy.sparse.csr_array, shape (n, n_columns), optional
        The sales in columns, if they are known already.
    """
    X = fitted.spec.transform(data.table).X if X is None else X
    line, make = (_used(data.table.factors[name]) for name in ("line", "make"))
    blocks, counts, lows, highs = [], [], [], []
    whole = np.zeros(len(data), dtype=np.intp)
    for codes, size in ((whole, 1), (line.codes, len(line.levels)), (make.codes, len(make.levels))):
        known = np.flatnonzero(codes >= 0)
        n = np.bincount(codes[known], minlength=size)
        mean = sparse.csr_array(
            (1.0 / np.maximum(n, 1)[codes[known]], (codes[known], known)), shape=(size, len(data))
        )
        blocks.append((mean @ X).tocsr())
        counts.append(n)
        low, high = _ranges(data.table, codes, size)
        lows.append(low)
        highs.append(high)
    used = np.bincount(X.indices, minlength=X.shape[1])
    return TypicalCars(
        line.levels,
        make.levels,
        sparse.vstack(blocks).tocsr(),
        np.concatenate(counts).astype(np.intp),
        np.vstack(lows),
        np.vstack(highs),
        used.astype(np.intp),
    )


def _used(factor: Factor) -> Factor:
    """Return a factor without the levels that no row has."""
    known = np.unique(factor.codes[factor.codes >= 0])
    to = np.full(len(factor.levels) + 1, -1, dtype=np.intp)
    to[known] = np.arange(len(known))
    return Factor(to[factor.codes], tuple(factor.levels[i] for i in known.tolist()))


def _ranges(table: FeatureTable, codes: Ints, size: int) -> tuple[Floats, Floats]:
    low, high = np.full((size, len(RANGED)), np.inf), np.full((size, len(RANGED)), -np.inf)
    for k, name in enumerate(RANGED):
        x = table.numbers[name]
        keep = ~np.isnan(x) & (codes >= 0)
        np.minimum.at(low[:, k], codes[keep], x[keep])
        np.maximum.at(high[:, k], codes[keep], x[keep])
    low[np.isinf(low)] = np.nan
    high[np.isinf(high)] = np.nan
    return low, high

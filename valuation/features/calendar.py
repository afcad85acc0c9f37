"""Encoders of the day of a sale: the level of prices, and what the sales of some days share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from valuation.features.encoders import Cells, Encoder
from valuation.features.table import FeatureTable

__all__ = ["Stretches", "Walk"]


@dataclass(frozen=True)
class Walk(Encoder):
    """A level that drifts: one column a step, so that a ridge makes it a random walk.

    The walk is held flat before its first and after its last node, which fixes the linear part
    that age, vintage and date share: no trend beyond the last sale.  Today is the zero of the
    walk: recent rows have few cells, and the level of today is the intercept itself.

    Parameters
    ----------
    nodes : tuple of float
        Days at which the level may change pace; column j climbs from 0 to 1 between nodes j and
        j + 1.
    """

    kind: ClassVar[str] = "walk"
    nodes: tuple[float, ...] = ()

    @property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        return tuple(f"level from day {n:.0f}" for n in self.nodes[:-1])

    def encode(self, table: FeatureTable) -> Cells:
        """Return the climbs that are still to come on the day of each row, negative."""
        day, nodes = table.numbers[self.source][:, None], np.array(self.nodes)
        climb = np.clip((day - nodes[:-1]) / np.diff(nodes), 0.0, 1.0) - 1.0
        climb[np.isnan(climb)] = 0.0
        row, col = np.nonzero(climb)
        return Cells(row, col, climb[row, col])


@dataclass(frozen=True)
class Stretches(Encoder):
    """One column a stretch of days: what its sales share beside the market level.

    The sales of a stretch are a selection, and the fewer they are the odder it may be: a handful
    of sales in a quiet month must not move the level of the market.  A stretch with few sales has
    a large value in its column, so that the same penalty leaves it more room of its own.  Days
    outside the stretches seen have no column, and a car that is valued on one of their days has
    none either: it is none of those sales.

    Parameters
    ----------
    first, width : float
        First day and length of a stretch in days.
    stretches : tuple of int
        Numbers of the stretches that have a column, ascending.
    sizes : tuple of float
        Value in the column of each.
    """

    kind: ClassVar[str] = "stretches"
    first: float = 0.0
    width: float = 1.0
    stretches: tuple[int, ...] = ()
    sizes: tuple[float, ...] = ()

    @property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        return tuple(f"sales from day {self.first + s * self.width:.0f}" for s in self.stretches)

    def encode(self, table: FeatureTable) -> Cells:
        """Return the size of the stretch of each row, where it has a column."""
        number = np.floor((table.numbers[self.source] - self.first) / self.width)
        known = np.array(self.stretches, dtype=np.float64)
        at = np.minimum(np.searchsorted(known, number), len(known) - 1)
        sold = table.numbers.get("on record", np.ones(table.n)) > 0
        row = np.flatnonzero((known[at] == number) & sold)
        return Cells(row, at[row], np.array(self.sizes)[at[row]])

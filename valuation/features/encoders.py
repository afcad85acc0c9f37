"""Encoders: small frozen pieces that turn one thing about a car into columns.

Each learns nothing when it encodes: what it learned stands in its fields, so one car is encoded by
the very code that encoded the sales.  Two policies hold everywhere and are named: an *unseen*
level or pair gets no column, so the group it belongs to speaks for it; a *missing* value gets no
column either, and where silence is informative a :class:`Silent` encoder speaks for it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import ClassVar, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valuation.features.table import FeatureTable

__all__ = [
    "Cells",
    "Crossed",
    "Curve",
    "Encoder",
    "Levels",
    "Members",
    "Ones",
    "Silent",
    "Straight",
    "scaled",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Cells(NamedTuple):
    """The non-zero cells of some columns: row, column and value of each."""

    row: Ints
    col: Ints
    val: Floats


def scaled(x: Floats, scale: str) -> Floats:
    """Bring a number to the scale on which it enters the model."""
    if scale == "log":
        return np.asarray(np.log(np.maximum(x, 1e-9)), dtype=np.float64)
    if scale == "root":
        return np.asarray(np.sqrt(np.maximum(x, 0.0)), dtype=np.float64)
    return x


@dataclass(frozen=True)
class Encoder:
    """Base of all encoders.

    Parameters
    ----------
    source : str
        Name in the feature table.
    """

    kind: ClassVar[str] = ""
    source: str

    @property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        return (self.source,)

    def encode(self, table: FeatureTable) -> Cells:
        """Return the non-zero cells of the columns for the rows of a table."""
        x = self._values(table)
        row = np.flatnonzero(x)
        return Cells(row, np.zeros(len(row), dtype=np.intp), x[row])

    def _values(self, table: FeatureTable) -> Floats:
        """Return the single column of encoders that have but one."""
        return np.ones(table.n)


@dataclass(frozen=True)
class Ones(Encoder):
    """A column of ones."""

    kind: ClassVar[str] = "ones"


@dataclass(frozen=True)
class Straight(Encoder):
    """A number measured from a centre: ``(scale(x) - centre) / spread``, 0 where not stated.

    Parameters
    ----------
    scale : {"plain", "log", "root"}
        Scale on which it enters.
    centre, spread : float
        On that scale.
    flat_lines : tuple of str
        Model lines in which the effect is held at zero, because left free it would run against
        a direction of which the trade is certain.
    ends : tuple of two floats, optional
        Where the effect goes flat at both ends, in units of the straight effect: beyond what the
        sales show nobody knows how it goes on.  None for nowhere.
    """

    kind: ClassVar[str] = "straight"
    scale: str = "plain"
    centre: float = 0.0
    spread: float = 1.0
    flat_lines: tuple[str, ...] = ()
    ends: tuple[float, float] | None = None

    def encode(self, table: FeatureTable) -> Cells:
        """Return the scaled number of each row that states it."""
        z = _measured(table.numbers[self.source], self)
        row = _free(z, table, self.flat_lines)
        return Cells(row, np.zeros(len(row), dtype=np.intp), z[row])


def _measured(x: Floats, by: Straight | Curve) -> Floats:
    """Measure a number from its centre, at most to the ends."""
    z = (scaled(x, by.scale) - by.centre) / by.spread
    return z if by.ends is None else np.clip(z, *by.ends)


def _free(z: Floats, table: FeatureTable, flat_lines: tuple[str, ...]) -> Ints:
    """Return the rows that state a number and whose model line is not held flat."""
    stated = ~np.isnan(z)
    if flat_lines:
        line = table.factors["line"]
        stated &= ~np.array([v in flat_lines for v in line.levels] + [False])[line.codes]
    return np.flatnonzero(stated)


@dataclass(frozen=True)
class Curve(Encoder):
    """What bends away from a straight effect: hinges, orthogonal to the straight line.

    The truncated linear basis of Ruppert, Wand and Carroll (2003, chapter 3); with one ridge
    penalty it is a penalised linear spline.

    Parameters
    ----------
    scale, centre, spread, flat_lines, ends
        As for :class:`Straight`.
    knots : tuple of float
        Where the line may bend, in units of the straight effect.
    level, slope : tuple of float
        For each hinge the straight line that is taken from it.
    """

    kind: ClassVar[str] = "curve"
    scale: str = "plain"
    centre: float = 0.0
    spread: float = 1.0
    knots: tuple[float, ...] = ()
    level: tuple[float, ...] = ()
    slope: tuple[float, ...] = ()
    flat_lines: tuple[str, ...] = ()
    ends: tuple[float, float] | None = None

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        return tuple(f"{self.source} bends at {k:.3g}" for k in self.knots)

    def encode(self, table: FeatureTable) -> Cells:
        """Return the hinges of the stated rows."""
        z = _measured(table.numbers[self.source], self)
        stated = _free(z, table, self.flat_lines)
        knots = np.array(self.knots)
        hinge = np.maximum(z[stated, None] - knots, 0.0)
        hinge -= np.array(self.level) + z[stated, None] * np.array(self.slope)
        col = np.tile(np.arange(len(knots), dtype=np.intp), len(stated))
        return Cells(np.repeat(stated, len(knots)), col, hinge.ravel())


@dataclass(frozen=True)
class Silent(Encoder):
    """One where the seller is silent.

    Parameters
    ----------
    holder : {"number", "factor", "bag"}
        Where the source is kept in the feature table.
    """

    kind: ClassVar[str] = "silent"
    holder: str = "number"

    def _values(self, table: FeatureTable) -> Floats:
        if self.holder == "number":
            missing = np.isnan(table.numbers[self.source])
        elif self.holder == "factor":
            missing = table.factors[self.source].codes < 0
        else:
            missing = ~table.bags[self.source].stated
        return missing.astype(np.float64)


@dataclass(frozen=True)
class Levels(Encoder):
    """One column a level of a category.

    Parameters
    ----------
    levels : tuple of str
        Levels that have a column.
    """

    kind: ClassVar[str] = "levels"
    levels: tuple[str, ...] = ()
    _at: dict[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_at", {v: i for i, v in enumerate(self.levels)})

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        return tuple(f"{self.source} = {v}" for v in self.levels)

    def encode(self, table: FeatureTable) -> Cells:
        """Return a one for the level of each row, where it has a column."""
        factor = table.factors[self.source]
        to = np.array([self._at.get(v, -1) for v in factor.levels] + [-1], dtype=np.intp)
        col = to[factor.codes]
        row = np.flatnonzero(col >= 0)
        return Cells(row, col[row], np.ones(len(row)))


@dataclass(frozen=True)
class Members(Encoder):
    """One column a word of a set.

    Parameters
    ----------
    levels : tuple of str
        Words that have a column.
    parts : bool
        Whether words are compounds such as ``brakes/reversible/period``, of which the first part
        and the rest each have a column of their own.
    """

    kind: ClassVar[str] = "members"
    levels: tuple[str, ...] = ()
    parts: bool = False
    _at: dict[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_at", {v: i for i, v in enumerate(self.levels)})

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        return tuple(f"{self.source}: {v}" for v in self.levels)

    def encode(self, table: FeatureTable) -> Cells:
        """Return a one for each word of each row, where it has a column."""
        bag = table.bags[self.source]
        split = [_parts(v) if self.parts else (v,) for v in bag.levels]
        rows, cols = [], []
        for place in range(2 if self.parts else 1):
            to = np.array(
                [self._at.get(s[place], -1) if place < len(s) else -1 for s in split],
                dtype=np.intp,
            )
            col = to[bag.codes] if len(to) else bag.codes
            keep = col >= 0
            rows.append(bag.rows[keep])
            cols.append(col[keep])
        row, col = np.concatenate(rows), np.concatenate(cols)
        return Cells(row, col, np.ones(len(row)))


def _parts(word: str) -> tuple[str, ...]:
    """Split ``brakes/reversible/period`` into its kind and its manner."""
    kind, _, manner = word.partition("/")
    return (kind, manner) if manner else (kind,)


@dataclass(frozen=True)
class Crossed(Encoder):
    """Another encoder's columns, separately for each level of a factor.

    Parameters
    ----------
    inner : Encoder
        What is crossed; its source is repeated in `source`.
    by : str
        The factor, ``line`` for local columns.
    groups : tuple of str
        Levels of the factor that have columns.
    pairs : tuple of int
        ``level * n_inner + inner column`` of each column, ascending.
    centres : tuple of float
        For each level the mean of a straight effect, taken away so that slope and level don't
        trade places; empty for none.
    """

    kind: ClassVar[str] = "crossed"
    inner: Encoder = field(default_factory=lambda: Ones("ones"))
    by: str = "line"
    groups: tuple[str, ...] = ()
    pairs: tuple[int, ...] = ()
    centres: tuple[float, ...] = ()
    _at: dict[str, int] = field(init=False, repr=False, compare=False)
    _pairs: Ints = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_at", {v: i for i, v in enumerate(self.groups)})
        object.__setattr__(self, "_pairs", np.array(self.pairs, dtype=np.intp))

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        inner, k = self.inner.labels, len(self.inner.labels)
        return tuple(f"{inner[p % k]}, {self.groups[p // k]}" for p in self.pairs)

    def encode(self, table: FeatureTable) -> Cells:
        """Return the inner cells under the column of their pair."""
        cells = self.inner.encode(table)
        group = self.group_of(table)[cells.row]
        val = cells.val
        if self.centres:
            val = val - np.append(self.centres, 0.0)[group]
        code = group * len(self.inner.labels) + cells.col
        at = np.searchsorted(self._pairs, code)
        at = np.minimum(at, len(self._pairs) - 1)
        keep = (group >= 0) & (self._pairs[at] == code) if len(self._pairs) else group < -1
        return Cells(cells.row[keep], at[keep], val[keep])

    def group_of(self, table: FeatureTable) -> Ints:
        """Return the level of the factor for each row, -1 where it has no columns."""
        factor = table.factors[self.by]
        to = np.array([self._at.get(v, -1) for v in factor.levels] + [-1], dtype=np.intp)
        return to[factor.codes]

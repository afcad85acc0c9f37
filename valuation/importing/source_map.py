"""The map of a source: what its columns mean, in which units, and what its words stand for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from valuation.importing.names import HIGH_BID
from valuation.premium import PremiumSlice
from valuation.schema import BY_FIELD, BY_NAME

__all__ = ["FIXED", "LOT_TARGETS", "TARGETS", "UNITS", "ColumnUse", "SourceMap", "label_of"]

LOT_TARGETS = frozenset({"estimate", "estimate low", "estimate high", "notes", "drivetrain"})
"""What only a column of a catalogue can be; ``notes`` are the buyer's own."""

TARGETS = frozenset(BY_FIELD) | frozenset(BY_NAME) | {HIGH_BID} | LOT_TARGETS
"""What a column can be."""

FIXED = frozenset(BY_FIELD) - {"price", "sale_date", "sale_id", "title", "description"} | {
    "make",
    "model",
}
"""What can be said once for a whole source."""

UNITS: dict[str, tuple[str, ...]] = {
    "mileage": ("miles", "km", "thousand miles", "thousand km"),
    "engine_size": ("litres", "cc", "ci"),
    "power": ("horsepower", "ps", "kw"),
}
"""Units in which a column may be."""


@dataclass(frozen=True, slots=True)
class ColumnUse:
    """What one column, or several that complete each other, is read as.

    Parameters
    ----------
    target : str
        One of :data:`TARGETS`.
    columns : tuple of str
        Names in the file, the one that counts first.
    unit : str
        One of :data:`UNITS`, empty where none is needed.
    decimal : {"", ".", ","}
        Decimal sign; empty if no cell tells.
    order : {"", "day first", "month first"}
        Order of day and month in a date.
    worst, best : float, optional
        Ends of a condition scale, translated linearly to 0 and 100.
    how : {"name", "content", "map"}
        By what it was recognised.
    stated : float
        Share of rows in which something stands.
    examples : tuple of str
        Its most frequent entries.
    notes : tuple of str
        What is special, in sentences.
    """

    target: str
    columns: tuple[str, ...]
    unit: str = ""
    decimal: str = ""
    order: str = ""
    worst: float | None = None
    best: float | None = None
    how: str = "map"
    stated: float = 0.0
    examples: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class SourceMap:
    """How the files of one source are read.

    Parameters
    ----------
    uses : tuple of ColumnUse
        Recognised columns.
    ignore : tuple of str
        Columns that are left out.
    fixed : mapping of str to str
        What holds for every row: ``currency``, ``basis``, ``outcome``, ``channel``, ``venue``,
        ``region``, ``reserve``, ``make``, ``model``.
    words : mapping of str to mapping of str to str
        For a target, what a cell (folded) stands for.
    premiums : tuple of PremiumSlice
        Buyer's premium by which hammer prices are raised.
    only_these : bool
        Whether columns that the map does not name are left out instead of being recognised.
    notes : tuple of str
        What was noticed while the map was proposed.
    """

    uses: tuple[ColumnUse, ...] = ()
    ignore: tuple[str, ...] = ()
    fixed: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    premiums: tuple[PremiumSlice, ...] = ()
    only_these: bool = False
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "fixed", MappingProxyType(dict(self.fixed)))
        frozen = {k: MappingProxyType(dict(v)) for k, v in self.words.items()}
        object.__setattr__(self, "words", MappingProxyType(frozen))

    def use(self, target: str) -> ColumnUse | None:
        """Return how a target is read, None if no column holds it."""
        return next((u for u in self.uses if u.target == target), None)


def label_of(target: str) -> str:
    """Return the name of a target for people."""
    if target in BY_NAME:
        return BY_NAME[target].label.lower()
    return BY_FIELD[target].label.lower() if target in BY_FIELD else target

"""Terms: an encoder with its place in the explanation and the way its columns are held."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.features.encoders import Crossed, Encoder, Levels, Silent
from valuation.features.table import FOLLOWS_FROM, FeatureTable
from valuation.features.usual import UsualValues, fill_usual
from valuation.models.layout import Layout, Penalty

__all__ = ["Design", "FeatureSpec", "Term"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_ROWS = 20_000
"""Rows encoded at a time."""


@dataclass(frozen=True)
class Term:
    """One block of columns.

    Parameters
    ----------
    name : str
        Name of the block.
    attribute : str
        The line of the explanation it belongs to: an attribute of the contract, a sale factor,
        ``start``, ``market`` or ``wording``.
    encoder : Encoder
        What makes its columns.
    penalty : {"free", "estimated", "assumed"}
        How its columns are held.
    mean, sd : tuple of float
        Centre and strength of assumed columns, empty otherwise.
    least : float
        Smallest standard deviation that estimated columns are given, in log price.
    """

    name: str
    attribute: str
    encoder: Encoder
    penalty: Penalty = "estimated"
    mean: tuple[float, ...] = ()
    sd: tuple[float, ...] = ()
    least: float = 0.0

    @property
    def local(self) -> bool:
        """Whether the columns are local to a model line."""
        return isinstance(self.encoder, Crossed) and self.encoder.by == "line"


@dataclass(frozen=True)
class Design:
    """The design of some rows.

    Parameters
    ----------
    X : scipy.sparse.csr_array, shape (n, n_columns)
        Columns in the order of the terms.
    line : ndarray of int, shape (n,)
        Model line of each row, -1 for one never seen.
    """

    X: sparse.csr_array
    line: Ints


@dataclass(frozen=True)
class FeatureSpec:
    """What was asked and what was learned, frozen, to be replayed on any car.

    Parameters
    ----------
    terms : tuple of Term
        Blocks in the order of their columns.
    lines : tuple of str
        Model lines of the sales it was learned from.
    usual : tuple of UsualValues
        What stands in where nobody expects a value to be stated.
    """

    terms: tuple[Term, ...]
    lines: tuple[str, ...]
    usual: tuple[UsualValues, ...] = ()
    starts: tuple[int, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        sizes = [len(t.encoder.labels) for t in self.terms]
        object.__setattr__(self, "starts", tuple(int(v) for v in np.cumsum([0, *sizes])))

    @property
    def n_columns(self) -> int:
        """Number of columns of the design."""
        return self.starts[-1]

    @cached_property
    def labels(self) -> tuple[str, ...]:
        """Name of each column."""
        return tuple(label for t in self.terms for label in t.encoder.labels)

    @cached_property
    def attributes(self) -> tuple[str, ...]:
        """Lines of the explanation, in the order in which they first appear."""
        return tuple(dict.fromkeys(t.attribute for t in self.terms))

    @cached_property
    def column_attribute(self) -> Ints:
        """For each column the position of its line in :attr:`attributes`."""
        at = {a: i for i, a in enumerate(self.attributes)}
        sizes = np.diff(self.starts)
        return np.repeat(np.array([at[t.attribute] for t in self.terms], dtype=np.intp), sizes)

    @cached_property
    def is_local(self) -> NDArray[np.bool_]:
        """For each column whether it is local to a model line."""
        return np.repeat(np.array([t.local for t in self.terms], dtype=bool), np.diff(self.starts))

    @cached_property
    def within(self) -> Ints:
        """For each column its position among the common or among the local ones."""
        local = self.is_local
        return np.where(local, np.cumsum(local) - 1, np.cumsum(~local) - 1).astype(np.intp)

    @cached_property
    def seen_levels(self) -> dict[str, frozenset[str]]:
        """Levels of each category that have a column in common."""
        out: dict[str, frozenset[str]] = {}
        for t in self.terms:
            if isinstance(t.encoder, Levels):
                old = out.get(t.encoder.source, frozenset())
                out[t.encoder.source] = old.union(t.encoder.levels)
        return out

    @cached_property
    def _line_codes(self) -> dict[str, int]:
        return {v: i for i, v in enumerate(self.lines)}

    def only(self, names: Collection[str]) -> FeatureSpec:
        """Return the spec with the named terms alone."""
        return FeatureSpec(tuple(t for t in self.terms if t.name in names), self.lines, self.usual)

    def layout(self) -> Layout:
        """Return how the columns are grouped, held and owned."""
        sizes = np.diff(self.starts)
        owner = np.full(self.n_columns, -1, dtype=np.intp)
        mean, sd = np.zeros(self.n_columns), np.full(self.n_columns, np.inf)
        for t, a, b in zip(self.terms, self.starts[:-1], self.starts[1:], strict=True):
            if t.local and isinstance(t.encoder, Crossed):
                owner[a:b] = np.array(t.encoder.pairs, dtype=np.intp) // len(t.encoder.inner.labels)
            if t.penalty == "assumed":
                mean[a:b], sd[a:b] = t.mean, t.sd
        return Layout(
            tuple(t.name for t in self.terms),
            tuple(t.penalty for t in self.terms),
            np.repeat(np.arange(len(self.terms), dtype=np.intp), sizes),
            owner,
            mean,
            sd,
            np.array([t.least for t in self.terms]),
        )

    def transform(self, table: FeatureTable) -> Design:
        """Encode rows.

        Parameters
        ----------
        table : FeatureTable
            Sales, or one car.

        Returns
        -------
        Design
            Their columns and model lines.
        """
        # Cells of all terms side by side take several times the memory of the design, so they
        # are put in their rows some thousand sales at a time.
        parts = [
            self._cells(
                table if table.n <= _ROWS else table.take(slice(i, i + _ROWS)),
                self.usual,
                range(len(self.terms)),
            )
            for i in range(0, max(table.n, 1), _ROWS)
        ]
        X = parts[0] if len(parts) == 1 else sparse.vstack(parts, format="csr")
        return Design(X, self.line_of(table))

    def restated(self, X: sparse.csr_array, table: FeatureTable, name: str) -> sparse.csr_array:
        """Encode rows anew in which one attribute is stated otherwise.

        Parameters
        ----------
        X : scipy.sparse.csr_array, shape (n, n_columns)
            The rows as they were.
        table : FeatureTable
            The rows as they are, from :meth:`FeatureTable.stating`.
        name : str
            The attribute.

        Returns
        -------
        scipy.sparse.csr_array, shape (n, n_columns)
            As :meth:`transform` would make them, zeros left out.
        """
        own = [k for k, t in enumerate(self.terms) if name in _read_by(t.encoder)]
        stale = np.zeros(self.n_columns, dtype=bool)
        for k in own:
            stale[self.starts[k] : self.starts[k + 1]] = True
        keep = ~stale[X.indices]
        before = np.concatenate([[0], np.cumsum(keep)])
        kept = (X.data[keep], X.indices[keep], before[X.indptr])
        read = {v for k in own for v in _read_by(self.terms[k].encoder)}
        read |= {v for name in read for v in FOLLOWS_FROM.get(name, ())}
        cells = self._cells(table, [u for u in self.usual if u.name in read], own)
        return sparse.csr_array(sparse.csr_array(kept, shape=X.shape) + cells)

    def _cells(
        self, table: FeatureTable, usual: Sequence[UsualValues], terms: Iterable[int]
    ) -> sparse.csr_array:
        """Return the columns of some terms, the others empty."""
        full = fill_usual(table, usual, self.line_of(table))
        none = np.zeros(0, dtype=np.int32)
        row, col, val = [none], [none], [np.zeros(0)]
        for t, start in ((self.terms[k], self.starts[k]) for k in terms):
            # Silence is what was not stated, whatever stands in for it.
            cells = t.encoder.encode(table if isinstance(t.encoder, Silent) else full)
            row.append(cells.row.astype(np.int32))
            col.append((cells.col + start).astype(np.int32))
            val.append(cells.val)
        shape = (table.n, self.n_columns)
        cells_all = (np.concatenate(val), (np.concatenate(row), np.concatenate(col)))
        return sparse.coo_array(cells_all, shape=shape).tocsr()

    def line_of(self, table: FeatureTable) -> Ints:
        """Return the model line of each row, -1 for one never seen."""
        at = self._line_codes
        factor = table.factors["line"]
        to = np.array([at.get(v, -1) for v in factor.levels] + [-1], dtype=np.intp)
        return to[factor.codes]


def _read_by(encoder: Encoder) -> frozenset[str]:
    """Return the columns of a table that an encoder reads, beside the model line."""
    if isinstance(encoder, Crossed):
        return frozenset({encoder.by}) | _read_by(encoder.inner)
    return frozenset({encoder.source})

"""A design cut by group: each group a contiguous, compact slice.

Rows are sorted by group once, and the columns of each row are renamed within its group, so that a
group becomes dense in one call and its cross products are one symmetric product.  Common columns
that most groups touch (the market level, frequent words) form a *hub* in which every group writes
to the same contiguous place.  What remains, the *rare* columns of a group, is gathered and
scattered: fancy indexing of a 500 x 500 block takes longer than the product that fills it
(measured: 1.2 ms against 0.5 ms), so only some hundred columns a group are left to it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

__all__ = ["CutDesign", "Piece", "cut_design"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_SHARE = 0.5
"""A common column belongs to the hub if groups with this share of the local columns touch it."""


@dataclass(frozen=True)
class Piece:
    """Where one group stands in the sorted design.

    Attributes
    ----------
    label : int
        The group.
    rows, columns : slice
        Its rows, and its columns among the sorted local columns.
    rare : ndarray of int
        Positions in the reordered border of its common columns outside the hub, ascending.
    touched : ndarray of int
        Positions in the reordered border of all common columns that its rows touch.
    """

    label: int
    rows: slice
    columns: slice
    rare: Ints
    touched: Ints

    @property
    def n_rows(self) -> int:
        """Number of rows."""
        return int(self.rows.stop - self.rows.start)

    @property
    def n_columns(self) -> int:
        """Number of local columns."""
        return int(self.columns.stop - self.columns.start)


@dataclass(frozen=True)
class CutDesign:
    """A design sorted by group.

    Attributes
    ----------
    row_order : ndarray of int, shape (n,)
        Original row of each sorted row.
    border : ndarray of int, shape (n_common,)
        Position among the common columns of each column of the reordered border, the hub first.
    local : ndarray of int, shape (n_local,)
        Position among the local columns of each sorted local column.
    hub : int
        Number of columns of the hub.
    pieces : list of Piece
        The groups in ascending order.
    near : scipy.sparse.csr_array, shape (n, hub)
        The sorted rows in the columns of the hub.
    own : scipy.sparse.csr_array
        The sorted rows in the other columns, renamed within each group: rare, then local.
    """

    row_order: Ints
    border: Ints
    local: Ints
    hub: int
    pieces: list[Piece]
    near: sparse.csr_array
    own: sparse.csr_array

    def dense_near(self, rows: slice) -> Floats:
        """Return some rows in the columns of the hub."""
        return _dense(self.near, rows, self.hub)

    def dense_own(self, piece: Piece, rows: slice) -> Floats:
        """Return some rows of a group in its rare and its local columns."""
        return _dense(self.own, rows, len(piece.rare) + piece.n_columns)

    def halves(self) -> tuple[list[int], list[int]]:
        """Return the numbers of the groups in two parts that cost about the same."""
        cost = np.cumsum([p.n_rows + 2.0 * p.n_columns for p in self.pieces])
        at = int(np.searchsorted(cost, cost[-1] / 2.0))
        return list(range(at)), list(range(at, len(self.pieces)))

    def spans(self, numbers: list[int], size: int) -> Iterator[tuple[slice, list[int]]]:
        """Yield rows of consecutive groups, some thousand at a time, with their groups.

        A group of more rows comes in several spans.
        """
        held: list[int] = []
        for i in numbers:
            p = self.pieces[i]
            if held and p.rows.stop - self.pieces[held[0]].rows.start > size:
                yield slice(self.pieces[held[0]].rows.start, p.rows.start), held
                held = []
            if p.n_rows <= size:
                held.append(i)
                continue
            for start in range(p.rows.start, p.rows.stop, size):
                yield slice(start, min(start + size, p.rows.stop)), [i]
        if held:
            yield slice(self.pieces[held[0]].rows.start, self.pieces[held[-1]].rows.stop), held


def _dense(X: sparse.csr_array, rows: slice, width: int) -> Floats:
    start, stop = X.indptr[rows.start], X.indptr[rows.stop]
    pointer = X.indptr[rows.start : rows.stop + 1] - start
    cells = (X.data[start:stop], X.indices[start:stop], pointer)
    part = sparse.csr_array(cells, shape=(rows.stop - rows.start, width))
    return np.asarray(part.toarray(), dtype=np.float64)


def cut_design(X: sparse.csr_array, owner: Ints, group: Ints) -> CutDesign:
    """Cut a design by group.

    Parameters
    ----------
    X : scipy.sparse.csr_array, shape (n, n_columns)
        Design.
    owner : ndarray of int, shape (n_columns,)
        Group that owns a local column, -1 for a common one.
    group : ndarray of int, shape (n,)
        Group of each row; -1 for a row without local columns.

    Returns
    -------
    CutDesign
        Sorted by group, original order within.
    """
    row_order = np.argsort(group, kind="stable")
    is_local = owner >= 0
    common = np.flatnonzero(~is_local)
    local = np.flatnonzero(is_local)
    local_order = np.argsort(owner[local], kind="stable")
    # A group whose rows are all gone keeps its columns: their penalty alone holds them.
    labels = np.union1d(group, owner[local])
    rows = _edges(group[row_order], labels)
    columns = _edges(owner[local][local_order], labels)
    touched = [_touched(X, row_order[a:b], is_local) for a, b in pairwise(rows)]
    border, hub = _border_order(touched, np.diff(columns), common)
    place = np.zeros(len(owner), dtype=np.intp)
    place[border] = np.arange(len(border))
    pieces = []
    for i, label in enumerate(labels.tolist()):
        at = np.sort(place[touched[i]])
        span = slice(rows[i], rows[i + 1])
        pieces.append(Piece(label, span, slice(columns[i], columns[i + 1]), at[at >= hub], at))
    near, own = _renamed(X, row_order, pieces, border, local[local_order], hub)
    within = np.cumsum(~is_local) - 1
    return CutDesign(row_order, within[border], local_order, hub, pieces, near, own)


def _edges(sorted_labels: Ints, labels: Ints) -> list[int]:
    """Return where each label begins, and where the last one ends."""
    starts = np.searchsorted(sorted_labels, labels, side="left")
    return [*starts.tolist(), len(sorted_labels)]


def _touched(X: sparse.csr_array, rows: Ints, is_local: NDArray[np.bool_]) -> Ints:
    """Return the common columns that some rows touch."""
    mark = np.zeros(len(is_local), dtype=bool)
    mark[X[rows].indices] = True
    return np.flatnonzero(mark & ~is_local)


def _border_order(touched: list[Ints], work: Ints, common: Ints) -> tuple[Ints, int]:
    """Return the common columns, the hub first, and the size of the hub."""
    share = np.zeros(int(common[-1]) + 1 if len(common) else 0)
    for columns, size in zip(touched, work.tolist(), strict=True):
        share[columns] += size
    in_hub = share[common] >= _SHARE * max(float(work.sum()), 1.0)
    return np.concatenate([common[in_hub], common[~in_hub]]), int(in_hub.sum())


def _renamed(
    X: sparse.csr_array, row_order: Ints, pieces: list[Piece], border: Ints, local: Ints, hub: int
) -> tuple[sparse.csr_array, sparse.csr_array]:
    """Return the sorted rows in the columns of the hub and in the others, renamed by group.

    Filled group by group: a sorted copy of the whole design would be a third one in memory.
    """
    in_hub = np.zeros(X.shape[1], dtype=bool)
    in_hub[border[:hub]] = True
    total = int(in_hub[X.indices].sum())
    parts = (_Cells(X.shape[0], total), _Cells(X.shape[0], X.nnz - total))
    name = np.zeros(X.shape[1], dtype=np.int32)
    name[border[:hub]] = np.arange(hub)
    for p in pieces:
        name[border[p.rare]] = np.arange(len(p.rare))
        name[local[p.columns]] = len(p.rare) + np.arange(p.n_columns)
        rows = X[row_order[p.rows]]
        near, names = in_hub[rows.indices], name[rows.indices]
        for cells, chosen in zip(parts, (near, ~near), strict=True):
            cells.add(p.rows, rows.data[chosen], names[chosen], chosen, rows.indptr)
    widths = (hub, X.shape[1])
    first, second = (c.matrix(w) for c, w in zip(parts, widths, strict=True))
    return first, second


class _Cells:
    """A sparse matrix that is filled by rows."""

    def __init__(self, n: int, cells: int) -> None:
        self.data = np.empty(cells)
        # One width for all indices, or the library widens the narrower ones.
        width = np.int32 if cells < np.iinfo(np.int32).max else np.int64
        self.indices = np.empty(cells, dtype=width)
        self.pointer = np.zeros(n + 1, dtype=width)

    def add(
        self, rows: slice, data: Floats, names: NDArray[np.int32], chosen: Any, pointer: Any
    ) -> None:
        """Append rows: the chosen ones of cells that `pointer` cuts into rows."""
        start = int(self.pointer[rows.start])
        self.data[start : start + len(data)] = data
        self.indices[start : start + len(data)] = names
        ends = np.concatenate([[0], np.cumsum(chosen)])[pointer]
        self.pointer[rows.start : rows.stop + 1] = start + ends

    def matrix(self, width: int) -> sparse.csr_array:
        """Return what was filled."""
        cells = (self.data, self.indices, self.pointer)
        return sparse.csr_array(cells, shape=(len(self.pointer) - 1, width))

"""A design cut by group: each group a contiguous, compact slice.

Rows are sorted by group once, and the columns of each row are renamed within its group, so that a
group becomes dense in one call and its cross products are one symmetric product.  Common columns
that most groups touch (the market level, frequent words) form a *hub* in which every group writes
to the same contiguous place.  What remains, the *rare* columns of a group, is gathered and
scattered: fancy indexing of a 500 x 500 block takes longer than the product that fills it
(measured: 1.2 ms against 0.5 ms), so only some hundred columns a group are left to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

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
    cells : scipy.sparse.csr_array
        The sorted rows; columns renamed within each group: hub, rare, local.
    """

    row_order: Ints
    border: Ints
    local: Ints
    hub: int
    pieces: list[Piece]
    cells: sparse.csr_array

    def dense(self, piece: Piece, rows: slice) -> Floats:
        """Return some rows of a group, columns hub, rare and local."""
        X = self.cells
        start, stop = X.indptr[rows.start], X.indptr[rows.stop]
        pointer = X.indptr[rows.start : rows.stop + 1] - start
        part = sparse.csr_array(
            (X.data[start:stop], X.indices[start:stop], pointer),
            shape=(rows.stop - rows.start, self.hub + len(piece.rare) + piece.n_columns),
        )
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
    X = X[row_order]
    touched = [_touched(X, a, b, is_local) for a, b in pairwise(rows)]
    border, hub = _border_order(touched, np.diff(columns), common)
    place = np.zeros(len(owner), dtype=np.intp)
    place[border] = np.arange(len(border))
    pieces = []
    for i, label in enumerate(labels.tolist()):
        at = np.sort(place[touched[i]])
        span = slice(rows[i], rows[i + 1])
        pieces.append(Piece(label, span, slice(columns[i], columns[i + 1]), at[at >= hub], at))
    _rename(X, pieces, border, local[local_order], hub)
    within = np.cumsum(~is_local) - 1
    return CutDesign(row_order, within[border], local_order, hub, pieces, X)


def _edges(sorted_labels: Ints, labels: Ints) -> list[int]:
    """Return where each label begins, and where the last one ends."""
    starts = np.searchsorted(sorted_labels, labels, side="left")
    return [*starts.tolist(), len(sorted_labels)]


def _touched(X: sparse.csr_array, start: int, stop: int, is_local: NDArray[np.bool_]) -> Ints:
    """Return the common columns that some rows touch."""
    mark = np.zeros(len(is_local), dtype=bool)
    mark[X.indices[X.indptr[start] : X.indptr[stop]]] = True
    return np.flatnonzero(mark & ~is_local)


def _border_order(touched: list[Ints], work: Ints, common: Ints) -> tuple[Ints, int]:
    """Return the common columns, the hub first, and the size of the hub."""
    share = np.zeros(int(common[-1]) + 1 if len(common) else 0)
    for columns, size in zip(touched, work.tolist(), strict=True):
        share[columns] += size
    in_hub = share[common] >= _SHARE * max(float(work.sum()), 1.0)
    return np.concatenate([common[in_hub], common[~in_hub]]), int(in_hub.sum())


def _rename(X: sparse.csr_array, pieces: list[Piece], border: Ints, local: Ints, hub: int) -> None:
    """Rename the columns of each row within its group, in place."""
    name = np.zeros(X.shape[1], dtype=X.indices.dtype)
    name[border[:hub]] = np.arange(hub)
    for p in pieces:
        name[border[p.rare]] = hub + np.arange(len(p.rare))
        name[local[p.columns]] = hub + len(p.rare) + np.arange(p.n_columns)
        cells = slice(X.indptr[p.rows.start], X.indptr[p.rows.stop])
        X.indices[cells] = name[X.indices[cells]]

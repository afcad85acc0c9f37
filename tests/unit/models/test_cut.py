"""A design cut by group: every cell is found again where it belongs."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import sparse

from valuation.models.cut import cut_design

Arrow = Any  # the fixture's type; a conftest can't be imported


def test_every_cell_is_found_again(arrow: Arrow) -> None:
    X = arrow.dense
    owner = np.concatenate([np.full(arrow.cut, -1), arrow.owner])
    cut = cut_design(sparse.csr_array(X), owner, arrow.group)
    back = np.zeros_like(X)
    for piece in cut.pieces:
        dense = np.hstack([cut.dense_near(piece.rows), cut.dense_own(piece, piece.rows)])
        hub = cut.border[: cut.hub]
        columns = np.concatenate(
            [hub, cut.border[piece.rare], arrow.cut + cut.local[piece.columns]]
        )
        back[np.ix_(cut.row_order[piece.rows], columns)] = dense
        assert (arrow.group[cut.row_order[piece.rows]] == piece.label).all()
        assert (arrow.owner[cut.local[piece.columns]] == piece.label).all()
    assert back.tolist() == X.tolist()


def test_the_design_that_is_cut_stays_as_it_was(arrow: Arrow) -> None:
    X = sparse.csr_array(arrow.dense)
    owner = np.concatenate([np.full(arrow.cut, -1), arrow.owner])
    cut_design(X, owner, np.zeros_like(arrow.group) if not len(arrow.owner) else arrow.group)
    assert X.toarray().tolist() == arrow.dense.tolist()


def test_the_hub_is_what_groups_with_half_of_the_local_columns_touch() -> None:
    # Three groups of one, one and two local columns; common column 0 in all, 1 in the first two,
    # 2 in the last.
    owner = np.array([-1, -1, -1, 0, 1, 2, 2])
    X = np.zeros((3, 7))
    X[:, 0] = 1.0
    X[[0, 1], 1] = 2.0
    X[2, 2] = 3.0
    X[[0, 1, 2], [3, 4, 5]] = 4.0
    cut = cut_design(sparse.csr_array(X), owner, np.arange(3))
    assert cut.hub == 3
    X[1, 1] = 0.0
    cut = cut_design(sparse.csr_array(X), owner, np.arange(3))
    assert cut.border.tolist() == [0, 2, 1]
    assert cut.hub == 2
    assert [p.rare.tolist() for p in cut.pieces] == [[2], [], []]
    assert [p.touched.tolist() for p in cut.pieces] == [[0, 2], [0], [0, 1]]

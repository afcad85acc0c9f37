"""Blocks, owners and groups of columns."""

from __future__ import annotations

import re

import numpy as np
import pytest
from scipy import sparse

from valuation.models.layout import Layout, plain_layout


def layout(owner: list[int]) -> Layout:
    k = len(owner)
    return Layout(
        ("level", "lines"),
        ("free", "estimated"),
        np.array([0] + [1] * (k - 1)),
        np.array(owner),
        np.zeros(k),
        np.full(k, np.inf),
    )


def test_common_and_local_columns() -> None:
    found = layout([-1, 3, -1, 8, 3])
    assert found.common.tolist() == [0, 2]
    assert found.local.tolist() == [1, 3, 4]


def test_which() -> None:
    found = layout([-1, -1])
    assert found.which("free").tolist() == [True, False]
    assert found.which("estimated").tolist() == [False, True]
    assert found.which("assumed").tolist() == [False, False]


def test_the_group_of_a_row_owns_its_local_columns() -> None:
    X = sparse.csr_array(np.array([[1, 2, 0, 0], [1, 0, 0, 3], [1, 0, 0, 0], [1, 1, 1, 0]]))
    assert layout([-1, 3, 3, 8]).groups(X).tolist() == [3, 8, -1, 3]


def test_without_local_columns_no_row_has_a_group() -> None:
    assert layout([-1, -1]).groups(sparse.csr_array(np.ones((3, 2)))).tolist() == [-1, -1, -1]


def test_a_row_with_local_columns_of_two_groups_is_refused() -> None:
    X = sparse.csr_array(np.array([[1, 0, 0], [1, 1, 0], [1, 1, 1]]))
    text = (
        "row 2: local columns of two groups (got: groups 3 and 8). "
        "Give each row local columns of one group only."
    )
    with pytest.raises(ValueError, match=re.escape(text)):
        layout([-1, 3, 8]).groups(X)


@pytest.mark.parametrize("penalty", ["free", "estimated", "assumed"])
def test_plain_layout(penalty: str) -> None:
    found = plain_layout(3, penalty=penalty)
    assert found.names == ("intercept", "features")
    assert found.penalties == ("free", penalty)
    assert found.block.tolist() == [0, 1, 1, 1]
    assert found.owner.tolist() == [-1] * 4
    assert np.isinf(found.sd).all()
    assert not found.mean.any()


def test_plain_layout_without_features() -> None:
    assert plain_layout(0).block.tolist() == [0]

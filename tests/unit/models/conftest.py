"""Small designs for the models."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from scipy import sparse

from valuation.models.arrow import ArrowSystem


@dataclass(frozen=True)
class Arrow:
    """An arrow-shaped problem, cut in two and as one dense matrix."""

    common: np.ndarray
    local: np.ndarray
    owner: np.ndarray
    group: np.ndarray
    weights: np.ndarray
    y: np.ndarray
    penalty: np.ndarray

    @property
    def dense(self) -> np.ndarray:
        return np.column_stack([self.common, self.local])

    @property
    def inverse(self) -> np.ndarray:
        X = self.dense
        return np.linalg.inv(X.T @ (X * self.weights[:, None]) + np.diag(self.penalty))

    @property
    def solution(self) -> np.ndarray:
        return self.inverse @ (self.dense.T @ (self.weights * self.y))

    @property
    def cut(self) -> int:
        return self.common.shape[1]

    def system(self) -> ArrowSystem:
        owner = np.concatenate([np.full(self.cut, -1), self.owner])
        made = ArrowSystem(sparse.csr_array(self.dense), owner, self.group)
        made.weigh(self.weights, self.y)
        return made


def draw_arrow(seed: int) -> Arrow:
    """Draw a problem; some rows have no group, some groups no local columns, some no rows."""
    rng = np.random.default_rng(seed)
    n, k = int(rng.integers(5, 40)), int(rng.integers(1, 6))
    groups = int(rng.integers(1, 6))
    owner = rng.integers(0, groups, int(rng.integers(0, 9)))
    group = rng.integers(-1, groups, n)
    common = rng.normal(size=(n, k)) * (rng.random((n, k)) < 0.7)
    local = rng.normal(size=(n, len(owner))) * (group[:, None] == owner)
    return Arrow(
        common,
        local,
        owner.astype(np.intp),
        group.astype(np.intp),
        rng.random(n) + 0.2,
        rng.normal(size=n),
        rng.random(k + len(owner)) + 0.1,
    )


@pytest.fixture(params=range(12))
def arrow(request: pytest.FixtureRequest) -> Arrow:
    return draw_arrow(request.param)

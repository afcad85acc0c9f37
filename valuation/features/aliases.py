"""Effects that the sales can't tell apart: they are shown as one line, named as such."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from valuation.features.table import FeatureTable

__all__ = ["aliased", "joined_names"]


def aliased(table: FeatureTable, first: str, second: str) -> bool:
    """Tell whether two categories are tied to each other in the sales.

    The levels that occur together form a bipartite graph; dummies of both categories have full
    rank (but for the common mean) exactly when it is connected.  Where every venue knows one
    channel only, or asking prices come from dealers alone, it falls apart, and how the effect is
    shared between the two is the penalty's choice, not the evidence's.

    Parameters
    ----------
    table : FeatureTable
        Sales.
    first, second : str
        Factors; "not stated" counts as a level.
    """
    a, b = (table.factors[n].codes + 1 for n in (first, second))
    n_a, n_b = len(table.factors[first].levels) + 1, len(table.factors[second].levels) + 1
    pairs = np.unique(a * n_b + b)
    rows, columns = pairs // n_b, n_a + pairs % n_b
    size = n_a + n_b
    graph = csr_array((np.ones(len(pairs)), (rows, columns)), shape=(size, size))
    _, component = connected_components(graph, directed=False)
    used = np.unique(np.concatenate([rows, columns]))
    return len(np.unique(component[used])) > 1


def joined_names(table: FeatureTable, names: Sequence[str]) -> dict[str, str]:
    """Return for each factor the name of its line: its own, or all that it is tied to.

    Parameters
    ----------
    table : FeatureTable
        Sales.
    names : sequence of str
        Factors that have columns.
    """
    group = {n: {n} for n in names}
    for first, second in combinations(names, 2):
        if aliased(table, first, second):
            whole = group[first] | group[second]
            for n in whole:
                group[n] = whole
    return {n: " and ".join(m for m in names if m in group[n]) for n in names}

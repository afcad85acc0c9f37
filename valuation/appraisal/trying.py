"""Cars with one attribute stated otherwise: their columns and prices, all at once.

Every value that an open fact can have makes a car of its own.  A thousand cars of a run list have
some hundred thousand such values, too many to be read as cars; most attributes move nothing but
their own columns, so these alone are encoded anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import cars_table
from valuation.features.table import FOLLOWED, FeatureTable
from valuation.features.terms import FeatureSpec
from valuation.reading.evidence import unexpressed
from valuation.records import Car, Value

__all__ = ["Tries", "try_values"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

DUST = 1e-12
"""What rounding leaves of a cell that is none."""

Asked = tuple[Car, Sequence[tuple[str, Sequence[Value]]]]
"""A car, and for each of its facts the attribute and the values to be tried."""


@dataclass(frozen=True)
class _Fact:
    """One fact of one car.

    Parameters
    ----------
    car, at : int
        Position of the car, and of the fact among its facts.
    name : str
        Attribute.
    values : sequence of Value
        Values to be tried.
    """

    car: int
    at: int
    name: str
    values: Sequence[Value]


@dataclass(frozen=True)
class _Group:
    """Facts about one attribute, and the columns of each of their values, one below the other."""

    facts: Sequence[_Fact]
    X: sparse.csr_array
    starts: Ints


@dataclass(frozen=True)
class Tries:
    """What each value of each fact does to the price of its car.

    Parameters
    ----------
    base : scipy.sparse.csr_array, shape (n, n_columns)
        The cars as they are.
    groups : sequence
        The columns of the values, by attribute.
    steps : sequence of sequences of ndarray
        For each car and fact the log effect of each value.
    """

    base: sparse.csr_array
    groups: Sequence[_Group]
    steps: Sequence[Sequence[Floats]]

    def mixed(self, shares: Sequence[Sequence[Floats | None]]) -> list[sparse.csr_array | None]:
        """Return the cars as mixtures over the values of some of their facts.

        Parameters
        ----------
        shares : sequence of sequences of ndarray or None
            For each car and fact how likely each value is; None where the fact stays as it is.

        Returns
        -------
        list of scipy.sparse.csr_array or None
            The columns of each car, shape (1, n_columns); None if all facts stay.
        """
        turn = [np.cumsum([s is not None for s in some]).tolist() for some in shares]
        X = self.base
        for k in range(1, max((t[-1] for t in turn if t), default=0) + 1):
            # One fact of each car at a time: cells of a car are summed in the order of its facts.
            this = [
                [s if t[j] == k else None for j, s in enumerate(some)]
                for some, t in zip(shares, turn, strict=True)
            ]
            moved = np.array([any(s is not None for s in some) for some in this])
            mixture = [_mixture(g, this, len(shares)) for g in self.groups]
            X = sparse.csr_array(X + sum(mixture[1:], mixture[0]) - _rows(self.base, moved))
        X.data[np.abs(X.data) < DUST] = 0.0
        X.eliminate_zeros()
        X.sort_indices()
        return [_row(X, i) if t and t[-1] else None for i, t in enumerate(turn)]


def _mixture(group: _Group, shares: Sequence[Sequence[Floats | None]], n: int) -> sparse.csr_array:
    """Return the mean columns of the facts of a group that have shares, one row a car."""
    car, place, share = [np.zeros(0, dtype=np.intp)], [np.zeros(0, dtype=np.intp)], [np.zeros(0)]
    for fact, start in zip(group.facts, group.starts.tolist(), strict=True):
        some = shares[fact.car][fact.at]
        if some is not None:
            at = np.flatnonzero(some)
            car.append(np.full(len(at), fact.car))
            place.append(start + at)
            share.append(some[at])
    cells = (np.concatenate(share), (np.concatenate(car), np.concatenate(place)))
    return sparse.csr_array(sparse.csr_array(cells, shape=(n, group.X.shape[0])) @ group.X)


def _row(X: sparse.csr_array, i: int) -> sparse.csr_array:
    start, stop = X.indptr[i], X.indptr[i + 1]
    cells = (X.data[start:stop], X.indices[start:stop], np.array([0, stop - start]))
    return sparse.csr_array(cells, shape=(1, X.shape[1]))


def _rows(X: sparse.csr_array, chosen: NDArray[np.bool_]) -> sparse.csr_array:
    """Return the same rows, those that are not chosen empty."""
    return sparse.csr_array(sparse.diags_array(chosen.astype(np.float64)) @ X)


def try_values(spec: FeatureSpec, asked: Sequence[Asked], day: float, coef: Floats) -> Tries:
    """Price cars with each value that their facts can have, one fact at a time.

    Parameters
    ----------
    spec : FeatureSpec
        What the columns hold.
    asked : sequence of (Car, sequence of (str, sequence of Value))
        The cars, and for each of their facts the attribute and the values to be tried.
    day : float
        Day of the valuation, days since 1970-01-01.
    coef : ndarray, shape (n_columns,)
        Coefficients.

    Returns
    -------
    Tries
        In the order of cars, facts and values.
    """
    cars = [car for car, _ in asked]
    table = cars_table(cars, day)
    base = spec.transform(table).X
    now = np.asarray(base @ coef)
    steps: list[list[Floats]] = [[np.zeros(0)] * len(said) for _, said in asked]
    groups = []
    for (name, alone), facts in _by_attribute(asked).items():
        sizes = [len(f.values) for f in facts]
        of = np.repeat([f.car for f in facts], sizes).astype(np.intp)
        if alone:
            X = spec.restated(base[of], _stating(table, of, name, facts), name)
        else:
            whole = [_with(cars[f.car], name, v) for f in facts for v in f.values]
            X = spec.transform(cars_table(whole, day)).X
        starts = np.cumsum([0, *sizes])
        groups.append(_Group(facts, X, starts[:-1]))
        step = np.asarray(X @ coef) - now[of]
        for fact, start, stop in zip(facts, starts[:-1], starts[1:], strict=True):
            steps[fact.car][fact.at] = step[start:stop]
    return Tries(base, groups, steps)


def _by_attribute(asked: Sequence[Asked]) -> dict[tuple[str, bool], list[_Fact]]:
    """Return the facts that can be tried together."""
    out: dict[tuple[str, bool], list[_Fact]] = {}
    for i, (car, said) in enumerate(asked):
        for j, (name, values) in enumerate(said):
            if values:
                alone = _alone(car, name)
                out.setdefault((name, alone), []).append(_Fact(i, j, name, values))
    return out


def _alone(car: Car, name: str) -> bool:
    """Whether stating an attribute of a car changes nothing but the attribute's own column."""
    if name in FOLLOWED:
        return False
    return not car.said or unexpressed(car.said, car.values) == unexpressed(
        car.said, {*car.values, name}
    )


def _stating(table: FeatureTable, of: Ints, name: str, facts: Sequence[_Fact]) -> FeatureTable:
    """Return one row for each value of some facts about an attribute."""
    number: dict[Value, int] = {}
    codes = [number.setdefault(v, len(number)) for f in facts for v in f.values]
    return table.take(of).stating(name, list(number), np.array(codes, dtype=np.intp))


def _with(car: Car, name: str, value: Value) -> Car:
    return replace(car, values={**car.values, name: value})

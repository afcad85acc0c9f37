"""Which lines of an explanation rest on assumption more than on evidence, for many cars at once.

The share of evidence of a line needs the covariance of its coefficients, which is most of the work
of an explanation.  Most lines are let off sooner: a standard deviation is at most the sum of those
of its parts, and what is sure enough even then need not be looked at.  The rest is measured for all
cars of a model line together, and what comes near the limit as the explanation itself does it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.fitting import Fitted
from valuation.appraisal.lines import Line, bare_word, line_of, word_lines
from valuation.appraisal.starts import Starts
from valuation.appraisal.typical import TypicalCars
from valuation.appraisal.wordings import label_of

__all__ = ["assumed_labels"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

LITTLE = 0.3
"""A line with a smaller share of evidence rests on assumption."""

LARGE = 0.03
"""Log effect beyond which that must be said."""

SLACK = 1e-3
"""What rounding may do to a bound, the covariance being kept in single precision."""


def assumed_labels(fitted: Fitted, typical: TypicalCars, starts: Starts) -> list[tuple[str, ...]]:
    """Name the lines of each car that rest on assumption more than on evidence.

    Parameters
    ----------
    fitted : Fitted
        The market.
    typical : TypicalCars
        Typical cars.
    starts : Starts
        Where the cars' explanations start.

    Returns
    -------
    list of tuple of str
        For each car the labels of the lines, in their order.
    """
    attributes = fitted.spec.attributes
    named: list[list[str]] = [[] for _ in starts.rows]
    for i, k in _suspects(fitted, starts):
        moved = starts.moved(i)
        part = moved.take(fitted.spec.column_attribute[moved.columns] == k)
        lines = (
            word_lines(fitted, typical, part)
            if attributes[k] == "wording"
            else [line_of(fitted, attributes[k], "", part, 0)]
        )
        if any(_assumed(line) for line in lines):
            named[i].append(label_of(attributes[k]))
    return [tuple(labels) for labels in named]


def _assumed(line: Line) -> bool:
    return line.share < LITTLE and abs(line.effect) > LARGE


@dataclass(frozen=True)
class _Parts:
    """Cells of some cars, each with the line of the explanation in which it counts.

    Parameters
    ----------
    car, column : ndarray of int, shape (n,)
        Where each cell stands.
    step : ndarray, shape (n,)
        What the car has more or less there.
    place : ndarray of int, shape (n,)
        Number of the line it counts in; each line belongs to one car.
    """

    car: Ints
    column: Ints
    step: Floats
    place: Ints

    def take(self, chosen: NDArray[np.bool_]) -> _Parts:
        """Return the chosen cells, their lines numbered anew."""
        place = np.unique(self.place[chosen], return_inverse=True)[1]
        return _Parts(self.car[chosen], self.column[chosen], self.step[chosen], place)

    def total(self, values: Floats) -> Floats:
        """Sum a value of each cell over each line."""
        return np.asarray(np.bincount(self.place, values), dtype=np.float64)


def _suspects(fitted: Fitted, starts: Starts) -> list[tuple[int, int]]:
    """Return car and attribute of the lines that may rest on assumption, in order."""
    parts = _large(fitted, _parts(fitted, starts))
    line = starts.design.line
    owner = fitted.layout.owner[parts.column]
    mine = (owner < 0) | (owner == line[parts.car])
    before = parts.total(parts.step**2 * fitted.prior_variance[parts.column])
    least = (1.0 - LITTLE - SLACK) * before
    sd = _deviations(fitted, line)[parts.column]
    unsure = parts.total(np.abs(parts.step) * sd * mine) ** 2 > least
    chosen = unsure[parts.place]
    parts, least = parts.take(chosen), least[unsure]
    unsure = _variances(fitted, parts, mine[chosen], line) > least
    chosen = unsure[parts.place]
    kind = fitted.spec.column_attribute[parts.column[chosen]]
    return sorted(set(zip(parts.car[chosen].tolist(), kind.tolist(), strict=True)))


def _parts(fitted: Fitted, starts: Starts) -> _Parts:
    """Return all cells in which cars differ from the typical ones."""
    step, spec = starts.step, fitted.spec
    car = np.repeat(np.arange(step.shape[0]), np.diff(step.indptr))
    column = step.indices.astype(np.intp)
    group = _groups(fitted, starts, car, column)
    code = car * (int(group.max(initial=0)) + 1) + group
    place = np.unique(code, return_inverse=True)[1]
    parts = _Parts(car, column, step.data, place)
    named = np.array([a != "start" for a in spec.attributes])
    return parts.take(named[spec.column_attribute[column]])


def _large(fitted: Fitted, parts: _Parts) -> _Parts:
    """Return the cells of lines that move the price and are held by an assumption or a penalty."""
    effect = parts.total(parts.step * fitted.coef[parts.column])
    free = parts.total(np.isinf(fitted.prior_variance[parts.column]).astype(np.float64)) > 0
    large = (np.abs(effect) > LARGE * (1.0 - SLACK)) & ~free
    return parts.take(large[parts.place])


def _variances(fitted: Fitted, parts: _Parts, mine: NDArray[np.bool_], line: Ints) -> Floats:
    """Return the variance of each line, all cars of a model line together."""
    spec = fitted.spec
    out = np.zeros(int(parts.place.max(initial=-1)) + 1)
    lines = line[parts.car]
    for code in np.unique(lines).tolist():
        at = np.flatnonzero(mine & (lines == code))
        columns = np.unique(parts.column[at])
        columns = columns[np.argsort(spec.is_local[columns], kind="stable")]
        local = spec.is_local[columns]
        V = fitted.posterior.covariance(
            code, spec.within[columns[~local]], spec.within[columns[local]]
        )
        where = np.zeros(spec.n_columns, dtype=np.intp)
        where[columns] = np.arange(len(columns))
        places, row = np.unique(parts.place[at], return_inverse=True)
        v = np.zeros((len(places), len(columns)))
        v[row, where[parts.column[at]]] = parts.step[at]
        out[places] = ((v @ V) * v).sum(1)
    return out * fitted.sigma**2 * fitted.inflation


def _groups(fitted: Fitted, starts: Starts, car: Ints, column: Ints) -> Ints:
    """Return the line each cell counts in: its attribute, or of the words of the advert its word.

    Words that a car lacks count together.
    """
    spec = fitted.spec
    group = spec.column_attribute[column]
    if "wording" not in spec.attributes:
        return group
    words = np.flatnonzero(group == spec.attributes.index("wording"))
    distinct, at = np.unique(column[words], return_inverse=True)
    names = [bare_word(spec.labels[c].split(", ")[0]) for c in distinct.tolist()]
    number = {v: 1 + j for j, v in enumerate(dict.fromkeys(names))}
    code = np.array([number[v] for v in names], dtype=np.intp)[at]
    X = starts.design.X
    own = np.repeat(np.arange(X.shape[0]), np.diff(X.indptr)) * X.shape[1] + X.indices
    present = np.isin(car[words] * X.shape[1] + column[words], own)
    group[words] = len(spec.attributes) + np.where(present, code, 0)
    return group


def _deviations(fitted: Fitted, lines: Ints) -> Floats:
    """Return the standard deviation of the common coefficients and of those of some model lines."""
    spec, posterior = fitted.spec, fitted.posterior
    variance = np.zeros(spec.n_columns)
    common, local = np.flatnonzero(~spec.is_local), np.flatnonzero(spec.is_local)
    variance[common] = np.diag(posterior.border)[spec.within[common]]
    for line in np.unique(lines).tolist():
        if line in posterior.block:
            variance[local[posterior.columns[line]]] = np.diag(posterior.block[line])
    return np.sqrt(np.maximum(variance, 0.0) * fitted.inflation) * fitted.sigma

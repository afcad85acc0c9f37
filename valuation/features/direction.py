"""Directions of which the trade is certain: better condition never lowers a price."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from valuation.features.encoders import Crossed, Curve, Encoder, Straight
from valuation.features.table import FeatureTable
from valuation.features.terms import FeatureSpec, Term
from valuation.schema import ATTRIBUTES, Attribute

__all__ = ["hold_direction"]

Floats = NDArray[np.float64]


def hold_direction(
    spec: FeatureSpec, coef: Floats, table: FeatureTable
) -> tuple[FeatureSpec, list[str]]:
    """Tighten a spec where fitted effects run against a certain direction.

    The constraint binds on the common effect and the departure of a model line together: a line
    whose slope has the wrong sign is held flat, a curve that turns back is dropped.  Each step is
    exact for its active set; the caller fits again until nothing is said.

    Parameters
    ----------
    spec : FeatureSpec
        Columns.
    coef : ndarray, shape (n_columns,)
        Their coefficients.
    table : FeatureTable
        The sales, to know which lines state the attribute.

    Returns
    -------
    FeatureSpec
        Tightened.
    list of str
        What was held, in words; empty if nothing was.
    """
    said: list[str] = []
    for a in ATTRIBUTES:
        if a.direction:
            spec, more = _hold(a, spec, coef, table)
            if more:  # columns have changed: the other attributes wait for the next fit
                return spec, more
    return spec, said


def _hold(
    a: Attribute, spec: FeatureSpec, coef: Floats, table: FeatureTable
) -> tuple[FeatureSpec, list[str]]:
    straight = _term(spec, a.name)
    if straight is None or not isinstance(straight.encoder, Straight):
        return spec, []
    common = float(coef[spec.starts[spec.terms.index(straight)]]) * a.direction
    grid = np.linspace(*_span(straight.encoder, table), 21)
    bend = _bends(spec, coef, f"{a.name} curve", grid) * a.direction
    if len(bend) and (common + bend < -1e-9).any():
        names = {f"{a.name} curve", f"{a.name} curve by model line"}
        return spec.only({t.name for t in spec.terms} - names), [
            f"{a.label}: the curve turned back and is held straight"
        ]
    local = _term(spec, f"{a.name} curve by model line")
    if local is not None and _local_turns(spec, coef, local, grid, common + bend, a.direction):
        return spec.only({t.name for t in spec.terms} - {local.name}), [
            f"{a.label}: curves of single model lines turned back and are held to the common one"
        ]
    held = _wrong_lines(a, spec, coef, table, common)
    if not held:
        return spec, []
    terms = tuple(replace(t, encoder=_flat(t.encoder, a.name, held)) for t in spec.terms)
    return replace(spec, terms=terms), [f"{a.label}: held flat in {name}" for name in sorted(held)]


def _term(spec: FeatureSpec, name: str) -> Term | None:
    return next((t for t in spec.terms if t.name == name), None)


def _span(encoder: Straight, table: FeatureTable) -> tuple[float, float]:
    x = table.numbers[encoder.source]
    z = (x[~np.isnan(x)] - encoder.centre) / encoder.spread
    return (float(z.min()), float(z.max())) if len(z) else (0.0, 1.0)


def _slopes(curve: Curve, beta: Floats, grid: Floats) -> Floats:
    """Return the slope of a curve between the points of a grid."""
    middle = (grid[1:] + grid[:-1]) / 2
    steps = (middle[:, None] > np.array(curve.knots)) - np.array(curve.slope)
    return np.asarray(steps @ beta)


def _bends(spec: FeatureSpec, coef: Floats, name: str, grid: Floats) -> Floats:
    term = _term(spec, name)
    if term is None or not isinstance(term.encoder, Curve):
        return np.zeros(len(grid) - 1)
    at = spec.terms.index(term)
    return _slopes(term.encoder, coef[spec.starts[at] : spec.starts[at + 1]], grid)


def _local_turns(
    spec: FeatureSpec, coef: Floats, term: Term, grid: Floats, common: Floats, sign: int
) -> bool:
    cross = term.encoder
    if not isinstance(cross, Crossed) or not isinstance(cross.inner, Curve):
        return False
    k, at = len(cross.inner.labels), spec.terms.index(term)
    beta = coef[spec.starts[at] : spec.starts[at + 1]]
    full = np.zeros((len(cross.groups), k))
    pairs = np.array(cross.pairs)
    full[pairs // k, pairs % k] = beta
    slopes = np.array([_slopes(cross.inner, b, grid) for b in full[np.unique(pairs // k)]])
    return bool((common + sign * slopes < -1e-9).any())


def _wrong_lines(
    a: Attribute, spec: FeatureSpec, coef: Floats, table: FeatureTable, common: float
) -> set[str]:
    """Return the model lines whose slope has the wrong sign."""
    line = table.factors["line"]
    slope = np.full(len(line.levels), common)
    for by in ("line", "make"):
        factor = table.factors[by]
        term = _term(spec, f"{a.name} by {'model line' if by == 'line' else by}")
        if term is None or not isinstance(term.encoder, Crossed):
            continue
        at = spec.terms.index(term)
        by_group = dict(
            zip(
                (term.encoder.groups[p] for p in term.encoder.pairs),
                coef[spec.starts[at] : spec.starts[at + 1]],
                strict=True,
            )
        )
        first = _first_row(line.codes, len(line.levels))
        for i, row in enumerate(first):
            if row >= 0 and factor.codes[row] >= 0:
                level = factor.levels[factor.codes[row]]
                slope[i] += a.direction * float(by_group.get(level, 0.0))
    stated = np.zeros(len(line.levels), dtype=bool)
    stated[line.codes[~np.isnan(table.numbers[a.name]) & (line.codes >= 0)]] = True
    return {line.levels[i] for i in np.flatnonzero(stated & (slope < -1e-9))}


def _first_row(codes: NDArray[np.intp], n: int) -> NDArray[np.intp]:
    first = np.full(n, -1, dtype=np.intp)
    rows = np.flatnonzero(codes >= 0)[::-1]
    first[codes[rows]] = rows
    return first


def _flat(encoder: Encoder, source: str, lines: set[str]) -> Encoder:
    if encoder.source != source:
        return encoder
    if isinstance(encoder, Straight):
        return replace(encoder, flat_lines=tuple(sorted({*encoder.flat_lines, *lines})))
    if isinstance(encoder, Crossed) and isinstance(encoder.inner, Straight):
        return replace(encoder, inner=_flat(encoder.inner, source, lines))
    return encoder

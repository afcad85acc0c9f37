"""Directions of which the trade is certain: better condition never lowers a price."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from valuation.features.encoders import Crossed, Curve, Encoder, Straight
from valuation.features.table import FeatureTable
from valuation.features.terms import FeatureSpec, Term
from valuation.schema import ATTRIBUTES, Attribute

__all__ = ["hold_direction"]

Floats = NDArray[np.float64]
Changes = dict[str, Term | None]

_SLACK = -1e-9


def hold_direction(
    spec: FeatureSpec, coef: Floats, table: FeatureTable
) -> tuple[FeatureSpec, list[str]]:
    """Tighten a spec where fitted effects run against a certain direction.

    The constraint binds on the whole effect of a model line: common slope, departures and bends
    together.  A line whose slope has the wrong sign is held flat, one that turns back somewhere
    is held to the common curve or held straight, and a common curve that turns back is dropped.
    Each step is exact for its active set; the caller fits again until nothing is said.

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
    changes: Changes = {}
    said: list[str] = []
    for a in ATTRIBUTES:
        if a.direction:
            fresh, more = _hold(a, _Fit(spec, coef * a.direction), table)
            changes |= fresh
            said += more
    if not said:
        return spec, said
    terms = tuple(changes.get(t.name, t) for t in spec.terms)
    return replace(spec, terms=tuple(t for t in terms if t is not None)), said


@dataclass(frozen=True)
class _Fit:
    """A spec with coefficients signed so that a right effect is positive."""

    spec: FeatureSpec
    coef: Floats

    def term(self, name: str) -> Term | None:
        return next((t for t in self.spec.terms if t.name == name), None)

    def of(self, term: Term) -> Floats:
        """Return the coefficients of a term."""
        at = self.spec.terms.index(term)
        return self.coef[self.spec.starts[at] : self.spec.starts[at + 1]]


def _hold(a: Attribute, fit: _Fit, table: FeatureTable) -> tuple[Changes, list[str]]:
    straight = fit.term(a.name)
    if straight is None or not isinstance(straight.encoder, Straight):
        return {}, []
    curve, local = fit.term(f"{a.name} curve"), fit.term(f"{a.name} curve by model line")
    points = _points(curve, local)
    common = float(fit.of(straight)[0])
    bend = np.zeros(len(points))
    if curve is not None and isinstance(curve.encoder, Curve):
        bend = _bends(curve.encoder, fit.of(curve)[None, :], points)[0]
        if (common + bend < _SLACK).any():
            dropped: Changes = {t.name: None for t in (curve, local) if t is not None}
            return dropped, [f"{a.label}: the curve turned back and is held straight"]
    lines = table.factors["line"].levels
    slope = _line_slopes(a, fit, table, common)
    shared = np.outer([v not in _flat_lines(curve) for v in lines], bend)
    own = _own_bends(fit, local, points, lines)
    flat = slope < _SLACK
    turned = ~flat & ((slope[:, None] + shared + own).min(1, initial=0.0) < _SLACK)
    still = turned & ((slope[:, None] + shared).min(1, initial=0.0) < _SLACK)
    held = {
        "straight": {lines[i] for i in np.flatnonzero(flat)},
        "curve": {lines[i] for i in np.flatnonzero(flat | still)},
        "own": {lines[i] for i in np.flatnonzero(flat | turned)},
    }
    changes: Changes = {
        t.name: replace(t, encoder=_flat(t.encoder, held))
        for t in fit.spec.terms
        if t.encoder.source == a.name
    }
    return changes, _said(a, lines, flat, turned, still)


def _said(
    a: Attribute,
    lines: tuple[str, ...],
    flat: NDArray[np.bool_],
    turned: NDArray[np.bool_],
    still: NDArray[np.bool_],
) -> list[str]:
    how = {"flat": flat, "straight": still, "to the common curve": turned & ~still}
    return [
        f"{a.label}: held {way} in {lines[i]}"
        for way, mask in how.items()
        for i in np.flatnonzero(mask)
    ]


def _inner(term: Term | None) -> Encoder | None:
    encoder = None if term is None else term.encoder
    return encoder.inner if isinstance(encoder, Crossed) else encoder


def _flat_lines(term: Term | None) -> tuple[str, ...]:
    encoder = _inner(term)
    return encoder.flat_lines if isinstance(encoder, Curve | Straight) else ()


def _points(*terms: Term | None) -> Floats:
    """Return one point between each two bends and one beyond each end."""
    curves = [e for e in map(_inner, terms) if isinstance(e, Curve)]
    knots = np.unique(np.concatenate([np.zeros(1), *[np.array(c.knots) for c in curves]]))
    return np.concatenate([knots[:1] - 1.0, (knots[1:] + knots[:-1]) / 2, knots[-1:] + 1.0])


def _bends(curve: Curve, beta: Floats, points: Floats) -> Floats:
    """Return what curves add to the slope at some points, shape (n_curves, n_points)."""
    steps = (points[:, None] > np.array(curve.knots)) - np.array(curve.slope)
    return np.asarray(beta @ steps.T)


def _own_bends(fit: _Fit, term: Term | None, points: Floats, lines: tuple[str, ...]) -> Floats:
    """Return what the curve of each model line adds to its slope."""
    out = np.zeros((len(lines), len(points)))
    cross = None if term is None else term.encoder
    if term is None or not isinstance(cross, Crossed) or not isinstance(cross.inner, Curve):
        return out
    k = len(cross.inner.labels)
    beta = np.zeros((len(cross.groups), k))
    pairs = np.array(cross.pairs)
    beta[pairs // k, pairs % k] = fit.of(term)
    at = {v: i for i, v in enumerate(cross.groups) if v not in cross.inner.flat_lines}
    rows = [i for i, v in enumerate(lines) if v in at]
    out[rows] = _bends(cross.inner, beta, points)[[at[lines[i]] for i in rows]]
    return out


def _line_slopes(a: Attribute, fit: _Fit, table: FeatureTable, common: float) -> Floats:
    """Return the slope of each model line, NaN where it states nothing, 0 where it is flat."""
    line = table.factors["line"]
    first = _first_row(line.codes, len(line.levels))
    slope = np.full(len(line.levels), common)
    for by, name in (("line", "model line"), ("make", "make")):
        term = fit.term(f"{a.name} by {name}")
        if term is None or not isinstance(term.encoder, Crossed):
            continue
        groups = [term.encoder.groups[p] for p in term.encoder.pairs]
        departure = dict(zip(groups, fit.of(term).tolist(), strict=True))
        names = [*table.factors[by].levels, ""]
        slope += [departure.get(names[table.factors[by].codes[row]], 0.0) for row in first]
    slope[[v in _flat_lines(fit.term(a.name)) for v in line.levels]] = 0.0
    stated = np.zeros(len(line.levels), dtype=bool)
    stated[line.codes[~np.isnan(table.numbers[a.name]) & (line.codes >= 0)]] = True
    return np.where(stated, slope, np.nan)


def _first_row(codes: NDArray[np.intp], n: int) -> NDArray[np.intp]:
    first = np.full(n, -1, dtype=np.intp)
    rows = np.flatnonzero(codes >= 0)[::-1]
    first[codes[rows]] = rows
    return first


def _flat(encoder: Encoder, held: Mapping[str, set[str]], *, own: bool = False) -> Encoder:
    """Return the encoder with more lines in which it is left out."""
    if isinstance(encoder, Crossed):
        return replace(encoder, inner=_flat(encoder.inner, held, own=True))
    if isinstance(encoder, Straight | Curve):
        kind = "straight" if isinstance(encoder, Straight) else "own" if own else "curve"
        return replace(encoder, flat_lines=tuple(sorted({*encoder.flat_lines, *held[kind]})))
    return encoder

"""True variance components: how far the coefficients of each block vary in the invented truth.

A ridge block says that its coefficients vary about zero with one standard deviation, which the
model has to estimate.  In an invented market it is known, so the same columns can be fitted with
the true one held (the penalty is then the noise variance over its square).  Each estimated block
gets its standard deviation from one of five sources:

- ``drawn``: the generator draws independent effects for just these columns; their root mean square
  in this world is used (years, bodies and colours of a model line, generations, venues, regions).
- ``derived``: slopes of model lines are multiples of one common curve (condition, originality), so
  the coefficients of that curve times the spread of the multiples are used; for market levels the
  steps of the true paths.
- ``projected``: the true effects are not drawn column by column (premiums and levels written down
  one by one, curves), so the attribute's true contribution to each sale is projected by least
  squares on the columns of its blocks, common ones first, and the empirical variance of the
  coefficients is used.  Levels are measured from the mean of their group, whose own level takes
  it; slopes of model lines are weighed by what the sales say of them.
- ``none``: the generator has no such effect (anything by make or by version but the market level,
  curves of single lines where the truth is straight, words where everything that matters is
  stated as well); the block is dropped.
- ``kept``: no honest derivation (the reserve, which stands for the shading of unsold bids; words
  and versions where sellers are silent); the estimate stays.

Free and assumed blocks are the same in both fits.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from truth_markets import Trial

from valuation.appraisal.fitting import Fitted
from valuation.features.calendar import Walk
from valuation.features.encoders import Crossed, Curve, Encoder, Levels, Silent, Straight
from valuation.features.table import FeatureTable
from valuation.features.terms import FeatureSpec, Term
from valuation.synthetic.catalogue import Lines
from valuation.synthetic.pricing import PARTS

__all__ = [
    "TrueComponents",
    "held_spec",
    "level_path",
    "market_steps",
    "project",
    "true_components",
    "variance_of",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_NOTHING = 1e-7
"""Variances below this (0.03 % of a price) count as no effect."""

_OF_THE_MODEL = ("model", "generation")

_ABSENT = (
    "mileage curve",
    "mileage curve by model line",
    "year curve by model line",
    "age at sale by model line",
    *(
        f"{name} {rest}"
        for name in ("engine_size", "gears")
        for rest in ("by era", "by model line", "curve by model line")
    ),
)
"""Blocks whose attribute has a true effect, but not of this kind."""


@dataclass(frozen=True)
class TrueComponents:
    """Standard deviations of the true coefficients.

    Attributes
    ----------
    sd : dict of str to float
        By block; blocks without any true effect are left out.
    sources : dict of str to int
        Number of blocks by source.
    """

    sd: dict[str, float]
    sources: dict[str, int]


def project(X: sparse.csr_array, target: Floats) -> tuple[Floats, Floats]:
    """Project a target on columns and a constant by least squares; of many solutions the smallest.

    Parameters
    ----------
    X : scipy.sparse.csr_array, shape (n, k)
        Columns.
    target : ndarray, shape (n,)
        What to project.

    Returns
    -------
    coef : ndarray, shape (k,)
        Coefficients.
    rest : ndarray, shape (n,)
        What is left of the target, about its mean.
    """
    n = len(target)
    mean = np.asarray(X.sum(axis=0)).ravel() / n
    A = (X.T @ X).toarray() - n * np.outer(mean, mean)
    A[np.diag_indices(len(A))] += 1e-7 * max(float(np.trace(A)) / max(len(A), 1), 1e-12)
    centred = target - target.mean()
    coef = np.linalg.solve(A, X.T @ centred)
    rest = centred - X @ coef
    return coef, np.asarray(rest - rest.mean())


def _inner(e: Encoder) -> Encoder:
    return e.inner if isinstance(e, Crossed) else e


def variance_of(term: Term, coef: Floats, weight: Floats) -> float:
    """Return the variance of the true coefficients of a block.

    Parameters
    ----------
    term : Term
        The block.
    coef : ndarray, shape (k,)
        True coefficients.
    weight : ndarray, shape (k,)
        Sum of squares of each column: what the sales say of it.

    Returns
    -------
    float
        About the mean of their group for levels, about zero for everything else.
    """
    e = term.encoder
    if isinstance(_inner(e), Levels):
        k = len(_inner(e).labels)
        group = np.array(e.pairs) // k if isinstance(e, Crossed) else np.zeros(len(coef), dtype=int)
        size = np.bincount(group)
        mean = np.bincount(group, coef) / np.maximum(size, 1)
        spare = int((size[size > 0] - 1).sum())
        if spare:
            return float(np.sum((coef - mean[group]) ** 2) / spare)
    if isinstance(_inner(e), Straight) and isinstance(e, Crossed):
        return float(np.sum(weight * coef**2) / max(float(weight.sum()), 1e-12))
    return float(np.mean(coef**2)) if len(coef) else 0.0


def part_of(term: Term) -> str:
    """Return the part of the true price that the columns of a block can carry, empty for none."""
    source = _inner(term.encoder).source
    if term.name in ("make", "model", "model line"):
        return "model"
    if _by_nothing(term) or term.name in _ABSENT:
        return ""
    if source == "age":
        return "age at sale"
    source = "year" if source == "year level" else source
    return source if source in PARTS else ""


def _by_nothing(term: Term) -> bool:
    """Whether a block is crossed with what no true effect depends on."""
    return isinstance(term.encoder, Crossed) and term.encoder.by in ("make", "variant")


def _drawn(term: Term, trial: Trial, names: set[str]) -> float | None:
    """Return the root mean square of effects drawn for just these columns, None for others."""
    lines, levels = trial.world.truth.world.lines, trial.world.truth.world.effects.levels
    known: dict[str, Any] = {
        "year level by model line": lines.year_level,
        "colour by model line": lines.colour_effect,
        "body by model line": lines.body_effect,
        "venue": [v for v in levels["venue"].values() if v],
        "region": list(levels["region"].values()),
    }
    if "model" in names:  # without generations the model line is the model itself
        known["model line"] = lines.generation_effect
    values = known.get(term.name)
    return None if values is None else float(np.sqrt(np.mean(np.square(values))))


def _multiples(lines: Lines) -> Mapping[str, Floats]:
    """Return, for attributes whose common curve each line multiplies, the multiple of each line."""
    return {"condition_grade": lines.condition_slope, "originality_score": lines.originality_slope}


def _derived(spec: FeatureSpec, table: FeatureTable, trial: Trial) -> dict[str, float]:
    """Return the standard deviations of curves that lines multiply, and of the market level."""
    world, out = trial.world.truth.world, {}
    line = trial.world.truth.state["line"][trial.train]
    for name, slopes in _multiples(world.lines).items():
        mean = float(slopes[line].mean())
        part = trial.world.truth.parts[name].to_numpy()[trial.train] / slopes[line] * mean
        spread = float(np.std(slopes[np.unique(line)] / mean))
        for term in (t for t in spec.terms if _inner(t.encoder).source == name):
            by = term.encoder.by if isinstance(term.encoder, Crossed) else ""
            if isinstance(_inner(term.encoder), Straight | Curve) and by in ("", "line"):
                coef = _common_coef(term, spec, table, part)
                out[term.name] = float(np.sqrt(np.mean(coef**2))) * (spread if by else 1.0)
    return out | market_steps(spec, table, trial)


def _common_coef(term: Term, spec: FeatureSpec, table: FeatureTable, part: Floats) -> Floats:
    """Return the coefficients of a common curve on the columns that a block has for each line."""
    inner = _inner(term.encoder)
    straight = next(t.encoder for t in spec.terms if t.name == inner.source)
    coef, rest = project(_columns(straight, table), part)
    return project(_columns(inner, table), rest)[0] if isinstance(inner, Curve) else coef


def _columns(encoder: Encoder, table: FeatureTable) -> sparse.csr_array:
    cells = encoder.encode(table)
    shape = (table.n, len(encoder.labels))
    return sparse.coo_array((cells.val, (cells.row, cells.col)), shape=shape).tocsr()


def level_path(trial: Trial, days: Floats, rows: Ints) -> Floats:
    """Return the true market level of the mix of segments of some sales, shape (n_days,)."""
    truth = trial.world.truth
    segment = truth.world.lines.segment[truth.state["line"][rows]]
    shares = np.bincount(segment) / len(segment)
    days = np.asarray(days)
    paths = [
        share * truth.world.levels.at(np.full(len(days), s), days) for s, share in enumerate(shares)
    ]
    return np.asarray(np.sum(paths, axis=0))


def market_steps(spec: FeatureSpec, table: FeatureTable, trial: Trial) -> dict[str, float]:
    """Return the size of the steps of the true market level: in common, by make, by model line."""
    out: dict[str, float] = {}
    everyone = np.zeros(table.n, dtype=np.intp)
    for term in spec.terms:
        e = term.encoder
        inner = _inner(e)
        if not isinstance(inner, Walk):
            continue
        group, parent = everyone, None
        if isinstance(e, Crossed):
            # What a make or line does beside what the market, or its make, does anyway.
            makes = table.factors["make"].codes
            nested = e.by == "line" and "market level by make" in out
            group, parent = e.group_of(table), makes if nested else everyone
        steps = _steps(trial, np.array(inner.nodes), group, parent)
        out[term.name] = float(np.sqrt(np.mean(steps**2)))
    return out


def _steps(trial: Trial, nodes: Floats, group: Ints, parent: Ints | None) -> Floats:
    """Return the true steps of the level of each group, less those of the group around it."""
    steps = []
    for g in np.unique(group[group >= 0]):
        mine = group == g
        path = level_path(trial, nodes, trial.train[mine])
        if parent is not None:
            around = parent == parent[np.argmax(mine)]
            path = path - level_path(trial, nodes, trial.train[around])
        steps.append(np.diff(path))
    return np.array(steps)


def _within(line: Ints, x: Floats) -> Floats:
    """Take the mean of each model line from a column."""
    size = np.bincount(line)
    return np.asarray(x - (np.bincount(line, x) / np.maximum(size, 1))[line])


def _projected(spec: FeatureSpec, table: FeatureTable, trial: Trial) -> dict[str, float]:
    """Return the standard deviations of the blocks of each part, projected one after the other."""
    design, names = spec.transform(table), {t.name for t in spec.terms}
    parts = trial.world.truth.parts.iloc[trial.train]
    out: dict[str, float] = {}
    for part in sorted({part_of(t) for t in spec.terms} - {""}):
        mine = [i for i, t in enumerate(spec.terms) if part_of(t) == part]
        # What all lines share comes first, wherever its block stands.
        mine.sort(key=lambda i: isinstance(spec.terms[i].encoder, Crossed))
        rest = parts[list(_OF_THE_MODEL) if part == "model" else [part]].sum(axis=1).to_numpy()
        # The level of a model line takes what its years have in common.
        rest = _within(design.line, rest) if part == "year" else rest
        for i in mine:
            term = spec.terms[i]
            if _drawn(term, trial, names) is not None:
                continue
            X = design.X[:, spec.starts[i] : spec.starts[i + 1]].tocsr()
            if part == "year":
                swept = [_within(design.line, x) for x in X.toarray().T]
                X = sparse.csr_array(np.column_stack(swept))
            coef, rest = project(X, rest)
            weight = np.asarray((X**2).sum(axis=0)).ravel()
            out[term.name] = float(np.sqrt(variance_of(term, coef, weight)))
    return out


def true_components(
    trial: Trial, spec: FeatureSpec, table: FeatureTable, fitted: Fitted
) -> TrueComponents:
    """Derive the true standard deviation of the coefficients of each estimated block.

    Parameters
    ----------
    trial : Trial
        Market with its truth.
    spec : FeatureSpec
        All columns that the sales to fit on can carry.
    table : FeatureTable
        Those sales.
    fitted : Fitted
        The fit with estimated penalties, for the blocks that keep theirs.

    Returns
    -------
    TrueComponents
        Ready to be held in a second fit.
    """
    names = {t.name for t in spec.terms}
    projected = _projected(spec, table, trial)
    derived = _derived(spec, table, trial)
    silent = trial.world.settings.openness < 10
    sd: dict[str, float] = {}
    sources: Counter[str] = Counter()
    for term in (t for t in spec.terms if t.penalty == "estimated"):
        name, drawn = term.name, _drawn(term, trial, names)
        if drawn is not None:
            source, value = "drawn", drawn
        elif name in derived:
            source, value = "derived", derived[name]
        elif name in projected:
            source, value = "projected", projected[name]
        elif name == "reserve" or (silent and _stands_in(term)):
            source, value = "kept", _estimated_sd(fitted, name)
        else:
            source, value = "none", 0.0
        if value**2 >= _NOTHING:
            sd[name] = value
        elif source != "kept":
            source = "none"
        sources[source] += 1
    return TrueComponents(sd, dict(sorted(sources.items())))


def _stands_in(term: Term) -> bool:
    """Whether a block can stand for facts that sellers leave out."""
    return (
        not _by_nothing(term) and not isinstance(term.encoder, Silent) and term.name not in _ABSENT
    )


def _estimated_sd(fitted: Fitted, name: str) -> float:
    return float(fitted.sigma / np.sqrt(fitted.penalties.get(name, np.inf)))


def held_spec(spec: FeatureSpec, components: TrueComponents) -> FeatureSpec:
    """Return the spec with the true standard deviations held and empty blocks dropped.

    Parameters
    ----------
    spec : FeatureSpec
        All columns.
    components : TrueComponents
        True standard deviations.

    Returns
    -------
    FeatureSpec
        Estimated blocks become blocks assumed to vary about zero with the true spread, so that
        their penalty follows the noise that the fit finds.
    """
    terms = []
    for t in spec.terms:
        if t.penalty != "estimated":
            terms.append(t)
        elif t.name in components.sd:
            k = len(t.encoder.labels)
            held = (components.sd[t.name],) * k
            terms.append(replace(t, penalty="assumed", mean=(0.0,) * k, sd=held))
    return FeatureSpec(tuple(terms), spec.lines, spec.usual)

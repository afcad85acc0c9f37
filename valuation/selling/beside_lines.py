"""The difference of two cars as an exact sum of money, line by line."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.contrast import variances
from valuation.appraisal.fitting import Fitted
from valuation.appraisal.lines import Z90
from valuation.appraisal.outlook import Outlook
from valuation.appraisal.wordings import say
from valuation.features.columns import key
from valuation.money import log_mean, whole_units
from valuation.records import Car
from valuation.results.beside_parts import DifferenceLine
from valuation.selling.sheet_words import WORDING, plain_label, plain_value, row_of

__all__ = ["BUILT", "Step", "in_money", "same_model", "steps_between", "total_interval"]

Floats = NDArray[np.float64]

SMALL = 0.003
"""A line below this log effect joins the other small ones."""

BUILT = (
    "variant",
    "year",
    "body",
    "engine_size",
    "engine_layout",
    "aspiration",
    "power",
    "fuel",
    "fuel_economy",
    "annual_tax",
    "transmission",
    "gears",
    "specification",
)
"""What a model line is known by: cars of two lines are each measured from what is usual there."""

USUAL = "{}, for its model"
MODEL = "model"
POOLED = "smaller"
REMAINDERS = ("earlier sale", "closest sales", "correction")
"""Lines that no attribute is behind; they come last."""


@dataclass(frozen=True)
class Step:
    """One line on the log scale, this car less the other.

    Parameters
    ----------
    attribute, label, theirs, ours : str
        As for :class:`valuation.results.beside_parts.DifferenceLine`.
    effect : float
        Log effect.
    sd : float or None
        Its standard deviation; None for a remainder.
    share : float or None
        Share of evidence; None for a remainder.
    """

    attribute: str
    label: str
    theirs: str
    ours: str
    effect: float
    sd: float | None
    share: float | None


def steps_between(
    fitted: Fitted,
    X: sparse.csr_array,
    typical: sparse.csr_array,
    cells: Sequence[Mapping[str, Any]],
    outlooks: Sequence[Outlook],
) -> list[Step]:
    """Compare two cars attribute by attribute.

    Two model lines are set apart by their typical cars, whose engines and bodies no sale tells
    from the lines themselves; what a car has else than the typical one of its line is a line of
    its own.

    Parameters
    ----------
    fitted : Fitted
        The market.
    X, typical : scipy.sparse.csr_array, shape (2, n_columns)
        This car and the other one, in the same sale on the same day, and the typical car of the
        model line of each.
    cells : sequence of mapping
        The values of both, for words.
    outlooks : sequence of Outlook
        Their predictive distributions.

    Returns
    -------
    list of Step
        Their effects add up to the difference of the central log prices; steps without any
        effect are left out, so two alike cars give none.
    """
    ours, theirs = cells
    words = {
        a: (plain_value(row_of(a), theirs), plain_value(row_of(a), ours))
        for a in fitted.spec.attributes
        if a != "start"  # the level of prices, the same for every car
    }
    same = _named(ours) == _named(theirs)
    parts = _parts(fitted, X, typical, words)
    groups = _groups(words, dict(zip(words, (parts @ fitted.coef).tolist(), strict=True)), same)
    rows = _joined(parts, list(words), groups)
    sds, shares = _sureness(fitted, rows)
    made = []
    for k, (name, members) in enumerate(groups.items()):
        label = plain_label(name)
        if name in BUILT and not same:
            label = USUAL.format(label)
        said = _words_of(name, members, words)
        made.append(Step(name, label, *said, float((rows @ fitted.coef)[k]), sds[k], shares[k]))
    made += _remainders(*outlooks)
    return sorted((s for s in made if s.effect or s.sd), key=_rank)


def same_model(ours: Car, theirs: Car) -> bool:
    """Whether two cars have make and model in common; one may not state its generation."""
    one, other = ours.values, theirs.values
    return all(key(str(one.get(n, ""))) == key(str(other.get(n, ""))) for n in ("make", "model"))


def _named(cells: Mapping[str, Any]) -> str:
    return say(MODEL, cells).casefold()


def _difference(X: sparse.csr_array) -> sparse.csr_array:
    step = sparse.csr_array(X[[0]] - X[[1]])
    step.eliminate_zeros()
    step.sort_indices()
    return step


def _parts(
    fitted: Fitted, X: sparse.csr_array, typical: sparse.csr_array, names: Collection[str]
) -> sparse.csr_array:
    """Return one row an attribute: in what the two cars differ, shape (n_names, n_columns).

    What the typical cars of two lines differ by in the attributes of the works counts for the line.
    """
    attributes, of = fitted.spec.attributes, fitted.spec.column_attribute
    at = {name: i for i, name in enumerate(names)}
    own = np.array([at.get(a, -1) for a in attributes], dtype=np.intp)
    built = np.array([a in BUILT for a in attributes])
    step, usual = _difference(X), _difference(typical)
    usual = _kept(usual, built[of[usual.indices]])
    row = [own[of[step.indices]], own[of[usual.indices]]]
    if MODEL in at:
        row.append(np.full(usual.nnz, at[MODEL], dtype=np.intp))
        data, column = [step.data, -usual.data, usual.data], [step, usual, usual]
    else:
        row, data, column = row[:1], [step.data], [step]
    rows, columns = np.concatenate(row), np.concatenate([c.indices for c in column])
    kept = rows >= 0
    cells = (np.concatenate(data)[kept], (rows[kept], columns[kept]))
    out = sparse.csr_array(cells, shape=(len(at), X.shape[1]))
    out.eliminate_zeros()
    return out


def _kept(row: sparse.csr_array, chosen: NDArray[np.bool_]) -> sparse.csr_array:
    cells = (row.data[chosen], row.indices[chosen], np.array([0, int(chosen.sum())]))
    return sparse.csr_array(cells, shape=row.shape)


def _groups(
    words: Mapping[str, tuple[str, str]], effects: Mapping[str, float], same_line: bool
) -> dict[str, tuple[str, ...]]:
    """Return the lines, each with the attributes that count in it.

    What both cars have alike can still count more on one of them: between two model lines that
    is a part of what sets the lines apart.  What is next to nothing goes into one line.
    """
    groups: dict[str, list[str]] = {}
    for name, (theirs, ours) in words.items():
        if not effects[name]:
            continue
        row = row_of(name)
        alike = theirs == ours and row != WORDING
        if name == MODEL or (alike and not same_line):
            groups.setdefault(MODEL, []).append(name)
        elif alike or abs(effects[name]) < SMALL:
            groups.setdefault(POOLED, []).append(name)
        else:
            groups.setdefault(row, []).append(name)
    return {name: tuple(members) for name, members in groups.items()}


def _joined(
    parts: sparse.csr_array, names: Sequence[str], groups: Mapping[str, Sequence[str]]
) -> sparse.csr_array:
    """Return one row a line: the sum of the rows of the attributes that count in it."""
    at = {name: i for i, name in enumerate(names)}
    pairs = [(i, at[m]) for i, members in enumerate(groups.values()) for m in members]
    row, column = np.array(pairs, dtype=np.intp).reshape(-1, 2).T
    joins = sparse.csr_array((np.ones(len(pairs)), (row, column)), shape=(len(groups), len(names)))
    return sparse.csr_array(joins @ parts)


def _sureness(fitted: Fitted, rows: sparse.csr_array) -> tuple[list[float], list[float]]:
    """Return the standard deviation of each line and its share of evidence."""
    if not rows.shape[0]:
        return [], []
    variance = variances(fitted, rows)
    squares = rows.power(2).tocoo()
    before = np.bincount(
        squares.row, squares.data * fitted.prior_variance[squares.col], rows.shape[0]
    )
    share = np.where(np.isfinite(before), 1.0 - variance / np.maximum(before, 1e-300), 1.0)
    return np.sqrt(variance).tolist(), np.clip(share, 0.0, 1.0).tolist()


def _words_of(
    name: str, members: Sequence[str], words: Mapping[str, tuple[str, str]]
) -> tuple[str, str]:
    return ("", "") if name == POOLED else words[members[0]]


def _remainders(ours: Outlook, theirs: Outlook) -> list[Step]:
    """Return what is no attribute's: earlier sales of the cars, the closest sales, corrections."""
    pairs = (
        ("earlier sale", theirs.own, ours.own),
        ("closest sales", theirs.deviation - theirs.own, ours.deviation - ours.own),
        ("correction", theirs.correction, ours.correction),
    )
    return [
        Step(name, plain_label(name), _brought(b), _brought(a), a - b, None, None)
        for name, b, a in pairs
    ]


def _brought(effect: float) -> str:
    """Say by how much sales lay beside what the attributes explain."""
    percent = 100.0 * math.expm1(effect)
    return f"{percent:+.1f}%" if abs(percent) >= 0.05 else "nothing"


def _rank(step: Step) -> tuple[int, float, str]:
    ends = (POOLED, *REMAINDERS)
    place = ends.index(step.attribute) + 1 if step.attribute in ends else 0
    return place, -abs(step.effect), step.attribute


def in_money(
    steps: Sequence[Step], theirs: float, ours: float, total: int
) -> tuple[DifferenceLine, ...]:
    """Turn steps into money that adds up in whole units.

    The logarithmic mean of both estimates turns a log effect into its share of the difference
    (see :func:`valuation.money.log_mean`).  Swapping the cars turns every sign and changes
    nothing else: units are handed out as seen from the side on which the first step is a rise.

    Parameters
    ----------
    steps : sequence of Step
        From the other car to this one.
    theirs, ours : float
        Central estimates.
    total : int
        What the amounts have to add up to: the difference of the estimates as they are shown.

    Returns
    -------
    tuple of DifferenceLine
        In the order of the steps.
    """
    factor = log_mean(theirs, ours)
    exact = [factor * s.effect for s in steps]
    sign = -1 if next((x for x in (total, *exact) if x), 1) < 0 else 1
    whole = [sign * w for w in whole_units([sign * x for x in exact], total=sign * total)]
    return tuple(
        DifferenceLine(
            s.attribute,
            s.label,
            s.theirs,
            s.ours,
            amount,
            value,
            None if s.sd is None else value - Z90 * s.sd * factor,
            None if s.sd is None else value + Z90 * s.sd * factor,
            s.share,
        )
        for s, amount, value in zip(steps, whole, exact, strict=True)
    )


def total_interval(
    fitted: Fitted, X: sparse.csr_array, theirs: float, ours: float
) -> tuple[int, int]:
    """Return the 90 % interval of the whole difference, in whole units.

    What the sales tell of the attributes is in it; what the closest sales add is taken as it is.
    """
    sd = float(np.sqrt(variances(fitted, _difference(X))[0]))
    half = Z90 * sd * log_mean(theirs, ours)
    return round(ours - theirs - half), round(ours - theirs + half)

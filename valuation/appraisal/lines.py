"""The explanation: an exact sum of money from the typical car to this one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.fitting import Fitted
from valuation.appraisal.typical import TypicalCars
from valuation.appraisal.wordings import label_of, say
from valuation.features.table import SALE_FACTORS
from valuation.money import log_mean, whole_units
from valuation.results.valuation import Contribution

__all__ = ["Line", "contributions", "explain_lines"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

Z90 = 1.6448536269514722

SMALL = 0.0005
"""A line below this share of the price that says nothing of the car joins "everything else"."""


@dataclass(frozen=True)
class Line:
    """One line on the log scale.

    Parameters
    ----------
    attribute, label, value : str
        What it is about.
    effect, sd : float
        Log effect against the typical car and its standard deviation.
    sales : int
        Number of sales behind it.
    share : float
        Share of evidence.
    """

    attribute: str
    label: str
    value: str
    effect: float
    sd: float
    sales: int
    share: float


def _belongs_to_sale(attribute: str) -> bool:
    return attribute == "market" or any(a in SALE_FACTORS for a in attribute.split(" and "))


def explain_lines(
    fitted: Fitted,
    typical: TypicalCars,
    *,
    start_row: int,
    own: tuple[Ints, Floats],
    usual: tuple[Ints, Floats],
    line: int,
    cells: Mapping[str, Any],
) -> tuple[float, list[Line]]:
    """Compare a car with the typical car of its model line, attribute by attribute.

    Parameters
    ----------
    fitted : Fitted
        The market.
    typical : TypicalCars
        Typical cars.
    start_row : int
        Which of them is the start.
    own, usual : (ndarray of int, ndarray)
        Columns and values of the car as it is sold, and of the car in the usual sale.
    line : int
        Code of the model line, -1 for none.
    cells : mapping of str to object
        The car's values, for words.

    Returns
    -------
    float
        Log price of the typical car on that day in the usual sale.
    list of Line
        One line an attribute (and one a word); start plus all effects is the car's fitted value.
    """
    spec = fitted.spec
    of_sale = np.array([_belongs_to_sale(a) for a in spec.attributes])[spec.column_attribute]
    mean = np.zeros(spec.n_columns)
    lo, hi = typical.rows.indptr[start_row], typical.rows.indptr[start_row + 1]
    mean[typical.rows.indices[lo:hi]] = typical.rows.data[lo:hi]
    mean[of_sale] = 0.0
    at_usual = of_sale[usual[0]]
    mean[usual[0][at_usual]] = usual[1][at_usual]
    step = -mean
    step[own[0]] += own[1]
    start = float(mean @ fitted.coef)
    moved = np.flatnonzero(step)
    prior = _prior_variance(fitted, moved)
    lines = []
    for k, attribute in enumerate(spec.attributes):
        columns = moved[spec.column_attribute[moved] == k]
        if attribute == "start" or not len(columns):
            continue
        if attribute == "wording":
            lines += _words(fitted, typical, columns, step, own[0], line)
            continue
        sales = _sales(typical, own[0], columns)
        lines.append(
            _line(
                fitted, attribute, say(attribute, cells), columns, step, prior, moved, line, sales
            )
        )
    return start, lines


def _prior_variance(fitted: Fitted, columns: Ints) -> Floats:
    """Return the prior variance of some coefficients, infinite where nothing holds them."""
    layout = fitted.layout
    lam = np.array([fitted.penalties[n] for n in layout.names])[layout.block[columns]]
    held = layout.which("assumed")[layout.block[columns]]
    with np.errstate(divide="ignore"):
        out = np.where(lam > 0, fitted.sigma**2 / np.maximum(lam, 1e-300), np.inf)
    return np.where(held, layout.sd[columns] ** 2, out)


def _variance(fitted: Fitted, columns: Ints, step: Floats, line: int) -> float:
    """Return the variance of a line; local columns of other model lines are left out."""
    mine = (fitted.layout.owner[columns] < 0) | (fitted.layout.owner[columns] == line)
    columns = columns[mine]
    return fitted.quadratic(line, columns, step[columns]) if len(columns) else 0.0


def _line(
    fitted: Fitted,
    attribute: str,
    value: str,
    columns: Ints,
    step: Floats,
    prior: Floats,
    moved: Ints,
    line: int,
    sales: int,
) -> Line:
    effect = float(step[columns] @ fitted.coef[columns])
    variance = _variance(fitted, columns, step, line)
    before = float((step[columns] ** 2) @ prior[np.searchsorted(moved, columns)])
    share = 1.0 if not np.isfinite(before) else 1.0 - variance / max(before, 1e-300)
    sd = float(np.sqrt(variance))
    return Line(
        attribute, label_of(attribute), value, effect, sd, sales, float(np.clip(share, 0.0, 1.0))
    )


def _sales(typical: TypicalCars, own: Ints, columns: Ints) -> int:
    """Return how many sales share what the car states, else how many speak at all."""
    stated = np.intersect1d(own, columns, assume_unique=True)
    chosen = stated if len(stated) else columns
    return int(typical.used[chosen].max())


def _words(
    fitted: Fitted, typical: TypicalCars, columns: Ints, step: Floats, own: Ints, line: int
) -> list[Line]:
    """Return one line a word of the car, and one for the words it lacks."""
    labels = fitted.spec.labels
    groups: dict[str, list[int]] = {}
    present = set(own.tolist())
    for c in columns.tolist():
        word = labels[c].split(", ")[0] if c in present else ""
        groups.setdefault(word, []).append(c)
    prior_all = _prior_variance(fitted, columns)
    out = []
    for word in sorted(groups, key=lambda w: (not w, w)):
        chosen = np.array(sorted(groups[word]), dtype=np.intp)
        value = _bare(word) if word else "words usual for this model, absent here"
        sales = int(typical.used[chosen].max())
        out.append(_line(fitted, "wording", value, chosen, step, prior_all, columns, line, sales))
    return _join_same(out)


def _bare(label: str) -> str:
    """Return the word itself from the label of its column."""
    for mark in (": ", " = "):
        if mark in label:
            source, _, word = label.partition(mark)
            return f"{word} ({source.split()[0]})" if source.split()[0] != "wording" else word
    return label


def _join_same(lines: list[Line]) -> list[Line]:
    """Join lines of one word (alone and within its model line)."""
    by_value: dict[str, Line] = {}
    for line in lines:
        old = by_value.get(line.value)
        if old is None:
            by_value[line.value] = line
        else:
            by_value[line.value] = Line(
                line.attribute,
                line.label,
                line.value,
                old.effect + line.effect,
                float(np.hypot(old.sd, line.sd)),
                max(old.sales, line.sales),
                max(old.share, line.share),
            )
    return list(by_value.values())


def contributions(
    start: float, lines: list[Line], statements: Mapping[str, str]
) -> tuple[int, int, tuple[Contribution, ...]]:
    """Turn lines into money that adds up in whole units.

    Parameters
    ----------
    start : float
        Log price of the start.
    lines : list of Line
        Effects from start to the central value.
    statements : mapping of str to str
        Words that led to a value, by attribute.

    Returns
    -------
    int, int
        Start and central value in whole units.
    tuple of Contribution
        Start plus all amounts is the central value.
    """
    lines = _gather_small(lines)
    p0 = float(np.exp(start))
    p1 = float(np.exp(start + sum(line.effect for line in lines)))
    factor = log_mean(p0, p1)
    exact = [factor * line.effect for line in lines]
    whole = whole_units([p0, *exact])
    made = tuple(
        Contribution(
            line.attribute,
            line.label,
            line.value,
            amount,
            value,
            value - Z90 * line.sd * factor,
            value + Z90 * line.sd * factor,
            line.sales,
            line.share,
            statements.get(line.attribute, ""),
        )
        for line, amount, value in zip(lines, whole[1:], exact, strict=True)
    )
    return whole[0], sum(whole), made


def _gather_small(lines: list[Line]) -> list[Line]:
    """Join lines that are next to nothing and say nothing of the car."""
    silent = ("", "not stated", "words usual for this model, absent here")
    small = [
        x for x in lines if abs(x.effect) < SMALL or (x.value in silent and abs(x.effect) < 0.003)
    ]
    keep = [x for x in lines if x not in small]
    if not small:
        return keep
    total = sum(x.effect for x in small)
    if abs(total) < SMALL and keep:
        last = keep[-1]
        return [*keep[:-1], replace(last, effect=last.effect + total)]
    sd = float(np.sqrt(sum(x.sd**2 for x in small)))
    value = f"{len(small)} small difference{'s' if len(small) > 1 else ''}"
    rest = Line(
        "everything else",
        label_of("everything else"),
        value,
        total,
        sd,
        max(x.sales for x in small),
        min(x.share for x in small),
    )
    return [*keep, rest]

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
from valuation.money import log_mean, whole_units
from valuation.results.valuation import Contribution

__all__ = ["Line", "Moved", "contributions", "explain_lines"]

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


@dataclass(frozen=True)
class Moved:
    """The columns in which a car differs from the typical car that it starts from.

    Parameters
    ----------
    columns : ndarray of int, shape (n,)
        The columns, ascending.
    step : ndarray, shape (n,)
        What the car has more or less in each.
    own : ndarray of int
        Columns in which the car itself has something.
    line : int
        Code of its model line, -1 for none.
    """

    columns: Ints
    step: Floats
    own: Ints
    line: int

    def take(self, chosen: Any) -> Moved:
        """Return the chosen columns (mask or positions)."""
        return Moved(self.columns[chosen], self.step[chosen], self.own, self.line)


def explain_lines(
    fitted: Fitted, typical: TypicalCars, moved: Moved, cells: Mapping[str, Any]
) -> list[Line]:
    """Compare a car with the typical car of its model line, attribute by attribute.

    Parameters
    ----------
    fitted : Fitted
        The market.
    typical : TypicalCars
        Typical cars.
    moved : Moved
        In what the car differs from the one it starts from.
    cells : mapping of str to object
        The car's values, for words.

    Returns
    -------
    list of Line
        One line an attribute (and one a word); the start and all effects are the car's fitted
        value.
    """
    spec = fitted.spec
    lines = []
    for k, attribute in enumerate(spec.attributes):
        part = moved.take(spec.column_attribute[moved.columns] == k)
        if attribute == "start" or not len(part.columns):
            continue
        if attribute == "wording":
            lines += word_lines(fitted, typical, part)
        else:
            sales = _sales(typical, part)
            lines.append(line_of(fitted, attribute, say(attribute, cells), part, sales))
    return lines


def _variance(fitted: Fitted, part: Moved) -> float:
    """Return the variance of a line; local columns of other model lines are left out."""
    owner = fitted.layout.owner[part.columns]
    mine = part.take((owner < 0) | (owner == part.line))
    return fitted.quadratic(part.line, mine.columns, mine.step) if len(mine.columns) else 0.0


def line_of(fitted: Fitted, attribute: str, value: str, part: Moved, sales: int) -> Line:
    """Return one line of the explanation.

    Parameters
    ----------
    fitted : Fitted
        The market.
    attribute, value : str
        What the line is about, and the car's value in words.
    part : Moved
        The columns that count in it.
    sales : int
        Sales behind it.
    """
    effect = float(part.step @ fitted.coef[part.columns])
    variance = _variance(fitted, part)
    before = float((part.step**2) @ fitted.prior_variance[part.columns])
    share = 1.0 if not np.isfinite(before) else 1.0 - variance / max(before, 1e-300)
    sd = float(np.sqrt(variance))
    return Line(
        attribute, label_of(attribute), value, effect, sd, sales, float(np.clip(share, 0.0, 1.0))
    )


def _sales(typical: TypicalCars, part: Moved) -> int:
    """Return how many sales share what the car states, else how many speak at all."""
    stated = np.intersect1d(part.own, part.columns, assume_unique=True)
    chosen = stated if len(stated) else part.columns
    return int(typical.used[chosen].max())


ABSENT = "words usual for this model, absent here"
"""Value of the line of the words that the car lacks."""


def word_lines(fitted: Fitted, typical: TypicalCars, part: Moved) -> list[Line]:
    """Return one line a word of the car, and one for the words it lacks."""
    labels = fitted.spec.labels
    groups: dict[str, list[int]] = {}
    present = set(part.own.tolist())
    for at, c in enumerate(part.columns.tolist()):
        word = labels[c].split(", ")[0] if c in present else ""
        groups.setdefault(word, []).append(at)
    out = []
    for word in sorted(groups, key=lambda w: (not w, w)):
        chosen = part.take(np.array(groups[word], dtype=np.intp))
        value = bare_word(word) if word else ABSENT
        sales = int(typical.used[chosen.columns].max())
        out.append(line_of(fitted, "wording", value, chosen, sales))
    return _join_same(out)


def bare_word(label: str) -> str:
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
    silent = ("", "not stated", ABSENT)
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

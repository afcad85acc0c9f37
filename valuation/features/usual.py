"""The usual value of a model line stands in for what is not stated and for words no sale has.

This is the policy ``typical`` of the contract: an advert that says nothing of the number of gears
means the gears such a car has.  A stand-in needs a clear majority of the sales of the line that do
state it; without one the value stays missing and the line's level speaks for it.  A car of no known
line has no such level: the middle value or most frequent word of its make stands in.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from valuation.features.table import OWN_WORDS, FeatureTable
from valuation.schema import ATTRIBUTES, Attribute

__all__ = ["UsualValues", "fill_usual", "learn_usual"]

CLEAR = 0.6
"""Share of the stated sales of a line that must agree on a stand-in."""

LEAST = 2
"""Fewest sales that state it."""

IDENTITY = ("make", "model", "generation", "variant")
"""What a car is can't be filled in from what others are."""


@dataclass(frozen=True)
class UsualValues:
    """Usual values of one attribute by model line.

    Parameters
    ----------
    name : str
        Attribute.
    number : bool
        Whether the values are numbers.
    values : tuple
        For each model line a number (NaN for none) or a word (empty for none).
    levels : tuple of str
        Words that sales have; any other is unseen, and the usual word stands in for it.
    by_make : tuple of (str, float or str)
        For a car of no known line: the median or the most frequent word of each make, and of all
        sales under the empty name.
    """

    name: str
    number: bool
    values: tuple[float, ...] | tuple[str, ...]
    levels: tuple[str, ...] = ()
    by_make: tuple[tuple[str, float | str], ...] = ()

    def of_unknown(self, make: str) -> float | str:
        """Return what stands in for a car of no known line: its make's, else that of all sales."""
        found = dict(self.by_make)
        return found.get(make, found.get("", np.nan if self.number else ""))


def learn_usual(
    table: FeatureTable,
    lines: Sequence[str],
    assumed: Mapping[str, Collection[str]] = MappingProxyType({}),
) -> tuple[UsualValues, ...]:
    """Learn the usual values of each model line.

    Parameters
    ----------
    table : FeatureTable
        Sales.
    lines : sequence of str
        Model lines in the order of their codes.
    assumed : mapping of str to collection of str
        Words with an assumed effect, by attribute: no sale need have them to count.
    """
    factor = table.factors["line"]
    at = {v: i for i, v in enumerate(lines)}
    to = np.array([at.get(v, -1) for v in factor.levels] + [-1], dtype=np.intp)
    line = to[factor.codes]
    out = []
    for a in ATTRIBUTES:
        if a.when_silent != "typical" or a.kind == "set" or a.name in IDENTITY:
            continue
        if a.kind == "number":
            x = table.numbers[a.name]
            known = ~np.isnan(x)
            distinct, codes = np.unique(x[known], return_inverse=True)
            best = _majority(line[known], codes, len(lines), len(distinct))
            numbers = np.append(distinct, np.nan)[best]
            values: tuple[float, ...] | tuple[str, ...] = tuple(numbers.tolist())
        else:
            f = table.factors[a.name]
            known = f.codes >= 0
            best = _majority(line[known], f.codes[known], len(lines), len(f.levels))
            values = tuple([*f.levels, ""][i] for i in best)
        # What all sales state may still be missing in the car to be valued, or be an unseen word.
        if known.any():
            words = _known(a, table, assumed)
            of_make = _by_make(a, table, known)
            out.append(UsualValues(a.name, a.kind == "number", values, words, of_make))
    return tuple(out)


def _by_make(
    a: Attribute, table: FeatureTable, known: NDArray[np.bool_]
) -> tuple[tuple[str, float | str], ...]:
    """Return the stand-in of each make and, under the empty name, of all sales."""
    make = table.factors["make"]
    groups = [("", known), *((v, known & (make.codes == i)) for i, v in enumerate(make.levels))]
    out: list[tuple[str, float | str]] = []
    for name, rows in groups:
        if not rows.any():
            continue
        if a.kind == "number":
            out.append((name, float(np.median(table.numbers[a.name][rows]))))
        else:
            f = table.factors[a.name]
            out.append((name, f.levels[int(np.argmax(np.bincount(f.codes[rows])))]))
    return tuple(out)


def _known(
    a: Attribute, table: FeatureTable, assumed: Mapping[str, Collection[str]]
) -> tuple[str, ...]:
    """Return the words that sales have, that are assumed, or that others are measured against."""
    if a.kind == "number":
        return ()
    words = {*table.factors[a.name].levels, *assumed.get(a.name, ()), a.baseline}
    return tuple(sorted(words - {""}))


def _majority(
    line: NDArray[np.intp], codes: NDArray[np.intp], n_lines: int, n_codes: int
) -> NDArray[np.intp]:
    """Return for each line the code that a clear majority has, -1 for none."""
    best = np.full(n_lines, -1, dtype=np.intp)
    if not n_codes:
        return best
    keep = line >= 0
    pairs, counts = np.unique(line[keep] * n_codes + codes[keep], return_counts=True)
    total = np.bincount(line[keep], minlength=n_lines)
    order = np.argsort(counts, kind="stable")  # the most frequent pair of a line is written last
    of = pairs[order] // n_codes
    clear = (counts[order] >= CLEAR * total[of]) & (counts[order] >= LEAST)
    best[of[clear]] = (pairs[order] % n_codes)[clear]
    return best


def fill_usual(
    table: FeatureTable, usual: Sequence[UsualValues], line: NDArray[np.intp]
) -> FeatureTable:
    """Return the table with usual values where nothing is stated.

    Parameters
    ----------
    table : FeatureTable
        Sales or cars.
    usual : sequence of UsualValues
        From :func:`learn_usual`.
    line : ndarray of int, shape (n,)
        Model line of each row, -1 for one never seen.
    """
    if not usual:
        return table
    numbers = {u.name: np.append(u.values, np.nan)[line] for u in usual if u.number}
    new = np.flatnonzero(line < 0).tolist()
    make = table.factors["make"].text() if new else []
    table = table.without(
        {u.name: frozenset((*u.levels, OWN_WORDS)) for u in usual if not u.number}
    )
    words = {
        u.name: np.array([*u.values, ""], dtype=object)[line].tolist()
        for u in usual
        if not u.number
    }
    for u in usual:
        for i in new:
            # Such a car starts from its make: what nobody tells of it must not lead away from it.
            stand_in = u.of_unknown(make[i])
            if isinstance(stand_in, str):
                words[u.name][i] = stand_in
            else:
                numbers[u.name][i] = stand_in
    return table.filled(numbers, words)

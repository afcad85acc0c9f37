"""The sales behind a change: how many are as the car is, how many as it would be, and some of them.

Counted and shown are only sales that may be shown to a customer, and never one of the car itself.
A sale is named by year, make, model, variant and body, never by the words of its advert.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.market import MarketModel
from valuation.appraisal.wordings import say
from valuation.features.columns import key
from valuation.records import Car, OpenFact, Value
from valuation.results.what_if_parts import ChangedFact, StatedSide
from valuation.schema import BY_NAME, Attribute
from valuation.selling.private_words import PrivateWords
from valuation.selling.sheet_words import heading_of
from valuation.selling.what_if_changes import NOT_STATED

__all__ = ["AS_IT_IS", "AS_IT_WOULD_BE", "Behind"]

Flags = NDArray[np.bool_]
Ints = NDArray[np.intp]

AS_IT_IS, AS_IT_WOULD_BE = "as it is", "as it would be"

SHOWN = 3
"""Sales that are named on each side."""

_NAMING = ("year", "make", "model", "variant", "body", "chassis")


@dataclass(frozen=True)
class _Coded:
    """A column of words or sets, each value once: a hundred thousand sales state few."""

    values: tuple[Any, ...]
    codes: Ints

    @classmethod
    def of(cls, column: NDArray[Any]) -> _Coded:
        at: dict[Any, int] = {}
        codes = [at.setdefault(v, len(at)) for v in column.tolist()]
        return cls(tuple(at), np.array(codes, dtype=np.intp))

    def where(self, holds: Callable[[Any], bool]) -> Flags:
        """Return which sales hold a value of a kind."""
        return np.array([holds(v) for v in self.values], dtype=bool)[self.codes]


@dataclass(frozen=True)
class Behind:
    """What the sales of a market state, for one car and the same car otherwise.

    Parameters
    ----------
    market : MarketModel
        The market.
    counted : ndarray of bool, shape (n_sales,)
        Sales that may be counted.
    named : ndarray of bool, shape (n_sales,)
        Sales that may be named.
    line : int
        Code of the car's model line, -1 for none.
    hide : PrivateWords
        What keeps other cars' chassis numbers out of their names.
    """

    market: MarketModel
    counted: Flags
    named: Flags
    line: int
    hide: PrivateWords
    _known: dict[str, _Coded] = field(default_factory=dict, init=False, repr=False, compare=False)

    def sides(self, before: Car, after: Car, facts: Sequence[ChangedFact]) -> list[StatedSide]:
        """Return both sides of each fact that is an attribute.

        Parameters
        ----------
        before, after : Car
            The car as it is and as it would be.
        facts : sequence of ChangedFact
            In what they differ.
        """
        return [s for f in facts if f.name in BY_NAME for s in self._both(before, after, f)]

    def _both(self, before: Car, after: Car, fact: ChangedFact) -> Iterator[StatedSide]:
        a = BY_NAME[fact.name]
        was, now = before.values.get(a.name), after.values.get(a.name)
        for side, car, mine, other in (
            (AS_IT_IS, before, was, now),
            (AS_IT_WOULD_BE, after, now, was),
        ):
            fact_of = next((f for f in car.open if f.attribute == a.name), None)
            words, rows = self._stating(a, mine, other, fact_of)
            rows = rows & self.counted
            in_line = rows & (self.market.fitted.sales.line == self.line)
            yield StatedSide(
                a.name,
                a.label,
                side,
                words,
                int(rows.sum()),
                int(in_line.sum()),
                self._examples(rows, in_line),
            )

    def _stating(
        self, a: Attribute, mine: Value | None, other: Value | None, open_fact: OpenFact | None
    ) -> tuple[str, Flags]:
        """Return which sales are as one side is, and what they state in words."""
        column = self.market.columns[a.name]
        if a.kind == "number":
            return self._number(a, column.astype(np.float64), mine, other, open_fact)
        words = self._known.setdefault(a.name, _Coded.of(column))
        if open_fact is not None and open_fact.levels:
            known = {key(v) for v in open_fact.levels}
            return " or ".join(open_fact.levels), words.where(lambda v: _spelled(v) in known)
        if isinstance(mine, tuple):
            return _in_set(words, a, mine, other if isinstance(other, tuple) else None)
        if isinstance(mine, str):
            wanted = key(mine)
            return mine, words.where(lambda v: isinstance(v, str) and key(v) == wanted)
        return NOT_STATED, words.where(lambda v: v is None or v != v or v == "")

    def _number(
        self,
        a: Attribute,
        numbers: NDArray[np.float64],
        mine: Value | None,
        other: Value | None,
        open_fact: OpenFact | None,
    ) -> tuple[str, Flags]:
        """Return the sales whose number is near that of one side, up to half-way to the other."""
        if open_fact is not None and open_fact.low is not None and open_fact.high is not None:
            return _between(a, numbers, open_fact.low, open_fact.high)
        if not isinstance(mine, float | int):
            return NOT_STATED, np.asarray(np.isnan(numbers))
        if isinstance(other, float | int):
            reach = abs(float(other) - mine) / 2
        else:
            reach = float(np.nanstd(numbers)) / 4 if np.isfinite(numbers).any() else 0.0
        return _between(a, numbers, max(mine - reach, a.low), min(mine + reach, a.high))

    def _examples(self, rows: Flags, in_line: Flags) -> tuple[str, ...]:
        """Name some sales: those of the model line first, then the newest."""
        at = np.flatnonzero(rows & self.named)
        day = np.nan_to_num(self.market.fitted.sales.day[at], nan=-np.inf)
        order = np.lexsort((at, -day, ~in_line[at]))
        out: dict[str, None] = {}
        for row in at[order].tolist():
            if len(out) < SHOWN:
                out.setdefault(self._name(row))
        return tuple(out)

    def _name(self, row: int) -> str:
        columns = self.market.columns
        title = self.hide.masked(heading_of({n: columns[n][row] for n in _NAMING}))
        day = columns["sale_date"][row].astype("datetime64[D]")
        if np.isnat(day):
            return title
        when: date = day.item()
        return f"{title} ({when.year}, quarter {(when.month + 2) // 3})"


def _spelled(value: Any) -> str:
    """Write a word, or the words of a set, as a fact that is open lists them."""
    if isinstance(value, tuple):
        return key("; ".join(value) or "none")
    return key(value) if isinstance(value, str) else ""


def _between(
    a: Attribute, numbers: NDArray[np.float64], low: float, high: float
) -> tuple[str, Flags]:
    rows = (numbers >= low) & (numbers <= high)
    ends = [say(a.name, {a.name: end}) for end in (low, high)]
    words = ends[0] if ends[0] == ends[1] else f"{ends[0].removesuffix(f' {a.unit}')} to {ends[1]}"
    return words, np.asarray(rows)


def _in_set(
    column: _Coded, a: Attribute, mine: tuple[str, ...], other: tuple[str, ...] | None
) -> tuple[str, Flags]:
    """Return the sales that have what this side has and the other lacks, and lack the rest."""
    have, lack = set(mine) - set(other or ()), set(other or ()) - set(mine)

    def holds(value: Any) -> bool:
        if not isinstance(value, tuple) or not have <= set(value):
            return False
        return not lack & set(value) if have or lack else not value

    said = [say(a.name, {a.name: tuple(sorted(some))}) for some in (have, lack)]
    if not have:
        return f"without {said[1]}" if lack else "none", column.where(holds)
    return f"with {said[0]}" + (f", without {said[1]}" if lack else ""), column.where(holds)

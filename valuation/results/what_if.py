"""Answers to what-if questions: money with its interval, and what stands behind it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from valuation.money import format_money
from valuation.results.valuation import NoRange, PriceRange
from valuation.results.what_if_parts import (
    AskedCar,
    AttributeStep,
    ChangedFact,
    NotAsked,
    PayBack,
    StatedSide,
    range_of,
)

__all__ = [
    "NEED_NOT_ADD_UP",
    "NOT_THE_WORK",
    "NO_FORECAST",
    "TOGETHER",
    "WhatIf",
    "WhatIfs",
    "change_words",
    "evidence_of",
    "interval_words",
    "pay_back_words",
    "side_words",
]

FORMAT = 1
"""Version of the machine-readable form."""

TOGETHER = "all together"
"""Name of the question that asks all at once."""

NOT_THE_WORK = (
    "A change says what such cars brought beside cars without it, all else equal. That is an "
    "association: cars that have one good thing often have others that nobody wrote down. It is "
    "not the value of any work, and no promise of a price."
)
"""Goes with every answer."""

NEED_NOT_ADD_UP = (
    "The changes need not add up to the one of all together: effects multiply, and where two "
    "speak of the same thing they overlap."
)
"""Goes with several answers."""

NO_FORECAST = (
    "The chance is that such cars bring at least the cost more on average, by what the sales show. "
    "It is no forecast that the work succeeds, keeps to its cost, or that this car brings more."
)
"""Goes with every cost."""


@dataclass(frozen=True)
class WhatIf:
    """What a car would be worth if some facts were otherwise, all else as it is.

    Parameters
    ----------
    name, ask : str
        The question, and its words.
    of : AskedCar
        The car as it is.
    facts : tuple of ChangedFact
        What would be otherwise; empty if nothing is.
    after : int
        Central estimate after the change, whole currency units.
    lower, upper : float
        90 % interval of the change in money: the posterior of the contrast, the closest sales
        held fixed, no noise of a single sale.
    effect, sd : float
        The change on the log scale and its standard deviation.
    range_after : PriceRange or NoRange
        Range of the price after the change.
    evidence_share : float
        Share of the change that sales show; the rest is starting assumption.
    steps : tuple of AttributeStep
        The change by lines of the explanation.
    sides : tuple of StatedSide
        The sales that are as the car is, and as it would be.
    warnings, notes : tuple of str
        What must be said, and what may help, in sentences.
    pay_back : PayBack or None
        The cost beside the change, if one was given.
    cautions : tuple of str
        What the reader must know before relying on it.
    """

    name: str
    ask: str
    of: AskedCar
    facts: tuple[ChangedFact, ...]
    after: int
    lower: float
    upper: float
    effect: float
    sd: float
    range_after: PriceRange | NoRange
    evidence_share: float
    steps: tuple[AttributeStep, ...] = ()
    sides: tuple[StatedSide, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    pay_back: PayBack | None = None
    cautions: tuple[str, ...] = ()

    @property
    def change(self) -> int:
        """Change of the central estimate, whole currency units."""
        return self.after - self.of.central

    @property
    def either_way(self) -> bool:
        """Whether the interval spans zero: the sales can't tell if it adds or takes away."""
        return bool(self.steps) and self.lower < 0 < self.upper

    def summary(self) -> str:
        """Return the answer as plain text."""
        return "\n".join([*_head(self.of), "", *_lines(self), "", NOT_THE_WORK])

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "before": self.of.to_dict(),
            **_answer(self),
            "cautions": [NOT_THE_WORK, *self.cautions],
        }


@dataclass(frozen=True)
class WhatIfs:
    """Several questions about one car: each alone, and all together.

    Parameters
    ----------
    of : AskedCar
        The car as it is.
    answers : tuple of WhatIf
        Each question alone.
    together : WhatIf or None
        All of them at once; None for a single question, or if they contradict each other.
    apart : str
        Why they can't be asked together, empty if they can.
    not_asked : tuple of NotAsked
        Questions that can't be asked of this car.
    cautions : tuple of str
        What the reader must know before relying on it.
    """

    of: AskedCar
    answers: tuple[WhatIf, ...]
    together: WhatIf | None = None
    apart: str = ""
    not_asked: tuple[NotAsked, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def all(self) -> tuple[WhatIf, ...]:
        """Each answer, and the one of all together at the end."""
        return self.answers if self.together is None else (*self.answers, self.together)

    def summary(self) -> str:
        """Return all answers as plain text."""
        lines = _head(self.of)
        for answer in self.all:
            lines += ["", *_lines(answer)]
        if self.apart:
            lines += ["", f"Not all together: {self.apart}"]
        if self.not_asked:
            lines += ["", "Not asked of this car:"]
            lines += [f"  {q.name}: {q.reason}" for q in self.not_asked]
        lines += ["", NOT_THE_WORK]
        if self.together is not None:
            lines.append(NEED_NOT_ADD_UP)
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "before": self.of.to_dict(),
            "answers": [_answer(a) for a in self.answers],
            "together": None if self.together is None else _answer(self.together),
            "apart": self.apart,
            "not_asked": [asdict(q) for q in self.not_asked],
            "cautions": [NOT_THE_WORK, *self.cautions],
        }


def change_words(answer: WhatIf) -> str:
    """Say the change in one sentence: adds, takes away, or nobody can tell."""
    if not answer.facts:
        return "The car is that today: nothing changes."
    if not answer.steps:
        return "Nothing the sales show tells the two apart: the estimate stays."
    spans = interval_words(answer)
    if answer.either_way:
        return f"The sales can't tell whether it adds or takes away: {spans}."
    way = "adds" if answer.change >= 0 else "takes away"
    return f"It {way} {answer.of.money(abs(answer.change))}, 90% interval {spans}."


def interval_words(answer: WhatIf) -> str:
    """Write the interval of the change."""
    low = format_money(answer.lower, "", signed=True)
    return f"{low} to {answer.of.money(answer.upper, signed=True)}"


def evidence_of(answer: WhatIf) -> str:
    """Say how much of the change is evidence and how much assumption."""
    share = round(100 * answer.evidence_share)
    if share >= 100:
        return "all evidence"
    return f"{share}% evidence, {100 - share}% assumption" if share else "all assumption"


def pay_back_words(answer: WhatIf, paid: PayBack) -> str:
    """Say the cost, the net with its interval and the chance that it pays back."""
    money = answer.of.money
    cost = money(paid.low)
    if not paid.sure:
        cost = f"{format_money(paid.low, '')} to {money(paid.high)}"
    low = format_money(paid.lower, "", signed=True)
    return (
        f"Cost {cost}: net {money(paid.net, signed=True)}, 90% interval {low} to "
        f"{money(paid.upper, signed=True)}; chance that it pays back {_percent(paid.chance)}."
    )


def _percent(chance: float) -> str:
    whole = round(100 * chance)
    if whole == 0:
        return "below 1%"
    return "above 99%" if whole == 100 else f"{whole}%"


def _head(of: AskedCar) -> list[str]:
    day = f" on {of.as_of.isoformat()}" if of.as_of else ""
    return [
        f"{of.car}{day}, {of.meaning}",
        f"  as it is: {of.money(of.central)}{_ranged(of, of.range)}",
    ]


def _ranged(of: AskedCar, answer: PriceRange | NoRange) -> str:
    if isinstance(answer, NoRange):
        return f"; no range: {answer.reason}"
    low = format_money(answer.lower, "")
    return f"; {answer.level:.0%} range {low} to {of.money(answer.upper)}"


def _lines(answer: WhatIf) -> Iterator[str]:
    yield answer.ask
    for fact in answer.facts:
        follows = "" if fact.asked else " (follows)"
        yield f"  {fact.label}: {fact.before} -> {fact.after}{follows}"
    yield f"  {change_words(answer)}"
    if answer.facts:
        yield f"  after: {answer.of.money(answer.after)}{_ranged(answer.of, answer.range_after)}"
    if answer.steps:
        yield f"  rests on: {evidence_of(answer)}"
    if len(answer.steps) > 1:
        yield from (
            f"    {s.label}: {format_money(s.amount, '', signed=True)}" for s in answer.steps
        )
    yield from (f"  {line}" for line in _side_lines(answer.sides))
    if answer.pay_back is not None:
        yield f"  {pay_back_words(answer, answer.pay_back)}"
        yield f"  {NO_FORECAST}"
    yield from (f"  mind: {w}" for w in answer.warnings)
    yield from (f"  note: {n}" for n in answer.notes)


def side_words(side: StatedSide) -> str:
    """Say how many sales are on one side.

    Examples
    --------
    >>> side_words(StatedSide("colour", "Colour", "as it is", "red", 1, 0, ()))
    '1 sale as it is: colour red; 0 of this model line'
    """
    count = f"{side.sales:,} sale{'' if side.sales == 1 else 's'} {side.side}"
    return f"{count}: {side.label.lower()} {side.value}; {side.of_model_line:,} of this model line"


def _side_lines(sides: Sequence[StatedSide]) -> Iterator[str]:
    for side in sides:
        yield side_words(side)
        if side.examples:
            yield f"  such as {'; '.join(side.examples)}"


def _answer(answer: WhatIf) -> dict[str, Any]:
    return {
        "name": answer.name,
        "ask": answer.ask,
        "facts": [asdict(f) for f in answer.facts],
        "after": answer.after,
        "change": answer.change,
        "lower": round(answer.lower),
        "upper": round(answer.upper),
        "percent": round(100 * math.expm1(answer.effect), 2),
        "either_way": answer.either_way,
        "range_after": range_of(answer.range_after),
        "evidence_share": round(answer.evidence_share, 4),
        "steps": [
            asdict(s) | {"lower": round(s.lower), "upper": round(s.upper)} for s in answer.steps
        ],
        "sides": [asdict(s) for s in answer.sides],
        "warnings": list(answer.warnings),
        "notes": list(answer.notes),
        "pay_back": None if answer.pay_back is None else answer.pay_back.to_dict(),
    }

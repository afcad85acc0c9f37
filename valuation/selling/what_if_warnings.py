"""What must be said of an answer: thin evidence, knowledge that is no work, what no work can do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from valuation.appraisal.possible import possible
from valuation.appraisal.trying import try_values
from valuation.appraisal.wordings import say
from valuation.features.columns import key
from valuation.features.table import LEVELLED
from valuation.money import format_money, log_mean
from valuation.records import Car, OpenFact, Value
from valuation.results.what_if import WhatIf
from valuation.results.what_if_parts import ChangedFact
from valuation.schema import BY_NAME
from valuation.schema.kinds import NOT_LOOKED_AT
from valuation.selling.what_if_changes import NOT_STATED
from valuation.selling.what_if_sales import AS_IT_WOULD_BE
from valuation.selling.what_if_work import Asked, no_work

__all__ = ["uncertain", "warnings_of"]

LITTLE = 0.3
"""A change with a smaller share of evidence rests on assumption."""

FEW = 10
"""Fewer sales on one side say little."""


def warnings_of(asked: Asked, answer: WhatIf) -> tuple[str, ...]:
    """Return what must be said of an answer, in sentences.

    Parameters
    ----------
    asked : Asked
        The question.
    answer : WhatIf
        Its answer without them.
    """
    if not answer.facts:
        return ()
    said = [
        *_unmoved(asked, answer),
        *uncertain(answer),
        *_thin(answer),
        *_beyond(asked, answer.facts),
        *_of_other_lines(asked, answer.facts),
        *_knowledge(asked, answer),
        *no_work(asked, answer.facts),
    ]
    return tuple(dict.fromkeys(said))


def _unmoved(asked: Asked, answer: WhatIf) -> Iterator[str]:
    """Say why nothing moves though something would be otherwise."""
    moved = {s.attribute for s in answer.steps}
    for fact in answer.facts:
        a = BY_NAME.get(fact.name)
        if a is None or any(fact.name in name.split(" and ") for name in moved):
            continue
        if fact.name == "mileage" and _doubted(asked.after):
            yield "The mileage can't be believed, so it counts for nothing, more or less of it."
        elif fact.asked and any(h.startswith(f"{a.label}:") for h in asked.market.fitted.held):
            yield (
                f"{a.label}: the sales of this model line run against what is certain in the "
                "trade, so the effect is held at nothing."
            )
        elif fact.asked:
            yield (
                f"{a.label}: the sales say nothing about {fact.before} against {fact.after}, so "
                "it moves nothing here."
            )


def _doubted(car: Car) -> bool:
    return car.values.get("mileage_status") in ("unknown", "exempt")


def uncertain(answer: WhatIf) -> tuple[str, ...]:
    """Say that the sales can't tell, or that they tell little."""
    said = []
    if answer.either_way:
        said.append("The interval spans zero: the sales can't tell whether it adds or takes away.")
    if answer.steps and answer.evidence_share < LITTLE:
        said.append(
            f"More assumption than evidence: only {round(100 * answer.evidence_share)}% of this "
            "change is shown by sales, the rest is what the firm assumed before it saw any."
        )
    return tuple(said)


def _thin(answer: WhatIf) -> Iterator[str]:
    for side in answer.sides:
        silent = side.value == NOT_STATED
        if side.sales < FEW and not silent and _asked_for(answer.facts, side.name):
            count = "No sale is" if not side.sales else f"Only {side.sales} sales are"
            if side.sales == 1:
                count = "Only one sale is"
            what = "as it would be" if side.side == AS_IT_WOULD_BE else "as the car is"
            yield f"{count} {what} in {side.label.lower()} ({side.value})."


def _asked_for(facts: Sequence[ChangedFact], name: str) -> bool:
    return any(f.name == name and f.asked for f in facts)


def _beyond(asked: Asked, facts: Sequence[ChangedFact]) -> Iterator[str]:
    """Say what lies outside what the sales have seen."""
    for fact in facts:
        value = asked.after.values.get(fact.name)
        if fact.name not in BY_NAME or value is None:
            continue
        a = BY_NAME[fact.name]
        column = asked.market.columns[fact.name]
        if isinstance(value, float | int):
            numbers = column.astype(np.float64)
            low, high = np.nanmin(numbers, initial=np.inf), np.nanmax(numbers, initial=-np.inf)
            if low <= high and not low <= value <= high:
                ends = " to ".join(say(a.name, {a.name: float(end)}) for end in (low, high))
                yield f"{a.label}: {fact.after} is outside what was seen, {ends}."
        else:
            stated = {w for v in set(column.tolist()) for w in _words(v)}
            fresh = sorted(set(_words(value)) - set(_words(asked.before.values.get(a.name))))
            unseen = [w for w in fresh if key(w) not in stated]
            if unseen:
                words = say(a.name, {a.name: tuple(unseen)})
                yield f"{a.label}: {words} is in no sale, so its model line speaks for it."
    yield from (f"{reason}." for reason in asked.outside)


def _of_other_lines(asked: Asked, facts: Sequence[ChangedFact]) -> Iterator[str]:
    """Say where a number moves a car to where its own model line never was.

    Between model lines a larger engine goes with another car around it: what it brings there need
    not be what it brings here.
    """
    columns, car = asked.market.columns, asked.after.values
    own = np.ones(len(columns["make"]), dtype=bool)
    for name in ("make", "model"):
        own &= np.array([key(v) if isinstance(v, str) else "" for v in columns[name]]) == key(
            str(car.get(name, ""))
        )
    for fact in facts:
        value = car.get(fact.name)
        if fact.name not in LEVELLED or not isinstance(value, float | int) or not own.any():
            continue
        decimals = LEVELLED[fact.name]
        theirs = np.round(columns[fact.name][own].astype(np.float64), decimals)
        if fact.asked and not (theirs == round(value, decimals)).any():
            yield (
                f"{BY_NAME[fact.name].label}: no sale of this model line has {fact.after}. What is "
                "said rests on other model lines, which differ in more than that."
            )


def _words(value: object) -> tuple[str, ...]:
    if isinstance(value, tuple):
        return tuple(key(v) for v in value)
    return (key(value),) if isinstance(value, str) and value else ()


def _knowledge(asked: Asked, answer: WhatIf) -> Iterator[str]:
    """Say how much of a change only undoes the price of silence."""
    for fact in answer.facts:
        if fact.name not in BY_NAME or fact.name not in asked.after.values:
            continue
        if any(f.attribute == fact.name for f in asked.before.open):
            yield (
                f"{BY_NAME[fact.name].label} is not settled today: to settle it is knowledge, not "
                "work, and it can turn out otherwise."
            )
        elif fact.name not in asked.before.values:
            yield _undone(asked, answer, fact)


def _undone(asked: Asked, answer: WhatIf, fact: ChangedFact) -> str:
    label = BY_NAME[fact.name].label
    if BY_NAME[fact.name].when_silent != "effect":
        return f"{label}: today it is not stated; the usual of the model line stood in for it."
    today = "nobody has looked" if fact.before == NOT_LOOKED_AT else "it is not stated"
    said = f"{label}: today {today}, and to know it is knowledge, not work."
    effect = _stated_as_usual(asked, fact.name)
    if effect is None:
        return said
    before, after = asked.central, asked.central + answer.effect
    amount = log_mean(float(np.exp(before)), float(np.exp(after))) * effect
    return (
        f"{said} To state what such cars usually state would by itself make "
        f"{format_money(amount, answer.of.currency, signed=True)} of the change; the rest is what "
        "this value is beside the usual one."
    )


def _stated_as_usual(asked: Asked, name: str) -> float | None:
    """Return the log effect of stating what such cars state in the mean, None if few state it."""
    make = str(asked.before.values.get("make", ""))
    counts = asked.market.stated.counts(name, make)
    if max(counts.of_make.sum(), counts.of_all.sum()) < FEW:
        return None
    found = possible(OpenFact(name), asked.market.stated, make)
    silent = _silent_about(asked.before, name)
    fitted = asked.market.fitted
    tried = try_values(fitted.spec, [(silent, [(name, found.values)])], asked.day, fitted.coef)
    return float(tried.steps[0][0] @ found.weights / found.weights.sum())


def _silent_about(car: Car, name: str) -> Car:
    """Return a car with a fact that nobody states; others that are open are left out."""
    values: dict[str, Value] = {n: v for n, v in car.values.items() if n != name}
    return Car(values, title=car.title, sale=car.sale, said=car.said)

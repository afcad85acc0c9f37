"""What no work can make of a car, and what would follow from a change besides."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from valuation.appraisal.market import MarketModel
from valuation.appraisal.wordings import say
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settled import Settled
from valuation.inspection.work_changes import COST_ALONE, Changing, change
from valuation.records import Car, Value
from valuation.results.what_if_parts import ChangedFact
from valuation.schema import BY_NAME

__all__ = ["Asked", "no_work", "what_follows"]

_ENGINE = "engine_originality"

_BORN_WITH = (
    "No work brings back the engine a car was born with: this can only be if that very engine is "
    "found, and its number shows it. Never restamp or alter a number."
)

_ENGINE_BACK = ("numbers-matching", "date-correct")


@dataclass(frozen=True)
class Asked:
    """A question with all that is needed to judge its answer.

    Parameters
    ----------
    market : MarketModel
        The market.
    settings : InspectionSettings
        What a component counts.
    before, after : Car
        The car as it is and as it would be, each with its sale.
    day : float
        Day of the valuation, days since 1970-01-01.
    central : float
        Log of the central estimate as it is.
    outside : tuple of str
        Why the car as it would be lies outside the evidence, and today's doesn't.
    """

    market: MarketModel
    settings: InspectionSettings
    before: Car
    after: Car
    day: float
    central: float
    outside: tuple[str, ...]


def no_work(asked: Asked, facts: Sequence[ChangedFact]) -> Iterator[str]:
    """Say what no work can make of the car, and on what the rest depends.

    Parameters
    ----------
    asked : Asked
        The question.
    facts : sequence of ChangedFact
        In what the car would be otherwise.
    """
    state = Settled(dict(asked.before.values), {f.attribute: f for f in asked.before.open})
    named = {f.name for f in facts}
    for fact in facts:
        value = asked.after.values.get(fact.name)
        if not fact.asked or fact.name not in BY_NAME or value is None:
            continue
        own = _OWN_RULE.get(fact.name)
        if own is not None:
            yield from own(asked, value)
            continue
        if fact.name == "history" and isinstance(value, tuple):
            known = state.values.get("history")
            value = tuple(w for w in value if not (isinstance(known, tuple) and w in known))
        came = change(Changing(fact.name, value, state, named, asked.settings))
        if came.note:
            yield came.note.removesuffix(COST_ALONE).strip()


def _engine(asked: Asked, value: Value) -> Iterator[str]:
    if value in _ENGINE_BACK and asked.before.values.get(_ENGINE) not in _ENGINE_BACK:
        yield _BORN_WITH


def _mileage(asked: Asked, value: Value) -> Iterator[str]:
    today = asked.before.values.get("mileage")
    if isinstance(today, float | int) and isinstance(value, float | int) and value < today:
        yield "What a car has run stays as it is: an odometer is never turned back."


def _originality(asked: Asked, value: Value) -> Iterator[str]:
    today = asked.before.values.get("originality_score")
    if isinstance(value, float | int) and not (
        isinstance(today, float | int) and value <= float(today)
    ):
        yield (
            "Originality is what a car was born with: work can lose it, and it comes back only "
            "with the very parts."
        )


def _modified(asked: Asked, value: Value) -> Iterator[str]:
    today = asked.before.values.get("modifications")
    gone = set(today if isinstance(today, tuple) else ()) - set(
        value if isinstance(value, tuple) else ()
    )
    stuck = sorted(m for m in gone if "/reversible/" not in m)
    if stuck:
        words = say("modifications", {"modifications": tuple(stuck)})
        yield f"What is permanent can't be undone: {words}."


def _papers(asked: Asked, value: Value) -> Iterator[str]:
    today = asked.before.values.get("documents")
    listed = value if isinstance(value, tuple) else ()
    if set(listed) - set(today if isinstance(today, tuple) else ()):
        yield "Papers are found and not made: they count once they are there and were seen."


def _title(asked: Asked, value: Value) -> Iterator[str]:
    yield "A title is cured by papers and under local law, not by work."


def _nothing(asked: Asked, value: Value) -> Iterator[str]:
    yield from ()


_OWN_RULE: dict[str, Callable[[Asked, Value], Iterator[str]]] = {
    _ENGINE: _engine,
    "mileage": _mileage,
    "originality_score": _originality,
    "modifications": _modified,
    "documents": _papers,
    "title_status": _title,
    "condition_grade": _nothing,
    "colour": _nothing,
    "transmission": _nothing,
    "gears": _nothing,
}
"""Attributes of which work is no measure, or not alone: a car can be driven and papers be lost."""


def _engine_counts(asked: Asked, facts: Sequence[ChangedFact]) -> Iterator[str]:
    """Say by how much the originality score would follow an engine."""
    names = {f.name for f in facts}
    if _ENGINE not in names or "originality_score" in names:
        return
    was, now = (c.values.get(_ENGINE) for c in (asked.before, asked.after))
    score, settings = asked.before.values.get("originality_score"), asked.settings
    weights = {c.name: c.weight for c in settings.components}
    if not (isinstance(was, str) and isinstance(now, str) and score is not None):
        return
    counts = settings.statuses.get(now, 0.0) - settings.statuses.get(was, 0.0)
    points = round(100 * counts * weights.get("engine_block", 0.0) / sum(weights.values()))
    if points:
        yield (
            f"The originality score is left as it is. An engine block counts about {points:+d} "
            f"points in it: ask that too with originality_score={points:+d}."
        )


def _follows(facts: Sequence[ChangedFact]) -> Iterator[str]:
    names = {f.name for f in facts}
    if "colour" in names and "colour_origin" not in names:
        yield (
            "A car that is painted in another colour no longer wears the one it left the works "
            "in: ask that too with colour_origin=changed."
        )
    if names & {"transmission", "gears"} and "transmission_origin" not in names:
        yield (
            "With another gearbox than the one it left the works with the car counts as converted: "
            "ask that too with transmission_origin=converted later."
        )


def what_follows(asked: Asked, facts: Sequence[ChangedFact]) -> tuple[str, ...]:
    """Return what may help to ask better, in sentences."""
    return tuple(dict.fromkeys([*_engine_counts(asked, facts), *_follows(facts)]))

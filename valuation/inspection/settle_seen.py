"""From grade, score and components to attributes of the contract: settled, or with what is left."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from valuation.inspection.contents import Contents
from valuation.inspection.grade import ConditionGrade
from valuation.inspection.marks import NOT_POSSIBLE_HERE
from valuation.inspection.originality import ComponentResult, OriginalityScore
from valuation.inspection.settings import STATUSES, Component, InspectionSettings, Zone
from valuation.inspection.settled import Settled
from valuation.records import OpenFact
from valuation.schema import BY_NAME

__all__ = ["ENGINE", "PAINT", "TRANSMISSION", "outward", "settle_seen", "to_look_at"]

ENGINE, TRANSMISSION, PAINT = "engine_block", "gearbox", "exterior_colour"
"""Components that an attribute of the contract is about."""

_BEST_ENGINE = BY_NAME["engine_originality"].levels[0]
_AS_NEW = frozenset(STATUSES[:5])
"""Statuses of the type that left the works."""


def settle_seen(
    contents: Contents,
    grade: ConditionGrade,
    score: OriginalityScore,
    settings: InspectionSettings,
    out: Settled,
) -> None:
    """Settle what rests on marks and components.

    Parameters
    ----------
    contents : Contents
        What the sheet says.
    grade : ConditionGrade
        Its grade.
    score : OriginalityScore
        Its score.
    settings : InspectionSettings
        Rules of makers; where, with what and how to look.
    out : Settled
        Where attributes are put.
    """
    _grade(grade, out)
    _score(score, contents, out)
    results = {c.component.name: c for c in score.components}
    for name in ("engine_originality", "transmission_origin", "colour_origin"):
        # A firm may leave a component out of its settings: then nobody looks at it.
        out.put(name, None)
    if ENGINE in results:
        _engine(results[ENGINE], contents, settings, out)
    if TRANSMISSION in results:
        works, other = BY_NAME["transmission_origin"].levels
        words = {s: works if s in _AS_NEW else other for s in STATUSES if s != "missing"}
        _component("transmission_origin", results[TRANSMISSION], contents, words, out)
    if PAINT in results:
        _colour(results[PAINT], contents, out)


def outward(low: float, high: float) -> tuple[float, float]:
    """Round a span to hundredths so that it keeps all it holds."""
    return math.floor(round(low * 100, 6)) / 100, math.ceil(round(high * 100, 6)) / 100


def to_look_at(fact: OpenFact, things: Sequence[Zone | Component]) -> OpenFact:
    """Say where, with what and how to settle a fact; the widest of the things comes first."""
    first, others = things[0], [t.label for t in things[1:]]
    tools = dict.fromkeys(t.strip() for thing in things for t in thing.tool.split(","))
    return replace(
        fact,
        where=f"{first.label}: {first.where}" + (f"; then {', '.join(others)}" if others else ""),
        tool=", ".join(tools),
        how=first.how,
        minutes=math.fsum(t.minutes for t in things),
    )


def _grade(grade: ConditionGrade, out: Settled) -> None:
    if grade.point is None:
        out.put("condition_grade", None)
        return
    low, high = outward(grade.low, grade.high)
    # What is open may change nothing: a rotten sill caps the grade whatever the boot is like.
    if grade.settled or low == high:
        out.put("condition_grade", round(grade.low, 2))
    else:
        fact = OpenFact("condition_grade", low=low, high=high)
        out.put("condition_grade", to_look_at(fact, [o.zone for o in grade.open]))


def _looked(result: ComponentResult, contents: Contents) -> bool:
    """Whether a component was looked at, or anything is claimed of it."""
    return result.claim in STATUSES or contents.components[result.component.name].evidence.looked


def _score(score: OriginalityScore, contents: Contents, out: Settled) -> None:
    left = sorted((c for c in score.components if c.low < c.high), key=lambda c: c.low - c.high)
    if not any(_looked(c, contents) for c in score.components if c.full):
        out.put("originality_score", None)
        return
    low, high = outward(score.low, score.high)
    if not left or low == high:
        out.put("originality_score", round(score.low, 2))
    else:
        told_apart = (ENGINE, TRANSMISSION, PAINT)
        against = " ".join(
            c.contradiction or ""
            for c in score.components
            if c.contradiction and c.component.name not in told_apart
        )
        fact = OpenFact("originality_score", low=low, high=high, contradiction=against)
        out.put("originality_score", to_look_at(fact, [c.component for c in left]))


def _component(
    name: str, result: ComponentResult, contents: Contents, words: Mapping[str, str], out: Settled
) -> None:
    """Put the attribute that a component is about; `words` are its levels by status."""
    claim = words.get(result.claim, "")
    levels = tuple(dict.fromkeys(words[s] for s in result.possible if s in words))
    if not _looked(result, contents) and result.claim != NOT_POSSIBLE_HERE:
        out.put(name, None)
    elif not levels:
        out.put_untellable(name)
        out.notes.append(f"{result.component.label}: {result.claim}.")
    elif len(levels) == 1 and (claim in ("", levels[0]) or not result.contradiction):
        out.put(name, levels[0])
    else:
        against = result.against if claim else result.contradiction or ""
        fact = OpenFact(name, levels, claim=claim, contradiction=against)
        out.put(name, to_look_at(fact, [result.component]))


def _engine(
    result: ComponentResult, contents: Contents, settings: InspectionSettings, out: Settled
) -> None:
    levels = BY_NAME["engine_originality"].levels
    words = {s: s for s in STATUSES if s in levels} | {"original": _BEST_ENGINE}
    rules = settings.rules(result.component, contents.facts.make, contents.facts.year)
    if not rules.stamped and result.component.dated:
        # Nothing better can be shown of such an engine, so it stands where the best stand.
        words["date-correct"] = _BEST_ENGINE
        if result.possible and words.get(result.possible[0]) == _BEST_ENGINE:
            out.notes.append(
                f"{result.component.label}: this maker stamped no number in these years, so the "
                f"best that can be shown counts as {_BEST_ENGINE}."
            )
    _component("engine_originality", result, contents, words, out)


def _colour(result: ComponentResult, contents: Contents, out: Settled) -> None:
    works, changed, special = BY_NAME["colour_origin"].levels
    as_new = special if contents.changes.special_order == "yes" else works
    words = {s: as_new if s in _AS_NEW else changed for s in STATUSES if s != "missing"}
    _component("colour_origin", result, contents, words, out)

"""What the evidence carries for one component: what it rules out, what it proves, what is left.

A claim is one thing, what supports it another, what contradicts it a third.  What is neither
proven nor ruled out stays a span, so that better evidence can only raise the score.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from valuation.inspection.dates import DateVerdict, Window, WrittenDate, compare
from valuation.inspection.evidence import CarFacts, ComponentFinding, Evidence
from valuation.inspection.numbers import NumberMatch, compare_numbers
from valuation.inspection.settings import (
    STATUSES,
    Component,
    ComponentRules,
    InspectionSettings,
)

__all__ = ["BLANK", "BORN_WITH", "Facts", "Support", "facts_of", "possible_values", "support_of"]

NUMBERS_MATCHING, ORIGINAL, DATE_CORRECT, SERVICE, CORRECT_TYPE, PERIOD, LATER, MISSING = STATUSES

BORN_WITH = (NUMBERS_MATCHING, ORIGINAL, DATE_CORRECT)
"""Statuses that say that a part is as old as the car."""

_RIGHT_TYPE = (*BORN_WITH, CORRECT_TYPE)


@dataclass(frozen=True, slots=True)
class Facts:
    """What numbers and dates of one component say.

    Parameters
    ----------
    number : NumberMatch or None
        How its number goes with the maker's record or the chassis number.
    part : NumberMatch or None
        How its part number goes with the one wanted.
    dates : tuple of DateVerdict
        What each of its dates says.
    order : str
        What is odd between its dates, empty if nothing is.
    misordered : bool
        Whether it was assembled before it was cast, so that one date is misread.
    """

    number: NumberMatch | None
    part: NumberMatch | None
    dates: tuple[DateVerdict, ...]
    order: str = ""
    misordered: bool = False


@dataclass(frozen=True, slots=True)
class Support:
    """What the evidence carries for one component.

    Parameters
    ----------
    best, worst : str
        Statuses between which it lies; the same where it is settled.
    reasons : mapping of str to tuple of str
        For a status that is ruled out, why.
    proven : frozenset of str
        Statuses that the evidence proves.
    """

    best: str
    worst: str
    reasons: Mapping[str, tuple[str, ...]]
    proven: frozenset[str]


def possible_values(
    component: Component, rules: ComponentRules, settings: InspectionSettings
) -> dict[str, float]:
    """Return what each status counts that a component of this car can have.

    Parameters
    ----------
    component : Component
        The component.
    rules : ComponentRules
        What holds for it on this car.
    settings : InspectionSettings
        With the values.

    Returns
    -------
    dict of str to float
        From the best to the worst.  Where the maker stamped no number, a right type with a right
        date is the best that can be shown, so it counts in full.
    """
    values = dict(settings.statuses)
    del values[ORIGINAL if rules.stamped else NUMBERS_MATCHING]
    if rules.unstamped_by_maker:
        values[DATE_CORRECT] = values[ORIGINAL]
    if not component.dated:
        del values[DATE_CORRECT]
    if not component.can_be_missing:
        del values[MISSING]
    return values


def facts_of(
    finding: ComponentFinding,
    car: CarFacts,
    built: WrittenDate | None,
    rules: ComponentRules,
    settings: InspectionSettings,
) -> Facts:
    """Compare numbers and dates of one component with those of its car.

    Parameters
    ----------
    finding : ComponentFinding
        What was found.
    car : CarFacts
        With the chassis number.
    built : WrittenDate or None
        When the car was built.
    rules : ComponentRules
        With the date window, and whether the number ever was that of the chassis.
    settings : InspectionSettings
        With the days from casting to assembly.

    Returns
    -------
    Facts
        The maker's record, where it is known, counts before the chassis number.
    """
    e = finding.evidence
    number = part = None
    if e.number:
        on_chassis = not (e.number_on_record or rules.own_series)
        wanted = car.chassis if on_chassis else e.number_on_record
        what = "the chassis number" if on_chassis else "the number on the maker's record"
        number = compare_numbers(e.number, wanted, what=what)
    if e.part_number and e.part_number_wanted:
        part = compare_numbers(e.part_number, e.part_number_wanted, what="the part number wanted")
    dates = tuple(
        compare(built, d.when, rules.window, made=e.part_years, verb=d.verb) for d in e.dates
    )
    order, misordered = _order(e, settings.assembly_days)
    return Facts(number, part, dates, order, misordered)


def _order(evidence: Evidence, days: int) -> tuple[str, bool]:
    """Say what is odd between casting and assembly of one unit."""
    by_verb = {d.verb: d.when for d in evidence.dates}
    cast, assembled = by_verb.get("cast"), by_verb.get("assembled")
    if cast is None or assembled is None or len(assembled.readings) != 1:
        return "", False
    found = compare(assembled, cast, Window(days, days))
    if found.outcome == "impossible":
        return (
            f"Cast {cast.when}, after it was assembled {assembled.when}: one of them is misread.",
            True,
        )
    if found.outcome == "doubtful":
        return (
            f"Cast {cast.when}, long before it was assembled {assembled.when}: read both again.",
            False,
        )
    return "", False


def support_of(
    component: Component,
    finding: ComponentFinding,
    facts: Facts,
    rules: ComponentRules,
    settings: InspectionSettings,
    *,
    witnessed: bool = False,
) -> Support:
    """Return what the evidence carries.

    Parameters
    ----------
    component : Component
        The component.
    finding : ComponentFinding
        Claim and evidence.
    facts : Facts
        What its numbers and dates say.
    rules : ComponentRules
        What holds for it on this car.
    settings : InspectionSettings
        With the values.
    witnessed : bool
        Whether a photographed number elsewhere on the car supports its number.

    Returns
    -------
    Support
        A proven claim is settled.  An unproven one lies between the best status that is proven
        without it and the claim; a claim that is ruled out falls to the best that is left.
        Evidence that carries more than is claimed lies between the claim and what it carries.
    """
    values = possible_values(component, rules, settings)
    claim = _same_claim(finding.claim, rules)
    reasons = _ruled_out(component, finding, facts, rules)
    proven = _proven(component, claim, finding.evidence, facts, rules, witnessed) - reasons.keys()
    allowed = {s: v for s, v in values.items() if s not in reasons}
    best, worst = _between(allowed, proven, claim, finding.evidence, settings)
    return Support(best, worst, reasons, frozenset(proven))


def _same_claim(claim: str, rules: ComponentRules) -> str:
    """On a unit that carries a number, "original" is the same claim as "numbers-matching"."""
    return NUMBERS_MATCHING if claim == ORIGINAL and rules.stamped else claim


def _between(
    allowed: Mapping[str, float],
    proven: Collection[str],
    claim: str,
    evidence: Evidence,
    settings: InspectionSettings,
) -> tuple[str, str]:
    order = list(allowed)
    shown = [s for s in order if s in proven]
    if claim not in STATUSES:
        return order[0], shown[0] if shown else LATER if evidence.looked else order[-1]
    claimed = allowed.get(claim, settings.statuses[claim])
    below = [s for s in order if allowed[s] <= claimed]
    top = claim if claim in allowed else (below or order[-1:])[0]
    if shown and allowed[shown[0]] > allowed[top]:
        return shown[0], top
    held = [s for s in shown if allowed[s] <= allowed[top]]
    return top, held[0] if held else LATER if allowed[LATER] <= allowed[top] else top


def _ruled_out(
    component: Component, finding: ComponentFinding, facts: Facts, rules: ComponentRules
) -> dict[str, tuple[str, ...]]:
    out: dict[str, list[str]] = {}

    def rule_out(statuses: Collection[str], sentence: str) -> None:
        for status in statuses:
            out.setdefault(status, []).append(sentence)

    later = [v.sentence for v in facts.dates if v.outcome == "impossible"]
    for sentence in later:
        rule_out(BORN_WITH, sentence)
    if later and rules.stamped and facts.number and facts.number.agrees:
        rule_out((NUMBERS_MATCHING,), f"{facts.number.sentence} Ask who stamped it, and when.")
    if rules.unstamped_by_maker:
        rule_out(
            (NUMBERS_MATCHING,),
            "This maker stamped no such number in these years, so there is nothing to match.",
        )
    elif not rules.stamped:
        rule_out((NUMBERS_MATCHING,), "It carries no stamped number that could match.")
    elif finding.evidence.no_number:
        rule_out((NUMBERS_MATCHING,), BLANK + (_LAWFUL if component.part_number else ""))
    elif facts.number and facts.number.outcome == "differs":
        rule_out((NUMBERS_MATCHING,), facts.number.sentence)
    if facts.part and facts.part.outcome == "differs":
        rule_out(
            [s for s in _RIGHT_TYPE if s != NUMBERS_MATCHING], "Part number: " + facts.part.sentence
        )
    return {status: tuple(sentences) for status, sentences in out.items()}


BLANK = "Its place for the number is blank, so nothing matches."
"""Said of a component whose number isn't there."""

_LAWFUL = " A maker's service replacement lawfully carries no number: look for its bill."


def _proven(
    component: Component,
    claim: str,
    evidence: Evidence,
    facts: Facts,
    rules: ComponentRules,
    witnessed: bool,
) -> set[str]:
    type_wrong = facts.part is not None and not facts.part.agrees
    type_shown = facts.part is not None and facts.part.agrees
    type_said = claim in _RIGHT_TYPE and not type_wrong
    tests = {
        NUMBERS_MATCHING: not type_wrong and _stamp_shown(evidence, facts, rules, witnessed),
        ORIGINAL: claim == ORIGINAL and _looks_shown(evidence) and not _doubted(facts),
        DATE_CORRECT: component.dated and (type_shown or type_said) and _dates_hold(facts),
        SERVICE: claim == SERVICE
        and ("bills" in evidence.papers or (evidence.no_number and bool(evidence.notes))),
        CORRECT_TYPE: type_shown
        or ((type_said or claim == SERVICE) and not type_wrong and _seen(component, evidence)),
        PERIOD: claim == PERIOD and bool(evidence.part_number or evidence.photographs),
    }
    return {status for status, holds in tests.items() if holds}


def _stamp_shown(evidence: Evidence, facts: Facts, rules: ComponentRules, witnessed: bool) -> bool:
    """Whether the number agrees and more than a memory says so."""
    if not rules.stamped or facts.number is None or not facts.number.agrees:
        return False
    recorded = bool(evidence.number_on_record) or "build record" in evidence.papers
    kept = recorded or witnessed or bool(evidence.photographs)
    return kept and (recorded or not _doubted(facts)) and not evidence.appears_original


def _doubted(facts: Facts) -> bool:
    return any(v.outcome == "doubtful" for v in facts.dates)


def _looks_shown(evidence: Evidence) -> bool:
    """Whether finish, fixings and marks are told and photographed, or a record tells."""
    told = bool(evidence.photographs) and bool(evidence.notes)
    return (told or "build record" in evidence.papers) and not evidence.appears_original


def _dates_hold(facts: Facts) -> bool:
    return bool(facts.dates) and all(v.plausible for v in facts.dates) and not facts.misordered


def _seen(component: Component, evidence: Evidence) -> bool:
    """Whether its type was read, or looked at where it carries no part number."""
    if component.part_number:
        return bool(evidence.part_number)
    return bool(evidence.photographs or evidence.notes or evidence.number)

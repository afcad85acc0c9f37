"""What is still to be found out about a component, in sentences that say where and how."""

from __future__ import annotations

from valuation.inspection.cautions import APPEARS_ORIGINAL
from valuation.inspection.evidence import ComponentFinding, Evidence
from valuation.inspection.marks import ANSWERS
from valuation.inspection.settings import STATUSES, Component, ComponentRules
from valuation.inspection.support import BORN_WITH, Facts, Support

__all__ = ["open_questions"]


def open_questions(
    component: Component,
    finding: ComponentFinding,
    facts: Facts,
    rules: ComponentRules,
    support: Support,
) -> tuple[str, ...]:
    """Return what is still to be found out about one component.

    Parameters
    ----------
    component : Component
        With where and how to look.
    finding : ComponentFinding
        Claim and evidence.
    facts : Facts
        What its numbers and dates say.
    rules : ComponentRules
        What holds for it on this car.
    support : Support
        What the evidence carries.

    Returns
    -------
    tuple of str
        Sentences; at least one where the status isn't settled.
    """
    out = _of_readings(facts)
    if finding.claim in ANSWERS and not finding.evidence.looked:
        how = f"{component.how} Where: {component.where}."
        return (*out, f"{component.label}: {finding.claim}. {how}")
    if support.best != support.worst:
        out += _missing(component, finding, facts, rules)
        out += _surplus(finding, support)
    if finding.evidence.appears_original:
        out.append(APPEARS_ORIGINAL)
    if support.best != support.worst and not out:
        left = f"it may be anything from {support.worst} to {support.best}"
        out.append(f"{component.label}: {left}. {component.how} Where: {component.where}.")
    return tuple(out)


def _of_readings(facts: Facts) -> list[str]:
    out = [facts.order] if facts.order else []
    if facts.number and facts.number.outcome in ("alike", "can't be compared"):
        out.append(facts.number.sentence)
    if facts.part and facts.part.outcome in ("alike", "can't be compared"):
        out.append("Part number: " + facts.part.sentence)
    return out + [v.sentence for v in facts.dates if v.outcome in ("undecided", "doubtful")]


def _missing(
    component: Component, finding: ComponentFinding, facts: Facts, rules: ComponentRules
) -> list[str]:
    e, claim = finding.evidence, finding.claim
    out = []
    may_be_born = claim in BORN_WITH or claim in ANSWERS
    if rules.stamped and may_be_born:
        out += _of_the_stamp(component, e, facts)
    if component.dated and may_be_born and not e.dates:
        out.append(f"Read the date: {component.where}.")
    if component.part_number and not e.part_number:
        out.append(f"Read the part number: {component.where}.")
    if claim == "original" and not rules.stamped and not (e.photographs and e.notes):
        out.append("Note and photograph finish, fixings and marks that show that it is original.")
    if claim == "maker's service replacement" and "bills" not in e.papers:
        out.append("Ask for the bill of the maker's service replacement.")
    return out


def _of_the_stamp(component: Component, evidence: Evidence, facts: Facts) -> list[str]:
    if not evidence.number and not evidence.no_number:
        return [f"Read the number: {component.where}. {component.how}"]
    shown = evidence.photographs or evidence.number_on_record or "build record" in evidence.papers
    if facts.number and facts.number.agrees and not shown:
        return ["Photograph the stamped number, or ask for the maker's record."]
    return []


def _surplus(finding: ComponentFinding, support: Support) -> list[str]:
    order = list(STATUSES)
    claimed = finding.claim in order and order.index(support.best) < order.index(finding.claim)
    if not claimed or support.best not in support.proven:
        return []
    return [
        f"The evidence carries more than is claimed: {support.best}, not {finding.claim}. "
        "Ask why, and look at the stamp again."
    ]

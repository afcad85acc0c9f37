"""Originality score from the evidence of components: claim, support and contradiction apart."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from valuation.inspection.cautions import ORIGINALITY_CAUTIONS
from valuation.inspection.dates import DateVerdict
from valuation.inspection.evidence import CarFacts, ComponentFinding, build_of
from valuation.inspection.marks import ANSWERS, NOT_ON_THIS_CAR
from valuation.inspection.numbers import NumberMatch
from valuation.inspection.questions import open_questions
from valuation.inspection.settings import (
    STATUSES,
    Component,
    ComponentRules,
    InspectionSettings,
)
from valuation.inspection.support import (
    BLANK,
    Facts,
    Support,
    facts_of,
    possible_values,
    support_of,
)

__all__ = ["ComponentResult", "OriginalityScore", "originality_score"]


@dataclass(frozen=True, slots=True)
class ComponentResult:
    """What is claimed of a component, what the evidence carries, and what contradicts the claim.

    Parameters
    ----------
    component : Component
        The component, with where and how to look.
    claim : str
        As claimed: a status or an answer.
    best, worst : str
        Statuses between which the evidence leaves it; both empty if it is not on this car.
    possible : tuple of str
        Every status that it can still have, from the best to the worst.
    contradiction : str or None
        What contradicts the claim, in sentences with both dates or both numbers.
    open : tuple of str
        What is still to be found out, in sentences.
    number : NumberMatch or None
        How its number goes with the maker's record or the chassis number.
    dates : tuple of DateVerdict
        What each of its dates says.
    low, high : float
        Points of the score that it brings.
    full : float
        Points that it could bring at best.
    """

    component: Component
    claim: str
    best: str
    worst: str
    possible: tuple[str, ...]
    contradiction: str | None
    open: tuple[str, ...]
    number: NumberMatch | None
    dates: tuple[DateVerdict, ...]
    low: float
    high: float
    full: float

    @property
    def against(self) -> str:
        """What contradicts the claim, without component and claim; empty for nothing."""
        return (self.contradiction or "").removeprefix(_claimed(self.component, self.claim))

    @property
    def status(self) -> str:
        """The status, if the evidence settles it; empty otherwise."""
        return self.best if self.best == self.worst else ""

    @property
    def supported(self) -> str:
        """What the evidence carries: one status, or ``worst to best``."""
        return self.status or (f"{self.worst} to {self.best}" if self.best else "")


@dataclass(frozen=True, slots=True)
class OriginalityScore:
    """Weighted share of components born with the car, 0 to 100.

    Parameters
    ----------
    low, high : float
        The score if everything open turns out worst, and best.
    components : tuple of ComponentResult
        Every component, in the order of the sheet.
    identity : tuple of str
        Numbers that make one ask which car this is: chassis, hidden stampings, data plate.
    naming : frozenset of str
        Components whose number names the car.
    cautions : tuple of str
        What has to be shown with it.
    """

    low: float
    high: float
    components: tuple[ComponentResult, ...]
    identity: tuple[str, ...]
    naming: frozenset[str] = frozenset()
    cautions: tuple[str, ...] = ORIGINALITY_CAUTIONS

    @property
    def contradictions(self) -> tuple[str, ...]:
        """Every contradiction, in the order of the sheet."""
        return tuple(c.contradiction for c in self.components if c.contradiction)

    @property
    def names_another_car(self) -> bool:
        """Whether a number that names the car differs from the one on its papers."""
        return any(
            c.number is not None and c.number.outcome == "differs"
            for c in self.components
            if c.component.name in self.naming
        )

    def component(self, name: str) -> ComponentResult:
        """Return the result of one component; KeyError if there is none."""
        return {c.component.name: c for c in self.components}[name]

    def summary(self) -> str:
        """Return the score in a sentence.

        Examples
        --------
        >>> from valuation.inspection.settings_file import default_inspection_settings
        >>> originality_score({}, CarFacts(), default_inspection_settings()).summary()
        'Originality score 1.4 to 100.0; 13 components are open.'
        """
        left = sum(c.low < c.high for c in self.components)
        if not left:
            return f"Originality score {self.low:.1f}."
        are = "component is" if left == 1 else "components are"
        return f"Originality score {self.low:.1f} to {self.high:.1f}; {left} {are} open."


def originality_score(
    findings: Mapping[str, ComponentFinding], car: CarFacts, settings: InspectionSettings
) -> OriginalityScore:
    """Score the originality of a car by the evidence of its components.

    Parameters
    ----------
    findings : mapping of str to ComponentFinding
        By component; one that isn't named is not looked at.
    car : CarFacts
        What the parts are held against.
    settings : InspectionSettings
        Components, weights, values, date windows, rules of makers.

    Returns
    -------
    OriginalityScore
        ``low`` and ``high`` hold for every status that open components may turn out to have.

    Raises
    ------
    ValueError
        If a component or a claim is unknown, or a component that every car has is said not to be
        on this car.

    Notes
    -----
    100 Σ w·v / Σ w over the components on the car, v the value of the status.  A stamping elsewhere
    that agrees supports the chassis stamping.  One that differs takes nothing off the score, for
    the question is then which car this is, not how much of it is original; it is told in
    ``identity``.
    """
    _check(findings, settings)
    known = {c.name: findings.get(c.name, ComponentFinding()) for c in settings.components}
    built = build_of(car, settings)
    rules = {c.name: settings.rules(c, car.make, car.year) for c in settings.components}
    facts = {n: facts_of(f, car, built, rules[n], settings) for n, f in known.items()}
    on_car = [c for c in settings.components if known[c.name].claim != NOT_ON_THIS_CAR]
    total = math.fsum(c.weight for c in on_car)
    results = []
    lows, highs = [], []
    for c in settings.components:
        if known[c.name].claim == NOT_ON_THIS_CAR:
            results.append(_absent(c, known[c.name]))
            continue
        witnesses = _witnesses(c, known, facts, settings)
        result, low, high = _judge(
            c, known[c.name], facts[c.name], rules[c.name], settings, witnesses, 100 / total
        )
        results.append(result)
        lows.append(low)
        highs.append(high)
    blank = frozenset(n for n, f in known.items() if f.evidence.no_number and rules[n].stamped)
    identity = _identity(results, blank, settings)
    return OriginalityScore(
        100 * math.fsum(lows) / total,
        100 * math.fsum(highs) / total,
        tuple(results),
        identity,
        settings.names_of_the_car,
    )


def _check(findings: Mapping[str, ComponentFinding], settings: InspectionSettings) -> None:
    components = {c.name: c for c in settings.components}
    for name, finding in findings.items():
        if name not in components:
            raise ValueError(f"originality_score: no such component (got: {name})")
        if finding.claim not in (*STATUSES, *ANSWERS):
            raise ValueError(f"originality_score: no such claim for {name} (got: {finding.claim})")
        if finding.claim == NOT_ON_THIS_CAR and not components[name].can_be_absent:
            raise ValueError(f"originality_score: every car has this component (got: {name})")


def _absent(component: Component, finding: ComponentFinding) -> ComponentResult:
    return ComponentResult(component, finding.claim, "", "", (), None, (), None, (), 0.0, 0.0, 0.0)


_Witnesses = list[tuple[Component, ComponentFinding, NumberMatch]]


def _witnesses(
    component: Component,
    known: Mapping[str, ComponentFinding],
    facts: Mapping[str, Facts],
    settings: InspectionSettings,
) -> _Witnesses:
    """Return the components whose number speaks for or against this one."""
    return [
        (c, known[c.name], number)
        for c in settings.components
        if c.speaks_for == component.name and (number := facts[c.name].number) is not None
    ]


def _judge(
    component: Component,
    finding: ComponentFinding,
    facts: Facts,
    rules: ComponentRules,
    settings: InspectionSettings,
    witnesses: _Witnesses,
    points: float,
) -> tuple[ComponentResult, float, float]:
    """Return the result of one component and what it brings, weight times value."""
    witnessed = any(n.agrees and f.evidence.photographs for _, f, n in witnesses)
    support = support_of(component, finding, facts, rules, settings, witnessed=witnessed)
    values = possible_values(component, rules, settings)
    low, high = (component.weight * values[s] for s in (support.worst, support.best))
    order = list(values)
    left = order[order.index(support.best) : order.index(support.worst) + 1]
    against = [f"{c.label}: {n.sentence}" for c, _, n in witnesses if n.outcome == "differs"]
    result = ComponentResult(
        component=component,
        claim=finding.claim,
        best=support.best,
        worst=support.worst,
        possible=tuple(s for s in left if s not in support.reasons),
        contradiction=_contradiction(component, finding, support, rules, against),
        open=open_questions(component, finding, facts, rules, support),
        number=facts.number,
        dates=facts.dates,
        low=low * points,
        high=high * points,
        full=component.weight * points,
    )
    return result, low, high


def _contradiction(
    component: Component,
    finding: ComponentFinding,
    support: Support,
    rules: ComponentRules,
    against: list[str],
) -> str | None:
    claim = finding.claim
    as_numbers = rules.stamped and claim == "original"
    reasons = [*support.reasons.get("numbers-matching" if as_numbers else claim, ())]
    if claim in ("numbers-matching", "original"):
        reasons += against
    if not reasons:
        return None
    return _claimed(component, claim) + " ".join(reasons)


def _claimed(component: Component, claim: str) -> str:
    return f"{component.label}: claimed to be {claim}. "


def _identity(
    results: list[ComponentResult], blank: frozenset[str], settings: InspectionSettings
) -> tuple[str, ...]:
    """Return the numbers that differ or lack among those that name the car."""
    out = []
    for result in (r for r in results if r.component.name in settings.names_of_the_car):
        if result.number is not None and result.number.outcome == "differs":
            out.append(f"{result.component.label}: {result.number.sentence}")
        elif result.component.name in blank:
            out.append(f"{result.component.label}: {BLANK}")
    return tuple(out)

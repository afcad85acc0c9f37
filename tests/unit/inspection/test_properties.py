"""What must hold for any inspection: better is never worse, and a span holds what it can become."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hypothesis import given
from hypothesis import settings as options
from hypothesis import strategies as st

from valuation.inspection.date_text import read_date
from valuation.inspection.evidence import CarFacts, ComponentFinding, Evidence, PartDate
from valuation.inspection.grade import condition_grade
from valuation.inspection.marks import ANSWERS, Finding, Mark, MarkSpan, spread_groups
from valuation.inspection.originality import originality_score
from valuation.inspection.settings import (
    STATUSES,
    Component,
    InspectionSettings,
    MakerRule,
    Zone,
)
from valuation.inspection.settings_file import default_inspection_settings
from valuation.schema.kinds import NOT_LOOKED_AT

SETTINGS = default_inspection_settings()
CHASSIS = "TV68C104231"
CAR = CarFacts("Torvane", 1969, read_date("12 March 1969"), CHASSIS)
NEAR = 1e-9
# A busy machine is no fault of the code.
UNHURRIED, MANY = options(deadline=None), options(deadline=None, max_examples=200)

# ---- Condition ---------------------------------------------------------------------------------

halves = st.integers(0, 20).map(lambda n: n / 2)
marks = halves.map(Mark)
spans = st.tuples(halves, halves, halves).map(sorted).map(lambda v: MarkSpan(v[1], v[0], v[2]))


def finding_of(can_be_absent: bool) -> st.SearchStrategy[Finding]:
    return st.one_of(marks, spans, st.sampled_from(ANSWERS if can_be_absent else ANSWERS[:2]))


inspections = st.fixed_dictionaries({z.name: finding_of(z.can_be_absent) for z in SETTINGS.zones})


def better(mark: Finding, by: float) -> Finding:
    if isinstance(mark, Mark):
        return Mark(min(10.0, mark.value + by))
    if isinstance(mark, MarkSpan):
        return MarkSpan(*(min(10.0, v + by) for v in (mark.value, mark.low, mark.high)))
    return mark


@UNHURRIED
@given(inspections, st.sampled_from(SETTINGS.zones), halves)
def test_a_better_mark_never_lowers_the_grade(
    found: dict[str, Finding], zone: Zone, by: float
) -> None:
    before = condition_grade(found, SETTINGS)
    after = condition_grade(found | {zone.name: better(found[zone.name], by)}, SETTINGS)
    assert after.low >= before.low
    assert after.high >= before.high
    assert (before.point is None) == (after.point is None)
    assert after.point is None or before.point is None or after.point >= before.point


def became(finding: Finding, can_be_absent: bool) -> st.SearchStrategy[Finding]:
    """Return what an open zone may turn out to be."""
    if isinstance(finding, Mark):
        return st.just(finding)
    if isinstance(finding, MarkSpan):
        low, high = int(finding.low * 2), int(finding.high * 2)
        return st.integers(low, high).map(lambda n: Mark(n / 2))
    return finding_of(can_be_absent)


@UNHURRIED
@given(inspections, st.data())
def test_the_span_holds_every_grade_it_can_become(
    found: dict[str, Finding], data: st.DataObject
) -> None:
    before = condition_grade(found, SETTINGS)
    zones = {z.name: became(found[z.name], z.can_be_absent) for z in SETTINGS.zones}
    after = condition_grade(data.draw(st.fixed_dictionaries(zones)), SETTINGS)
    assert before.low - NEAR <= after.low <= after.high <= before.high + NEAR


@UNHURRIED
@given(inspections)
def test_the_point_lies_in_the_span(found: dict[str, Finding]) -> None:
    grade = condition_grade(found, SETTINGS)
    assert 0 <= grade.low <= grade.high <= 100
    assert grade.point is None or grade.low - NEAR <= grade.point <= grade.high + NEAR
    assert grade.settled == (not grade.open)
    assert not grade.settled or grade.low == grade.high == grade.point


@UNHURRIED
@given(inspections, st.dictionaries(st.sampled_from([g.name for g in SETTINGS.groups]), marks))
def test_a_preview_only_narrows(found: dict[str, Finding], groups: dict[str, Mark]) -> None:
    before = condition_grade(found, SETTINGS)
    after = condition_grade(spread_groups(groups, found, SETTINGS), SETTINGS)
    assert before.low - NEAR <= after.low <= after.high <= before.high + NEAR


# ---- Originality -------------------------------------------------------------------------------


def dates(*texts: str) -> tuple[PartDate, ...]:
    return tuple(PartDate("dated", read_date(t)) for t in texts)


NUMBERS = ("", "104231", CHASSIS, "1O4231", "104237", "31", "E771")
DATES = ((), dates("20 January 1969"), dates("1 July 1968"), dates("2 April 1969"),
         dates("March 1969"), dates("14 January of a year ending in 9"),
         dates("20 January 1969", "1 July 1968"))  # fmt: skip
PAPERS = ((), ("bills",), ("build record",), ("bills", "build record"))

evidence = st.builds(
    Evidence,
    number=st.sampled_from(NUMBERS),
    no_number=st.booleans(),
    number_on_record=st.sampled_from(("", "E771", "104231")),
    dates=st.sampled_from(DATES),
    part_number=st.sampled_from(("", "441", "4S1", "442")),
    part_number_wanted=st.sampled_from(("", "441", "451")),
    papers=st.sampled_from(PAPERS),
    photographs=st.sampled_from(((), ("a.jpg",))),
    notes=st.sampled_from(("", "works seams")),
    appears_original=st.booleans(),
).map(lambda e: replace(e, no_number=e.no_number and not e.number))
RULES = [
    MakerRule("Torvane", 1960, 1970, frozenset(), unnumbered, own, silent, None, None, None)
    for unnumbered in (False, True)
    for own in (False, True)
    for silent in (False, True)
]
firms = st.sampled_from([SETTINGS, *(replace(SETTINGS, makers=(r,)) for r in RULES)])
FREE = [c for c in SETTINGS.components if c.weight]


def component_of(can_be_absent: bool) -> st.SearchStrategy[ComponentFinding]:
    claims = (*STATUSES, *(ANSWERS if can_be_absent else ANSWERS[:2]))
    return st.builds(ComponentFinding, st.sampled_from(claims), evidence)


cars = st.fixed_dictionaries({c.name: component_of(c.can_be_absent) for c in SETTINGS.components})
Found = dict[str, ComponentFinding]


def kept(e: Evidence) -> list[Evidence]:
    """Return every way in which this evidence can become better."""
    out = [
        replace(e, photographs=("a.jpg",)),
        replace(e, notes="works seams"),
        replace(e, papers=("bills", "build record")),
        replace(e, appears_original=False),
        replace(e, no_number=False, number=e.number_on_record or CHASSIS),
        replace(e, number_on_record=e.number),
        replace(e, part_number=e.part_number_wanted or e.part_number or "441"),
        replace(e, dates=dates("20 January 1969")),
    ]
    return out if e.number else [b for b in out if b.number_on_record == e.number_on_record]


@MANY
@given(cars, st.sampled_from(SETTINGS.components), st.integers(0, 7), firms)
def test_better_evidence_never_lowers_the_score(
    found: Found, component: Component, way: int, firm: InspectionSettings
) -> None:
    held = found[component.name]
    ways = kept(held.evidence)
    improved = replace(held, evidence=ways[way % len(ways)])
    before = originality_score(found, CAR, firm)
    after = originality_score(found | {component.name: improved}, CAR, firm)
    assert after.low >= before.low
    assert after.high >= before.high


@MANY
@given(cars, st.sampled_from(SETTINGS.components), st.sampled_from(ANSWERS[:2]), firms, st.data())
def test_the_span_of_an_unknown_holds_every_score_it_can_become(
    found: Found, component: Component, answer: str, firm: InspectionSettings, data: st.DataObject
) -> None:
    unknown = found | {component.name: ComponentFinding(answer)}
    before = originality_score(unknown, CAR, firm)
    known = data.draw(component_of(component.can_be_absent))
    after = originality_score(found | {component.name: known}, CAR, firm)
    assert before.low - NEAR <= after.low <= after.high <= before.high + NEAR


@MANY
@given(cars, firms)
def test_points_add_up_to_the_score(found: Found, firm: InspectionSettings) -> None:
    score = originality_score(found, CAR, firm)
    assert 0 <= score.low <= score.high <= 100 + NEAR
    assert abs(sum(c.low for c in score.components) - score.low) < NEAR
    assert abs(sum(c.high for c in score.components) - score.high) < NEAR
    assert all(c.low <= c.high <= c.full + NEAR for c in score.components)


@MANY
@given(component_of(False), st.sampled_from(FREE), st.dates(date(1969, 3, 13), date(2098, 1, 1)))
def test_a_later_part_is_never_born_with_the_car(
    held: ComponentFinding, component: Component, day: date
) -> None:
    later = (PartDate("made", read_date(day.isoformat())),)
    found = replace(held, evidence=replace(held.evidence, dates=later))
    result = originality_score({component.name: found}, CAR, SETTINGS).component(component.name)
    born = ("numbers-matching", "original", "date-correct")
    assert result.best not in born
    assert (result.contradiction is not None) or result.claim not in born


@UNHURRIED
@given(cars)
def test_what_nobody_looked_at_asks_to_be_looked_at(found: Found) -> None:
    blank = found | {"glass": ComponentFinding(NOT_LOOKED_AT)}
    score = originality_score(blank, CAR, SETTINGS)
    assert score.component("glass").open[0].startswith("Glass: not looked at. ")
    assert all(c.open for c in score.components if c.low < c.high)

"""The condition grade after work: what the marks allow, and never less than today."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.inspection.grade import condition_grade
from valuation.inspection.marks import Finding
from valuation.inspection.planned import findings_of, marks_of
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings
from valuation.inspection.work_grade import agree, regrade
from valuation.records import ZoneMark
from valuation.schema.kinds import NOT_ON_THIS_CAR

SETTINGS = default_inspection_settings()
Marks = dict[str, ZoneMark]


@pytest.fixture
def worked(worked_marks: dict[str, Finding]) -> Marks:
    """Return the marks of the worked case: weights 100, mean 76.6, at most 75 by the underside."""
    return marks_of(worked_marks)


@pytest.mark.parametrize(
    ("change", "grade"),
    [
        # Mean 76.6 + 0.6 = 77.2, and the underside now allows 85.
        ({"underside": 6.0}, 77.2),
        # Mean 77.8, but the underside still allows no more than 75.
        ({"paint": 10.0}, 75.0),
        # Mean 76.6 + 0.6 + 1.2.
        ({"underside": 6.0, "paint": 10.0}, 78.4),
    ],
)
def test_the_worked_case_after_work(worked: Marks, change: Marks, grade: float) -> None:
    found = regrade(worked, worked | change, (75.0, 75.0), SETTINGS)
    assert (found.low, found.high) == pytest.approx((grade, grade))


def test_without_a_stated_grade_the_marks_tell(worked: Marks) -> None:
    found = regrade(worked, worked | {"underside": 6.0}, None, SETTINGS)
    assert (found.low, found.high) == pytest.approx((77.2, 77.2))


def test_a_stated_grade_with_few_marks_rises_by_what_the_mean_rises() -> None:
    # All eighteen zones weigh 106, so paint from 5 to 8 gives 10 * 12 * 3 / 106.
    marks: Marks = {"paint": 5.0, "body_structure": 7.0, "underside": 7.0}
    found = regrade(marks, marks | {"paint": 8.0}, (63.0, 63.0), SETTINGS)
    assert (found.low, found.high) == pytest.approx((63 + 360 / 106,) * 2)


def test_what_holds_the_grade_down_may_not_be_known() -> None:
    marks: Marks = {"paint": 5.0}
    found = regrade(marks, marks | {"paint": 8.0}, (63.0, 63.0), SETTINGS)
    assert (found.low, found.high) == pytest.approx((63.0, 63 + 360 / 106))


def test_a_rotten_zone_that_is_put_right_may_set_the_grade_free() -> None:
    marks: Marks = {"body_structure": 2.0, "underside": 7.0}
    found = regrade(marks, marks | {"body_structure": 7.0}, (45.0, 45.0), SETTINGS)
    # The other zones may be anything from what 45 needs to the best.
    assert found.low == pytest.approx(45 + 10 * 20 * 5 / 106)
    assert found.high == pytest.approx(10 * (1060 - 20 * 3 - 6 * 3) / 106)


def test_a_grade_rounded_to_whole_points_is_that_of_its_marks(worked: Marks) -> None:
    marks = worked | {"underside": 6.0}
    assert agree(marks, (77.0, 77.0), SETTINGS)
    assert agree(marks, None, SETTINGS)
    assert not agree(marks, (78.0, 80.0), SETTINGS)
    assert not agree(marks, (60.0, 76.0), SETTINGS)
    found = regrade(marks, marks | {"paint": 10.0}, (77.0, 77.0), SETTINGS)
    assert (found.low, found.high) == pytest.approx((78.4, 78.4))


def test_a_grade_rounded_up_does_not_fall(worked: Marks) -> None:
    marks = worked | {"underside": 6.0}
    found = regrade(marks, marks, (77.5, 77.5), SETTINGS)
    assert (found.low, found.high) == (77.5, 77.5)


HALVES = st.integers(0, 20).map(lambda n: n / 2)
NEVER_ABSENT = [z.name for z in SETTINGS.zones if not z.can_be_absent]


@st.composite
def cars(draw: st.DrawFn) -> tuple[dict[str, ZoneMark], Marks, tuple[float, float] | None]:
    """Return the true marks of a car, what is known of them, and what is stated of the grade."""
    truth: Marks = {}
    known: Marks = {}
    for zone in SETTINGS.zones:
        if zone.can_be_absent and draw(st.booleans()):
            truth[zone.name] = known[zone.name] = NOT_ON_THIS_CAR
            continue
        mark = draw(HALVES)
        truth[zone.name] = mark
        how = draw(st.sampled_from(["mark", "span", "nothing"]))
        if how == "mark":
            known[zone.name] = mark
        elif how == "span":
            known[zone.name] = (max(0.0, mark - draw(HALVES)), min(10.0, mark + draw(HALVES)))
    grade = condition_grade(findings_of(truth), SETTINGS).low
    below, above = draw(HALVES), draw(HALVES)
    stated = draw(st.sampled_from(["none", "exact", "span"]))
    if stated == "none":
        return truth, known, None
    if stated == "exact":
        return truth, known, (grade, grade)
    return truth, known, (max(0.0, grade - below), min(100.0, grade + above))


def raised(marks: Marks, work: dict[str, float], known: Marks) -> Marks:
    """Return marks after work on zones of which something is known."""
    out = dict(marks)
    for zone, mark in work.items():
        today = out.get(zone)
        if known.get(zone) is None or today is None or isinstance(today, str):
            continue
        low, high = today if isinstance(today, tuple) else (today, today)
        new = (max(low, mark), max(high, mark))
        out[zone] = new[0] if new[0] == new[1] else new
    return out


WORK = st.dictionaries(st.sampled_from([z.name for z in SETTINGS.zones]), HALVES, max_size=6)


@given(cars(), WORK)
def test_the_true_grade_lies_between_the_ends(
    car: tuple[Marks, Marks, tuple[float, float] | None], work: dict[str, float]
) -> None:
    truth, known, stated = car
    assert agree(known, stated, SETTINGS)
    found = regrade(known, raised(known, work, known), stated, SETTINGS)
    grade = condition_grade(findings_of(raised(truth, work, known)), SETTINGS).low
    assert found.low - 1e-9 <= grade <= found.high + 1e-9


@given(cars(), WORK, WORK)
def test_more_work_never_lowers_the_grade(
    car: tuple[Marks, Marks, tuple[float, float] | None],
    work: dict[str, float],
    more: dict[str, float],
) -> None:
    _, known, stated = car
    some = raised(known, work, known)
    less = regrade(known, some, stated, SETTINGS)
    full = regrade(known, raised(some, more, known), stated, SETTINGS)
    assert full.low >= less.low - 1e-9
    assert full.high >= less.high - 1e-9
    if stated is not None:
        assert less.low >= stated[0]
        assert less.high >= stated[1]


def test_zones_and_weights_of_the_case(settings: InspectionSettings) -> None:
    assert sum(z.weight for z in settings.zones) == 106
    assert {z.name for z in settings.zones if z.structural} == {"body_structure", "underside"}

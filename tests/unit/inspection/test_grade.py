"""Condition grade: the worked case, spans, caps and words."""

from __future__ import annotations

import pytest

from valuation.importing.content import CONDITION_BANDS
from valuation.inspection.grade import condition_grade
from valuation.inspection.marks import (
    NOT_ON_THIS_CAR,
    NOT_POSSIBLE_HERE,
    Finding,
    Mark,
    MarkSpan,
    read_group_marks,
    spread_groups,
)
from valuation.inspection.settings import InspectionSettings
from valuation.schema.kinds import NOT_LOOKED_AT

Marks = dict[str, Finding]


def test_the_worked_case(worked_marks: Marks, settings: InspectionSettings) -> None:
    grade = condition_grade(worked_marks, settings)
    assert (grade.low, grade.high, grade.point) == (75.0, 75.0, 75.0)
    assert grade.cap is not None
    assert grade.cap.mean == pytest.approx(76.6, abs=1e-12)
    assert (grade.cap.zone, grade.cap.limit) == ("underside", 75.0)
    assert grade.settled
    assert grade.seen == 1.0
    assert grade.summary() == (
        "Condition grade 75.0: sharp. Underside has 5 of 10, so the grade is at most 75.0; the "
        "zones alone would give 76.6."
    )


def test_the_worked_case_with_the_underside_not_seen(
    worked_marks: Marks, settings: InspectionSettings
) -> None:
    grade = condition_grade(worked_marks | {"underside": NOT_LOOKED_AT}, settings)
    assert (grade.low, round(grade.point or 0, 1), round(grade.high, 1)) == (25.0, 78.3, 79.6)
    assert grade.cap is None
    assert grade.low_cap is not None
    assert (grade.low_cap.zone, grade.low_cap.mark) == ("underside", 0.0)
    (zone,) = grade.open
    assert (zone.zone.name, zone.answer) == ("underside", "not looked at")
    assert (zone.low, zone.high) == (grade.low, grade.high)
    assert "rated stands" in zone.zone.tool
    assert grade.bands == ("tired", "sharp")
    assert grade.seen == pytest.approx(0.94)
    assert grade.summary() == (
        "Condition grade 25.0 to 79.6: tired to sharp. What was seen gives 78.3."
    )


def test_not_possible_here_spans_as_much_and_says_why(
    worked_marks: Marks, settings: InspectionSettings
) -> None:
    grade = condition_grade(worked_marks | {"brakes": NOT_POSSIBLE_HERE}, settings)
    other = condition_grade(worked_marks | {"brakes": NOT_LOOKED_AT}, settings)
    assert (grade.low, grade.high) == (other.low, other.high)
    assert grade.open[0].answer == NOT_POSSIBLE_HERE


def test_what_a_car_never_had_counts_for_nothing(
    worked_marks: Marks, settings: InspectionSettings
) -> None:
    with_top = condition_grade(worked_marks | {"top": Mark(0), "underside": Mark(8)}, settings)
    without = condition_grade(worked_marks | {"underside": Mark(8)}, settings)
    assert without.point == pytest.approx(78.4)
    assert with_top.point == pytest.approx(7840 / 102)


def test_the_open_zones_stand_in_the_order_of_what_hangs_on_them(
    worked_marks: Marks, settings: InspectionSettings
) -> None:
    unseen = dict.fromkeys(("boot", "body_structure", "paint"), NOT_LOOKED_AT)
    grade = condition_grade(worked_marks | unseen, settings)
    assert [z.zone.name for z in grade.open] == ["body_structure", "paint", "boot"]


def test_a_zone_of_no_weight_opens_nothing(settings: InspectionSettings) -> None:
    marks: Marks = {z.name: Mark(7) for z in settings.zones}
    assert condition_grade(marks, settings).settled
    pinned: Marks = marks | {"paint": MarkSpan(7, 7, 7)}
    assert condition_grade(pinned, settings).settled


def test_nothing_seen_gives_no_point(settings: InspectionSettings) -> None:
    grade = condition_grade({}, settings)
    assert (grade.low, grade.high, grade.point, grade.point_band) == (0.0, 100.0, None, "")
    assert len(grade.open) == len(settings.zones)


def test_a_preview_spreads_five_marks_to_zones(settings: InspectionSettings) -> None:
    marks, faults = read_group_marks(
        {"outside": 9.5, "shell": "6", "inside": "not looked at", "under_bonnet": ""}, settings
    )
    assert faults == ()
    own: Marks = {"paint": Mark(4), "top": NOT_ON_THIS_CAR}
    found = spread_groups(marks, own, settings)
    assert found["paint"] == Mark(4)
    assert found["top"] == NOT_ON_THIS_CAR
    assert found["panel_fit"] == MarkSpan(9.5, 8.0, 10.0, "outside")
    assert found["body_structure"] == MarkSpan(6, 3.0, 9.0, "shell")
    assert found["underside"] == MarkSpan(6, 2.0, 10.0, "shell")
    assert found["interior"] == found["engine_running"] == NOT_LOOKED_AT
    grade = condition_grade(found, settings)
    assert grade.low < (grade.point or 0) < grade.high
    assert {z.answer for z in grade.open} == {"mark of its group", "not looked at"}


def test_a_preview_says_nothing_of_what_it_does_not_try(settings: InspectionSettings) -> None:
    found = spread_groups({"running_gear": Mark(8)}, {}, settings)
    assert found["suspension_and_steering"] == MarkSpan(8, 5.0, 10.0, "running_gear")
    assert found["engine_running"] == found["driveline"] == found["brakes"] == NOT_LOOKED_AT


def test_the_middle_of_a_band_is_what_the_word_means_in_sale_files(
    settings: InspectionSettings,
) -> None:
    ends = [*(b.lowest for b in settings.bands), 100.0]
    middles = {
        b.name: (low + high) / 2
        for b, low, high in zip(settings.bands, ends, ends[1:], strict=False)
    }
    assert middles == pytest.approx(CONDITION_BANDS, abs=1.5)


@pytest.mark.parametrize(
    ("grade", "word"),
    [(0, "project"), (19.9, "project"), (20, "tired"), (55, "driver"), (83.9, "sharp"),
     (84, "show"), (100, "show")],
)  # fmt: skip
def test_words(grade: float, word: str, settings: InspectionSettings) -> None:
    assert settings.band(grade) == word


@pytest.mark.parametrize(
    ("findings", "message"),
    [
        ({"roof_rack": Mark(5)}, "no such zone .got: roof_rack"),
        ({"paint": "fine"}, "no such answer for paint .got: fine"),
        ({"underside": NOT_ON_THIS_CAR}, "every car has this zone .got: underside"),
    ],
)
def test_what_cannot_be_graded(findings: Marks, message: str, settings: InspectionSettings) -> None:
    with pytest.raises(ValueError, match=message):
        condition_grade(findings, settings)

"""Marks as they stand on a sheet."""

from __future__ import annotations

import pytest

from valuation.inspection.marks import (
    Finding,
    Mark,
    MarkSpan,
    read_answer,
    read_group_marks,
    read_marks,
)
from valuation.inspection.settings import InspectionSettings


@pytest.mark.parametrize(
    ("entry", "finding"),
    [
        (8, Mark(8)), (7.5, Mark(7.5)), ("7,5", Mark(7.5)), (" 7½ ", Mark(7.5)), ("½", Mark(0.5)),
        ("10", Mark(10)), (0, Mark(0)), (None, "not looked at"), ("", "not looked at"),
        ("  ", "not looked at"), ("Not looked", "not looked at"),
        ("not looked at", "not looked at"), ("NOT POSSIBLE HERE", "not possible here"),
        ("not possible", "not possible here"), ("not on this car", "not on this car"),
    ],
)  # fmt: skip
def test_what_can_stand(entry: object, finding: Finding, settings: InspectionSettings) -> None:
    found, faults = read_marks({"boot": entry}, settings)
    assert found["boot"] == finding
    assert faults == ()


@pytest.mark.parametrize("entry", [11, -1, 7.25, "good", True, "7/10", float("nan")])
def test_what_cannot_stand(entry: object, settings: InspectionSettings) -> None:
    found, (fault,) = read_marks({"paint": entry}, settings)
    assert found["paint"] == "not looked at"
    assert (fault.key, fault.got) == ("paint", str(entry))
    assert fault.allowed == "a mark from 0 to 10 in halves, or not looked at, not possible here"


def test_all_faults_come_at_once(settings: InspectionSettings) -> None:
    entries = {"paint": 12, "underside": "not on this car", "top": "none", "roof_rack": 3}
    found, faults = read_marks(entries, settings)
    assert [f.key for f in faults] == ["paint", "top", "underside", "roof_rack"]
    assert faults[1].allowed.endswith("not on this car")
    assert faults[3].got == "no such zone"
    assert set(found) == {z.name for z in settings.zones}


def test_groups_have_no_third_answer(settings: InspectionSettings) -> None:
    marks, faults = read_group_marks({"shell": "not on this car", "roof": 3}, settings)
    assert marks == {}
    assert [(f.key, f.got) for f in faults] == [
        ("shell", "not on this car"),
        ("roof", "no such group"),
    ]


def test_other_words_are_no_answer() -> None:
    assert read_answer("no") is None


@pytest.mark.parametrize("value", [10.5, -0.5, 3.3])
def test_a_mark_is_a_mark(value: float) -> None:
    with pytest.raises(ValueError, match="0 to 10 in halves"):
        Mark(value)


@pytest.mark.parametrize("ends", [(5, 6, 7), (5, 4, 4.5), (5, -1, 6), (5, 4, 11)])
def test_a_span_lies_round_its_mark(ends: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="have to rise"):
        MarkSpan(*ends)

"""From defects and marks of a sheet to the work and the marks that a car keeps."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.errors import SheetError
from valuation.importing.car_file import read_car, write_car
from valuation.inspection.contents import CostRange, Defect
from valuation.inspection.inspection import read_sheet
from valuation.inspection.marks import NOT_POSSIBLE_HERE, Finding, Mark, MarkSpan
from valuation.inspection.planned import findings_of, marks_of, uncounted, work_of
from valuation.inspection.title_states import NUMBERS_STOP
from valuation.records import Car, Cure, Work
from valuation.schema.kinds import NOT_LOOKED_AT, NOT_ON_THIS_CAR
from valuation.synthetic.sheets import SHEETS, filled_sheet

COST = CostRange(Decimal(400), Decimal(900), "EUR")


def car_of(text: str, folder: Path) -> Car:
    path = folder / "sheet.toml"
    path.write_text(text, encoding="utf-8")
    return read_sheet(path).to_car()


def test_a_defect_with_cost_and_mark_is_work_that_restores_a_zone() -> None:
    defect = Defect("paint", "blisters", "left rear arch", "slight", COST, 8.0)
    assert work_of([defect]) == (
        Work("blisters (left rear arch), slight", Decimal(400), Decimal(900), "EUR", "paint", 8.0),
    )
    assert uncounted([defect]) == ()


@pytest.mark.parametrize(
    ("defect", "what"),
    [
        (Defect("paint", "blisters", cost=COST), "Paint: blisters"),
        (Defect("", "rattle", cost=COST, mark_after=7.0), "rattle"),
        (Defect("body_structure", "", "sill", "severe", COST),
         "Body structure: something (sill), severe"),
    ],
)  # fmt: skip
def test_without_zone_or_mark_it_is_only_a_cost(defect: Defect, what: str) -> None:
    (line,) = work_of([defect])
    assert (line.what, line.low, line.high, line.currency) == (what, 400, 900, "EUR")
    assert (line.zone, line.mark) == ("", None)


def test_what_is_no_work_is_told() -> None:
    defects = (
        Defect("paint", "blisters", mark_after=8.0),
        Defect("", "leak", "gearbox"),
        Defect("", "rattle", cost=COST, mark_after=7.0),
    )
    assert [line.what for line in work_of(defects)] == ["rattle"]
    assert uncounted(defects) == (
        "Without a cost and not among the work: Paint: blisters; leak (gearbox).",
        "A mark after the work and no zone, so it restores nothing: rattle.",
    )


def test_marks_go_to_the_car_and_back() -> None:
    found: Mapping[str, Finding] = {
        "paint": Mark(6.5), "interior": MarkSpan(8.0, 6.5, 9.5, "inside"), "top": NOT_ON_THIS_CAR,
        "boot": NOT_LOOKED_AT, "brakes": NOT_POSSIBLE_HERE,
    }  # fmt: skip
    kept = marks_of(found)
    assert kept == {"paint": 6.5, "interior": (6.5, 9.5), "top": NOT_ON_THIS_CAR}
    back = findings_of(kept)
    assert back["top"] == NOT_ON_THIS_CAR
    assert [(f.low, f.high) for f in back.values() if not isinstance(f, str)] == [
        (6.5, 6.5), (6.5, 9.5),
    ]  # fmt: skip


# Through the sheet


def test_the_mark_after_the_work_is_read_from_the_sheet(tmp_path: Path) -> None:
    text = (
        "[car]\ncurrency='EUR'\ntitle_days=3\n[zones.paint]\nmark=5\n[preview.inside]\nmark=8\n"
        "[[defects]]\nzone='Paint'\nwhat='dull'\nlow=400\nhigh=900\nmark_after='7½'\n"
        "[[defects]]\nwhat='rattle'\n"
    )
    car = car_of(text, tmp_path)
    assert car.work == (Work("dull", Decimal(400), Decimal(900), "EUR", "paint", 7.5),)
    assert car.marks["paint"] == 5.0
    assert car.marks["interior"] == (6.5, 9.5)
    assert "heating" not in car.marks
    assert car.cure == Cure(3.0)
    assert car.stops == ()
    assert car.notes == ("Without a cost and not among the work: rattle.",)


def test_a_wrong_mark_after_the_work_is_told(tmp_path: Path) -> None:
    with pytest.raises(SheetError) as caught:
        car_of("[[defects]]\nwhat='dull'\nmark_after=7.2\n", tmp_path)
    assert str(caught.value) == (
        "sheet.toml: one entry is wrong: defects, number 1.mark_after has to be a mark from 0 to "
        "10 in halves (got: 7.2). Correct it."
    )


@pytest.mark.parametrize("name", SHEETS)
def test_a_filled_sheet_comes_back_from_its_car_file(name: str, tmp_path: Path) -> None:
    sheet, path = tmp_path / f"{name}.xlsx", tmp_path / "car.toml"
    sheet.write_bytes(filled_sheet(name))
    car = read_sheet(sheet).to_car()
    write_car(car, path)
    again = read_car(path)
    for kept in ("work", "marks", "cure", "stops", "values", "open"):
        assert getattr(again, kept) == getattr(car, kept)
    assert any(line.zone for line in car.work)
    assert car.stops == ((NUMBERS_STOP,) if name == "contradicted" else ())

"""``valuation inspect``."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from valuation.cli.command import main
from valuation.importing.car_file import read_car

SHEETS = Path(__file__).parents[3] / "data_synthetic" / "sheets"


@pytest.mark.parametrize("ending", ["xlsx", "toml"])
def test_an_empty_sheet_is_made_and_read_as_not_looked_at(
    ending: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    blank, car = tmp_path / f"new.{ending}", tmp_path / "car.toml"
    assert main(["inspect", "--blank", str(blank)]) == 0
    assert capsys.readouterr().out == f"Empty inspection sheet: {blank}\n"
    first = blank.read_bytes()
    assert main(["inspect", "--blank", str(blank)]) == 0
    assert blank.read_bytes() == first
    assert main(["inspect", str(blank), "-o", str(car)]) == 0
    assert capsys.readouterr().out.endswith(f"\n\nCar file: {car}\n")
    read = read_car(car)
    assert dict(read.values) == {}
    assert "engine_originality" in read.not_looked_at


def test_a_filled_sheet_is_told_and_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    car = tmp_path / "car.toml"
    assert main(["inspect", str(SHEETS / "contradicted.xlsx"), "-o", str(car)]) == 0
    told = capsys.readouterr().out
    assert told.startswith("1969 Gorlimar Lariander High Output, lot 31, seen on 9 December 2024")
    assert "Cast on 2 April 1969, 21 days after the car was built on 12 March 1969" in told
    open_facts = {f.attribute: f for f in read_car(car).open}
    assert open_facts["engine_originality"].claim == "numbers-matching"


def test_json_is_one_object(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    car = tmp_path / "car.toml"
    assert main(["inspect", str(SHEETS / "clean.xlsx"), "--json", "-o", str(car)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["format"], told["car"]) == (1, "1968 Torvane GT Standard")
    assert read_car(car).values["condition_grade"] == told["attributes"]["condition_grade"]


def test_a_firm_reads_and_makes_sheets_by_its_own_settings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shipped = Path(__file__).parents[3] / "valuation" / "data" / "inspection.toml"
    own, blank = tmp_path / "own.toml", tmp_path / "new.xlsx"
    text = shipped.read_text(encoding="utf-8")
    own.write_text(text.replace('label = "Paint"', 'label = "Lacquer"'), encoding="utf-8")
    assert main(["inspect", "--blank", str(blank), "--settings", str(own)]) == 0
    assert main(["inspect", str(blank), "--settings", str(own)]) == 0
    assert "Lacquer (6 min)" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "inspect: no sheet is named. Name a filled sheet, or make an empty one with --blank "
         "OUT.xlsx."),
        (["--blank", "new.pdf"], "new.pdf: an empty sheet is .xlsx or .toml (got: .pdf). Let the "
         "name end in .xlsx or .toml."),
        (["--blank", "new.xlsx", "old.xlsx"], "--blank: an empty sheet is made by itself (got: "
         "old.xlsx). Leave out everything but --blank and --settings."),
        (["--blank", "new.xlsx", "--json"], "--blank: an empty sheet is made by itself (got: "
         "--json). Leave out everything but --blank and --settings."),
        (["none.xlsx"], "none.xlsx: it can't be read (got: No such file or directory). Check its "
         "name."),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_one_sentence(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["inspect", *words]) == 2
    assert capsys.readouterr().err == f"valuation: {said}\n"


def test_wrong_entries_leave_no_car_behind(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet, car = tmp_path / "sheet.toml", tmp_path / "car.toml"
    sheet.write_text("[zones.paint]\nmark = 11\n[zones.boot]\nmark = -1\n", encoding="utf-8")
    assert main(["inspect", str(sheet), "-o", str(car)]) == 2
    said = capsys.readouterr().err
    assert said.startswith("valuation: sheet.toml: 2 entries are wrong: zones.paint.mark has to be")
    assert said.count("\n") == 1
    assert not car.exists()

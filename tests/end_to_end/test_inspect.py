"""From a filled sheet to a priced car, one command each, as a user runs them."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.mark.parametrize("name", ["clean", "contradicted", "half_seen"])
def test_a_sheet_becomes_a_priced_car(
    name: str, run: Run, data: Path, model: Path, tmp_path: Path
) -> None:
    car = tmp_path / "car.toml"
    done = run("inspect", data / "sheets" / f"{name}.xlsx", "-o", car)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith(f"Car file: {car}\n")
    priced = run("price", car, "--model", model, "--json")
    assert priced.returncode == 0, priced.stderr
    assert json.loads(priced.stdout)["central"] > 0


def test_an_empty_sheet_is_made_by_a_command(run: Run, tmp_path: Path) -> None:
    blank = tmp_path / "new.xlsx"
    assert run("inspect", "--blank", blank).returncode == 0
    told = json.loads(run("inspect", blank, "--json").stdout)
    assert told["attributes"] == {}
    assert told["open"] == []


def test_all_wrong_cells_are_one_sentence(run: Run, tmp_path: Path) -> None:
    sheet = tmp_path / "sheet.toml"
    sheet.write_text('[car]\nyear = "soon"\n[zones.paint]\nmark = 11\n', encoding="utf-8")
    done = run("inspect", sheet)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "valuation: sheet.toml: 2 entries are wrong: car.year has to be a number from 1885 to 2100 "
        "(got: soon); zones.paint.mark has to be a mark from 0 to 10 in halves, or not looked at, "
        "not possible here (got: 11). Correct them.\n"
    )

"""README says what is so."""

from __future__ import annotations

import importlib.util
import re
import shlex
import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from valuation.cli.command import main
from valuation.cli.parser import build_parser
from valuation.importing.car_file import car_from_values
from valuation.inspection.after_work import after_work
from valuation.inspection.settings_file import default_inspection_settings
from valuation.inspection.title_states import stops_of

ROOT = Path(__file__).parents[3]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w*)\n(.*?)^```", README, flags=re.DOTALL | re.MULTILINE)


def tool() -> ModuleType:
    path = ROOT / "tests" / "attribute_table.py"
    spec = importlib.util.spec_from_file_location("attribute_table", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_table_of_attributes_is_that_of_the_contract() -> None:
    assert tool().with_table(README) == README, "run: python tests/attribute_table.py"


def test_it_starts_with_the_job_in_one_paragraph_and_two_commands() -> None:
    paragraphs = README.split("\n\n")
    assert paragraphs[0].startswith("# ")
    assert "comparable sales" in paragraphs[1]
    assert [language for language, _ in BLOCKS[:2]] == ["sh", "sh"]


@pytest.mark.parametrize("place", [0, 1])
def test_each_command_is_one_line_that_makes_its_own_environment(place: int) -> None:
    (line,) = BLOCKS[place][1].splitlines()
    assert line.startswith("python3 -m venv .venv && .venv/bin/python -m pip install ")
    assert [" && ".join(line.split(" && ")[2:])][0] == (
        ".venv/bin/valuation demo",
        ".venv/bin/python -m pytest -m 'not browser'",
    )[place]


def test_every_command_of_the_table_can_be_parsed() -> None:
    forms = re.findall(r"^\| `(valuation \w+.*?)`", README, flags=re.MULTILINE)
    listed = re.findall(r"^    ([a-z-]+)(?=\s)", build_parser().format_help(), flags=re.MULTILINE)
    assert sorted(form.split()[1] for form in forms) == sorted(listed)
    assert len(forms) == len(listed) == 32
    for form in forms:
        plain = re.sub(r" … ?|…", " ", form.replace("\\|", "|"))
        choices = re.sub(r"\[([^]|]*)\|[^]]*\]", r"[\1]", plain)
        words = shlex.split(re.sub(r"[\[\]]", " ", re.sub(r"(\w+)\|[\w|]+", r"\1", choices)))[1:]
        stand_in = {"DATE": "2025-01-01", "YYYY-MM": "2025-01", "N": "3", "AMOUNT": "42000"}
        stand_in["PERCENT"] = "60"
        words = [stand_in.get(w, w) for w in words]
        assert build_parser().parse_args(words).command == words[0]


def test_the_listing_of_the_example_is_read_as_shown(capsys: pytest.CaptureFixture[str]) -> None:
    (command,) = [body for _, body in BLOCKS if body.startswith("valuation read-listing")]
    (shown,) = [body for language, body in BLOCKS if language == "text" and "what it says" in body]
    assert main(shlex.split(command)[1:]) == 0
    assert capsys.readouterr().out == shown


def toml_with(words: str) -> dict[str, Any]:
    """Return the one example of a file that holds some words."""
    (text,) = [body for language, body in BLOCKS if language == "toml" and words in body]
    return tomllib.loads(text)


def test_the_car_of_the_example_can_be_read() -> None:
    car = car_from_values(toml_with('title = "1968 Torvane GT Coupe, 4-speed"'))
    assert car.values["year"] == 1968
    assert car.not_looked_at == {"engine_originality"}
    assert car.sale["basis"] == "hammer price"


def test_the_open_facts_of_the_example_can_be_read() -> None:
    engine, grade = car_from_values(toml_with("[[open]]")).open
    assert engine.levels == ("date-correct", "correct type")
    assert (grade.low, grade.high) == (55.0, 70.0)


def test_the_work_of_the_example_can_be_read_and_counts() -> None:
    car = car_from_values(toml_with("[marks]"))
    done = after_work(car, default_inspection_settings())
    assert [line.counts for line in done.lines] == [True, True]
    assert done.car.marks["paint"] == 8.5
    (stop,) = stops_of(car)
    assert (stop.reason, stop.days) == (car.stops[0], 14.0)

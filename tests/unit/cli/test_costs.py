"""``valuation costs``."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from valuation.bidding.costs_file import example_costs
from valuation.cli.command import main


def test_the_example_is_printed_and_written_and_good(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "costs.toml"
    assert main(["costs", "--example"]) == 0
    assert capsys.readouterr().out == example_costs()
    assert main(["costs", "--example", "-o", str(path)]) == 0
    assert capsys.readouterr().out == f"Example of cost settings: {path}\n"
    assert path.read_text(encoding="utf-8") == example_costs()
    assert main(["costs", str(path)]) == 0
    assert capsys.readouterr().out.startswith("Cost settings of costs.toml, in EUR where ")


def test_json_is_one_object(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "costs.toml"
    path.write_text(example_costs(), encoding="utf-8")
    assert main(["costs", str(path), "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["format"], said["currency"], said["target"]["share"]) == (1, "EUR", "0.10")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "costs: no file is named. Name a file of cost settings, or take an example with "
         "--example -o COSTS.toml."),
        (["own.toml", "-o", "new.toml"], "costs: only the example is written with -o. Name a file "
         "of cost settings, or take an example with --example -o COSTS.toml."),
        (["own.toml", "--example"], "--example: the example is given by itself (got: own.toml). "
         "Leave out everything but --example and -o."),
        (["--json", "--example"], "--example: the example is given by itself (got: --json). "
         "Leave out everything but --example and -o."),
        (["none.toml"], "none.toml: the cost settings can't be read (got: No such file or "
         "directory). Check the path."),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_one_sentence(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["costs", *words]) == 2
    assert capsys.readouterr().err == f"valuation: {said}\n"

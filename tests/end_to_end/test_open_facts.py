"""A car about which not all is settled, from its file to its price and what to check."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]

OPEN = """
[[open]]
attribute = "engine_originality"
could_be = ["date-correct", "correct type", "later replacement"]
claim = "numbers-matching"
contradiction = "The block was cast on 3 May 1968, after the car was built on 12 June 1967."
where = "engine block, stamped pad"
how = "Read number and date and photograph them."
minutes = 10

[[open]]
attribute = "condition_grade"
between = [40, 80]
"""


def _car(folder: Path, model: dict[str, str], opened: str) -> Path:
    path = folder / "car.toml"
    named = "".join(f'{key} = "{value}"\n' for key, value in model.items())
    path.write_text(f"{named}year = 1967\n{opened}", encoding="utf-8")
    return path


def test_open_facts_are_priced_and_to_be_checked(
    run: Run, data: Path, model: Path, tmp_path: Path
) -> None:
    sale = json.loads(
        run("price", data / "cars" / "ordinary.toml", "--model", model, "--json").stdout
    )
    make = sale["car"].split()[1]
    car = _car(tmp_path, {"make": make}, OPEN)
    page = tmp_path / "page.html"
    done = run("price", car, "--model", model, "--page", page, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    v = json.loads(done.stdout)
    assert v["start"]["amount"] + sum(c["amount"] for c in v["contributions"]) == v["central"]
    assert {c["attribute"] for c in v["checks"]} == {"engine_originality", "condition_grade"}
    assert [c["worth"] for c in v["checks"]] == sorted(c["worth"] for c in v["checks"])[::-1]
    for check in v["checks"]:
        assert check["bad"] - check["fall"] == check["good"] - check["rise"] == v["central"]
    (engine,) = (c for c in v["checks"] if c["attribute"] == "engine_originality")
    assert (engine["state"], engine["minutes"]) == ("contradicted", 10)
    aloud = v["evidence"]["warnings"][0]
    assert "cast on 3 May 1968, after the car was built on 12 June 1967" in aloud
    assert f"as supported it comes to {v['central']:,} EUR" in aloud
    text = run("price", car, "--model", model).stdout
    html = page.read_text(encoding="utf-8")
    for check in v["checks"]:
        for amount in (f"{check['bad']:,}", f"{check['good']:,}", f"{check['worth']:,}"):
            assert amount in text
            assert amount in html
    assert "What to check before bidding" in text


def test_every_wrong_open_fact_is_named_at_once(run: Run, model: Path, tmp_path: Path) -> None:
    wrong = OPEN.replace('"correct type"', '"fine"').replace("[40, 80]", "[80, 40]")
    done = run("price", _car(tmp_path, {"make": "Kora"}, wrong), "--model", model)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "valuation: car.toml: 2 entries are wrong: open 1.could_be has to be one of "
        "numbers-matching, date-correct, correct type, maker's service replacement, period "
        "replacement, later replacement (got: fine); open 2.between has to be the lower number "
        "first (got: [80, 40]). Correct them.\n"
    )


@pytest.mark.parametrize("name", ["clean", "contradicted", "half_seen"])
def test_a_filled_sheet_is_priced_with_one_command(
    run: Run, data: Path, model: Path, tmp_path: Path, name: str
) -> None:
    sheet, car = data / "sheets" / f"{name}.xlsx", tmp_path / "car.toml"
    done = run("price", sheet, "--model", model, "--json")
    assert done.returncode == 0, done.stderr
    priced = json.loads(done.stdout)
    assert run("inspect", sheet, "-o", car).returncode == 0
    by_file = json.loads(run("price", car, "--model", model, "--json").stdout)
    assert (priced["central"], priced["range"]) == (by_file["central"], by_file["range"])
    # What stops the purchase outlives the sheet.
    for told in (priced, by_file):
        stopped = sum(s.startswith("Numbers: ") for s in told["evidence"]["warnings"])
        assert stopped == (name == "contradicted")
    said = " ".join(priced["evidence"]["warnings"])
    assert ("Cast on 2 April 1969, 21 days after" in said) == (name == "contradicted")

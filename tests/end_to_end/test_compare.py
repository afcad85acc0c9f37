"""Two cars side by side, as a salesperson asks for it."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from subprocess import CompletedProcess

import pytest

Run = Callable[..., CompletedProcess[str]]

ADVERT = """{year} {make} {model}, 4-speed manual
Lovely <b>tidy</b> car & "honest". Chassis TO68-90412, ring 555-1234 <script>alert(1)</script>.
Repainted in 1994, bills on file. No rust. 61,000 miles.
"""


@pytest.fixture(scope="module")
def car(data: Path) -> Path:
    return data / "cars" / "ordinary.toml"


@pytest.fixture(scope="module")
def advert(data: Path, car: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return an advert of a car of the same model line, with what no page may show."""
    values = tomllib.loads(car.read_text(encoding="utf-8"))
    path = tmp_path_factory.mktemp("advert") / "advert.txt"
    path.write_text(ADVERT.format(**values), encoding="utf-8")
    return path


def test_an_advert_is_set_beside_a_car(
    run: Run, model: Path, car: Path, advert: Path, tmp_path: Path
) -> None:
    page = tmp_path / "beside.html"
    words = ["compare", car, "--with", advert, "--model", model, "--asking", "58000"]
    words += ["--price", "49500", "--price-date", "2024-06-01", "--page", page]
    done = run(*words)
    assert done.returncode == 0, done.stderr
    told = json.loads(run(*words, "--json").stdout)
    assert told["format"] == 1
    assert sum(x["amount"] for x in told["lines"]) == told["difference"]["amount"]
    left = {x["attribute"]: x for x in told["left_out"]}
    assert "condition_grade" in left
    assert "transmission" not in left  # the advert says it
    assert told["gap"]["apart"] == 58_000 - told["their_price"]["compared"]
    assert told["told"]["answer"] in ("other", "this", "open")
    html = page.read_text(encoding="utf-8")
    for shown in (done.stdout, html, json.dumps(told)):
        for secret in ("Lovely", "honest", "90412", "555-1234", "alert(1)", "advert.txt"):
            assert secret not in shown
    assert f"{told['ours']['central']:,}" in done.stdout
    assert f"{told['ours']['central']:,}" in html
    assert "Page to open:" in done.stdout


def test_the_same_car_twice_is_nothing_apart(run: Run, model: Path, car: Path) -> None:
    told = json.loads(run("compare", car, "--with", car, "--model", model, "--json").stdout)
    assert told["lines"] == []
    assert told["difference"] == {"amount": 0, "lower": 0, "upper": 0}
    assert told["gap"] is None
    assert told["told"] is None


def test_the_central_estimate_is_that_of_a_car_file_and_swaps(
    run: Run, model: Path, car: Path, data: Path
) -> None:
    other = data / "cars" / "incomplete.toml"
    there, back = (
        json.loads(run("compare", a, "--with", b, "--model", model, "--json").stdout)
        for a, b in ((car, other), (other, car))
    )
    assert there["difference"]["amount"] == -back["difference"]["amount"]
    assert [x["amount"] for x in there["lines"]] == [-x["amount"] for x in back["lines"]]


def test_a_car_outside_the_evidence_is_not_judged(
    run: Run, model: Path, car: Path, data: Path
) -> None:
    other = data / "cars" / "outside.toml"
    done = run(
        "compare", car, "--with", other, "--model", model, "--asking", "50000", "--price", "20000"
    )
    assert done.returncode == 0, done.stderr
    assert "Which of the two is the better buy can't be told." in done.stdout
    assert "no range:" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--price-kind", "sold"], "--price-kind: there is no price that it speaks of (got: sold)"),
        (["--price-date", "2024-01-01"], "--price-date: there is no price that it speaks of"),
        (["--channel", "barter"], "channel: no sale of the evidence was made there (got: barter)"),
    ],
)
def test_what_makes_no_sense_is_one_sentence(
    run: Run, model: Path, car: Path, words: list[str], said: str
) -> None:
    done = run("compare", car, "--with", car, "--model", model, *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert done.stdout == ""


def test_an_advert_that_names_no_car_says_what_is_missing(
    run: Run, model: Path, car: Path, tmp_path: Path
) -> None:
    advert = tmp_path / "advert.txt"
    advert.write_text("Runs well. No rust.", encoding="utf-8")
    done = run("compare", car, "--with", advert, "--model", model)
    assert done.returncode == 2
    assert "the other car: it can't be valued without year and make" in done.stderr
    gone = run("compare", car, "--with", tmp_path / "gone.txt", "--model", model)
    assert gone.returncode == 2
    assert "gone.txt: it can't be read" in gone.stderr

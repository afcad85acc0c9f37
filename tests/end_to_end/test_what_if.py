"""What-if questions from a car file to text, JSON and page."""

from __future__ import annotations

import csv
import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]

CAR = """
label = "Bought from Mr Osk"
title = "{year} {make} {model}, cheap"
make = "{make}"
model = "{model}"
year = {year}
condition_grade = 62
engine_originality = "later replacement"
documents = ["bills"]
mileage = 58000
asking = 44444
chassis = "XX77-31990"

[marks]
paint = 5.5

[sale]
channel = "live auction"
"""


@pytest.fixture(scope="module")
def car(data: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a car of the first line of the market."""
    truth = json.loads((data / "truth.json").read_text(encoding="utf-8"))
    line = truth["lines"][0]
    path = tmp_path_factory.mktemp("what_if") / "car.toml"
    path.write_text(
        CAR.format(make=line["make"], model=line["model"], year=line["first_year"] + 3),
        encoding="utf-8",
    )
    return path


def test_changes_make_one_question(run: Run, model: Path, car: Path, tmp_path: Path) -> None:
    page = tmp_path / "what_if.html"
    done = run(
        "what-if", car, "--model", model, "--set", "mileage=+10000", "--set",
        "engine_originality=numbers-matching", "--page", page,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert "  Mileage: 58,000 miles -> 68,000 miles" in lines
    assert "  Engine originality: later replacement -> numbers-matching" in lines
    assert any("No work brings back the engine" in line for line in lines)
    assert f"Page to open: {page}" in lines
    told = done.stdout + page.read_text(encoding="utf-8")
    for private in ("Osk", "cheap", "44444", "44,444", "XX77", "live auction"):
        assert private not in told


def test_named_questions_are_asked_alone_and_together(run: Run, model: Path, car: Path) -> None:
    done = run(
        "what-if", car, "--model", model, "--ask", "Original Engine", "--ask",
        "another 10,000 miles", "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert next(iter(told)) == "format"
    assert [a["name"] for a in told["answers"]] == ["original engine", "another 10,000 miles"]
    for answer in (*told["answers"], told["together"]):
        assert answer["lower"] <= answer["change"] <= answer["upper"]
        assert told["before"]["central"] + answer["change"] == answer["after"]
        assert sum(s["amount"] for s in answer["steps"]) == answer["change"]


def test_a_zone_and_a_cost(run: Run, model: Path, car: Path) -> None:
    done = run("what-if", car, "--model", model, "--set", "paint=8.5", "--cost", "1500", "--json")
    assert done.returncode == 0, done.stderr
    (answer,) = json.loads(done.stdout)["answers"]
    assert [f["name"] for f in answer["facts"]] == ["paint", "condition_grade"]
    assert answer["change"] > 0
    assert answer["pay_back"]["net"] == pytest.approx(answer["change"] - 1500, abs=1)
    assert 0 <= answer["pay_back"]["chance"] <= 1


def test_questions_of_the_firm(run: Run, model: Path, car: Path, tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text('[[question]]\nname = "more"\nask = "More?"\nset = ["mileage=+1000"]\n')
    done = run("what-if", "--questions", own, "--list-questions")
    assert done.stdout.splitlines() == ["more: More?", "  mileage=+1000"]
    done = run("what-if", car, "--model", model, "--questions", own)
    assert done.returncode == 0, done.stderr
    assert "More?" in done.stdout.splitlines()
    done = run("what-if", "--list-questions", "--json")
    assert len(json.loads(done.stdout)["questions"]) >= 5


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--set", "milage=1"), "milage has to be mileage, the nearest known name"),
        (("--set", "mileage"), "Write it as NAME=VALUE"),
        (("--ask", "orginal engine"), "Ask 'original engine', the nearest"),
        (("--set", "mileage=1", "--cost-high", "3"), "whose low end is --cost"),
        (("--set", "mileage=1", "--channel", "moon"), "no sale of the evidence was made there"),
    ],
)
def test_a_fault_is_one_sentence(
    run: Run, model: Path, car: Path, words: tuple[str, ...], said: str
) -> None:
    done = run("what-if", car, "--model", model, *words)
    assert done.returncode == 2
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_the_ledger_says_what_the_firm_paid(
    run: Run, data: Path, model: Path, car: Path, tmp_path: Path
) -> None:
    with (data / "sales.csv").open(encoding="utf-8", newline="") as file:
        sales = list(csv.DictReader(file))
    text = car.read_text(encoding="utf-8")
    make = json.loads((data / "truth.json").read_text(encoding="utf-8"))["lines"][0]["make"]
    bought = next(s for s in reversed(sales) if s["make"] == make and s["chassis"])
    mine = tmp_path / "mine.toml"
    mine.write_text(text.replace('chassis = "XX77-31990"', f'chassis = "{bought["chassis"]}"'))
    ledger = tmp_path / "ledger.csv"
    ledger.write_text(
        "Date,Stock number,Event,Amount,Currency,Chassis,Make\n"
        f"{bought['sale_date']},H-7,bought,{bought['price']},EUR,{bought['chassis']},{make}\n",
        encoding="utf-8",
    )
    place = ("--workspace", tmp_path / "ws")
    read = run("ledger", "import", ledger, *place, "--json")
    assert json.loads(read.stdout)["files"][0]["batch"]["rows"] == 1, read.stdout
    price = float(bought["price"])
    for asked in (
        ("what-if", mine, "--model", model, "--set", "mileage=+10000"),
        ("compare", mine, "--model", model, "--with", car),
    ):
        done = run(*asked, "--stock", "h7", *place)
        assert done.returncode == 0, done.stderr
        for private in (f"{price:.0f}", f"{price:,.0f}", bought["chassis"]):
            assert private not in done.stdout
        unknown = run(*asked, "--stock", "H-9", *place)
        assert unknown.returncode == 2
        assert "no car of the ledger has this stock number (got: H-9)" in unknown.stderr

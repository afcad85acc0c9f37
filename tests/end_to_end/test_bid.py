"""From a car, costs and a model to a walk-away bid, as a buyer runs it."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(scope="module")
def costs(data: Path) -> Path:
    return data / "costs.toml"


def told(done: subprocess.CompletedProcess[str]) -> Any:
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_car_gets_a_bid_a_ladder_and_a_page(
    run: Run, data: Path, model: Path, costs: Path, tmp_path: Path
) -> None:
    car, page = data / "cars" / "ordinary.toml", tmp_path / "bid.html"
    done = run("bid", car, "--costs", costs, "--model", model, "--page", page, "--json")
    found = told(done)
    assert found["answer"] == "bid"
    assert found["way"] != "default"
    at = next(r for r in found["ladder"] if r["bid"] == found["walk_away"])
    above = next(r for r in found["ladder"] if r["bid"] > found["walk_away"])
    assert at["breaks"] == []
    assert above["breaks"]
    assert found["binds"] == " and ".join(above["breaks"])
    assert [c["name"] for c in found["courses"]] == [
        "held",
        "last three months' rate",
        "worst fall on record",
    ]
    assert sum(line["expected"] for line in found["account"]) == pytest.approx(
        at["expected_margin"], abs=0.005
    )
    html = page.read_text(encoding="utf-8")
    assert f"{found['walk_away']:,}" in html
    again = run("bid", car, "--costs", costs, "--model", model, "--json")
    assert again.stdout == done.stdout


def test_work_that_restores_marks_raises_the_resale_and_costs_what_it_costs(
    run: Run, data: Path, model: Path, costs: Path, tmp_path: Path
) -> None:
    car = tmp_path / "car.toml"
    run("inspect", data / "sheets" / "clean.xlsx", "-o", car)
    worked = told(run("bid", car, "--costs", costs, "--model", model, "--json"))
    assert worked["work"]
    assert all(step["restores"] for step in worked["work"])
    names = {line["what"] for line in worked["account"] if line["part"] == "work"}
    assert {step["what"] for step in worked["work"]} <= names


def test_a_title_stops_the_bid_and_says_what_it_would_be(
    run: Run, data: Path, model: Path, costs: Path, tmp_path: Path
) -> None:
    text = (data / "cars" / "ordinary.toml").read_text(encoding="utf-8")
    lines = [x for x in text.splitlines() if not x.startswith("title_status")]
    at = next(i for i, x in enumerate(lines) if x.startswith("["))
    car = tmp_path / "lien.toml"
    cure = ['title_status = "lien"', "", "[cure]", "days = 20", "cost = 150", ""]
    car.write_text("\n".join([*lines[:at], *cure, *lines[at:]]), encoding="utf-8")
    found = told(run("bid", car, "--costs", costs, "--model", model, "--json"))
    assert found["answer"] == "no bid until cured"
    assert found["walk_away"] is None
    assert found["once_cured"] > 0
    assert found["reasons"][0].startswith("No bid until this is cured (20 days; 150 EUR). Title:")


def test_a_car_outside_the_evidence_gets_no_bid(
    run: Run, data: Path, model: Path, costs: Path
) -> None:
    car = data / "cars" / "outside.toml"
    found = told(run("bid", car, "--costs", costs, "--model", model, "--json"))
    assert (found["answer"], found["walk_away"]) == ("evidence too thin to bid on", None)
    assert "lies outside the evidence" in found["reasons"][0]


def test_a_private_offer_has_no_premium(run: Run, data: Path, model: Path, costs: Path) -> None:
    car = data / "cars" / "ordinary.toml"
    words = ["bid", car, "--costs", costs, "--model", model, "--json"]
    lot, private = (told(run(*words, *way)) for way in ([], ["--way", "private purchase"]))
    assert private["walk_away"] > lot["walk_away"]
    assert not any(line["what"] == "buyer's premium" for line in private["account"])
    assert private["resale"]["winning_percent"] == 0


def test_faults_are_one_sentence(
    run: Run, data: Path, model: Path, costs: Path, tmp_path: Path
) -> None:
    car = data / "cars" / "ordinary.toml"
    neither = run("bid", car, "--costs", costs)
    assert (neither.returncode, neither.stdout) == (2, "")
    assert "the resale comes either from a model or from stated amounts" in neither.stderr
    unknown = run("bid", car, "--costs", costs, "--model", model, "--way", "The Moon")
    assert "no such way of buying (got: The Moon). Name one of: default" in unknown.stderr
    other = tmp_path / "costs.toml"
    text = costs.read_text(encoding="utf-8")
    other.write_text(text.replace('currency = "EUR"', 'currency = "USD"', 1), encoding="utf-8")
    mixed = run("bid", car, "--costs", other, "--model", model)
    assert "the resale is in another currency than the market model, EUR (got: USD)" in mixed.stderr
    nameless = tmp_path / "lot.toml"
    nameless.write_text('make = "Torvane"\n', encoding="utf-8")
    lacking = run("bid", nameless, "--costs", costs, "--model", model)
    assert (lacking.returncode, lacking.stderr) == (
        2,
        "valuation: lot.toml: a car can't be valued without year (got: nothing). "
        "State year, or a title that tells.\n",
    )

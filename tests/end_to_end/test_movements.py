"""The index of a market and what moved between two models, from files to pages."""

from __future__ import annotations

import csv
import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., subprocess.CompletedProcess[str]]

SEGMENTS = """
[segments."Open cars"]
bodies = ["roadster", "convertible"]

[segments."=Sixties"]
years = [1960, 1969]
"""


@pytest.fixture(scope="module")
def earlier(run: Run, data: Path) -> Path:
    path = data / "earlier.model"
    done = run("fit", "--sales", data / "sales.csv", "--model", path, "--as-of", "2024-10-31")
    assert done.returncode == 0, done.stderr
    return path


def test_an_index_is_printed_written_and_set_against_an_earlier_one(
    run: Run, model: Path, earlier: Path, tmp_path: Path
) -> None:
    segments, out, page = (tmp_path / n for n in ("firm.toml", "index.csv", "index.html"))
    segments.write_text(SEGMENTS, encoding="utf-8")
    done = run(
        "index", "--model", model, "--segments", segments, "--against", earlier, "--months", "18",
        "--all-cars", "-o", out, "--page", page,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Market index by segment, 2023-07 = 100 (market bid, sales up ")
    assert "Against the model of 2024-10-31:" in done.stdout
    assert f"Written: {out}" in done.stdout
    assert f"Page to open: {page}" in done.stdout
    with out.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert {r["segment"] for r in rows} == {"Open cars", "'=Sixties", "All cars"}
    assert len(rows) == 3 * 21
    assert [r["level"] for r in rows if r["month"] == "2023-07"] == ["100.00"] * 3
    assert {r["was_held"] for r in rows if r["month"] in ("2024-11", "2024-12")} == {"yes"}
    assert "What was revised" in page.read_text(encoding="utf-8")


def test_an_index_is_one_json_object_and_the_same_each_time(run: Run, model: Path) -> None:
    words = ("index", "--model", model, "--base", "2024-01", "--json")
    first, second = run(*words), run(*words)
    assert first.returncode == 0, first.stderr
    assert first.stdout == second.stdout
    plain = json.loads(first.stdout)
    assert next(iter(plain)) == "format"
    assert plain["base"] == "2024-01"


def test_wrong_segments_and_bases_are_sentences(run: Run, model: Path, tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text("[segments.Dear]\nprice_band = [100000, 200000]\n", encoding="utf-8")
    done = run("index", "--model", model, "--segments", path)
    assert done.returncode == 2
    assert 'bad.toml: one entry is wrong: segments."Dear", price_band has to be' in done.stderr
    done = run("index", "--model", model, "--base", "1999-01")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("valuation: the base of the index: no month of the evidence")


def test_changes_are_told_with_the_sales_behind_them(
    run: Run, model: Path, earlier: Path, data: Path, tmp_path: Path
) -> None:
    car, page = tmp_path / "car.toml", tmp_path / "changes.html"
    car.write_text('make = "Torvane"\nmodel = "GT"\nyear = 1966\n', encoding="utf-8")
    done = run("changes", earlier, model, "--panel", car, "--page", page)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("From the model of 2024-10-31 (")
    assert "1966 Torvane GT: " in done.stdout
    assert "sales.csv, row " in done.stdout
    html = page.read_text(encoding="utf-8")
    assert "Internal: not for customers." in html
    assert "car of the firm" in html
    done = run("changes", earlier, model, "--json")
    assert done.returncode == 0, done.stderr
    plain = json.loads(done.stdout)
    assert (plain["format"], plain["went"], plain["corrected"]) == (1, 0, 0)
    assert plain["came"] == plain["new_sales"] - plain["old_sales"] > 0
    for priced in plain["cars"]:
        parts = priced["from_sales"] + priced["closest_sales"] + priced["rest"]
        assert parts == priced["new"] - priced["old"]

"""From a catalogue to a plan of the day, as a buyer runs it."""

from __future__ import annotations

import csv
import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(scope="module")
def words(data: Path, model: Path) -> list[Path | str]:
    return ["--costs", data / "costs.toml", "--model", model]


@pytest.fixture(scope="module")
def catalogue(data: Path) -> Path:
    """Return a catalogue as text: four cars of the market and a lot that is no car."""
    lines = []
    with (data / "sales.csv").open(encoding="utf-8", newline="") as file:
        sales = [r for r in csv.DictReader(file) if r["make"] and r["model"] and r["year"]]
    for number, sale in enumerate(sales[:200:60], start=101):
        car = f"{sale['year']} {sale['make']} {sale['model']}"
        lines.append(f"Lot {number}  {car}, est. 9,000-12,000 EUR, no reserve")
    lines.append("Lot 190  Petrol pump, restored, est. 500-800 EUR")
    path = data / "catalogue.txt"
    path.write_text("\n\n".join(lines) + "\n", encoding="utf-8")
    return path


def told(done: subprocess.CompletedProcess[str]) -> Any:
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_a_catalogue_of_text_becomes_a_list_a_workbook_a_page_and_sheets(
    run: Run, words: list[Path | str], catalogue: Path, tmp_path: Path
) -> None:
    book, page, sheets = (tmp_path / n for n in ("bids.xlsx", "bids.html", "sheets.html"))
    out = ["-o", book, "--page", page, "--sheets", sheets, "--lot", "101", "--json"]
    found = told(run("runlist", catalogue, *words, *out))
    assert {line["number"] for line in found["lines"]} == {"101", "102", "103", "104"}
    assert [lot["number"] for lot in found["unpriced"]] == ["190"]
    assert all(line["no_reserve"] for line in found["lines"])
    assert all(line["at"] == 9000 for line in found["lines"] if line["central"])
    tab = load_workbook(book)["Lots"]
    assert tab.max_row == 5
    assert "Petrol pump" in page.read_text(encoding="utf-8")
    assert "101" in sheets.read_text(encoding="utf-8")


def test_a_budget_and_what_was_won(run: Run, words: list[Path | str], catalogue: Path) -> None:
    found = told(run("runlist", catalogue, *words, "--budget", "60000", "--json"))
    assert found["planned"] <= 60000
    won = told(
        run("runlist", catalogue, *words, "--budget", "60000", "--won", "102=9500", "--json")
    )
    plans = {line["number"]: line["plan"] for line in won["lines"]}
    assert plans["102"] == "won"
    assert plans["101"] == "past"


def test_notes_of_a_filled_list_come_back_and_changes_are_told(
    run: Run, words: list[Path | str], catalogue: Path, tmp_path: Path
) -> None:
    book = tmp_path / "bids.xlsx"
    assert run("runlist", catalogue, *words, "-o", book).returncode == 0
    filled = load_workbook(book)
    tab = filled["Lots"]
    names = [cell.value for cell in tab[1]]
    row = next(r for r in tab.iter_rows(min_row=2) if r[0].value == "103")
    row[names.index("notes")].value = "=2+2 sills soft"
    row[names.index("notes")].data_type = "s"
    filled.save(book)
    later = tmp_path / "later.txt"
    text = catalogue.read_text(encoding="utf-8").replace("9,000-12,000", "8,000-12,000", 1)
    later.write_text(text, encoding="utf-8")
    found = told(run("runlist", later, *words, "--before", catalogue, "--notes", book, "--json"))
    lines = {line["number"]: line for line in found["lines"]}
    assert "sills soft" in lines["103"]["notes"]
    assert any(text.startswith("Estimate: now 8,000") for text in lines["101"]["changed"])


def test_wrong_words_are_one_sentence(
    run: Run, words: list[Path | str], catalogue: Path, tmp_path: Path
) -> None:
    unknown = run("runlist", catalogue, *words, "--won", "7=1")
    assert "no such lot in the list" in unknown.stderr
    odd = run("runlist", catalogue, *words, "--won", "seven")
    assert "write it as LOT=PRICE" in odd.stderr
    ending = run("runlist", catalogue, *words, "-o", tmp_path / "bids.pdf")
    assert "Let the name end in .xlsx or .csv." in ending.stderr
    scan = tmp_path / "scan.pdf"
    scan.write_bytes(b"%PDF-1.4 not really")
    assert run("runlist", scan, *words).returncode == 2

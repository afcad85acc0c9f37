"""A firm reviews its stock from its ledger, its car files and a model."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from subprocess import CompletedProcess
from typing import Any

import pytest

Run = Callable[..., CompletedProcess[str]]


def told(done: CompletedProcess[str]) -> dict[str, Any]:
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


@pytest.fixture
def firm(run: Run, tmp_path: Path, data: Path, model: Path) -> Path:
    """Return a firm's folder: a workspace with a ledger of two cars, their files, settings."""
    (tmp_path / "ws").mkdir()
    (tmp_path / "cars").mkdir()
    shutil.copy(data / "costs.toml", tmp_path / "costs.toml")
    shutil.copy(data / "cars" / "ordinary.toml", tmp_path / "cars" / "H-7.toml")
    priced = told(run("price", tmp_path / "cars" / "H-7.toml", "--model", model, "--json"))
    day = date.fromisoformat(priced["as_of"])
    bought, listed = day - timedelta(days=240), day - timedelta(days=200)
    (tmp_path / "ledger.csv").write_text(
        "date;stock;event;amount;currency;make;model;year\n"
        f"{bought};H-7;bought;20000;EUR;Torvane;GT;1968\n"
        f"{bought};H-7;spent;1500;EUR;;;\n"
        f"{listed};H-7;listed;;;;;\n"
        f"{listed};H-7;asking price;45000;EUR;;;\n"
        f"{day};H-8;bought;9000;EUR;Torvane;GT;1969\n",
        encoding="utf-8",
    )
    told(run("ledger", "import", tmp_path / "ledger.csv", "--workspace", tmp_path / "ws",
             "--by", "Ada", "--json"))  # fmt: skip
    return tmp_path


def test_the_stock_is_reviewed_and_written(run: Run, model: Path, firm: Path) -> None:
    words = ("stock", "--model", model, "--costs", firm / "costs.toml", "--workspace", firm / "ws",
             "--cars", firm / "cars")  # fmt: skip
    out = [firm / f"stock.{kind}" for kind in ("html", "pdf", "xlsx")]
    files = [word for path in out for word in ("-o", path)]
    found = told(run(*words, *files, "--json"))
    old, new = found["cars"]
    assert (old["stock"], old["facts"], old["old"]) == ("H-7", "car file", True)
    assert new["facts"] == "the ledger alone: make, model and year"
    assert (old["paid"], old["spent"], old["days_in_stock"]) == ("20000.00", "1500.00", 240)
    assert [w["name"] for w in old["ways"]] == ["hold", "new ask", "auction"]
    page = out[0].read_text(encoding="utf-8")
    assert "Internal: not for customers." in page
    assert "<svg" in page
    assert out[1].read_bytes().startswith(b"%PDF")
    assert out[2].read_bytes().startswith(b"PK")
    done = run(*words)
    assert done.stdout.startswith("Internal: not for customers.\n2 cars in stock")
    assert re.search(r"hold\s+45,000", done.stdout)


def test_chances_are_held_against_sales(run: Run, model: Path, firm: Path) -> None:
    words = ("chances", "--model", model, "--workspace", firm / "ws", "--cars", firm / "cars")
    found = told(run(*words, "--page", firm / "chances.html", "--json"))
    assert found["assumed_months"] == found["months"] == 7  # on offer since 200 days, no sale
    assert found["overall"]["sold"] == 0
    assert found["overall"]["days"] == 201
    assert found["overall"]["expected"] > 0
    page = (firm / "chances.html").read_text(encoding="utf-8")
    assert "Internal: not for customers." in page
    assert f"{found['overall']['expected']:,.1f} sales were foretold, 0 came" in page
    fewer = told(run(*words, "--months", "2", "--json"))
    assert fewer["months"] == 2
    assert fewer["overall"]["days"] < 201
    # Settings of the workspace count without being named: here, other assumptions.
    (firm / "ws" / "stock.toml").write_text("[chance]\nfirst_month_percent = 60\n")
    other = told(run(*words, "--json"))
    assert other["overall"]["expected"] > 1.5 * found["overall"]["expected"]
    done = run(*words)
    assert done.stdout.startswith("Chances of a sale, ")


def test_what_cannot_be_done_is_said(run: Run, model: Path, firm: Path) -> None:
    words = ("stock", "--model", model, "--costs", firm / "costs.toml", "--workspace", firm / "ws")
    for more, said in (
        (("-o", "stock.doc"), "the ending of the name says what is written"),
        (("--cars", firm / "nowhere"), "there is no such folder"),
    ):
        done = run(*words, *more)
        assert done.returncode == 2
        assert said in done.stderr
    (firm / "cars" / "H-8.toml").write_text("make = [", encoding="utf-8")
    done = run(*words, "--cars", firm / "cars")
    assert done.returncode == 2
    assert "1 of its car files can't be read" in done.stderr

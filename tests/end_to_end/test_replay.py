"""``valuation replay`` as a user runs it, on a small synthetic market."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

Run = Callable[..., subprocess.CompletedProcess[str]]

COSTS = """
currency = "EUR"
[target]
margin = 500
[buying.default]
increments = [{ step = 250 }]
[holding]
days = { low = 20, high = 60 }
[selling]
channel = "dealer"
basis = "price paid"
"""


def test_bids_are_replayed_and_put_on_a_page(run: Run, data: Path, tmp_path: Path) -> None:
    costs, page = tmp_path / "costs.toml", tmp_path / "replay.html"
    costs.write_text(COSTS, encoding="utf-8")
    words = ("--sales", data / "sales.csv", "--costs", costs, "--months", "4", "--refit", "never")
    asked = ("--loss-limits", "0.2", "0.4", "--truth", data / "truth.json", "--page", page)
    done = run("replay", *words, *asked, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["format"] == 1
    limits = [r for r in told["rules"] if r["kind"] == "loss limit" and r["corrected"]]
    assert [r["level"] for r in limits] == [0.2, 0.4]
    assert told["seen"] == told["rules"][-1]["won"] > 0
    assert "Would it have bought?" in page.read_text(encoding="utf-8")


def test_a_fault_is_one_sentence(run: Run, data: Path, tmp_path: Path) -> None:
    costs = tmp_path / "costs.toml"
    costs.write_text(COSTS.replace('currency = "EUR"', 'currency = "GBP"'), encoding="utf-8")
    done = run("replay", "--sales", data / "sales.csv", "--costs", costs)
    assert done.returncode == 2
    assert done.stderr == (
        "valuation: costs.toml: the resale is in another currency than the sales, EUR (got: GBP). "
        "State the costs in EUR, or bring the sales to GBP.\n"
    )
    assert done.stdout == ""

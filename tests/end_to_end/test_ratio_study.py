"""``valuation ratio-study`` as a user runs it: on a backtest's predictions, and on sales."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

Run = Callable[..., subprocess.CompletedProcess[str]]


def test_what_a_backtest_predicted_is_studied(run: Run, data: Path, tmp_path: Path) -> None:
    table, page = tmp_path / "predictions.csv", tmp_path / "ratios.html"
    asked = ("--test-share", "0.25", "--refit", "never", "--predictions", table, "--json")
    tested = run("backtest", "--sales", data / "sales.csv", *asked)
    assert tested.returncode == 0, tested.stderr
    done = run("ratio-study", "--predictions", table, "--page", page, "--json")
    assert done.returncode == 0, done.stderr
    told, backtest = json.loads(done.stdout), json.loads(tested.stdout)
    assert told["rows"] == backtest["tested"]
    apart = sum(part["rows"] for part in told["apart"])
    assert 0 < apart < told["rows"]
    assert told["overall"]["tested"] == told["rows"] - apart
    kinds = {kind["by"] for kind in told["kinds"]}
    assert kinds >= {"make", "era", "channel", "month"}
    outcomes = next(k for k in told["coverage"]["kinds"] if k["by"] == "outcome")["rows"]
    inside = sum(h["ranges"] * h["held_pct"] for r in outcomes for h in r["held"][:1])
    given = sum(h["ranges"] for r in outcomes for h in r["held"][:1])
    assert abs(inside / given - backtest["coverage_80"]) < 1e-6
    assert "Ratio study" in page.read_text(encoding="utf-8")


def test_sales_are_forecast_month_by_month_and_studied(run: Run, data: Path) -> None:
    words = ("ratio-study", "--sales", data / "sales.csv", "--months", "2")
    done = run(*words)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Ratio study: ")
    assert "each month from what was known at its start" in done.stdout
    assert "Did the ranges hold? " in done.stdout

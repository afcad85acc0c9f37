"""The sales to look at, from a model on disk to a page."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

Run = Callable[..., subprocess.CompletedProcess[str]]


def test_sales_to_look_at_are_printed_and_written(run: Run, model: Path, tmp_path: Path) -> None:
    page = tmp_path / "look.html"
    done = run("look", "--model", model, "--most", "5", "--page", page)
    assert done.returncode == 0, done.stderr
    head, *rest = done.stdout.splitlines()
    assert head.startswith("5 of ")
    assert head.endswith(".")
    assert f"Page to open: {page}" in rest
    named = [line for line in rest if line.startswith("  row ")]
    assert len(named) == 5
    assert " of sales.csv  " in named[0]
    text = page.read_text(encoding="utf-8")
    assert text.count('<th scope="row"') == 5
    assert "in no workspace: put it right in its file" in text


def test_the_same_list_as_json(run: Run, model: Path) -> None:
    done = run("look", "--model", model, "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert next(iter(told)) == "format"
    assert told["judged"] > 300
    stakes = [s["at_stake"] for s in told["sales"]]
    assert stakes == sorted(stakes, reverse=True)
    for sale in told["sales"]:
        assert sale["kinds"]
        assert sale["file"] == "sales.csv"


def test_a_model_that_is_missing_is_said(run: Run, tmp_path: Path) -> None:
    done = run("look", "--model", tmp_path / "none.model")
    assert done.returncode == 2
    assert "none.model" in done.stderr

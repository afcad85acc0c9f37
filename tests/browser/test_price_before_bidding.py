"""The notebook as its reader has it: in JupyterLab, run from its first cell to its last."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from lab import Lab

pytestmark = pytest.mark.browser

SIZES = """(charts) => charts.map((c) => c.getBoundingClientRect()).filter((r) => r.height > 0)
    .map((r) => [r.width, r.height])"""
STICKS_OUT = "(areas) => areas.filter((a) => a.scrollWidth > a.clientWidth).length"


def test_it_runs_and_shows_its_charts(lab: Lab, tmp_path: Path) -> None:
    name = "price_before_bidding.ipynb"
    notebook = nbformat.read(lab.folder / name, as_version=4)
    cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    lab.open(name)
    lab.run_all(seconds=400)
    assert lab.faults() == []
    assert lab.prompts() == [f"[{place}]:" for place in range(1, len(cells) + 1)]
    assert (lab.console, lab.outside) == ([], [])
    assert lab.texts_of("h2").count("What it is worth") == 2
    lab.screenshot(tmp_path / "notebook.png")
    charts = lab.outputs("svg[role=img]").evaluate_all(SIZES)
    assert len(charts) == 3
    assert min(width for width, _ in charts) > 600
    assert min(height for _, height in charts) > 300
    assert lab.page.locator(".jp-Cell-outputArea").evaluate_all(STICKS_OUT) == 0

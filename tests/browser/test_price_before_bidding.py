"""The notebook as its reader has it: in JupyterLab, run from its first cell to its last."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from lab import CHANGE_THEME, Lab

from valuation.report.palette import INK, PAPER, QUIET

pytestmark = pytest.mark.browser

NAME = "price_before_bidding.ipynb"
BID = "#form-bid .figures div:first-child .value"
SIZES = """(charts) => charts.map((c) => c.getBoundingClientRect()).filter((r) => r.height > 0)
    .map((r) => [r.width, r.height])"""
STICKS_OUT = "(areas) => areas.filter((a) => a.scrollWidth > a.clientWidth).length"
# What stands in a section and reaches beyond its edges, where nothing scrolls.
BEYOND = """(parts) => parts.filter((part) => {
    const inside = part.getBoundingClientRect();
    const edge = part.closest('.valuation').getBoundingClientRect();
    return inside.right > edge.right + 1 || inside.left < edge.left - 1;
}).length"""
COLOURS = "(parts) => [...new Set(parts.map((part) => getComputedStyle(part).color))]"
GROUNDS = "(parts) => [...new Set(parts.map((part) => getComputedStyle(part).backgroundColor))]"


def rgb(colour: str) -> str:
    """Return a colour such as ``#1b2129`` as a browser says it."""
    red, green, blue = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgb({red}, {green}, {blue})"


def amount(words: str) -> int:
    """Return the number of an amount such as ``39,500 EUR``."""
    return int(words.removesuffix(" EUR").replace(",", ""))


@pytest.fixture(scope="module")
def ran(lab: Lab) -> Lab:
    """Return JupyterLab with the notebook open and run once for all tests."""
    lab.open(NAME)
    lab.run_all(seconds=500)
    return lab


def test_it_runs_and_shows_its_charts(ran: Lab, tmp_path: Path) -> None:
    notebook = nbformat.read(ran.folder / NAME, as_version=4)
    cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert ran.faults() == []
    assert ran.prompts() == [f"[{place}]:" for place in range(1, len(cells) + 1)]
    assert (ran.console, ran.outside) == ([], [])
    said = ran.texts_of("h2")
    assert (said.count("What it is worth"), said.count("How much to bid")) == (2, 2)
    assert said[-1] == "Lots in running order"
    ran.screenshot(tmp_path / "notebook.png")
    charts = ran.outputs("svg[role=img]").evaluate_all(SIZES)
    assert len(charts) == 5
    assert min(width for width, _ in charts) > 600
    assert min(height for _, height in charts) > 300
    assert ran.page.locator(".jp-Cell-outputArea").evaluate_all(STICKS_OUT) == 0
    assert ran.outputs(".valuation :is(h2, p, dl, figure, .scroll)").evaluate_all(BEYOND) == 0


def test_a_slider_moves_the_bid(ran: Lab) -> None:
    first = ran.text_of(BID)
    assert first == ran.text_of("#bid .figures div:first-child .value")
    margin, risk = ran.slider("Target margin"), ran.slider("Largest risk of loss")
    margin.press("PageUp", 8)
    assert amount(margin.value) > 12_000
    dearer = ran.text_of(BID)
    assert amount(dearer) < amount(first)
    asked = f"Asked here: a margin of at least {margin.value} EUR. With the cost settings as they"
    assert f"{asked} stand: {first}." in ran.text_of("#form-bid")
    assert f"target {margin.value}" in ran.text_of("#form-ladder")
    risk.type("10")
    assert risk.value == "10.0"
    safer = ran.text_of(BID)
    assert amount(safer) < amount(dearer)
    ran.slider("Work on the car").press("ArrowRight", 20)
    assert amount(ran.text_of(BID)) < amount(safer)
    ran.outputs("button").get_by_text("Back to the cost settings").click()
    ran.settle()
    assert (ran.text_of(BID), risk.value) == (first, "25.0")
    ran.choose("Way of buying", "private purchase")
    assert amount(ran.text_of(BID)) > amount(first)
    assert (ran.faults(), ran.console, ran.outside) == ([], [], [])


def test_on_a_dark_ground_every_cell_can_be_read(ran: Lab) -> None:
    ran.page.evaluate(CHANGE_THEME, {"theme": "JupyterLab Dark"})
    ran.page.wait_for_function("document.body.dataset.jpThemeLight === 'false'")
    ran.settle()
    parts = ran.outputs(".valuation :is(h2, p, dt, dd, caption, th, td, li, figcaption)")
    assert set(parts.evaluate_all(COLOURS)) == {rgb(INK), rgb(QUIET)}
    assert ran.outputs(".valuation, .valuation table").evaluate_all(GROUNDS) == [rgb(PAPER)]

"""Every page for everyone: heard, enlarged, on a phone, on paper, without colour, without a mouse.

What is looked at stands in ``examine.js``; the rules of WCAG 2.1, levels A and AA, are axe's."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from every_page import PAGES
from everyone import Everyone

from valuation.report.valuation_page import render_valuation
from valuation.results.valuation import Valuation

pytestmark = pytest.mark.browser

FEW_VIEWS = ("phone", "paper")
"""For a page of a kind of which another one is looked at in all views."""

ALIKE = {
    "bid sheet": "until cured",
    "sheet": "full",
    "what if": "many",
    "side by side": "",
    "replay": "",
    "ratio study": "",
    "month": "none",
}
"""Kinds of pages of which one is looked at in all views; a month is made of what others show."""


@pytest.fixture(scope="module")
def everyone() -> Iterator[Everyone]:
    """Return a browser that examines pages."""
    with Everyone() as opened:
        yield opened


@pytest.mark.parametrize("name", PAGES)
def test_a_page_shuts_nobody_out(everyone: Everyone, name: str) -> None:
    kind, _, which = name.partition(", ")
    few = kind in ALIKE and which != ALIKE[kind]
    assert everyone.examine(PAGES[name](), *(FEW_VIEWS if few else ())) == {}


def test_a_valuation_shuts_nobody_out(
    everyone: Everyone, unsettled: Valuation, bare: Valuation
) -> None:
    assert everyone.examine(render_valuation(unsettled)) == {}
    assert everyone.examine(render_valuation(bare), *FEW_VIEWS) == {}


def test_what_does_not_fit_is_scrolled_to_without_a_mouse(everyone: Everyone) -> None:
    page = everyone.open(PAGES["run list"](), 820)
    reached = 0
    for _ in range(page.locator("[tabindex='0']").count()):
        page.keyboard.press("Tab")
        focused = "document.activeElement"
        if page.evaluate(f"{focused}.scrollWidth > {focused}.clientWidth"):
            page.keyboard.press("ArrowRight")
            page.wait_for_function(f"{focused}.scrollLeft > 0")
            assert page.evaluate(f"getComputedStyle({focused}).outlineStyle") != "none"
            reached += 1
    assert reached == 1


@pytest.mark.parametrize("name", ["bid sheet, ordinary", "lot sheets", "look"])
def test_on_paper_no_letters_are_smaller_than_eight_points(everyone: Everyone, name: str) -> None:
    sizes = everyone.printed_sizes(PAGES[name]())
    assert min(sizes) >= 8 - 0.05
    assert len(sizes) > 150


SOUND = """<!DOCTYPE html>
<html lang="en"><head><title>Sound</title><style>
body { font: 16px sans-serif; color: black; background: white }
.scroll { overflow-x: auto }
@page { margin: 15mm }
</style></head><body><main>
<h1>Sound</h1>
<p>All is said.</p>
<h2>Sums</h2>
<div class="scroll" tabindex="0" role="group" aria-label="Sums"><table><caption>Sums</caption>
<thead><tr><th scope="col">What</th><th scope="col">Sum</th></tr></thead>
<tbody><tr><th scope="row">One</th><td>12</td></tr></tbody></table></div>
<svg width="200" height="60" role="img" class="marks" aria-labelledby="t d">
<title id="t">Marks</title><desc id="d">One is 12.</desc><g>
<text x="5" y="50" font-size="14">12</text>
<rect x="5" y="5" width="40" height="30" fill="#1d232b"/>
<rect x="45" y="5" width="40" height="30" fill="#4a7f95"/>
</g></svg>
</main></body></html>"""

TABLE = '<div class="scroll" tabindex="0" role="group" aria-label="Sums">'
PART = "<h2>Sums</h2>"
WORDS = "<p>All is said.</p>"
FIRST = '<th scope="row">One</th>'
HEADS = '<tr><th scope="col">What</th><th scope="col">Sum</th></tr>'
DARK, LIGHT = 'fill="#1d232b"', 'fill="#4a7f95"'
RED, GREEN = 'fill="#c83c3c"', 'fill="#148c78"'
"""One shade of grey."""

FAULTS = {
    "language": ('lang="en"', 'lang="no language"', "small phone"),
    "one first heading": (PART, f"<h1>Again</h1>{PART}", "small phone"),
    "heading jumps": (PART, "<h4>Sums</h4>", "small phone"),
    "heading without words": (PART, f"{PART}<h2> </h2>", "small phone"),
    "table without caption": ("<caption>Sums</caption>", "", "small phone"),
    "heading cell without scope": ('<th scope="row">', "<th>", "small phone"),
    "heading cell without words": (">What<", "><", "small phone"),
    "table without column names": (HEADS, "<tr><td>What</td><td>Sum</td></tr>", "small phone"),
    "row without name": (FIRST, "<td>One</td>", "small phone"),
    "cell without its column": ("<thead>", '<thead style="display: none">', "small phone"),
    "chart is no picture to a reader": (' role="img"', "", "small phone"),
    "chart without title": (">Marks<", "><", "small phone"),
    "chart without description": (">One is 12.<", "><", "small phone"),
    "number drawn but not described": ("One is 12.", "One is high.", "small phone"),
    "number described but told nowhere": ("One is 12.", "One is 12, two is 15.", "small phone"),
    "text too small": (WORDS, '<p style="font-size: 7.5pt">Said.</p>', "paper"),
    "page wider than the window": (WORDS, '<p style="width: 400px">Said.</p>', "small phone"),
    "sticks out": (WORDS, '<p style="width: 340px">Said.</p>', "small phone"),
    "text cut off": (
        WORDS, '<p style="width: 60px; overflow: hidden; white-space: nowrap">All is said.</p>',
        "small phone",
    ),
    "scroll box out of reach of the keyboard": (
        TABLE, '<div class="scroll" style="width: 40px" role="group" aria-label="Sums">',
        "small phone",
    ),
    "scroll box without role and name": (
        TABLE, '<div class="scroll" style="width: 40px" tabindex="0">', "small phone",
    ),
    "text too faint": (WORDS, '<p style="color: #8a8a8a">All is said.</p>', "small phone"),
    "mark too faint": ("#1d232b", "#c9cdd3", "desk"),
    "told by colour alone": ((DARK, LIGHT), (RED, GREEN), "desk"),
    "border lost in grey": ((DARK, LIGHT), (RED, GREEN), "desk"),
    "color-contrast": (WORDS, '<p style="color: #8a8a8a">All is said.</p>', "paper"),
    "image-alt": (WORDS, f'{WORDS}<img src="data:,">', "desk"),
    "region": ("<main>", "<p>Outside.</p><main>", "desk"),
    "landmark-one-main": ("main>", "div>", "phone"),
    "duplicate-id-aria": (PART, '<h2 id="t">Sums</h2>', "desk"),
    "link-name": (WORDS, f'{WORDS}<a href="#t"></a>', "phone"),
    "heading-order": (PART, "<h4>Sums</h4>", "desk"),
}  # fmt: skip
"""What is put in whose place, and a view that has to find it."""


def test_a_sound_page_has_no_fault(everyone: Everyone) -> None:
    assert everyone.examine(SOUND) == {}


@pytest.mark.parametrize("rule", FAULTS)
def test_a_planted_fault_is_found(everyone: Everyone, rule: str) -> None:
    old, new, view = FAULTS[rule]
    spoiled = SOUND
    pairs = zip(old, new, strict=True) if isinstance(old, tuple) else ((old, new),)
    for one, other in pairs:
        assert one in spoiled
        spoiled = spoiled.replace(one, other)
    found = everyone.examine(spoiled, view)
    assert any(fault.startswith(f"{rule}:") for fault in found), found

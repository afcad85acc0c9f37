"""The page of chances that came true or not: its numbers, its chart, what it says of bad groups."""

from __future__ import annotations

import chances
import pytest
from syrupy.assertion import SnapshotAssertion

from valuation.report.chance_chart import calibration_chart, groups_chart, judged_rows
from valuation.report.chance_page import chance_page, show_chances
from valuation.report.page import Grid, Page
from valuation.report.render import render_page
from valuation.results.words import INTERNAL


def grids(page: Page) -> list[Grid]:
    return [block for s in page.sections for block in s.blocks if isinstance(block, Grid)]


@pytest.fixture(scope="module")
def page() -> Page:
    return chance_page(chances.checked())


def test_every_group_stands_in_a_table_with_its_numbers(page: Page) -> None:
    check = chances.checked()
    found = grids(page)
    assert len(found) == len(check.kinds)
    for grid, kind in zip(found, check.kinds, strict=True):
        for cells, row in zip(grid.rows, kind.rows, strict=True):
            told = [c.text for c in cells]
            assert told[1:6] == [
                f"{row.times:,}",
                f"{100 * row.told:.0f}%",
                f"{100 * row.came:.0f}%",
                f"{row.expected:,.1f}",
                f"{row.sold:,}",
            ]
            assert told[6] == f"{row.lower:,} to {row.upper:,}"
            assert (cells[7].mark or cells[7].text) == row.verdict
            assert bool(cells[7].mark) == row.verdict.endswith(" than foretold")


def test_words(page: Page, snapshot: SnapshotAssertion) -> None:
    assert chances.checked().summary() == snapshot
    assert page.notice == INTERNAL


def test_what_comes_from_files_is_escaped(page: Page) -> None:
    html = render_page(page)
    assert "&lt;exotics&gt; &amp; others" in html
    assert "<exotics>" not in html


def test_charts_say_in_words_what_they_draw(page: Page) -> None:
    check = chances.checked()
    chart, groups = calibration_chart(check), groups_chart(check)
    assert chart is not None
    assert groups is not None
    for row in judged_rows(check, "chance"):
        assert f"{row.name}: {100 * row.told:.0f}% a month foretold" in chart.wide
    assert "small sports: " in groups.wide
    assert "exotics" not in groups.wide  # too few to tell
    html = render_page(page)
    assert html.index("<svg") < html.index("<table")


def test_nothing_on_offer_is_said() -> None:
    html = render_page(chance_page(chances.bare()))
    assert "No car of the ledger was on offer at a known price in these months." in html
    assert "<svg" not in html
    assert "<table" not in html


def test_a_notebook_shows_the_same_sections(page: Page) -> None:
    shown = show_chances(chances.checked())
    html = shown._repr_html_()
    assert "115.9 sales were foretold, 100 came" in html
    assert repr(shown) == chances.checked().summary()

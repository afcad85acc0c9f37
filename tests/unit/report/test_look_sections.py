"""Sales to look at and screens of batches as sections and pages."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from looks import HELD, LOOKED, PASSED, WARNED, keyless
from reading import grids, shown
from syrupy.assertion import SnapshotAssertion

from valuation.report.look_chart import can_be_drawn, look_figure
from valuation.report.look_section import (
    look_page,
    look_section,
    patterns_section,
    render_look,
    show_look,
)
from valuation.report.page import Paragraph
from valuation.report.screens_section import screens_section
from valuation.results.look import LOOK_KINDS


def test_sales_to_look_at(snapshot: SnapshotAssertion) -> None:
    assert shown(look_section(LOOKED)) == snapshot


def test_sources_that_look_wrong(snapshot: SnapshotAssertion) -> None:
    assert shown(patterns_section(LOOKED)) == snapshot


def test_new_batches(snapshot: SnapshotAssertion) -> None:
    assert shown(screens_section((PASSED, WARNED, HELD))) == snapshot


def test_nothing_to_look_at_is_said() -> None:
    none = replace(LOOKED, sales=(), found={}, left_out=0, patterns=())
    (said,) = look_section(none).blocks
    assert said == Paragraph("None of 1,500 sales needs a look.", "lead")
    assert patterns_section(none).blocks[0] == Paragraph(
        "No venue, file or batch is off as a whole."
    )


def test_each_line_has_the_command_that_sets_the_sale_aside() -> None:
    (table,) = grids(look_section(LOOKED))
    for row, sale in zip(table.rows, LOOKED.sales, strict=True):
        assert f"{row[-1].text} {row[-1].note}" == sale.command
        assert sale.command == f'valuation sales set-aside {sale.key} --reason "…"'


def test_a_sale_outside_a_workspace_has_no_command() -> None:
    (table,) = grids(look_section(keyless()))
    assert {row[-1].text for row in table.rows} == {"in no workspace: put it right in its file"}
    assert "row 41 of sales_2024-06.csv" in table.rows[1][0].note


def test_the_largest_change_comes_first() -> None:
    (table,) = grids(look_section(LOOKED))
    assert table.rows[0][3].text.startswith("The typical Skarnholt Grankott Series 1 +11,350 EUR")
    assert table.rows[1][3].text == "Its own estimate -900 EUR (-2.1%)"


def test_words_of_a_sale_are_no_markup() -> None:
    page = render_look(LOOKED)
    assert "sedan <b>" not in page
    assert "sedan &lt;b&gt;" in page


def test_the_page_is_for_the_firm_and_needs_no_network() -> None:
    page = render_look(LOOKED)
    assert look_page(LOOKED).notice
    assert page == render_look(LOOKED)
    assert not re.findall(r'(?:src|href)="https?:', page)
    assert "NaN" not in page


@pytest.mark.parametrize("narrow", [False, True])
def test_every_sale_is_drawn_once(narrow: bool) -> None:
    (axes,) = look_figure(LOOKED, narrow=narrow).axes
    marks = [line for line in axes.get_lines() if line.get_marker() not in ("None", None, "")]
    assert len(marks) == len(LOOKED.sales)
    places = [float(m.get_xdata()[0]) for m in marks]
    assert places == pytest.approx([s.price / s.estimate for s in LOOKED.sales])
    assert len({m.get_marker() for m in marks}) == 3


def test_two_sales_are_no_picture() -> None:
    assert can_be_drawn(LOOKED)
    few = replace(LOOKED, sales=LOOKED.sales[:2])
    assert not can_be_drawn(few)
    assert "svg" not in shown(look_section(few))


def test_a_notebook_shows_the_first() -> None:
    said = show_look(LOOKED, first=1)
    assert "1 of 1,500 sales to look at, the first of 5." in repr(said)
    assert "Torvane" not in said._repr_html_()
    assert "Sources that look wrong" in said._repr_html_()


def test_summary_and_dictionary_say_the_same() -> None:
    told = LOOKED.to_dict()
    assert next(iter(told)) == "format"
    assert [s["at_stake"] for s in told["sales"]] == [s.at_stake for s in LOOKED.sales]
    assert told["sales"][1]["own"]["money"] == -900
    for sale in told["sales"]:
        assert set(sale["kinds"]) <= set(LOOK_KINDS)
        assert sale["key"] in LOOKED.summary()


def test_the_gravest_doubt_decides() -> None:
    assert [s.verdict for s in (PASSED, WARNED, HELD)] == ["pass", "warn", "hold"]
    assert PASSED.reason == ""
    assert HELD.reason.startswith("Its prices lie 102.5% above")
    assert HELD.to_dict()["verdict"] == "hold"
    assert next(iter(HELD.to_dict())) == "format"
    both = replace(HELD, doubts=(*WARNED.doubts, *HELD.doubts))
    assert both.verdict == "hold"
    assert both.reason == HELD.reason
    assert "too few to set their prices beside estimates" in WARNED.summary()


def test_held_batches_are_said_aloud_and_first() -> None:
    section = screens_section((PASSED, WARNED, HELD))
    warned = [b for b in section.blocks if isinstance(b, Paragraph) and b.weight == "warning"]
    assert [w.text.split(" is held")[0] for w in warned] == ["Batch 0c1d2e3f4a5b"]
    (table,) = grids(section)
    assert [row[0].mark for row in table.rows] == ["held", "look at it", "passed"]
    (none,) = screens_section(()).blocks
    assert none == Paragraph("No batch is new to the model.")

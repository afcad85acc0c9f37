"""The market index as chart, tables, page and CSV."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import movements
import pytest
from reading import grids, headings, outline, plain, shown, texts, words_in
from syrupy.assertion import SnapshotAssertion

from valuation.report.index_chart import DRAWN, index_chart, index_figure
from valuation.report.index_section import (
    index_page,
    index_section,
    render_index,
    revision_section,
    show_index,
)
from valuation.report.index_table import INDEX_COLUMNS, index_csv
from valuation.results.index import INDEX_CAVEAT

INDICES = {"plain": movements.index, "revised": movements.revised}


@pytest.mark.parametrize("name", INDICES)
def test_a_page_is_one_well_formed_document(name: str) -> None:
    html = render_index(INDICES[name]())
    tags = outline(html).tags
    ids = [a["id"] for _, a in tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert not {tag for tag, _ in tags} & {"script", "link", "img", "iframe"}
    assert "http" not in html
    assert not re.search(r"\b(nan|None|inf)\b", plain(html))
    assert html == render_index(INDICES[name]())
    assert headings(html) == [
        "Levels by segment",
        *(["What was revised"] * (name == "revised")),
        "Month by month",
        "Before you rely on it",
    ]


def test_levels(snapshot: SnapshotAssertion) -> None:
    assert shown(index_section(movements.index())) == snapshot


def test_revision(snapshot: SnapshotAssertion) -> None:
    assert shown(revision_section(movements.revised())) == snapshot


def test_the_lead_says_which_movements_can_be_told() -> None:
    (lead,) = texts(index_section(movements.index()), "lead")
    assert lead == (
        "Over the last twelve months Torvane rose; the movement of 1 other segment can't be told "
        "from none."
    )
    calm = movements.index(segments=movements.index().segments[1:])
    assert "no segment moved by more than its 80% band" in shown(index_section(calm))
    young = movements.index(segments=(movements.segment(year=None),))
    assert "younger than a year" in shown(index_section(young))


def test_the_base_and_the_caveat_stand_on_the_page() -> None:
    page = index_page(movements.index())
    assert page.subtitle == "Jan 2024 = 100; sales up to 28 Jan 2025"
    assert INDEX_CAVEAT in shown(page.sections[0]).replace("&#39;", "'")


def test_days_to_sell_have_a_column_only_where_they_are_known() -> None:
    (table,) = grids(index_section(movements.index()))
    assert [c.text for c in table.columns][-1] == "Days to sell"
    assert table.rows[0][-1].text == "41"
    assert table.rows[1][-1].text == "–"
    bare = movements.index(segments=movements.index().segments[1:])
    (table,) = grids(index_section(bare))
    assert [c.text for c in table.columns][-1] == "Lots sold"


def test_thin_held_and_forecast_months_are_marked_in_words() -> None:
    months = index_page(movements.revised()).sections[2]
    table = grids(months)[0]
    assert [c.text for c in table.columns] == [
        "Month", "Level", "80% band", "95% band", "Sales", "Revised by",
    ]  # fmt: skip
    marks = {row[0].text: (row[4].mark, row[5].note) for row in table.rows}
    assert marks["Feb 2025"] == ("held", "forecast")
    assert marks["Jan 2025"] == ("", "forecast")
    assert marks["Oct 2024"] == ("thin", "")


@pytest.mark.parametrize("narrow", [False, True])
def test_each_segment_has_axes_of_its_own_on_one_scale(narrow: bool) -> None:
    figure = index_figure(movements.revised(), narrow=narrow)
    first, second = figure.axes
    assert first.get_ylim() == second.get_ylim()
    assert first.get_yscale() == "log"
    hatches = [c.get_hatch() for c in first.collections]
    # Known and held differ by hatching, inner and outer band too.
    assert hatches == [None, "///", None, "xxx"]
    styles = {line.get_linestyle() for line in first.lines}
    assert {"-", "--", ":"} <= styles
    marks = {line.get_marker() for line in first.lines}
    assert {"o", "x"} <= marks


def test_no_more_than_a_dozen_are_drawn_and_that_is_said() -> None:
    many = tuple(movements.segment(f"Segment {i}") for i in range(DRAWN + 3))
    index = movements.index(segments=many)
    assert len(index_figure(index).axes) == DRAWN
    section = index_section(index)
    assert f"Drawn are the first {DRAWN} segments." in shown(section)
    (table,) = grids(section)
    assert len(table.rows) == DRAWN + 3


@pytest.mark.parametrize("which", ["wide", "narrow"])
def test_the_chart_has_a_text_alternative(which: str) -> None:
    svg = getattr(index_chart(movements.index()), which)
    said = words_in(svg)
    assert (
        "Torvane: 113.0 in Jan 2025, 80% band 103.4 to 122.6, plus 13.0% in a year; highest 113.0 "
        "in Jan 2025, lowest 100.0 in Jan 2024." in said
    )
    assert ET.fromstring(svg).get("role") == "img"  # noqa: S314


def test_the_csv_has_a_line_a_month_and_runs_no_formula() -> None:
    text = index_csv(movements.revised())
    rows = list(csv.DictReader(io.StringIO(text)))
    assert tuple(rows[0]) == INDEX_COLUMNS
    assert len(rows) == 2 * 14
    assert {r["segment"] for r in rows} == {"Torvane", '\'=HYPERLINK("x")'}
    january = rows[12]
    assert january == {
        "segment": "Torvane", "month": "2025-01", "level": "113.00", "lower80": "103.40",
        "upper80": "122.60", "lower95": "98.60", "upper95": "127.40", "sales": "9", "thin": "no",
        "held": "no", "sell_through": "0.750", "sell_through_low": "0.566",
        "sell_through_high": "0.873", "offered": "28", "sell_through_over": "quarter",
        "days_to_sell": "41", "days_to_sell_cars": "6", "days_to_sell_over": "month",
        "revised_by": "0.70", "was_held": "yes",
    }  # fmt: skip
    assert (rows[13]["sales"], rows[13]["held"], rows[14]["revised_by"]) == ("", "yes", "")
    assert text.endswith("\r\n")


def test_a_notebook_shows_levels_and_revision() -> None:
    found = show_index(movements.revised())
    assert repr(found) == movements.revised().summary()
    assert headings(found._repr_html_()) == ["Levels by segment", "What was revised"]
    assert headings(show_index(movements.index())._repr_html_()) == ["Levels by segment"]


def test_a_level_that_only_earlier_months_reach_is_shown() -> None:
    held = tuple(replace(m, held=True) for m in movements.segment().months)
    index = movements.index(segments=(movements.segment(months=held),))
    assert index.segments[0].latest is held[-1]
    assert "<svg" in render_index(index)

"""The page of a ratio study, its charts, and what a notebook shows of it."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
import ratios
from reading import grids, headings, outline, plain, shown, texts, words_in
from syrupy.assertion import SnapshotAssertion

from valuation.report.coverage_section import (
    coverage_chart,
    coverage_section,
    coverage_sections,
)
from valuation.report.dot_chart import Dot, dots_figure, ratio_scale, share_scale
from valuation.report.ratio_chart import level_chart, value_groups_chart
from valuation.report.ratio_page import render_ratios, show_coverage, show_ratios
from valuation.report.ratio_section import overall_section, ratio_section, strata_section
from valuation.results.ratio_parts import StrataKind
from valuation.results.words import INTERNAL
from valuation.scoring.screens import SalesChasing


def kind(by: str) -> StrataKind:
    found = ratios.studied().kind(by)
    assert found is not None
    return found


@cache
def page(name: str) -> str:
    if name == "bare":
        return render_ratios(ratios.bare())
    return render_ratios(ratios.studied(), ratios.covered())


@pytest.mark.parametrize("name", ["whole", "bare"])
def test_a_page_is_one_well_formed_internal_document(name: str) -> None:
    html = page(name)
    tags = outline(html).tags
    ids = [a["id"] for _, a in tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert not {tag for tag, _ in tags} & {"script", "link", "img", "iframe"}
    assert "http" not in html
    assert f'<p class="notice">{INTERNAL}</p>' in html
    assert not re.search(r"\b(nan|None|inf)\b", plain(html))


def test_sections_come_in_order() -> None:
    assert headings(page("whole")) == [
        "Estimates against prices", "All 336 sales", "By make", "By era", "By band of value",
        "By channel", "By price basis", "Inside and outside the evidence", "By month of sale",
        "By months ahead", "Did the ranges hold?", "Ranges by make", "Ranges by era",
        "Ranges by band of the estimate", "Ranges by channel", "Ranges by price basis",
        "Ranges inside and outside the evidence", "Ranges by month of sale",
        "Ranges by months ahead", "Ranges by outcome", "Before you rely on it",
    ]  # fmt: skip
    assert headings(page("bare")) == [
        "Estimates against prices", "All 4 sales", "Before you rely on it"
    ]  # fmt: skip


def test_the_answer(snapshot: SnapshotAssertion) -> None:
    assert shown(ratio_section(ratios.studied())) == snapshot


def test_all_sales(snapshot: SnapshotAssertion) -> None:
    assert shown(overall_section(ratios.studied())) == snapshot


def test_strata(snapshot: SnapshotAssertion) -> None:
    assert shown(strata_section(kind("make"), ratios.studied().overall)) == snapshot


def test_coverage(snapshot: SnapshotAssertion) -> None:
    assert [shown(s) for s in coverage_sections(ratios.covered())[:2]] == snapshot


def test_a_bare_study_has_no_empty_part() -> None:
    section = overall_section(ratios.bare())
    (table,) = grids(section)
    assert [c.text for c in table.columns] == ["Measure", "All sales", "Accepted", "Where it lies"]
    assert "No ratio lies further than three interquartile ranges" in shown(section)


def test_every_stratum_has_a_row_below_all_sales() -> None:
    for one in ratios.studied().kinds:
        (table,) = grids(strata_section(one, ratios.studied().overall))
        names = [row[0].text for row in table.rows]
        assert names[0] == "All sales"
        assert [n.lower() for n in names[1:]] == [s.name.lower() for s in one.strata]
        assert table.totals == (0,)


def test_what_is_beyond_a_band_stands_out_in_words() -> None:
    (table,) = grids(strata_section(kind("make"), ratios.studied().overall))
    marked = {row[0].text: row[2].mark for row in table.rows}
    assert marked["Kora"] == "outside"
    assert marked["Torvane"] == ""


def test_estimates_that_knew_the_price_are_warned_of() -> None:
    report = ratios.studied()
    assert texts(ratio_section(report), "warning") == []
    assert report.overall.study is not None
    chased = replace(report.overall.study, chasing=SalesChasing(40.0, 9.0, 30.0, True))
    chasing = replace(report, overall=replace(report.overall, study=chased))
    (said,) = texts(ratio_section(chasing), "warning")
    assert said.startswith(
        "Estimates look as if they had been set to the prices after the sale: 40"
    )


def test_charts_tell_in_words_what_they_draw() -> None:
    report = ratios.studied()
    chart = level_chart(kind("make"), report.overall)
    assert chart is not None
    for svg in (chart.wide, chart.narrow):
        said = words_in(svg)
        assert "Kora: 0.7" in said
        assert "pooled: 2 groups" in said
        assert "Median of estimate over price" in said
    assert report.overall.study is not None
    assert report.overall.study.vei is not None
    said = words_in(value_groups_chart(report.overall.study.vei).wide)
    assert "group 1, cheapest" in said
    assert "group 4, dearest" in said
    held = coverage_chart(ratios.covered().kinds[0], ratios.covered().overall)
    assert held is not None
    assert "Kora: 80% ranges" in words_in(held.narrow)


def test_a_kind_without_estimates_or_ranges_is_not_drawn() -> None:
    report = ratios.studied()
    blank = replace(report.overall, study=None, measures=())
    assert level_chart(replace(kind("make"), strata=(blank,)), blank) is None
    none = replace(ratios.covered().overall, held=())
    empty = replace(ratios.covered().kinds[0], rows=(none,))
    assert coverage_chart(empty, none) is None


SHAPES = [
    Dot("low", 0.5, 0.4, 0.6, "0.50", "beyond"),
    Dot("level", 1.0, None, None, "1.00"),
    Dot("high", 2.0, 1.4, 2.9, "2.00", "doubtful"),
]


@pytest.mark.parametrize("narrow", [False, True])
def test_half_and_double_lie_equally_far_from_one(narrow: bool) -> None:
    figure = dots_figure(SHAPES, ratio_scale("Ratio", (0.9, 1.1)), narrow=narrow)
    (axes,) = figure.axes
    found = {line.get_marker(): line for line in axes.lines if line.get_marker() in ("D", "o")}
    assert found["D"].get_xdata()[0] == pytest.approx(-found["o"].get_xdata()[0])
    dots = [x for x in axes.lines if x.get_marker() in ("D", "o")]
    assert [line.get_ydata()[0] for line in dots] == [0, -1, -2]
    assert len({(x.get_marker(), x.get_markerfacecolor()) for x in dots}) == 3


def test_an_interval_that_reaches_far_is_cut_and_has_an_arrow() -> None:
    dots = [Dot("far", 1.0, 0.95, 400.0, "1.00"), Dot("near", 1.1, 1.0, 1.2, "1.10")]
    (axes,) = dots_figure(dots, ratio_scale("Ratio", (0.9, 1.1))).axes
    assert axes.get_xlim()[1] < 0.3
    ends = [(x.get_marker(), x.get_xdata()[0]) for x in axes.lines if x.get_marker() in ("<", ">")]
    assert ends == [(">", axes.get_xlim()[1])]


def test_ticks_of_shares_keep_their_distance() -> None:
    dots = [Dot("x", 80.0, 40.0, 99.0, "80%", others=((50.0, "^"),))]
    figure = dots_figure(dots, share_scale("Held", (75.0, 85.0), (50.0, 80.0)), narrow=True)
    (axes,) = figure.axes
    left, right = axes.get_xlim()
    ticks = sorted(axes.get_xticks())
    assert {50.0, 80.0} <= set(ticks)
    gaps = [b - a for a, b in pairwise(ticks)]
    assert min(gaps) >= 0.14 * (right - left)


def test_a_notebook_shows_the_answer_or_one_kind() -> None:
    report = ratios.studied()
    names = [s.name for s in show_ratios(report).sections]
    assert names == ["ratio-study", "ratio-overall"]
    assert [s.name for s in show_ratios(report, "months ahead").sections] == ["ratio-months-ahead"]
    assert repr(show_ratios(report)) == report.summary()
    held = replace(ratios.covered(), kinds=())
    assert "Did the ranges hold?" in show_coverage(held)._repr_html_()


def test_the_same_study_gives_the_same_page() -> None:
    report = replace(ratios.studied(), kinds=ratios.studied().kinds[:1])
    assert render_ratios(report) == render_ratios(report)


def test_coverage_without_a_range_is_told() -> None:
    none = replace(ratios.covered(), overall=replace(ratios.covered().overall, held=()), kinds=())
    assert "No car was given a range." in shown(coverage_section(none))

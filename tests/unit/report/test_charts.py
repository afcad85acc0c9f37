from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from matplotlib.patches import Polygon, Rectangle
from reading import words_in

from valuation.report.drawing import blank_axes, to_svg, write_text
from valuation.report.page import Chart
from valuation.report.range_chart import range_chart, range_figure
from valuation.report.step_chart import step_chart, step_figure
from valuation.results.valuation import PriceRange, Valuation

Build = Callable[..., Valuation]
CHARTS = [range_chart, step_chart]


@pytest.mark.parametrize("draw", CHARTS)
def test_the_same_valuation_gives_the_same_bytes(
    draw: Callable[[Valuation], Chart], example: Valuation
) -> None:
    assert draw(example) == draw(example)


@pytest.mark.parametrize("draw", CHARTS)
@pytest.mark.parametrize("which", ["wide", "narrow"])
def test_a_chart_has_a_text_alternative_and_nothing_from_elsewhere(
    draw: Callable[[Valuation], Chart], which: str, example: Valuation
) -> None:
    svg = getattr(draw(example), which)
    root = ET.fromstring(svg)  # noqa: S314
    assert root.get("role") == "img"
    title, description = (root.find(tag) for tag in ("title", "desc"))
    assert title is not None
    assert description is not None
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert "50,000 EUR" in (description.text or "")
    assert "http" not in svg
    assert "<script" not in svg
    assert "date" not in svg.lower().replace("dated", "")


@pytest.mark.parametrize("draw", CHARTS)
def test_ids_are_unique_and_references_lead_somewhere(
    draw: Callable[[Valuation], Chart], example: Valuation
) -> None:
    chart = draw(example)
    ids = re.findall(r'\bid="([^"]*)"', chart.wide + chart.narrow)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'(?:url\(|href=")#([^")]*)', chart.wide + chart.narrow)) <= set(ids)


def test_every_step_is_written_with_its_money(example: Valuation) -> None:
    for svg in (step_chart(example).wide, step_chart(example).narrow):
        said = words_in(svg)
        for amount in ("+9,450", "-5,240", "+330", "-233", "41,200", "50,000"):
            assert amount in said


def test_raising_and_lowering_differ_in_shape_and_fill(example: Valuation) -> None:
    bars = [p for p in step_figure(example).axes[0].patches if isinstance(p, Polygon)]
    assert len(bars) == 10
    lowering = [b for b in bars if b.get_hatch()]
    for bar in bars:
        xs = bar.get_xy()[:, 0]
        points_left = xs[2] < xs[0]
        assert points_left == (bar in lowering)
    assert len(lowering) == 5


def test_bars_of_the_range_end_where_the_numbers_say(example: Valuation) -> None:
    boxes = [p for p in range_figure(example).axes[0].patches if isinstance(p, Rectangle)]
    ends = [(b.get_x(), b.get_x() + b.get_width()) for b in boxes]
    assert ends == [(35_700, 70_250), (41_340, 60_120), (45_410, 54_930)]
    heights = [b.get_height() for b in boxes]
    assert heights == sorted(heights)


def test_one_range_alone_is_drawn_too(example: Valuation) -> None:
    alone = replace(example, ranges=())
    boxes = [p for p in range_figure(alone).axes[0].patches if isinstance(p, Rectangle)]
    assert len(boxes) == 1
    assert range_chart(alone).caption.startswith("Bars: 80% range, thickest to thinnest.")


def test_no_range_draws_no_bar(bare: Valuation) -> None:
    assert not [p for p in range_figure(bare).axes[0].patches if isinstance(p, Rectangle)]


def test_every_sale_shown_has_its_adjusted_price(example: Valuation) -> None:
    for svg in (range_chart(example).wide, range_chart(example).narrow):
        for sale in example.comparables:
            assert f"{sale.adjusted_price:,}" in words_in(svg)


def test_signs_of_formulas_and_markup_stay_words(build_valuation: Build) -> None:
    odd = build_valuation(
        car="<b>$x_1$</b> & Co", start_label="typical $\\frac$ -- <i>car</i>", currency="US$"
    )
    for svg in (step_chart(odd).wide, range_chart(odd).narrow):
        assert "<b>" not in svg
        assert "<i>" not in svg
    assert "Typical $\\frac$ -- <i>car</i>" in words_in(step_chart(odd).wide)


def test_a_script_our_font_lacks_is_no_warning() -> None:
    figure, axes = blank_axes(3, 1)
    write_text(axes, 0.5, 0.5, "漢字 🚗")
    assert "漢字 🚗" in to_svg(figure, name="x", title="t", description="d")


def test_signs_of_numbers_are_words_where_a_chart_is_read_aloud() -> None:
    said = "2 to 4-speed in 2024-03: -5,240 EUR, from -8% to +0.3% (-1); C-3."
    svg = to_svg(blank_axes(2, 1)[0], name="x", title="t", description=said)
    assert "2 to 4-speed in 2024-03: minus 5,240 EUR, from minus 8% to plus 0.3% (minus 1)" in svg
    assert "C-3." in svg


def test_a_flat_valuation_can_be_drawn(build_valuation: Build) -> None:
    flat = build_valuation(
        contributions=(), comparables=(), range=PriceRange(0.8, 41_200, 41_200), ranges=()
    )
    assert "41,200" in words_in(step_chart(flat).wide)
    assert "41,200" in words_in(range_chart(flat).wide)

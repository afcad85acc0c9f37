from __future__ import annotations

import re

import pytest
from matplotlib.patches import Rectangle
from pdf_reading import drawn_words, reader

from valuation.errors import ValuationError
from valuation.report.drawing import blank_axes, to_svg, write_text
from valuation.report.page import Chart
from valuation.report.pdf_pen import Pen
from valuation.report.pdf_svg import read_drawing
from valuation.report.valuation_page import valuation_page
from valuation.results.valuation import Valuation


def svg(inside: str) -> str:
    return f'<svg viewBox="0 0 200 100"><title>T</title><desc>D</desc>{inside}</svg>'


def drawn(svg: str, scale: float = 1.0) -> bytes:
    drawing = read_drawing(svg)
    pen = Pen(300.0, 200.0, language="en", title="a drawing")
    with pen.part(pen.root.add("Figure", alt=drawing.words)):
        drawing.draw(pen, 10.0, 20.0, scale)
    return pen.finish()


def code(svg: str, scale: float = 1.0) -> str:
    content = reader(drawn(svg, scale)).pages[0].get_contents()
    assert content is not None
    return content.get_data().decode("latin-1")


def charts(valuation: Valuation) -> list[Chart]:
    blocks = [b for s in valuation_page(valuation).sections for b in s.blocks]
    return [b for b in blocks if isinstance(b, Chart)]


def test_every_word_of_a_chart_stands_in_the_drawing(example: Valuation) -> None:
    for chart in charts(example):
        (sheet,) = reader(drawn(chart.wide)).pages
        said = " ".join(drawn_words(chart.wide)).split()
        assert sheet.extract_text().split() == said


def test_every_line_and_shape_of_a_chart_stands_in_the_drawing(example: Valuation) -> None:
    (chart, *_) = charts(example)
    body = re.sub(r"<defs>.*?</defs>", "", chart.wide, flags=re.DOTALL)
    shapes = [tag for tag in re.findall(r"<(?:path|use)[^>]*>", body) if 'fill: none"' not in tag]
    painted = re.findall(r"(?m)^(?:.* )?(?:[SfB]|b\*|f\*|B\*)\s*$", code(chart.wide))
    assert len(painted) >= len(shapes) > 10


def test_the_words_of_a_drawing_are_its_title_and_what_it_shows() -> None:
    assert read_drawing(svg("")).words == "T. D"
    assert (read_drawing(svg("")).width, read_drawing(svg("")).height) == (200.0, 100.0)


def test_a_drawing_counts_downwards_from_where_it_is_put() -> None:
    made = code(svg('<path d="M 0 0 L 50 25" style="fill: none; stroke: #ff0000"/>'), scale=2.0)
    assert "2 0 0 -2 10 180 cm" in made
    assert "0 0 m 50 25 l S" in " ".join(made.split())
    assert "1 0 0 RG" in made


def test_styles_come_from_the_element_then_from_what_uses_it_then_from_the_chart() -> None:
    inside = (
        '<defs><path id="m" d="M 0 0 L 1 0" style="stroke: #00ff00"/></defs>'
        '<use href="#m" x="5" y="6" style="stroke: #ff0000; stroke-width: 3; '
        'stroke-linecap: square"/>'
    )
    made = code(svg(inside))
    assert "0 1 0 RG" in made
    assert "3 w" in made
    assert "1 0 0 1 5 6 cm" in made
    assert "0 J" in made, "the chart says of every element that its lines end bluntly"


def test_a_curve_keeps_its_course() -> None:
    made = " ".join(code(svg('<path d="M 0 0 Q 30 60 60 0 z" style="stroke: #000000"/>')).split())
    assert "0 0 m 20 40 40 40 60 0 c h" in made


def test_dashes_and_paleness_are_kept() -> None:
    dashed = "stroke: #000000; stroke-dasharray: 3.7,1.6; stroke-dashoffset: 1"
    assert "[3.7 1.6] 1.0 d" in code(svg(f'<path d="M 0 0 L 9 0" style="{dashed}"/>'))
    pale = drawn(svg('<path d="M 0 0 L 9 0 L 9 9 z" style="fill: #ff0000; opacity: 0.25"/>'))
    states = reader(pale).pages[0]["/Resources"]["/ExtGState"].get_object()
    assert {state.get_object().get("/ca") for state in states.values()} == {0.25}


def test_what_is_clipped_on_the_page_is_clipped_on_paper() -> None:
    inside = (
        '<path d="M 0 0 L 500 0" clip-path="url(#box)" style="stroke: #000000"/>'
        '<defs><clipPath id="box"><rect x="1" y="2" width="30" height="40"/></clipPath></defs>'
    )
    assert "1 2 30 40 re W* n" in " ".join(code(svg(inside)).split())


@pytest.mark.parametrize(("anchor", "share"), [("start", 0.0), ("middle", 0.5), ("end", 1.0)])
def test_words_stand_where_they_are_anchored(anchor: str, share: float) -> None:
    text = f'<text x="100" y="50" style="font-size: 10px; text-anchor: {anchor}">1,234</text>'
    made = code(svg(text))
    assert "1 0 0 -1 100 50 cm" in made
    width = 5 * 4.4
    (x,) = re.findall(r"BT 1 0 0 1 (\S+) 0 Tm", made)
    assert float(x) == pytest.approx(-share * width * 1.3, abs=1.0)


def test_words_turn_around_their_place() -> None:
    made = code(
        svg('<text x="9" y="8" style="font-size: 9px" transform="rotate(-90 9 8)">a</text>')
    )
    assert "0 -1 -1 0 9 8 cm" in made, "they are written upwards, their heads to the left"


def test_a_hatched_bar_is_filled_with_its_pattern() -> None:
    figure, axes = blank_axes(3.0, 2.0)
    axes.add_patch(Rectangle((0.1, 0.1), 0.8, 0.8, facecolor="#ffffff", hatch="////"))
    write_text(axes, 0.5, 0.5, "a & b <c>")
    made = code(to_svg(figure, name="some", title="T & t", description="D"))
    bar = made.index(" W n")
    assert made[bar:].count(" l") > 20
    assert len(re.findall(r"1 0 0 1 (?:0|72|144|216) (?:0|72|144) cm", made)) >= 3


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        (
            '<image href="x"/>',
            "chart: a PDF can't show an element of it (got: image). Draw it with lines, shapes and "
            "words.",
        ),
        (
            '<path d="M 0 0 h 5" style="stroke: #000000"/>',
            "chart: a PDF can't draw a step of a path (got: h). Use lines and curves in absolute "
            "places.",
        ),
        (
            '<g transform="skewX(4)"/>',
            "chart: a PDF can't follow a transform (got: skewX). Turn and shift only.",
        ),
    ],
)
def test_what_it_does_not_know_it_refuses(inside: str, said: str) -> None:
    with pytest.raises(ValuationError) as caught:
        drawn(svg(inside))
    assert str(caught.value) == said

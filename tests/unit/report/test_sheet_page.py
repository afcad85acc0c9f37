"""The customer's sheet as page, paper and text: the same numbers wherever one reads them."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree as ET

import pytest
import sheets
from pdf_reading import reader
from reading import grids, headings, in_units, outline, plain, shown, words_in
from syrupy.assertion import SnapshotAssertion

from valuation.money import format_money
from valuation.report.page import Chart, Figures, Grid, Page, Section
from valuation.report.pdf import render_pdf
from valuation.report.render import render_page
from valuation.report.sheet_closest_section import sheet_closest_section
from valuation.report.sheet_page import render_sheet, sheet_page
from valuation.report.sheet_points_chart import points_figure
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import LineCourse

SECTIONS = ("car", "worth", "reasons", "closest", "market", "papers", "about")


@cache
def page(name: str) -> Page:
    return sheet_page(sheets.ALL[name]())


@cache
def html(name: str) -> str:
    return render_page(page(name))


def section(name: str, of: str = "full") -> Section:
    return next(s for s in page(of).sections if s.name == name)


def charts(part: Section) -> list[Chart]:
    return [b for b in part.blocks if isinstance(b, Chart)]


@pytest.mark.parametrize("part", SECTIONS)
@pytest.mark.parametrize("name", sheets.ALL)
def test_sections(part: str, name: str, snapshot: SnapshotAssertion) -> None:
    text = re.sub(r"base64,[^\"]*", "base64,", shown(section(part, name)))
    assert text == snapshot


@pytest.mark.parametrize("name", sheets.ALL)
def test_the_page_is_one_well_formed_document_that_needs_nothing_else(name: str) -> None:
    written = html(name)
    tags = outline(written).tags
    ids = [a["id"] for _, a in tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert "http" not in written
    assert not {tag for tag, _ in tags} & {"script", "link", "iframe", "object"}
    assert headings(written) == [
        "The car",
        "What it is worth",
        "What raised and what lowered the price",
        "The closest offers" if name == "offers" else "The closest sales",
        "The market of this model",
        "Papers and facts",
        "Before you rely on it",
    ]


def test_the_same_sheet_gives_the_same_page() -> None:
    assert render_sheet(sheets.full()) == html("full")


def test_the_picture_stands_in_the_page_with_words_for_who_can_t_see_it() -> None:
    (picture,) = [a for tag, a in outline(html("full")).tags if tag == "img"]
    assert picture["alt"] == "Photograph of the 1967 Torvane GT convertible"
    assert (picture["src"] or "").startswith("data:image/jpeg;base64,/9j/")


def test_text_is_escaped_everywhere() -> None:
    attack = '"><script>alert(1)</script>'
    sheet = sheets.full()
    sale = replace(sheet.sales[0], title=attack, how=attack)
    written = render_sheet(
        replace(
            sheet,
            heading=attack,
            start_label=attack,
            version=attack,
            sales=(sale,),
            lines=(replace(sheet.lines[0], label=attack, value=attack), *sheet.lines[1:]),
            papers=(replace(sheet.papers[0], label=attack, value=attack),),
            questions=(replace(sheet.questions[0], claim=attack, possible=attack),),
        )
    )
    assert "<script" not in written
    assert written.count("&lt;script&gt;") > 10


def amounts_in(text: str) -> set[int]:
    return {in_units(n) for n in re.findall(r"(?<![\w.,])-?\d{1,3}(?:,\d{3})*(?![\w,]|\.\d)", text)}


def expected_amounts(sheet: CustomerSheet) -> set[int]:
    """Return every amount that a reader has to meet, without its sign."""
    out = {sheet.central, sheet.start, *(x.amount for x in sheet.lines)}
    out |= {b for x in sheet.lines for b in (x.lower, x.upper) if b is not None}
    for sale in sheet.sales:
        out |= {sale.price, sale.adjusted, *(s.amount for s in sale.steps)}
    if sheet.asking:
        out |= {sheet.asking.amount, sheet.asking.above}
    for q in sheet.questions:
        out |= {x for x in (q.low, q.high) if x is not None}
    return {abs(x) for x in out}


@pytest.mark.parametrize("name", sheets.ALL)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_amount_stands_on_the_page_and_on_paper(name: str, paper: str) -> None:
    sheet = sheets.ALL[name]()
    wanted = expected_amounts(sheet)
    assert wanted <= {abs(n) for n in amounts_in(plain(html(name)))}
    pdf = reader(render_pdf(page(name), paper=paper))
    on_paper = " ".join(leaf.extract_text() for leaf in pdf.pages)
    assert wanted <= {abs(n) for n in amounts_in(on_paper)}


@pytest.mark.parametrize("name", sheets.ALL)
def test_every_amount_stands_in_the_text_and_in_the_json(name: str) -> None:
    sheet = sheets.ALL[name]()
    found = sheet.to_dict()
    told = {abs(n) for n in amounts_in(sheet.summary())}
    bounds = {abs(b) for x in sheet.lines for b in (x.lower, x.upper) if b is not None}
    assert expected_amounts(sheet) - bounds - {0} <= told
    assert found["start"] + sum(x["amount"] for x in found["lines"]) == found["central"]
    for sale in found["sales"]:
        assert sale["price"] + sum(s["amount"] for s in sale["steps"]) == sale["adjusted"]


def test_the_table_adds_up_from_the_typical_car_to_the_central_estimate() -> None:
    sheet = sheets.full()
    (table,) = grids(section("reasons"))
    start, *lines, end = [in_units(row[1].text.lstrip("+")) for row in table.rows]
    assert start + sum(lines) == end == sheet.central


def test_each_sale_adds_up_in_its_column() -> None:
    sheet = sheets.full()
    columns: list[list[str]] = []
    for table in grids(section("closest")):
        columns += [[row[i].text for row in table.rows] for i in range(2, len(table.columns))]
    assert len(columns) == len(sheet.sales)
    for column, sale in zip(columns, sheet.sales, strict=True):
        steps = [0 if "no difference" in c else in_units(c.lstrip("+")) for c in column[3:-3]]
        assert in_units(column[2]) == sale.price
        assert in_units(column[2]) + sum(steps) == in_units(column[-3]) == sale.adjusted


@pytest.mark.parametrize("which", ["wide", "narrow"])
def test_the_charts_say_the_numbers_of_the_tables(which: str) -> None:
    sheet = sheets.full()
    (points,) = charts(section("worth"))
    said = words_in(getattr(points, which))
    assert sheet.asking is not None
    for amount in (sheet.asking.amount, sheet.central, *(s.adjusted for s in sheet.sales)):
        assert format_money(amount, "") in said
    (steps,) = charts(section("reasons"))
    said = words_in(getattr(steps, which))
    for line in sheet.lines:
        assert format_money(line.amount, "", signed=True) in said
    (course,) = charts(section("market"))
    assert isinstance(sheet.course, LineCourse)
    assert format_money(sheet.course.months[-1].amount, "") in words_in(getattr(course, which))


def test_every_mark_of_the_chart_stands_at_its_day_and_amount() -> None:
    sheet = sheets.full()
    axes = points_figure(sheet).axes[0]
    marks = [line for line in axes.lines if line.get_marker() in ("o", "D")]
    drawn = {
        (int(x), int(y), m.get_marker())
        for m in marks
        for x, y in zip(m.get_xdata(), m.get_ydata(), strict=True)
    }
    assert drawn == {
        (p.on.toordinal(), p.adjusted, "D" if p.ours else "o") for p in sheet.points if p.on
    }
    full = [m for m in marks if m.get_markerfacecolor() != "#ffffff"]
    filled = {int(y) for m in full for y in m.get_ydata()}
    assert filled == {p.adjusted for p in sheet.points if p.number}
    lines = {int(line.get_ydata()[0]): line.get_linestyle() for line in axes.lines[-2:]}
    assert sheet.asking is not None
    assert lines == {sheet.central: "--", sheet.asking.amount: "-"}


def test_nothing_of_a_chart_is_told_by_colour_alone() -> None:
    axes = points_figure(sheets.full()).axes[0]
    kinds = {(m.get_marker(), m.get_markerfacecolor()) for m in axes.lines}
    faces = {face for marker, face in kinds if marker in ("o", "D")}
    assert faces == {"#1d232b", "#ffffff"}  # full and empty, not two hues


def test_without_an_asking_price_nothing_speaks_of_one() -> None:
    assert "asking" not in plain(html("without asking")).lower()
    assert "asking" not in sheets.without_asking().summary().lower()
    blocks = section("worth", "without asking").blocks
    (figures,) = [b for b in blocks if isinstance(b, Figures)]
    assert [name for name, _, _ in figures.pairs] == ["80% range", "Central estimate"]


def test_a_contradiction_is_said_first_and_aloud() -> None:
    first = section("papers").blocks[0]
    assert getattr(first, "weight", "") == "warning"
    assert getattr(first, "text", "").startswith(
        "Engine, original or replaced: claimed to be numbers-matching, but what we found does not"
    )


def test_a_car_sold_by_us_is_said_to_be_rounded() -> None:
    said = re.sub(r"\s+", " ", plain(html("full")))
    assert "Sold by us, price rounded" in said
    assert "4th quarter 2024" in said
    assert "to protect our customers" in said
    others = tuple(s for s in sheets.full().sales if not s.ours)
    without = shown(sheet_closest_section(replace(sheets.full(), sales=others)))
    assert "to protect our customers" not in without


def test_the_table_of_years_counts_every_sale_once() -> None:
    sheet = sheets.full()
    assert isinstance(sheet.course, LineCourse)
    table: Grid = grids(section("market"))[0]
    counted = sum(in_units(row[3].text) for row in table.rows)
    assert counted == sum(q.sales for q in sheet.course.quarters)
    assert table.rows[-1][2].text == ""  # against its own day nothing is unsure


def test_charts_have_a_text_alternative() -> None:
    drawings = re.findall(r"<svg.*?</svg>", html("full"), flags=re.DOTALL)
    assert len(drawings) == 6
    for drawing in drawings:
        description = ET.fromstring(drawing).find("desc")  # noqa: S314
        assert description is not None
        assert len(description.text or "") > 80

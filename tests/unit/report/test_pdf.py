from __future__ import annotations

import io
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path

import bid_sheets
import movements
import pytest
import replays
import run_lists
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pdf_reading import fonts, kinds, page_of, page_words, parts, reader, sheet_texts, words
from PIL import Image

from valuation.errors import ValuationError
from valuation.report.bid_page import bid_page
from valuation.report.index_section import index_page
from valuation.report.page import (
    Block,
    Bullets,
    Cell,
    Chart,
    Figures,
    Grid,
    Page,
    Paragraph,
    Picture,
    Section,
)
from valuation.report.pdf import PAPERS, render_pdf
from valuation.report.replay_page import replay_page
from valuation.report.run_list_page import run_list_page
from valuation.report.valuation_page import valuation_page
from valuation.results.valuation import Valuation

PAGES: dict[str, Callable[[], Page]] = {
    "bid": lambda: bid_page(bid_sheets.ALL["risky"]()),
    "no bid": lambda: bid_page(bid_sheets.ALL["until cured"]()),
    "run list": lambda: run_list_page(run_lists.run_list()),
    "index": lambda: index_page(movements.revised()),
    "replay": lambda: replay_page(replays.replayed()),
}
HOSTILE = (
    "<b>bold</b> & {brace} <font color=red>",
    "\\n \\(paren\\) %s %(a)s (((",
    "= +cmd|' /C calc'!A0",
    "x" * 10_000,
    "12,500 " * 1_500,
    "",
    "-" * 300,
)


@cache
def made(name: str) -> tuple[Page, bytes]:
    page = PAGES[name]()
    return page, render_pdf(page)


@pytest.mark.parametrize("name", PAGES)
def test_every_word_of_a_page_stands_in_its_pdf_in_the_same_order(name: str) -> None:
    page, pdf = made(name)
    assert words(pdf, page) == page_words(page)


def test_every_word_of_a_valuation_stands_in_its_pdf(example: Valuation, bare: Valuation) -> None:
    for page in map(valuation_page, (example, bare)):
        assert words(render_pdf(page), page) == page_words(page)


def test_the_same_page_is_the_same_file() -> None:
    assert render_pdf(PAGES["bid"]()) == made("bid")[1]


def test_a_file_says_nothing_of_when_and_where_it_was_made(
    user_environment: dict[str, str], tmp_path: Path
) -> None:
    script = (
        "import sys; from valuation.report.page import *; from valuation.report.pdf import *;"
        "p = Page('A page', '', (Section('s', 'Some', (Paragraph('12,500 EUR'),)),));"
        "sys.stdout.buffer.write(render_pdf(p))"
    )
    elsewhere = {"TZ": "Asia/Tokyo", "SOURCE_DATE_EPOCH": "1700000000", "HOME": str(tmp_path)}
    run = subprocess.run(
        [sys.executable, "-c", script],
        env=user_environment | elsewhere,
        cwd=tmp_path,
        capture_output=True,
        check=True,
    )
    here = render_pdf(Page("A page", "", (Section("s", "Some", (Paragraph("12,500 EUR"),)),)))
    assert run.stdout == here
    assert not re.search(rb"/Users|/home|site-packages|\.ttf|fonts/", here)


def test_a_file_names_its_title_and_language_and_nobody() -> None:
    read = reader(render_pdf(page_of(Paragraph("x"), language="de", about="what it is worth")))
    assert read.metadata is not None
    assert read.metadata.title == "A page: what it is worth"
    said = {name: read.metadata.get(f"/{name}") for name in ("Author", "Creator", "Subject")}
    assert set(said.values()) == {""}
    assert read.metadata["/CreationDate"] == read.metadata["/ModDate"] == "D:20000101000000+00'00'"
    assert read.root_object["/Lang"] == "de"
    assert str(read.root_object["/ViewerPreferences"].get_object()["/DisplayDocTitle"]) == "True"


def test_every_sheet_has_its_number_and_the_notice() -> None:
    page = page_of(*[Paragraph("word " * 400)] * 9, notice="Internal: not for customers.")
    texts = sheet_texts(render_pdf(page))
    assert len(texts) > 3
    for number, text in enumerate(texts, start=1):
        foot = f"{number} of {len(texts)} Internal: not for customers."
        assert " ".join(text.split()).endswith(foot)
    assert not any("customers" in text for text in sheet_texts(render_pdf(page_of(Paragraph("x")))))


def test_the_outline_leads_to_every_section() -> None:
    page, pdf = made("bid")
    read = reader(pdf)
    assert [entry.title for entry in read.outline] == [s.heading for s in page.sections]
    sheets = [read.get_destination_page_number(entry) for entry in read.outline]
    texts = [sheet.extract_text() for sheet in read.pages]
    assert sheets == sorted(sheets)
    assert all(s.heading in texts[at] for s, at in zip(page.sections, sheets, strict=True))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("landscape", [False, True])
def test_paper_has_the_size_asked_for(paper: str, landscape: bool) -> None:
    page = page_of(Paragraph("x"), landscape=landscape)
    box = reader(render_pdf(page, paper=paper)).pages[0].mediabox
    sizes = {"A4": (210 * 72 / 25.4, 297 * 72 / 25.4), "Letter": (612.0, 792.0)}
    short, long = sizes[paper]
    expected = (long, short) if landscape else (short, long)
    assert (float(box.width), float(box.height)) == pytest.approx(expected, abs=0.001)


def test_paper_of_no_known_size_is_refused() -> None:
    with pytest.raises(ValuationError) as caught:
        render_pdf(page_of(Paragraph("x")), paper="B5")
    assert str(caught.value) == (
        "paper: no such size of paper is known (got: B5). Use one of A4, Letter."
    )


def test_all_typefaces_are_inside(example: Valuation) -> None:
    used = list(fonts(render_pdf(valuation_page(example))))
    assert len(used) >= 3
    for font in used:
        assert "DejaVu" in font["/BaseFont"]
        assert len(font["/FontDescriptor"].get_object()["/FontFile2"].get_object().get_data()) > 500
        assert "/ToUnicode" in font


def test_parts_are_tagged_for_those_who_hear_them(example: Valuation) -> None:
    page = valuation_page(example)
    pdf = render_pdf(page)
    count = Counter(kinds(pdf))
    tables = [b for s in page.sections for b in s.blocks if isinstance(b, Grid)]
    charts = [b for s in page.sections for b in s.blocks if isinstance(b, Chart)]
    assert count["H1"] == 1
    assert count["H2"] == count["Sect"] == len(page.sections)
    assert count["Table"] == len(tables)
    assert count["TR"] == sum(1 + len(grid.rows) for grid in tables)
    assert count["Figure"] == len(charts)
    assert count["LI"] == count["LBody"]
    assert str(reader(pdf).root_object["/MarkInfo"].get_object()["/Marked"]) == "True"


def test_drawings_and_pictures_have_words_and_headings_of_tables_a_direction(
    example: Valuation,
) -> None:
    found = parts(render_pdf(valuation_page(example)))
    alts = [part["/Alt"] for part in found if part["/S"] == "/Figure"]
    assert all(len(alt) > 40 for alt in alts)
    assert any("50,000" in alt for alt in alts)
    scopes = [part["/A"]["/Scope"] for part in found if part["/S"] == "/TH"]
    assert set(scopes) == {"/Column", "/Row"}


def test_every_piece_of_content_belongs_to_a_part_or_decorates() -> None:
    read = reader(made("run list")[1])
    tree = read.root_object["/StructTreeRoot"].get_object()["/ParentTree"].get_object()
    for number, sheet in enumerate(read.pages):
        code = sheet.get_contents().get_data().decode("latin-1")
        marks = [int(mark) for mark in re.findall(r"/MCID (\d+)", code)]
        owners = tree["/Nums"][2 * number + 1].get_object()
        assert marks == list(range(len(owners)))
        depth = 0
        for operator in re.findall(r"\b(?:BMC|BDC|EMC|BT)\b", code):
            depth += {"BMC": 1, "BDC": 1, "EMC": -1, "BT": 0}[operator]
            assert depth == (0 if operator == "EMC" else 1)


@pytest.mark.parametrize("hostile", HOSTILE, ids=range(len(HOSTILE)))
def test_no_text_is_taken_for_markup_and_none_is_lost(hostile: str) -> None:
    cells = (Cell("a"), Cell(hostile, number=True), Cell(hostile, "note", "mark"))
    page = page_of(
        *(Paragraph(hostile, weight) for weight in ("plain", "warning", "stop", "notice")),
        Bullets((hostile,)),
        Figures(((hostile, hostile, hostile),), "answer"),
        Grid("a table", cells, (cells, cells), (1,)),
        notice="Internal",
    )
    text = "".join("".join(sheet_texts(render_pdf(page))).split())
    expected = hostile.replace(" ", "")
    if len(hostile) < 1_000:
        assert text.count(expected) >= 13 * bool(hostile)
    sign = max(Counter(expected).items(), key=lambda item: item[1])[0] if expected else "@"
    assert text.count(sign) >= 13 * expected.count(sign)


def test_signs_that_no_typeface_has_are_replaced_where_they_stand() -> None:
    page = page_of(Paragraph("a\u202eb 漢字 c\x00d \U0001f600 e\ud800f soft\u00adhyphen"))
    (text,) = sheet_texts(render_pdf(page))
    assert "a\ufffdb \ufffd\ufffd c\ufffdd \ufffd e\ufffdf softhyphen" in text


def test_a_picture_is_carried_as_it_is() -> None:
    buffer = io.BytesIO()
    Image.new("RGB", (1200, 800), "#446688").save(buffer, "JPEG")
    picture = Picture(buffer.getvalue(), 1200, 800, "The car from the left")
    pdf = render_pdf(page_of(picture, Paragraph("below")))
    (image,) = reader(pdf).pages[0].images
    assert (image.image.size, image.data) == ((1200, 800), buffer.getvalue())
    assert [p["/Alt"] for p in parts(pdf) if p["/S"] == "/Figure"] == ["The car from the left"]


def test_an_empty_page_is_one_sheet() -> None:
    assert len(sheet_texts(render_pdf(Page("", "", ())))) == 1
    nothing = (Bullets(()), Figures(()), Grid("", (Cell(""),), ()), Paragraph(""))
    assert len(sheet_texts(render_pdf(page_of(*nothing)))) == 1


TEXTS = st.text(st.sampled_from("ab1, é€<&{\\(\u202e漢\n"), max_size=60)
CELLS = st.builds(Cell, TEXTS, TEXTS, st.sampled_from(["", "large"]), st.booleans())


@st.composite
def a_grid(draw: st.DrawFn) -> Grid:
    width = draw(st.integers(1, 9))
    row = st.tuples(*[CELLS] * width)
    rows = tuple(draw(st.lists(row, max_size=12)))
    totals = tuple(draw(st.sets(st.integers(0, 11), max_size=3)))
    style = draw(st.sampled_from(["plain", "small", "closest", "checks bids", "lots", "strata"]))
    return Grid(draw(TEXTS), draw(row), rows, totals, style)


BLOCKS: st.SearchStrategy[Block] = st.one_of(
    st.builds(
        Paragraph,
        TEXTS,
        st.sampled_from(["plain", "lead", "quiet", "warning", "stop", "notice", "ruled"]),
    ),
    st.builds(Bullets, st.lists(TEXTS, max_size=5).map(tuple)),
    st.builds(
        Figures,
        st.lists(st.tuples(TEXTS, TEXTS, TEXTS), max_size=4).map(tuple),
        st.sampled_from(["", "answer"]),
    ),
    a_grid(),
)


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(blocks=st.lists(BLOCKS, max_size=8), landscape=st.booleans(), paper=st.sampled_from(PAPERS))
def test_any_page_becomes_a_file_that_has_all_its_signs(
    blocks: list[Block], landscape: bool, paper: str
) -> None:
    page = page_of(*blocks, landscape=landscape, notice="for the firm")
    sheets = sheet_texts(render_pdf(page, paper=paper))
    # Lines to write on have no words.
    silent = [b.text for b in blocks if isinstance(b, Paragraph) and b.weight == "ruled"]
    drawn = "".join(sheets).count("é")
    said = " ".join(page_words(page)).count("é") - "".join(silent).count("é")
    # Headings of a table that goes on stand on each of its sheets.
    assert drawn >= said if len(sheets) > 1 else drawn == said

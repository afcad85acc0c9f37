from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pdf_reading import page_of, sheet_texts

from valuation.report.page import Bullets, Cell, Figures, Grid, Page, Paragraph, Section
from valuation.report.pdf import render_pdf
from valuation.report.pdf_bricks import Band, Brick, Column, Plate
from valuation.report.pdf_pen import Pen
from valuation.report.pdf_sheets import on_sheets
from valuation.report.pdf_tags import Element
from valuation.report.pdf_text import Span, Style, break_lines

ROOM = 100.0
STYLE = Style(8.0, leading=1.25)


def nothing(pen: Pen, left: float, top: float) -> None:
    """Stand for a drawing that no test looks at."""


def plate(size: float, **options: object) -> Plate:
    return Plate(size=size, paint=nothing, **options)


def text(lines: int, **options: object) -> Band:
    """Return running text of so many lines, each 10 points high."""
    made = break_lines((Span("word " * lines, STYLE),), 30.0)
    assert len(made) == lines
    assert made[0].height == 10.0
    return Band(columns=(Column(0.0, 30.0, made),), width=30.0, flows=True, **options)


def tops(bricks: list[Brick]) -> list[list[float]]:
    return [[placed.top for placed in sheet] for sheet in on_sheets(bricks, ROOM)]


def heights(bricks: list[Brick]) -> list[list[float]]:
    return [[placed.brick.height for placed in sheet] for sheet in on_sheets(bricks, ROOM)]


def test_bricks_stand_below_one_another_with_the_blank_above_them() -> None:
    assert tops([plate(20, before=5), plate(30, before=5), plate(10)]) == [[0, 25, 55]]
    assert tops([]) == [[]]


def test_what_does_not_fit_begins_another_sheet_without_the_blank_above_it() -> None:
    assert tops([plate(60), plate(60, before=5), plate(30, before=5)]) == [[0], [0, 65]]


def test_a_heading_stays_with_what_follows() -> None:
    assert tops([plate(70), plate(10, sticks=True), plate(30)]) == [[0], [0, 10]]
    assert tops([plate(50), plate(10, sticks=True), plate(30)]) == [[0, 50, 60]]


def test_a_heading_stays_with_the_first_lines_of_a_text() -> None:
    assert heights([plate(60), plate(10, sticks=True), text(8)]) == [[60, 10, 30], [50]]
    assert heights([plate(75), plate(10, sticks=True), text(8)]) == [[75], [10, 80]]


def test_no_line_of_a_text_stands_alone() -> None:
    assert heights([plate(85), text(5)]) == [[85], [50]]
    assert heights([plate(75), text(5)]) == [[75, 20], [30]]
    assert heights([plate(55), text(5)]) == [[55, 30], [20]]
    assert heights([plate(75), text(3)]) == [[75], [30]]


def test_a_text_longer_than_a_sheet_goes_on() -> None:
    assert heights([text(25)]) == [[100], [100], [50]]


def test_a_group_begins_another_sheet_only_if_little_stays_blank() -> None:
    group = Element("Table")
    rows = [plate(20, group=group) for _ in range(4)]
    assert tops([plate(70), *rows]) == [[0], [0, 20, 40, 60]]
    assert tops([plate(50), *rows]) == [[0, 50, 70], [0, 20]]
    eager = [plate(20, group=group, blank=0.6) for _ in range(4)]
    assert tops([plate(50), *eager]) == [[0], [0, 20, 40, 60]]
    assert tops([plate(35), *eager]) == [[0, 35, 55, 75], [0]]
    long = [plate(20, group=group) for _ in range(6)]
    assert tops([plate(70), *long]) == [[0, 70], [0, 20, 40, 60, 80]]


def test_a_heading_goes_with_the_group_that_begins_another_sheet() -> None:
    group = Element("Table")
    rows = [plate(20, group=group, sticks=at == 0) for at in range(4)]
    assert tops([plate(70), plate(8, sticks=True), *rows]) == [[0], [0, 8, 28, 48, 68]]


def test_a_group_that_was_begun_goes_on_to_the_end_of_the_sheet() -> None:
    group = Element("Table")
    rows = [plate(15, group=group) for _ in range(10)]
    assert [len(sheet) for sheet in tops(rows)] == [6, 4]


def test_headings_of_a_table_return_on_each_of_its_sheets() -> None:
    head = plate(10)
    rows = [plate(30, again=(head,)) for _ in range(7)]
    assert heights([plate(10), *rows]) == [[10, 30, 30, 30], [10, 30, 30, 30], [10, 30]]


def test_a_heading_that_takes_too_much_of_a_sheet_does_not_return() -> None:
    rows = [plate(45, again=(plate(50),)) for _ in range(3)]
    assert heights(rows) == [[45, 45], [45]]


def test_what_is_higher_than_a_sheet_is_cut_where_it_can_be() -> None:
    row = Band(columns=text(25).columns, width=30.0, again=(plate(10),))
    assert heights([plate(50), row]) == [[50, 50], [10, 90], [10, 90], [10, 20]]
    assert heights([plate(50), plate(130), plate(10)]) == [[50], [130], [10]]


def test_a_row_is_cut_in_all_its_columns() -> None:
    long, short = text(15).columns[0], text(3).columns[0]
    first, second = on_sheets([Band(columns=(short, long), width=60.0)], ROOM)
    counts = [
        [len(column.lines) for column in placed.brick.columns] for placed in (*first, *second)
    ]
    assert counts == [[3, 10], [0, 5]]


BRICKS = st.lists(
    st.one_of(
        st.builds(
            plate,
            st.floats(1.0, 130.0),
            before=st.floats(0.0, 20.0),
            sticks=st.booleans(),
            group=st.sampled_from([None, Element("Table"), Element("Table")]),
            again=st.sampled_from([(), (plate(8.0),), (plate(60.0),)]),
        ),
        st.builds(text, st.integers(1, 30), before=st.floats(0.0, 20.0), sticks=st.booleans()),
    ),
    max_size=25,
)


@given(bricks=BRICKS)
def test_everything_is_placed_once_in_order_and_nothing_overlaps(bricks: list[Brick]) -> None:
    sheets = on_sheets(bricks, ROOM)
    heads = {id(head) for brick in bricks for head in brick.again}
    placed = [p for sheet in sheets for p in sheet if id(p.brick) not in heads]
    whole = [p.brick for p in placed if isinstance(p.brick, Plate)]
    assert whole == [brick for brick in bricks if isinstance(brick, Plate)]
    lines = [line for p in placed if isinstance(p.brick, Band) for line in p.brick.columns[0].lines]
    assert lines == [li for b in bricks if isinstance(b, Band) for li in b.columns[0].lines]
    for sheet in sheets:
        end = 0.0
        for one in sheet:
            assert one.top >= end - 1e-9
            end = one.top + one.brick.height
            fits = end <= ROOM + 1e-9
            assert fits or (isinstance(one.brick, Plate) and one.brick.height > ROOM * 2 / 3 - 20)


def number(text: str, note: str = "", mark: str = "") -> Cell:
    return Cell(text, note, mark, number=True)


def long_table(rows: int) -> Grid:
    columns = (Cell("Sale"), number("Price, EUR"), Cell("What of it"))
    made = tuple(
        (Cell(f"S-{n:03}"), number(f"{n:,}"), Cell("one line", f"note of {n}")) for n in range(rows)
    )
    total = (Cell("Sum"), number("9,999"), Cell(""))
    return Grid("All sales", columns, (*made, total), (rows,))


@pytest.mark.parametrize("landscape", [False, True])
def test_a_long_table_has_its_headings_on_every_sheet_and_no_row_is_broken(
    landscape: bool,
) -> None:
    page = page_of(Paragraph("above"), long_table(150), Paragraph("below"), landscape=landscape)
    sheets = sheet_texts(render_pdf(page))
    assert len(sheets) > 3
    assert all(sheet.count("Price, EUR") == 1 for sheet in sheets)
    assert "".join(sheets).count("All sales") == 1
    for n in range(150):
        (sheet,) = (s for s in sheets if f"S-{n:03}" in s)
        assert re.search(rf"note of {n}\b", sheet)


@pytest.mark.parametrize("rows", range(30, 46))
def test_a_total_never_stands_alone_on_a_sheet(rows: int) -> None:
    *_, last = sheet_texts(render_pdf(page_of(long_table(rows))))
    assert "Sum" in last
    assert f"S-{rows - 1:03}" in last


def test_captions_and_headings_stay_with_their_table() -> None:
    for lines in range(36, 56):
        filler = Paragraph(" ".join(["word"] * 14 * lines))
        sections = (
            Section("a", "First", (filler,)),
            Section("b", "Second", (Paragraph("Lead to it", "lead"), long_table(4))),
        )
        sheets = sheet_texts(render_pdf(Page("T", "", sections)))
        (sheet,) = (s for s in sheets if "Second" in s)
        for said in ("Lead to it", "All sales", "Price, EUR", "S-000", "S-001"):
            assert said in sheet


def test_a_cell_longer_than_a_sheet_goes_on_below_the_headings() -> None:
    words = [f"w{n}" for n in range(4_000)]
    row = (Cell("S-1"), number("12"), Cell(" ".join(words)))
    grid = Grid("All sales", long_table(0).columns, (row,))
    sheets = sheet_texts(render_pdf(page_of(grid)))
    assert len(sheets) > 2
    assert all("Price, EUR" in " ".join(sheet.split()) for sheet in sheets)
    found = [word for sheet in sheets for word in re.findall(r"\bw\d+", sheet)]
    assert found == words


def test_figures_and_lists_are_not_broken_over_sheets() -> None:
    figures = Figures((("Most to pay", "38,000", "all in"), ("Risk", "12%", "of loss")))
    for lines in range(40, 54):
        filler = Paragraph(" ".join(["word"] * 14 * lines))
        items = Bullets(("one " * 60,))
        sheets = sheet_texts(render_pdf(page_of(filler, figures, items)))
        (sheet,) = (s for s in sheets if "38,000" in s)
        assert all(said in sheet for said in ("Most to pay", "all in", "of loss"))
        assert [s.count("one") for s in sheets if "one " in s] == [60]

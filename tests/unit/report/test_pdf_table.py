from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.report.page import Cell, Grid
from valuation.report.pdf_bricks import Band
from valuation.report.pdf_look import TableLook, table_look
from valuation.report.pdf_table import table_bricks
from valuation.report.pdf_tags import Element
from valuation.report.pdf_text import Style
from valuation.report.pdf_widths import column_widths

CAPTION = Style(8.0, "sans bold")
WIDTH = 510.0


def bands(grid: Grid, width: float = WIDTH) -> list[Band]:
    made = list(table_bricks(grid, width, CAPTION, Element("Sect"), before=10.0))
    assert all(isinstance(brick, Band) for brick in made)
    return [brick for brick in made if isinstance(brick, Band)]


def number(text: str, note: str = "", mark: str = "") -> Cell:
    return Cell(text, note, mark, number=True)


def lines(band: Band, column: int) -> list[str]:
    return [" ".join(run.text for run in line.runs) for line in band.columns[column].lines]


def faces(band: Band) -> set[str]:
    return {r.style.face for c in band.columns for line in c.lines for r in line.runs}


def adjustment_grid(sales: int) -> Grid:
    heads = [Cell(f"Sale {n}", "1967 Torvane GT convertible, restored") for n in range(sales)]
    steps = ("Market", "Engine originality", "Condition grade")
    rows = tuple(
        (Cell(step), Cell("81 points"), *[Cell("-7,320", "numbers-matching", "large")] * sales)
        for step in steps
    )
    total = (Cell("Adjusted price"), Cell("50,000"), *[Cell("48,405")] * sales)
    return Grid("Grid", (Cell(""), Cell("This car"), *heads), (*rows, total), (3,), "closest")


@pytest.mark.parametrize("sales", [1, 3, 6])
@pytest.mark.parametrize("width", [510.0, 480.0])
def test_an_adjustment_grid_fits_the_paper_and_cuts_no_word(sales: int, width: float) -> None:
    _caption, head, *rows = bands(adjustment_grid(sales), width)
    for band in (head, *rows):
        assert band.width <= width + 0.01
        for column in band.columns:
            assert all(line.width <= column.width + 0.01 for line in column.lines)
    assert "".join(lines(rows[0], 2)).replace(" ", "") == "-7,320largenumbers-matching"
    whole = {"-7,320 large", "-7,320", "large", "numbers-matching", "numbers-", "matching"}
    assert set(lines(rows[0], 2)) <= whole
    one, *others = {round(column.width, 6) for column in rows[0].columns[1:]}
    assert not others, "sales stand side by side in columns of one width"
    assert one > 0


def test_a_total_is_bold_with_a_rule_above_it_and_marks_are_underlined() -> None:
    _caption, head, *rows, total = bands(adjustment_grid(2))
    assert faces(total) == {"sans bold"}
    assert total.top is not None
    assert total.top.weight > 1
    assert all(row.top is None and "sans" in faces(row) for row in rows)
    marks = [
        run
        for column in rows[0].columns
        for line in column.lines
        for run in line.runs
        if run.style.underlined
    ]
    assert [run.text for run in marks] == ["large"] * 2
    assert faces(head) == {"sans bold", "sans"}
    assert head.ground


def test_numbers_stand_flush_right_and_on_one_line_where_they_can() -> None:
    cells = (Cell("a long heading of a row " * 6), number("31,500 to 38,000", "a note " * 20))
    _caption, _head, row = bands(Grid("g", (Cell("What"), number("Range")), (cells,)))
    assert [column.is_flush_right for column in row.columns] == [False, True]
    assert lines(row, 1)[0] == "31,500 to 38,000"


def test_a_note_stands_below_or_beside_as_the_table_is_set() -> None:
    cells = (Cell("Body", "convertible"), number("+9,450"))
    below, beside = (
        bands(Grid("g", (Cell("What"), number("EUR")), (cells,), style=style))[2]
        for style in ("plain", "reasons")
    )
    assert lines(below, 0) == ["Body", "convertible"]
    assert lines(beside, 0) == ["Body convertible"]


def test_a_table_too_wide_is_set_smaller_before_words_are_cut() -> None:
    wide = tuple(Cell("Abcdefghijklm" + "n" * n) for n in range(7))
    small = bands(Grid("g", wide, (wide,)))[2]
    sizes = {r.style.size for c in small.columns for line in c.lines for r in line.runs}
    assert max(sizes) < TableLook().size
    assert all(len(column.lines) == 1 for column in small.columns)


def test_of_several_ways_to_share_widths_the_lowest_table_is_taken() -> None:
    sentence = " ".join(["what is asked of this figure"] * 6)
    rows = tuple((Cell("Median", sentence), number("0.934", "0.913 to 0.953")) for _ in range(4))
    _caption, _head, *made = bands(Grid("g", (Cell("Measure"), number("All")), rows))
    assert [len(column.lines) for column in made[0].columns] == [3, 2]


def test_rows_that_stick_are_the_first_and_those_before_a_total_and_the_last() -> None:
    row = (Cell("a"), number("1"))
    made = bands(Grid("g", (Cell("What"), number("EUR")), (row,) * 6, (3,)))
    assert [band.sticks for band in made] == [True, True, True, False, True, False, True, False]
    assert [len(band.again) for band in made] == [0, 0, 1, 1, 1, 1, 1, 1]
    assert len({id(band.group) for band in made}) == 1


def test_headings_are_read_once_though_they_return() -> None:
    parent = Element("Sect")
    grid = Grid("g", (Cell("What"), Cell("")), ((Cell("a"), Cell("b")),))
    *_, row = table_bricks(grid, WIDTH, CAPTION, parent, before=0.0)
    (again,) = row.again
    assert isinstance(again, Band)
    assert all(column.element is None for column in again.columns)
    (table,) = parent.children
    assert [child.kind for child in table.children] == ["Caption", "TR", "TR"]
    assert [[c.kind for c in tr.children] for tr in table.children[1:]] == [["TH", "TD"]] * 2


def test_a_style_of_several_names_takes_something_from_each_and_unknown_names_change_nothing() -> (
    None
):
    both = table_look("reasons checks unheard-of")
    assert (both.notes_beside, both.marks_below) == (True, True)
    assert table_look("plain") == TableLook()


def test_widths_worked_by_hand() -> None:
    assert column_widths([10, 10], [30, 60], 180) == pytest.approx((60, 120))
    assert column_widths([10, 10], [30, 60], 180, fills=False) == pytest.approx((36, 72))
    assert column_widths([20, 20], [20, 60], 70) == pytest.approx((20, 50))
    assert column_widths([10, 10, 10], [30, 90, 400], 200) == pytest.approx((30, 85, 85))
    assert column_widths([10, 120, 10], [30, 130, 400], 200) == pytest.approx((30, 120, 50))
    assert column_widths([20, 20], [30, 80], 70, evenly=0) == pytest.approx((170 / 7, 320 / 7))
    assert column_widths([20, 20], [30, 80], 70, evenly=0.5) == pytest.approx((190 / 7, 300 / 7))
    assert column_widths([60, 120], [60, 300], 90) == pytest.approx((30, 60))
    assert column_widths([10, 10, 20], [10, 20, 40], 100, equal=True) == pytest.approx(
        (100 / 7, 300 / 7, 300 / 7)
    )
    assert column_widths([10, 10], [20, 20], 100, equal=True) == (50, 50)


NEEDS = st.lists(st.tuples(st.floats(1, 200), st.floats(0, 900)), min_size=1, max_size=12)


@given(
    needs=NEEDS,
    width=st.floats(100, 800),
    fills=st.booleans(),
    equal=st.booleans(),
    evenly=st.floats(0, 1),
)
def test_columns_never_leave_the_paper_and_keep_their_words_whole(
    needs: list[tuple[float, float]], width: float, fills: bool, equal: bool, evenly: float
) -> None:
    least = [low for low, _ in needs]
    whole = [low + more for low, more in needs]
    widths = column_widths(least, whole, width, fills=fills, equal=equal, evenly=evenly)
    assert sum(widths) <= width + 1e-6
    if sum(least) <= width:
        assert all(w >= low - 1e-6 for w, low in zip(widths, least, strict=True))
    if fills:
        assert sum(widths) == pytest.approx(width)

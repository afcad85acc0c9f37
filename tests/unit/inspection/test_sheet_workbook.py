"""The workbook as somebody prints it, opens it and fills it in."""

from __future__ import annotations

import io
import re
from pathlib import Path

import openpyxl
import pytest
from openpyxl.cell.cell import Cell
from openpyxl.utils import range_boundaries
from openpyxl.worksheet.worksheet import Worksheet

from valuation.errors import SheetError
from valuation.inspection.cautions import SAFETY
from valuation.inspection.form import Form, Place
from valuation.inspection.form_parts import inspection_form
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.sheet_files import load_sheet
from valuation.inspection.sheet_workbook import sheet_bytes

TABS = ["Car", "Preview", "Zones", "Defects and work", "Components", "Changes and papers"]
A4 = 9
A4_PORTRAIT, A4_LANDSCAPE = (190, 272), (277, 185)
"""Width and height between the margins, in millimetres."""


@pytest.fixture(scope="module")
def form(settings: InspectionSettings) -> Form:
    return inspection_form(settings)


@pytest.fixture(scope="module")
def blank(form: Form) -> bytes:
    return sheet_bytes(form)


@pytest.fixture
def book(blank: bytes) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(blank))


def pages(book: openpyxl.Workbook) -> list[Worksheet]:
    return [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]


def where_of(path: Path, settings: InspectionSettings) -> dict[Place, str]:
    return dict(load_sheet(path, settings).where)


def saved(book: openpyxl.Workbook, folder: Path) -> Path:
    path = folder / "sheet.xlsx"
    book.save(path)
    return path


def test_the_same_form_gives_the_same_bytes(form: Form, blank: bytes) -> None:
    assert sheet_bytes(form) == blank


def test_tabs_stand_in_walking_order_and_words_are_hidden(book: openpyxl.Workbook) -> None:
    assert [sheet.title for sheet in pages(book)] == TABS
    assert book["Words"].sheet_state == "hidden"


def test_labels_are_locked_without_a_password_and_boxes_are_not(
    book: openpyxl.Workbook, blank: bytes, tmp_path: Path, settings: InspectionSettings
) -> None:
    path = tmp_path / "blank.xlsx"
    path.write_bytes(blank)
    boxes = {text.rpartition(" (")[0] for text in where_of(path, settings).values()}
    assert len(boxes) == len(inspection_form(settings).places())
    for sheet in pages(book):
        assert sheet.protection.sheet
        assert sheet.protection.password is None
        free = {
            f"{sheet.title} {cell.coordinate}"
            for row in sheet.iter_rows()
            for cell in row
            if isinstance(cell, Cell) and not cell.protection.locked
        }
        assert free == {box for box in boxes if box.rpartition(" ")[0] == sheet.title}


def test_every_printed_page_bears_the_cautions_and_the_lot(book: openpyxl.Workbook) -> None:
    for sheet in pages(book):
        first, last = sheet.print_title_rows.replace("$", "").split(":")
        assert int(first) == 1
        assert int(last) >= 3
        text = str(sheet["B2"].value)
        assert all(caution in text for caution in SAFETY)
        lot = sheet.cell(row=1, column=sheet.max_column).value
        if sheet.title not in ("Car", "Preview"):
            assert lot == '=IF(Car!C4="","Lot","Lot "&Car!C4)'


def printed_millimetres(sheet: Worksheet) -> tuple[float, list[float]]:
    """Return the width of the printed area and the height of each page, head and all."""
    left, _, right, last = range_boundaries(sheet.print_area.rpartition("!")[2].replace("$", ""))
    letters = [openpyxl.utils.get_column_letter(j) for j in range(left, right + 1)]
    pixels = sum(7 * sheet.column_dimensions[letter].width + 5 for letter in letters)
    heights = [(sheet.row_dimensions[i].height or 15) * 25.4 / 72 for i in range(1, last + 1)]
    head = int(sheet.print_title_rows.rpartition("$")[2])
    ends = [*sorted(b.id for b in sheet.row_breaks.brk), last]
    starts = [head, *ends[:-1]]
    top = sum(heights[:head])
    return pixels / 96 * 25.4, [top + sum(heights[i:j]) for i, j in zip(starts, ends, strict=True)]


@pytest.mark.parametrize("tab", TABS)
def test_a_printed_page_is_full_but_not_fuller_than_a4(book: openpyxl.Workbook, tab: str) -> None:
    sheet = book[tab]
    across = sheet.page_setup.orientation == "landscape"
    wide, high = A4_LANDSCAPE if across else A4_PORTRAIT
    width, heights = printed_millimetres(sheet)
    scale = min(1.0, wide / width)
    assert sheet.page_setup.paperSize == A4
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert scale > 0.95
    assert max(heights) * scale < 0.99 * high
    assert len(heights) == {"Zones": 2, "Defects and work": 2, "Components": 3}.get(tab, 1)


@pytest.mark.parametrize("tab", TABS)
def test_boxes_are_large_enough_for_a_pen(book: openpyxl.Workbook, tab: str) -> None:
    sheet = book[tab]
    for row in sheet.iter_rows():
        for cell in (c for c in row if isinstance(c, Cell) and not c.protection.locked):
            assert (sheet.row_dimensions[cell.row].height or 0) * 25.4 / 72 >= 8.5
            assert sheet.column_dimensions[cell.column_letter].width * 1.85 >= 19


def test_what_can_be_chosen_has_a_drop_down_of_the_words(
    book: openpyxl.Workbook, form: Form, blank: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "blank.xlsx"
    path.write_bytes(blank)
    rules = {
        f"{sheet.title} {cell}": rule.formula1
        for sheet in pages(book)
        for rule in sheet.data_validations.dataValidation
        for area in rule.sqref.ranges
        for cell in [area.coord]
    }
    for place, text in where_of(path, form.settings).items():
        box, cell = form.box(place), text.rpartition(" (")[0].split(" (")[0]
        assert box is not None
        assert (cell in rules) == bool(box.words), text
        if box.words:
            area = rules[cell].replace("$", "").removeprefix("Words!")
            listed = tuple(c.value for (c,) in book["Words"][area])
            assert listed == box.words


def test_numbers_with_leading_noughts_stay_as_they_are_typed(
    book: openpyxl.Workbook, settings: InspectionSettings, tmp_path: Path
) -> None:
    assert book["Car"]["E12"].number_format == "@"
    book["Car"]["E12"] = "000123"
    sheet = load_sheet(saved(book, tmp_path), settings)
    assert sheet.text("car", "", "chassis") == "000123"


def test_the_head_of_the_preview_shows_what_the_first_tab_holds(book: openpyxl.Workbook) -> None:
    shown = [c.value for row in book["Preview"]["B4:E7"] for c in row]
    assert '=IF(Car!C4="","",Car!C4)' in shown
    assert "Chassis number" in " ".join(map(str, shown))


def test_a_row_that_was_put_in_between_does_no_harm(
    book: openpyxl.Workbook, settings: InspectionSettings, tmp_path: Path
) -> None:
    book["Zones"]["C6"] = 7.5
    book["Zones"].insert_rows(3)
    sheet = load_sheet(saved(book, tmp_path), settings)
    assert sheet.value("zones", "paint", "mark") == 7.5
    assert sheet.where[Place("zones", "paint", "mark")] == "Zones C7 (Paint, mark)"


def test_a_box_that_the_settings_no_longer_know_is_told_if_it_is_filled(
    blank: bytes, settings: InspectionSettings, tmp_path: Path
) -> None:
    path = tmp_path / "blank.xlsx"
    path.write_bytes(blank)
    assert load_sheet(path, settings).faults == ()
    book = openpyxl.load_workbook(path)
    book["Zones"]["A6"] = "C=zones/fins/mark"
    book["Zones"]["C6"] = 7
    (fault,) = load_sheet(saved(book, tmp_path), settings).faults
    assert fault.key == "Zones C6 (zones.fins.mark)"
    assert fault.got == "7"
    assert fault.allowed == "left empty: the settings know no such row"


def test_a_sheet_made_before_there_was_a_box_is_read_without_it(
    book: openpyxl.Workbook, settings: InspectionSettings, tmp_path: Path
) -> None:
    tab = book["Defects and work"]
    for row in range(1, tab.max_row + 1):
        key = tab.cell(row=row, column=1)
        key.value = key.value and re.sub(r" \| [A-Z]=defects/\d+/mark_after", "", str(key.value))
    tab["C6"], tab["G6"], tab["H6"] = "rust", 400, 8
    sheet = load_sheet(saved(book, tmp_path), settings)
    assert sheet.faults == ()
    assert sheet.boxes("defects", "1") == {"what": "rust", "high": 400}


def test_a_copied_row_is_told_and_not_taken_for_the_first(
    book: openpyxl.Workbook, settings: InspectionSettings, tmp_path: Path
) -> None:
    tab = book["Defects and work"]
    tab["C6"] = "rust"
    tab["A60"], tab["C60"] = tab["A6"].value, "more rust"
    sheet = load_sheet(saved(book, tmp_path), settings)
    assert sheet.text("defects", "1", "what") == "rust"
    (fault,) = sheet.faults
    assert fault.key == "Defects and work C60 (Defects, line 1, what is wrong)"
    assert fault.allowed == (
        "left empty: the row was copied, and the sheet has no second box of this kind"
    )


def test_what_is_given_is_filled_in(
    form: Form, settings: InspectionSettings, tmp_path: Path
) -> None:
    path = tmp_path / "filled.xlsx"
    path.write_bytes(
        sheet_bytes(form, {Place("car", "", "year"): 1968, Place("defects", "16", "what"): "rust"})
    )
    sheet = load_sheet(path, settings)
    assert sheet.value("car", "", "year") == 1968
    assert sheet.lines("defects") == ("16",)


def test_what_has_no_box_is_not_dropped_in_silence(form: Form) -> None:
    with pytest.raises(ValueError, match=r"no box is printed for it \(got: defects/17/what\)"):
        sheet_bytes(form, {Place("defects", "17", "what"): "rust"})


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.xlsx", b"no workbook", "a.xlsx: it is no workbook that can be opened (got: BadZipFile)."
         " Open it in a spreadsheet and save it as .xlsx."),
        ("a.xls", b"", "a.xls: a filled sheet is .xlsx or .toml (got: .xls). Save it as .xlsx, or"
         " write it as .toml."),
        ("a", b"", "a: a filled sheet is .xlsx or .toml (got: no ending). Save it as .xlsx, or"
         " write it as .toml."),
    ],
)  # fmt: skip
def test_a_file_that_is_no_sheet(
    name: str, content: bytes, said: str, settings: InspectionSettings, tmp_path: Path
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(SheetError) as error:
        load_sheet(path, settings)
    assert str(error.value) == said


def test_a_workbook_of_something_else(settings: InspectionSettings, tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.worksheets[0]["A1"] = "price"
    with pytest.raises(SheetError) as error:
        load_sheet(saved(book, tmp_path), settings)
    assert str(error.value) == (
        "sheet.xlsx: it is no inspection sheet (got: a workbook without its boxes). "
        "Make one with: valuation inspect --blank OUT.xlsx."
    )


def test_a_file_that_is_not_there(settings: InspectionSettings, tmp_path: Path) -> None:
    with pytest.raises(SheetError, match=r"none\.xlsx: it can't be read \(got: No such file"):
        load_sheet(tmp_path / "none.xlsx", settings)

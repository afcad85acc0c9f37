"""The run list as a workbook and as CSV: numbers are numbers, and no text runs as a formula."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import run_lists
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.worksheet import Worksheet

from valuation.importing.lots import read_lots
from valuation.report.run_list_workbook import run_list_csv, run_list_workbook
from valuation.results.run_list import RunList, UnpricedLot
from valuation.spreadsheets import cell_text, guarded, starts_formula, unguarded

TABS = ["Lots", "Running order", "Not priced", "About"]
ATTACKS = (
    "=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1+1", "\r=1+1", "\n=1+1", "  =1+1", '"=1+1', "'=1+1",
    "＝1+1", "＋1", "－1", "＠A1", "=HYPERLINK(\"x\";\"y\")", "=cmd|' /C x'!A0", "x;=1+1", "#N/A",
    "#REF!", "TRUE", "2025-01-01", "1e5", "00012", "{=1+1}", "\x00=1", "_x003D_1+1",
)  # fmt: skip


def opened(run_list: RunList) -> dict[str, Worksheet]:
    book = openpyxl.load_workbook(io.BytesIO(run_list_workbook(run_list)))
    assert book.sheetnames == TABS
    return {name: book[name] for name in TABS}


def rows_of(sheet: Worksheet) -> list[dict[str, Any]]:
    first, *others = ([cell.value for cell in row] for row in sheet.iter_rows())
    return [dict(zip(first, row, strict=True)) for row in others]


def fields_of(run_list: RunList) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(run_list_csv(run_list), newline="")))


def with_text(text: str) -> RunList:
    """Return a list in which everything that a stranger or a buyer writes is one text."""
    line = replace(
        run_lists.FIRST, number=text, day=text, car=text, answer=text, evidence=text,
        first_check=text, warnings=(text,), reasons=(text,), plan=text, changed=(text,),
        notes=text, currency=text,
    )  # fmt: skip
    return run_lists.run_list(
        source=text, resale_currency=text, sorted_by=text, lines=(line,),
        unpriced=(UnpricedLot(text, text, 3, text, text),), notes=(text,), changes=(text,),
        cautions=(text,), settings=(text,),
    )  # fmt: skip


def test_the_tab_of_lots_has_them_in_the_order_asked_for() -> None:
    listed = run_lists.run_list()
    rows = rows_of(opened(listed)["Lots"])
    assert [row["lot"] for row in rows] == [line.number for line in listed.lines]
    assert rows[0] == {
        "lot": "12",
        "day": datetime(2025, 9, 13),  # noqa: DTZ001
        "order": 1,
        "car": "1967 Torvane GT convertible",
        "estimate low, USD": 34_000,
        "estimate high, USD": 40_000,
        "reserve, USD": 36_000,
        "resale low, EUR": 40_000,
        "resale median, EUR": 50_000,
        "resale high, EUR": 60_000,
        "answer": "bid",
        "walk-away bid, USD": 38_000,
        "what binds": "the margin binds",
        "bid looked at, USD": 36_000,
        "which is the": "reserve",
        "outlay there, EUR": 42_600,
        "expected margin there, EUR": 7_400,
        "margin per outlay": pytest.approx(7_400 / 42_600),
        "risk of loss there": pytest.approx(1 / 3),
        "evidence": "fair",
        "check first": "Engine originality: read the casting date on the stamped pad",
        "warnings": "contradiction: the block was cast after the car was built",
        "reasons": "The margin binds.",
        "plan": "pursue",
        "changed": "reserve 36,000 instead of none stated",
        "notes": "ask for bills",
    }


def test_the_other_tabs() -> None:
    tabs = opened(run_lists.run_list())
    assert [row["lot"] for row in rows_of(tabs["Running order"])] == [
        "12", "12A", "14", "15", "16", "17"
    ]  # fmt: skip
    assert rows_of(tabs["Running order"])[3]["walk-away bid, USD"] == "no bid until cured"
    assert rows_of(tabs["Not priced"])[0] == {
        "lot": "18",
        "day": datetime(2025, 9, 13),  # noqa: DTZ001
        "row": 9,
        "what the catalogue says": "Two crates of brightwork",
        "why it was not priced": "No year is stated. Add one.",
    }
    about = [(row["what"], row["said"]) for row in rows_of(tabs["About"])]
    for entry in (
        ("for whom", "Internal: not for customers."),
        ("catalogue", "autumn_sale.csv"),
        ("bids for", datetime(2025, 9, 12)),  # noqa: DTZ001
        ("budget", "Budget 60,000 EUR. The lots won and those to pursue take 44,646 EUR of it; "
         "15,354 EUR are left."),
        ("noticed", "2 lots state no estimate."),
        ("changed", "Lot 9 was withdrawn."),
        ("caution", "These are estimates from past sales, not appraisals."),
    ):  # fmt: skip
        assert entry in about


def test_what_the_firm_asks_stands_on_the_last_tab() -> None:
    told = run_lists.run_list(settings=("Target margin 5,000 EUR.",))
    assert {"what": "what the firm asks", "said": "Target margin 5,000 EUR."} in rows_of(
        opened(told)["About"]
    )


def test_numbers_have_formats_and_dates_are_dates() -> None:
    sheet = opened(run_lists.run_list())["Lots"]
    formats = {
        str(head.value): cell.number_format
        for head, cell in zip(sheet[1], sheet[2], strict=True)
        if cell.data_type in "nd" and cell.value is not None
    }
    assert formats == {
        "day": "yyyy-mm-dd",
        "order": "0",
        **dict.fromkeys(("estimate low, USD", "estimate high, USD", "reserve, USD"), "#,##0"),
        **dict.fromkeys(("resale low, EUR", "resale median, EUR", "resale high, EUR"), "#,##0"),
        # One lot has a bid with cents, so that this column shows them all.
        **dict.fromkeys(("walk-away bid, USD", "bid looked at, USD"), "#,##0.00"),
        **dict.fromkeys(("outlay there, EUR", "expected margin there, EUR"), "#,##0"),
        **dict.fromkeys(("margin per outlay", "risk of loss there"), "0.0%"),
    }


def test_a_day_that_is_no_date_stays_as_it_is_printed() -> None:
    for day in ("Friday", "2025-02-30", "13/09/2025", ""):
        listed = run_lists.run_list(lines=(replace(run_lists.FIRST, day=day),))
        assert rows_of(opened(listed)["Lots"])[0]["day"] == (day or None)


def test_no_reserve_is_said_where_the_reserve_stands() -> None:
    listed = run_lists.run_list(lines=(replace(run_lists.FIRST, reserve=None, no_reserve=True),))
    assert rows_of(opened(listed)["Lots"])[0]["reserve, USD"] == "no reserve"


def test_several_currencies_get_a_column_of_their_own() -> None:
    listed = run_lists.run_list()
    other = replace(run_lists.FIRST, number="99", currency="CHF", order=9)
    rows = rows_of(opened(run_lists.run_list(lines=(*listed.lines, other)))["Lots"])
    assert rows[-1]["currency"] == "CHF"
    assert rows[-1]["walk-away bid"] == 38_000
    assert "currency" not in rows_of(opened(listed)["Lots"])[0]


def test_sheets_are_set_up_for_reading_and_for_paper() -> None:
    tabs = opened(run_lists.run_list())
    for sheet in tabs.values():
        assert sheet.freeze_panes == "B2"
        assert sheet.page_setup.orientation == "landscape"
        assert str(sheet.page_setup.paperSize) == sheet.PAPERSIZE_A4
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.page_setup.fitToHeight == 0
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.oddFooter.right.text == "Internal: not for customers."
    assert tabs["Lots"].auto_filter.ref == "A1:Z7"
    assert tabs["Running order"].page_setup.fitToWidth == 1
    assert tabs["Lots"].column_dimensions["D"].width == 38


def test_the_notes_can_be_written_into() -> None:
    sheet = opened(run_lists.run_list())["Lots"]
    assert not sheet.protection.sheet
    assert sheet[1][-1].value == "notes"


def test_the_same_list_gives_the_same_bytes() -> None:
    assert run_list_workbook(run_lists.run_list()) == run_list_workbook(run_lists.run_list())
    assert run_list_csv(run_lists.run_list()) == run_list_csv(run_lists.run_list())


def test_a_list_of_nothing_can_be_written() -> None:
    assert rows_of(opened(run_lists.bare())["Lots"]) == []
    assert fields_of(run_lists.bare()) == []


texts = st.one_of(
    st.text(max_size=30),
    st.sampled_from(ATTACKS),
    st.builds(str.__add__, st.sampled_from(ATTACKS), st.text(max_size=10)),
    st.builds(str.__add__, st.sampled_from([" ", "\t", "'", '"', "\x0b", "\ufeff"]),
              st.sampled_from(ATTACKS)),
)  # fmt: skip


@settings(deadline=None)
@given(texts)
def test_no_cell_is_a_formula_and_every_text_can_be_read_back(text: str) -> None:
    made = run_list_workbook(with_text(text))
    book = openpyxl.load_workbook(io.BytesIO(made))
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                assert cell.data_type in ("n", "s", "d")
                if isinstance(cell.value, str) and starts_formula(cell.value):
                    assert cell.quotePrefix
    with zipfile.ZipFile(io.BytesIO(made)) as parts:
        for name in parts.namelist():
            if name.startswith("xl/worksheets/"):
                assert not re.search(rb"<f[ >/]", parts.read(name))
    (row,) = rows_of(book["Lots"])
    wanted = cell_text(text) or None
    for column in ("car", "check first", "warnings", "reasons", "plan", "changed", "notes"):
        assert row[column] == wanted
    assert rows_of(book["Not priced"])[0]["why it was not priced"] == wanted


@settings(deadline=None)
@given(texts)
def test_no_field_of_the_csv_can_run_and_every_text_can_be_read_back(text: str) -> None:
    line, unpriced = fields_of(with_text(text))
    assert all(not starts_formula(part) for row in (line, unpriced) for field in row.values()
               if not re.fullmatch(r"-?[\d.]+", field) for part in field.split(";")
               if not part.startswith("'"))  # fmt: skip
    wanted = guarded(text)
    for column in ("lot", "car", "answer", "check first", "warnings", "reasons", "plan", "notes"):
        assert line[column] == wanted
        assert unguarded(line[column]) == cell_text(text).replace("\n", " ")
    assert unpriced["reasons"] == wanted
    assert unpriced["answer"] == "not priced"


@pytest.mark.parametrize("text", ATTACKS)
def test_each_known_attack_stays_text_wherever_it_stands(text: str) -> None:
    for sheet in opened(with_text(text)).values():
        assert {c.data_type for row in sheet.iter_rows() for c in row} <= {"n", "s", "d"}
        numbers = [c.value for row in sheet.iter_rows() for c in row if c.data_type == "n"]
        assert all(v is None or isinstance(v, int | float) for v in numbers)


def test_a_text_longer_than_a_cell_is_cut() -> None:
    rows = rows_of(opened(with_text("x" * 40_000))["Lots"])
    assert len(rows[0]["notes"]) == 32_767


def test_numbers_of_the_csv_are_plain() -> None:
    rows = fields_of(run_lists.run_list())
    by_lot = {row["lot"]: row for row in rows}
    assert by_lot["14"]["walk-away bid, USD"] == "950.50"
    assert by_lot["16"]["expected margin there, EUR"] == "-43000"
    assert by_lot["12"]["risk of loss there"] == "0.333333"
    assert by_lot["12"]["day"] == "2025-09-13"
    assert by_lot["17"]["resale median, EUR"] == ""
    assert [row["answer"] for row in rows][-2:] == ["not priced", "not priced"]
    assert len(rows) == 8


@pytest.mark.parametrize("ending", ["xlsx", "csv"])
def test_a_later_list_reads_lots_and_notes_of_an_earlier_one(tmp_path: Path, ending: str) -> None:
    listed = run_lists.run_list()
    path = tmp_path / f"earlier.{ending}"
    if ending == "xlsx":
        path.write_bytes(run_list_workbook(listed))
    else:
        path.write_bytes(run_list_csv(listed).encode("utf-8-sig"))
    read = {lot.number: lot for lot in read_lots(path).lots}
    assert set(read) == {line.number for line in listed.lines}
    for line in listed.lines:
        lot = read[line.number]
        assert (lot.notes, lot.day) == (line.notes, line.day)
        assert (lot.estimate_low, lot.estimate_high) == (line.estimate_low, line.estimate_high)
        assert lot.reserve == line.reserve
        assert (lot.reserve_kind == "none") == line.no_reserve


@pytest.mark.parametrize("ending", ["xlsx", "csv"])
def test_a_note_that_looks_like_a_formula_comes_back_as_it_was(tmp_path: Path, ending: str) -> None:
    noted = "- ask; = for + bills"
    listed = run_lists.run_list(lines=(replace(run_lists.FIRST, number="-12", notes=noted),))
    path = tmp_path / f"earlier.{ending}"
    for _ in range(2):
        written = run_list_workbook(listed), run_list_csv(listed).encode("utf-8-sig")
        path.write_bytes(written[ending == "csv"])
        (lot,) = read_lots(path).lots
        assert (lot.number, lot.notes) == ("-12", noted)
        (line,) = listed.lines
        listed = run_lists.run_list(lines=(replace(line, number=lot.number, notes=lot.notes),))


def test_a_note_written_into_the_workbook_is_read_by_the_later_list(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(run_list_workbook(run_lists.run_list())))
    sheet = book["Lots"]
    place = [cell.value for cell in sheet[1]].index("notes") + 1
    sheet.cell(row=3, column=place, value="filler in both sills")
    book.save(tmp_path / "mine.xlsx")
    read = {lot.number: lot.notes for lot in read_lots(tmp_path / "mine.xlsx").lots}
    assert read[str(sheet.cell(row=3, column=1).value)] == "filler in both sills"


def test_amounts_are_exact() -> None:
    exact = replace(run_lists.FIRST, outlay=Decimal("42600.37"), walk_away=Decimal("0.10"))
    (row,) = rows_of(opened(run_lists.run_list(lines=(exact,)))["Lots"])
    assert (row["outlay there, EUR"], row["walk-away bid, USD"]) == (42_600.37, 0.1)
    assert isinstance(row["outlay there, EUR"], float)
    assert date(2025, 9, 13) == row["day"].date()

"""The run list in a real spreadsheet program: it opens, prints, and runs nothing."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path

import openpyxl
import pypdf
import pytest
import run_lists
from office import Office

from valuation.report.run_list_workbook import run_list_csv, run_list_workbook
from valuation.results.run_list import RunList

pytestmark = pytest.mark.browser

ATTACKS = (
    "=1+1", "+1+1", "-1+1", "@SUM(1;1)", "  =1+1", '"=1+1', "'=1+1", "＝1+1", "−1+1", "\t=1+1",
    "sound; =1+1;", 'a";=1+1;"', "#N/A", "TRUE", "00012", "1e5", "2025-01-01",
)  # fmt: skip
EVERY_SHEET = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,true,false,false,-1"
READ = "CSV:{separator},34,76,1,,0,false,false,false,false,false,0,true"
"""Separator, quote, UTF-8, and the last word: formulas are to be worked out."""


@pytest.fixture(scope="module")
def office(tmp_path_factory: pytest.TempPathFactory) -> Office:
    return Office(tmp_path_factory.mktemp("office"))


def hostile() -> RunList:
    """Return a list whose lots are named and described by attacks."""
    lines = tuple(
        replace(run_lists.FIRST, number=f"{i}", order=i, car=text, first_check=text,
                warnings=(text,), notes=text)
        for i, text in enumerate(ATTACKS, start=1)
    )  # fmt: skip
    return run_lists.run_list(lines=lines, notes=ATTACKS)


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def test_it_opens_with_every_number_date_and_text_as_it_is(office: Office, tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    path.write_bytes(run_list_workbook(hostile()))
    made = {p.stem.removeprefix("list-"): p for p in office.convert(path, EVERY_SHEET)}
    assert set(made) == {"Lots", "Running order", "Not priced", "About"}
    rows = table(made["Lots"])
    for row, text in zip(rows, ATTACKS, strict=True):
        plain = text.replace("\t", " ")
        assert (row["car"], row["check first"], row["notes"]) == (plain, plain, plain)
        assert row["walk-away bid, USD"] == "38,000"
        assert row["risk of loss there"] == "33.3%"
        assert date.fromisoformat(row["day"]) == date(2025, 9, 13)
    assert [row["car"] for row in table(made["Running order"])] == [
        text.replace("\t", " ") for text in ATTACKS
    ]
    said = [row["said"] for row in table(made["About"]) if row["what"] == "noticed"]
    assert said == [text.replace("\t", " ") for text in ATTACKS]


def test_it_prints_lying_with_its_head_on_each_sheet(office: Office, tmp_path: Path) -> None:
    path = tmp_path / "long.xlsx"
    path.write_bytes(run_list_workbook(run_lists.long_list(90)))
    (pdf,) = office.convert(path, "pdf")
    pages = pypdf.PdfReader(pdf).pages
    assert {(round(p.mediabox.width), round(p.mediabox.height)) for p in pages} == {(842, 595)}
    said = [page.extract_text() for page in pages]
    ordered = [text for text in said if "Running order, page" in text]
    assert len(ordered) >= 2
    assert all("walk-away" in text and "by hand" in text for text in ordered)
    lots = [text for text in said if "Lots, page" in text]
    assert len(lots) >= 4
    # Half of the columns stand on each sheet, the number of the lot on both.
    assert sum("notes" in text for text in lots) == len(lots) // 2
    assert all("lot" in text.split() for text in lots)
    assert all("Internal: not for customers." in text for text in said)


def formulas(path: Path) -> list[str]:
    book = openpyxl.load_workbook(path)
    cells = (cell for sheet in book for row in sheet.iter_rows() for cell in row)
    return [str(cell.value) for cell in cells if cell.data_type == "f"]


@pytest.mark.parametrize("separator", [44, 59], ids=["comma", "semicolon"])
def test_no_field_of_the_csv_runs_whatever_the_program_splits_at(
    office: Office, tmp_path: Path, separator: int
) -> None:
    path = tmp_path / "list.csv"
    path.write_bytes(run_list_csv(hostile()).encode("utf-8-sig"))
    (book,) = office.convert(path, "xlsx", reading=READ.format(separator=separator))
    assert formulas(book) == []


def test_an_unguarded_text_would_run(office: Office, tmp_path: Path) -> None:
    path = tmp_path / "raw.csv"
    path.write_text("lot,car\n1,=1+1\n2,sound\n", encoding="utf-8")
    (book,) = office.convert(path, "xlsx", reading=READ.format(separator=44))
    assert formulas(book) == ["=1+1"]

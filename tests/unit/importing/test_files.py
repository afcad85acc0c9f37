from __future__ import annotations

import gzip
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from valuation.errors import SaleFileError
from valuation.importing.files import decode, find_delimiter, read_raw

HEADER = ["Make", "Year", "Price", "Körper"]
ROWS = [["Kora", "1967", "20,000", "Coupé"], ["Torvane", "1968", "21,000", "Größe"]]


def _write(path: Path, text: str, encoding: str = "utf-8") -> Path:
    path.write_bytes(text.encode(encoding))
    return path


def _text(delimiter: str) -> str:
    return "\r\n".join(delimiter.join(f'"{c}"' for c in row) for row in [HEADER, *ROWS])


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le"])
def test_any_delimiter_and_encoding(tmp_path: Path, delimiter: str, encoding: str) -> None:
    (raw,) = read_raw(_write(tmp_path / "f.csv", _text(delimiter), encoding))
    assert list(raw.cells.columns) == HEADER
    assert raw.cells.to_numpy().tolist() == ROWS
    assert raw.rows == (2, 3)


def test_what_was_noticed_is_said(tmp_path: Path) -> None:
    (raw,) = read_raw(_write(tmp_path / "f.csv", _text(";"), "cp1252"))
    assert raw.notes == (
        "f.csv: the text is read as cp1252.",
        'f.csv: cells are separated by ";".',
    )


def test_central_european_text(tmp_path: Path) -> None:
    text = "Marka;Rok;Cena;Nadwozie\n" + "Kora;1967;20000;żółta łódź, błękitna\n" * 5
    (raw,) = read_raw(_write(tmp_path / "f.csv", text, "cp1250"))
    assert raw.cells["Nadwozie"].iloc[0] == "żółta łódź, błękitna"
    assert decode(text.encode("cp1250"))[1] == "cp1250"


def test_packed_files(tmp_path: Path) -> None:
    path = tmp_path / "f.csv.gz"
    path.write_bytes(gzip.compress(_text(",").encode()))
    assert len(read_raw(path)[0].rows) == 2


def test_line_breaks_within_a_cell_do_not_upset_the_row_numbers(tmp_path: Path) -> None:
    text = 'Make,Price,Notes\nKora,20000,"two\nlines"\n\nKora,21000,one\n'
    (raw,) = read_raw(_write(tmp_path / "f.csv", text))
    assert raw.rows == (2, 4)
    assert raw.cells["Notes"].iloc[0] == "two\nlines"


def test_a_line_that_names_the_separator(tmp_path: Path) -> None:
    (raw,) = read_raw(_write(tmp_path / "f.csv", "sep=;\nMake;Price\nKora;20000\n"))
    assert list(raw.cells.columns) == ["Make", "Price"]
    assert raw.rows == (3,)


def test_a_decimal_comma_is_not_taken_for_the_separator() -> None:
    assert find_delimiter("make;litres\nKora;1,6\nKora;2,0\n") == ";"
    assert find_delimiter("make\nKora\n") == ","


def _book(path: Path) -> Path:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet["A1"] = "Season"
    sheet.merge_cells("A1:D1")
    for j, name in enumerate(["Make", "Year", "Date", "Price"], start=1):
        sheet.cell(row=3, column=j, value=name)

    for i in range(4):
        sheet.cell(row=4 + i, column=2, value=1967 + i)
        sheet.cell(row=4 + i, column=3, value=datetime(2024, 1, 5 + i))  # noqa: DTZ001
        sheet.cell(row=4 + i, column=4, value=20000.5 + i)
    sheet["A4"] = "Kora"
    sheet.merge_cells("A4:A5")
    sheet["A6"], sheet["A7"] = "Torvane", True
    sheet["A8"], sheet["D8"] = "Total", 80000
    book.create_sheet("Notes")["A1"] = "nothing"
    book.save(path)
    return path


def test_workbooks(tmp_path: Path) -> None:
    (raw,) = read_raw(_book(tmp_path / "f.xlsx"))
    assert raw.rows == (4, 5, 6, 7, 8)
    assert raw.cells["Make"].tolist() == ["Kora", "Kora", "Torvane", "yes", "Total"]
    assert raw.cells["Date"].iloc[0] == "2024-01-05"
    assert raw.cells["Year"].iloc[0] == "1967"
    assert raw.cells["Price"].iloc[0] == "20000.5"
    assert raw.faults[4][0] == "subtotal row"
    assert raw.notes == (
        "f.xlsx: sheets that are no list of sales: Notes.",
        "f.xlsx: merged cells were written into each of their rows (1).",
        "f.xlsx: the header is row 3, rows above it that are not data: 2.",
    )


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "f.csv: it is empty. Choose a file with sales in it."),
        (b" \n ", "f.csv: it is empty. Choose a file with sales in it."),
        (
            b"Make,Price\n",
            "f.csv: it holds no rows below its header. Choose a file with sales in it.",
        ),
        (
            b"%PDF-1.7 ...",
            "f.csv: it is of a kind that can't be read. Save it as .xlsx or CSV.",
        ),
        (
            b"PK\x03\x04 broken",
            "f.csv: it is no workbook that can be opened (got: BadZipFile). "
            "Open it in a spreadsheet and save it as .xlsx or CSV.",
        ),
        (
            b"\x1f\x8b broken",
            "f.csv: it can't be read (got: EOFError). Check the name and that the file is whole.",
        ),
    ],
)
def test_files_that_cannot_be_read(tmp_path: Path, data: bytes, message: str) -> None:
    path = tmp_path / "f.csv"
    path.write_bytes(data)
    with pytest.raises(SaleFileError) as error:
        read_raw(path)
    assert str(error.value) == message


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(SaleFileError) as error:
        read_raw(tmp_path / "none.csv")
    assert str(error.value) == (
        "none.csv: it can't be read (got: No such file or directory). "
        "Check the name and that the file is whole."
    )


def test_a_cell_longer_than_any_cell(tmp_path: Path) -> None:
    path = _write(tmp_path / "f.csv", 'Make,Price\n"' + "x" * 1_100_000 + '",2\n')
    with pytest.raises(SaleFileError, match="it can't be cut into cells"):
        read_raw(path)


def test_sheets_under_one_header_are_all_read(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for k, title in enumerate(["2023", "2024", "Remarks"]):
        sheet = book.active if k == 0 else book.create_sheet()
        assert sheet is not None
        sheet.title = title
        sheet.append(["Make", "Year", "Price"] if k < 2 else ["What", "Who"])
        sheet.append(["Kora", 1967 + k, 20_000 + k] if k < 2 else ["x", "y"])
    hidden = book.create_sheet("Old")
    hidden.append(["Make", "Year", "Price"])
    hidden.append(["Kora", 1960, 1])
    hidden.sheet_state = "hidden"
    path = tmp_path / "f.xlsx"
    book.save(path)
    one, two = read_raw(path)
    assert (one.name, two.name) == ("f.xlsx, sheet 2023", "f.xlsx, sheet 2024")
    assert (one.rows, two.rows) == ((2,), (2,))
    assert two.cells["Year"].tolist() == ["1968"]
    assert one.notes == ("f.xlsx: sheets that are no list of sales: Remarks.",)
    assert two.notes == ()


@pytest.mark.parametrize(
    ("number_format", "text"),
    [
        ("General", "20500"),
        ("#,##0", "20500"),
        ("#,##0.00 [$€-407]", "20500 €"),
        ('"£"#,##0', "20500 £"),
        ("$#,##0.00", "20500 $"),
        ('#,##0 "CHF"', "20500 CHF"),
    ],
)
def test_the_currency_by_which_a_cell_shows_its_number(
    tmp_path: Path, number_format: str, text: str
) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Make", "Year", "Price"])
    sheet.append(["Kora", 1967, 20_500])
    sheet["C2"].number_format = number_format
    path = tmp_path / "f.xlsx"
    book.save(path)
    assert read_raw(path)[0].cells["Price"].tolist() == [text]

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from valuation.errors import SaleFileError
from valuation.importing.sales import read_sales
from valuation.importing.template import template_columns, write_template
from valuation.schema import ATTRIBUTES, BY_FIELD, BY_NAME, SALE_FIELDS


def _example(name: str, i: int) -> object:
    if name == "price":
        return 20_000 + 310 * i
    if name == "sale_date":
        return f"2024-{1 + i:02d}-14"
    if name in ("sale_id", "chassis"):
        return f"AB-{4000 + i}"
    entry = BY_NAME.get(name) or BY_FIELD[name]
    return entry.example


def _fill(path: Path, n: int) -> None:
    book = openpyxl.load_workbook(path)
    sheet = book["Sales"]
    for i in range(n):
        for j, column in enumerate(template_columns(), start=1):
            sheet.cell(row=2 + i, column=j, value=_example(column.name, i))
    book.save(path)


def test_a_filled_workbook_is_read_back_without_a_map(tmp_path: Path) -> None:
    path = tmp_path / "sales.xlsx"
    write_template(path)
    _fill(path, 8)
    book = read_sales(path)
    assert (len(book), book.set_aside) == (8, ())
    row = book.table.iloc[0]
    for a in ATTRIBUTES:
        value = row[a.name]
        if a.kind == "number":
            assert value == float(a.example), a.name
        elif a.kind == "set":
            assert value == tuple(sorted(w.strip() for w in a.example.split(";"))), a.name
        else:
            assert value == a.example, a.name
    for f in SALE_FIELDS:
        if f.kind == "category":
            assert row[f.name] == f.example, f.name
    assert (book.currency, book.dated) == ("EUR", True)


def test_a_filled_csv_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "sales.csv"
    write_template(path)
    head = path.read_bytes().decode()
    assert head == ",".join(c.name for c in template_columns()) + "\r\n"
    lines = [",".join(f'"{_example(c.name, i)}"' for c in template_columns()) for i in range(8)]
    path.write_text(head + "\r\n".join(lines), encoding="utf-8")
    book = read_sales(path)
    assert (len(book), book.set_aside) == (8, ())


def test_every_closed_vocabulary_has_its_drop_down(tmp_path: Path) -> None:
    path = tmp_path / "sales.xlsx"
    write_template(path)
    book = openpyxl.load_workbook(path)
    names = [c.value for c in book["Sales"][1]]
    assert names == [c.name for c in template_columns()]
    words = {
        column[0].value: [c.value for c in column[1:] if c.value]
        for column in book["Words"].iter_cols()
    }
    closed = [c for c in template_columns() if c.levels and c.kind != "set"]
    assert words == {c.label: list(c.levels) for c in closed}
    assert len(book["Sales"].data_validations.dataValidation) == len(closed)
    helped = [row[0].value for row in book["Help"].iter_rows(min_row=2)]
    assert helped == names


def test_the_same_bytes_every_time(tmp_path: Path) -> None:
    one, two = tmp_path / "1.xlsx", tmp_path / "2.xlsx"
    write_template(one)
    write_template(two)
    assert one.read_bytes() == two.read_bytes()
    assert b"2000-01-01" not in one.read_bytes()[:100]
    assert not list(tmp_path.glob(".*"))


def test_a_blank_template_is_refused_with_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "sales.xlsx"
    write_template(path)
    with pytest.raises(SaleFileError) as error:
        read_sales(path)
    assert str(error.value) == (
        "sales.xlsx: it holds no rows below its header. Choose a file with sales in it."
    )


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SaleFileError) as error:
        write_template(tmp_path / "sales.ods")
    assert str(error.value) == (
        "sales.ods: a template is .xlsx or .csv (got: .ods). Let the name end in .xlsx or .csv."
    )

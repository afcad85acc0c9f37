"""Parquet files are read as files of text with the same cells are."""

from pathlib import Path

import duckdb
import pandas as pd
import pytest

from valuation.errors import SaleFileError
from valuation.importing.files import read_raw
from valuation.importing.parquet import parquet_parts, parquet_rows
from valuation.importing.sales import read_sales
from valuation.records import SalesBook

SALES = Path(__file__).parents[3] / "data_synthetic" / "sales.csv"


def _write(path: Path, columns: str = "*", *, of: Path | None = None, where: str = "true") -> Path:
    """Write columns, of a file of text or of nothing, as Parquet."""
    with duckdb.connect(":memory:", config={"threads": 1}) as con:
        cells = con.read_csv(str(of), all_varchar=True) if of else con.sql("SELECT 1")
        numbered = cells.project("*, row_number() OVER () AS place").filter(where)
        chosen = numbered.project(columns.replace("*", "* EXCLUDE place"))
        chosen.write_parquet(str(path), row_group_size=2048)
    return path


@pytest.fixture
def some_sales(tmp_path: Path) -> Path:
    """Return a file of text with a few sales of the synthetic market."""
    path = tmp_path / "sales.csv"
    lines = SALES.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(lines[:401]), encoding="utf-8")
    return path


def _reasons(book: SalesBook) -> list[tuple[int, list[str]]]:
    return [(s.row, [f.code for f in s.faults]) for s in book.set_aside]


def _same(one: pd.DataFrame, other: pd.DataFrame, *, but: tuple[str, ...] = ()) -> None:
    kept = [c for c in one.columns if c not in but]
    pd.testing.assert_frame_equal(one[kept], other[kept])


def test_same_cells_give_the_same_book(tmp_path: Path, some_sales: Path) -> None:
    """Text or typed columns, CSV or Parquet: one book."""
    as_text = _write(tmp_path / "text.parquet", of=some_sales)
    typed = _write(
        tmp_path / "typed.parquet",
        "* REPLACE (CAST(sale_date AS DATE) AS sale_date, CAST(price AS DOUBLE) AS price, "
        "CAST(year AS BIGINT) AS year, CAST(engine_size AS FLOAT) AS engine_size, "
        "CASE WHEN documents = 'none' THEN CAST([] AS VARCHAR[]) "
        "ELSE string_split(documents, '; ') END AS documents, "
        "CAST(mileage AS DECIMAL(12, 3)) AS mileage)",
        of=some_sales,
    )
    book = read_sales(some_sales)
    assert len(book) > 300
    for path in (as_text, typed):
        read = read_sales(path)
        _same(book.table, read.table, but=("file",))
        assert _reasons(read) == _reasons(book)
        assert [n.replace(path.name, "sales.csv") for n in read.notes] == list(book.notes)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("CAST(59500 AS DOUBLE)", "59500"),
        ("CAST(2.6 AS FLOAT)", "2.6"),
        ("CAST(12.345 AS DOUBLE)", "12.3450"),
        ("CAST(12.345 AS DECIMAL(9, 3))", "12.3450"),
        ("CAST(-1.5 AS DOUBLE)", "-1.5"),
        ("CAST(1e17 AS DOUBLE)", "100000000000000000"),
        ("CAST('nan' AS DOUBLE)", ""),
        ("CAST(NULL AS DOUBLE)", ""),
        ("DATE '2025-06-14'", "2025-06-14"),
        ("TIMESTAMP '2025-06-14 00:00:00'", "2025-06-14"),
        ("TIMESTAMP '2025-06-14 09:15:00'", "2025-06-14 09:15:00"),
        ("TIMESTAMPTZ '2025-06-14 01:00:00+02'", "2025-06-13 23:00:00+00"),
        ("true", "yes"),
        ("CAST(NULL AS BOOLEAN)", ""),
        ("['bills', 'build record']", "bills; build record"),
        ("CAST([] AS VARCHAR[])", "none"),
        ("CAST(NULL AS VARCHAR[])", ""),
        ("'  1.250 hp '", "1.250 hp"),
    ],
)
def test_cells_are_written_so_that_nothing_is_lost(tmp_path: Path, value: str, text: str) -> None:
    path = _write(tmp_path / "f.parquet", f'\'Kora\' AS make, {value} AS "a ""cell"""')
    (raw,) = read_raw(path)
    assert raw.cells.to_dict("list") == {"make": ["Kora"], 'a "cell"': [text]}
    assert raw.rows == (2,)


def test_names_of_columns_are_not_looked_for_among_the_rows(tmp_path: Path) -> None:
    path = _write(tmp_path / "f.parquet", '1967 AS "1", \'Price\' AS "2", \'Make\' AS "3"')
    (raw,) = read_raw(path)
    assert list(raw.cells.columns) == ["1", "2", "3"]
    assert raw.cells.iloc[0].tolist() == ["1967", "Price", "Make"]


def test_a_folder_is_read_file_by_file(tmp_path: Path, some_sales: Path) -> None:
    folder = tmp_path / "many"
    folder.mkdir()
    _write(folder / "b.parquet", of=some_sales, where="place > 200")
    _write(folder / "a.parquet", of=some_sales, where="place <= 200")
    book = read_sales(folder)
    assert book.table["file"].unique().tolist() == ["a.parquet", "b.parquet"]
    _same(read_sales(some_sales).table, book.table, but=("file", "row"))


def test_a_folder_without_any_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SaleFileError, match="the folder holds no Parquet file"):
        read_raw(tmp_path)


@pytest.mark.parametrize("left", [8, 60, -200])
def test_a_damaged_file_is_refused_in_a_sentence(
    tmp_path: Path, some_sales: Path, left: int
) -> None:
    whole = _write(tmp_path / "f.parquet", of=some_sales).read_bytes()
    damaged = tmp_path / "half.parquet"
    damaged.write_bytes(whole[:left])
    with pytest.raises(SaleFileError, match=r"half\.parquet: it is no whole Parquet file \(got: "):
        read_sales(damaged)


def test_parts_hold_every_row_once(tmp_path: Path, some_sales: Path) -> None:
    """Parts are files of text that read as the whole does, the same each time."""
    path = _write(tmp_path / "f[1]*.parquet", of=some_sales)
    parts = list(parquet_parts(path, rows=150))
    assert [p.name for p in parts] == [
        "f[1]*.parquet, rows 1 to 150.csv",
        "f[1]*.parquet, rows 151 to 300.csv",
        "f[1]*.parquet, rows 301 to 400.csv",
    ]
    assert parts == list(parquet_parts(path, rows=150))
    (whole,) = read_raw(path)
    assert parquet_rows(path) == (tuple(whole.cells.columns), 400)
    cut = []
    for i, part in enumerate(parts):
        file = tmp_path / f"{i}.csv"
        file.write_bytes(part.data)
        cut += [raw.cells for raw in read_raw(file)]
    pd.testing.assert_frame_equal(pd.concat(cut, ignore_index=True), whole.cells)

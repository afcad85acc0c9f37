"""Parquet files to rows of text, a stretch at a time: what was a number or a day stays one."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb

from valuation.errors import SaleFileError
from valuation.importing.raw import RawTable, make_table

__all__ = [
    "PART_ROWS",
    "ParquetPart",
    "is_parquet",
    "parquet_files",
    "parquet_parts",
    "parquet_rows",
    "parquet_table",
]

PART_ROWS = 50_000
"""Rows of a Parquet file that are read at a time."""

_MARK = b"PAR1"
_GLOB = re.compile(r"[*?\[\]]")
_FEW_ROWS = 2_000
_SETTINGS: dict[str, str | bool | int | float | list[str]] = {
    "threads": 1,
    # Nothing is fetched from anywhere: what a file needs is there, or it can't be read.
    "autoinstall_known_extensions": False,
    "autoload_known_extensions": False,
}


@dataclass(frozen=True, slots=True)
class ParquetPart:
    """A run of rows of a Parquet file, as a file of its own.

    Parameters
    ----------
    name : str
        Name of the part: that of the file and the rows it holds, ending in ``.csv``.
    data : bytes
        A table of comma-separated values under the names of the columns, in UTF-8.
    """

    name: str
    data: bytes


def is_parquet(data: bytes) -> bool:
    """Tell by its first bytes whether a file is a Parquet file."""
    return data[: len(_MARK)] == _MARK


def parquet_files(folder: Path) -> list[Path]:
    """Return the Parquet files of a folder, by name.

    Raises
    ------
    SaleFileError
        If there are none.
    """
    files = sorted(p for p in folder.glob("*.parquet") if not p.name.startswith("."))
    if not files:
        raise SaleFileError(
            folder.name, "the folder holds no Parquet file", remedy="Name a file of sales"
        )
    return files


def _number(cell: str) -> str:
    """Return the expression that writes a number so that no sign in it can be taken for another.

    Whole numbers get no decimals.  Three decimals get a fourth: behind a single sign, three digits
    can be thousands.
    """
    text = rf"regexp_replace(CAST({cell} AS VARCHAR), '(\.\d{{3}})$', '\10')"
    return f"""CASE WHEN isnan(CAST({cell} AS DOUBLE)) THEN ''
        WHEN abs({cell}) >= 1e37 THEN CAST({cell} AS VARCHAR)
        WHEN {cell} = trunc({cell}) THEN CAST(CAST({cell} AS HUGEINT) AS VARCHAR)
        WHEN abs({cell}) < 1e-3 THEN CAST(CAST({cell} AS DECIMAL(38, 18)) AS VARCHAR)
        ELSE {text} END"""


def _text(name: str, kind: str) -> str:
    """Return the expression that writes a cell of a kind as a file of text would."""
    cell = '"' + name.replace('"', '""') + '"'
    if kind in ("DOUBLE", "FLOAT") or kind.startswith("DECIMAL"):
        text = _number(cell)
    elif kind == "BOOLEAN":
        text = f"CASE WHEN {cell} THEN 'yes' WHEN NOT {cell} THEN 'no' END"
    elif kind.startswith("TIMESTAMP") and "ZONE" not in kind:
        text = (
            f"CASE WHEN {cell} = date_trunc('day', {cell}) "
            f"THEN CAST(CAST({cell} AS DATE) AS VARCHAR) ELSE CAST({cell} AS VARCHAR) END"
        )
    elif kind.endswith("[]"):
        words = f"CAST({cell} AS VARCHAR[])"
        text = f"CASE WHEN len({cell}) = 0 THEN 'none' ELSE array_to_string({words}, '; ') END"
    else:
        text = f"CAST({cell} AS VARCHAR)"
    return f"coalesce({text}, '')"


@contextmanager
def _opened(path: Path, name: str) -> Iterator[tuple[duckdb.DuckDBPyConnection, str]]:
    """Open a database of nothing, and yield it with the path as it has to be asked for."""
    plain = _GLOB.sub(lambda sign: f"[{sign.group()}]", str(path))
    try:
        with duckdb.connect(":memory:", config=_SETTINGS) as con:
            con.execute("SET TimeZone = 'UTC'")
            yield con, plain
    except duckdb.Error as error:
        raise SaleFileError(
            name,
            "it is no whole Parquet file",
            got=type(error).__name__,
            remedy="Have it written again, or save it as CSV",
        ) from error


def parquet_rows(path: Path, name: str = "") -> tuple[tuple[str, ...], int]:
    """Return the names of the columns of a Parquet file, and how many rows it has.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    name : str
        What people call it; by default its name without the folder.

    Raises
    ------
    SaleFileError
        If it is damaged.
    """
    with _opened(path, name or path.name) as (con, plain):
        kinds = con.execute("DESCRIBE SELECT * FROM read_parquet(?)", [plain]).fetchall()
        rows = con.execute("SELECT count(*) FROM read_parquet(?)", [plain]).fetchall()
    return tuple(str(k[0]) for k in kinds), int(rows[0][0])


def _stretches(path: Path, name: str, rows: int) -> Iterator[Sequence[Sequence[str]]]:
    """Yield the cells of a file as text, at most so many rows at a time, in their order."""
    with _opened(path, name) as (con, plain):
        kinds = con.execute("DESCRIBE SELECT * FROM read_parquet(?)", [plain]).fetchall()
        cells = ", ".join(_text(str(k[0]), str(k[1])) for k in kinds)
        con.execute(" ".join(("SELECT", cells, "FROM read_parquet(?)")), [plain])
        while stretch := con.fetchmany(rows):
            yield stretch


def parquet_table(name: str, data: bytes) -> RawTable:
    """Read a Parquet file as text cells under the names of its columns.

    Numbers are written with a point and without thousands, days as 2025-06-14, lists with "; "
    between their words ("none" if there are none), yes and no as words.

    Parameters
    ----------
    name : str
        Name of the file for people.
    data : bytes
        Its content.

    Returns
    -------
    RawTable
        As from a file of text with the same cells; its header counts as row 1.

    Raises
    ------
    SaleFileError
        If it is damaged.
    """
    with TemporaryDirectory(prefix="valuation-") as folder:
        path = Path(folder) / "sales.parquet"
        path.write_bytes(data)
        names, _ = parquet_rows(path, name)
        rows = (row for stretch in _stretches(path, name, _FEW_ROWS) for row in stretch)
        return make_table(name, rows, header=names)


def parquet_parts(path: Path, *, rows: int = PART_ROWS) -> Iterator[ParquetPart]:
    """Cut a Parquet file of any size into files of text, one after the other.

    Parameters
    ----------
    path : pathlib.Path
        The file; no more of it is in memory at a time than a part.
    rows : int
        Rows of a part, the last one may be shorter.

    Yields
    ------
    ParquetPart
        The same file gives the same parts.

    Raises
    ------
    SaleFileError
        If it is damaged.
    """
    names, _ = parquet_rows(path)
    first = 1
    for stretch in _stretches(path, path.name, rows):
        last = first + len(stretch) - 1
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(names)
        writer.writerows(stretch)
        yield ParquetPart(f"{path.name}, rows {first} to {last}.csv", out.getvalue().encode())
        first = last + 1

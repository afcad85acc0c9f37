"""Parquet: files larger than memory read in part by part, and the evidence written out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import duckdb
import pandas as pd

from valuation.errors import SaleFileError, ValuationError
from valuation.evidence.book import evidence_book
from valuation.evidence.disk import fault_of
from valuation.evidence.opening import reading
from valuation.evidence.sales_in import FileResult, ImportResult, Progress, import_sales
from valuation.evidence.sales_tables import TEXT_COLUMNS
from valuation.evidence.workspace import Workspace
from valuation.importing.parquet import (
    PART_ROWS,
    is_parquet,
    parquet_files,
    parquet_parts,
    parquet_rows,
)
from valuation.importing.rates import RateTable
from valuation.importing.sales import propose_map
from valuation.importing.source_map import SourceMap
from valuation.schema import ATTRIBUTES

__all__ = ["UNDATED", "evidence_to_parquet", "import_files"]

UNDATED = "undated"
"""Stands for the year in the name of the file of sales without a day."""

_LISTS = (*(a.name for a in ATTRIBUTES if a.kind == "set"), "statements")


@dataclass(frozen=True, slots=True)
class _Asked:
    """How files are to be read in, by whom and when."""

    rates: RateTable | None
    currency: str | None
    who: str
    now: datetime
    wait: float
    restore: bool

    def read_in(self, workspace: Workspace, path: Path, source_map: SourceMap | None) -> FileResult:
        """Read one file in."""
        done = import_sales(
            workspace,
            [path],
            source_map=source_map,
            rates=self.rates,
            currency=self.currency,
            who=self.who,
            now=self.now,
            restore=self.restore,
            wait=self.wait,
        )
        return done.files[0]


def import_files(
    workspace: Workspace,
    files: Sequence[str | Path],
    *,
    part_rows: int = PART_ROWS,
    source_map: SourceMap | None = None,
    rates: RateTable | None = None,
    currency: str | None = None,
    who: str,
    now: datetime,
    restore: bool = True,
    wait: float = 10.0,
    progress: Progress | None = None,
) -> ImportResult:
    """Read files of sales and folders of Parquet files into the evidence.

    A Parquet file of more rows than a part is cut into parts, each a batch of its own, so that
    its size does not matter to memory.  All parts are read as the first one is.  A break leaves
    whole parts, and reading the file in again adds those that are missing.

    Parameters
    ----------
    workspace : Workspace
        Where to.
    files : sequence of path
        Files of sales, or folders of Parquet files.
    part_rows : int
        Rows of a part.
    source_map, rates, currency, who, now, restore, wait, progress
        As for :func:`~valuation.evidence.sales_in.import_sales`.

    Returns
    -------
    ImportResult
        What became of each file or part.

    Raises
    ------
    EvidenceError
        If the evidence can't be changed, or has another currency than the one that is asked for.
    """
    asked = _Asked(rates, currency, who, now, wait, restore)
    done: list[FileResult] = []
    for path in map(Path, files):
        try:
            for file in parquet_files(path) if path.is_dir() else [path]:
                for result in _read_in(workspace, file, asked, source_map, part_rows):
                    done.append(result)
                    if progress:
                        progress(len(done), max(len(done) + 1, len(files)), "reading in")
        except SaleFileError as error:
            done.append(FileResult(path.name, "refused", None, fault=str(error)))
    if progress:
        progress(len(done), len(done), "reading in")
    rest = import_sales(workspace, [], who=who, now=now, wait=wait)
    return ImportResult(tuple(done), rest.currency)


def _read_in(
    workspace: Workspace,
    path: Path,
    asked: _Asked,
    source_map: SourceMap | None,
    part_rows: int,
) -> Iterator[FileResult]:
    try:
        with path.open("rb") as file:
            cut = is_parquet(file.read(8)) and parquet_rows(path)[1] > part_rows
    except (OSError, ValuationError):
        # What is wrong with it is said where a file is read.
        cut = False
    if not cut:
        yield asked.read_in(workspace, path, source_map)
        return
    with _folder(workspace) as folder:
        for part in parquet_parts(path, rows=part_rows):
            file_of_part = folder / part.name
            file_of_part.write_bytes(part.data)
            source_map = source_map or propose_map(file_of_part)
            yield asked.read_in(workspace, file_of_part, source_map)
            file_of_part.unlink()


@contextmanager
def _folder(workspace: Workspace) -> Iterator[Path]:
    """Make a folder for unfinished work that is gone afterwards."""
    try:
        workspace.work.mkdir(exist_ok=True)
        with TemporaryDirectory(dir=workspace.work, prefix="parts-") as folder:
            yield Path(folder)
    except OSError as error:
        raise fault_of(error, workspace) from error


def evidence_to_parquet(workspace: Workspace, folder: str | Path) -> tuple[Path, ...]:
    """Write the evidence as Parquet files that other programs can read.

    Parameters
    ----------
    workspace : Workspace
        Whose evidence: batches in use, with corrections, each market event once.
    folder : str or pathlib.Path
        Where to; made if it is missing.  Files of the same names are replaced, each in one step.

    Returns
    -------
    tuple of pathlib.Path
        One file per year of sale, ``sales_2024.parquet``, and ``sales_undated.parquet`` if there
        are sales without a day.  Columns are those of the contract with ``sale_key``, ``batch``,
        ``file`` and ``row``; sets of words are lists.  Left out are the words from which engine,
        gearbox and colour were read, which a reader could take for a description.  The same
        evidence gives the same bytes.

    Raises
    ------
    EvidenceError
        If the evidence can't be read.
    ValuationError
        If the folder can't be written to.
    """
    with reading(workspace) as con:
        table = evidence_book(con).table.drop(columns=list(TEXT_COLUMNS))
    out = Path(folder)
    years = table["sale_date"].dt.year
    try:
        out.mkdir(parents=True, exist_ok=True)
        written = [
            _write(table[years == y], out / f"sales_{int(y)}.parquet")
            for y in sorted(years.dropna().unique())
        ]
        if years.isna().any():
            written.append(_write(table[years.isna()], out / f"sales_{UNDATED}.parquet"))
    except (OSError, duckdb.IOException) as error:
        raise ValuationError(
            str(out),
            "the evidence can't be written there",
            got=getattr(error, "strerror", None) or type(error).__name__,
            remedy="Name a folder you may write to, with room in it",
        ) from error
    return tuple(written)


def _write(sales: pd.DataFrame, path: Path) -> Path:
    columns = ", ".join(_column(str(name), sales[name].dtype.kind) for name in sales.columns)
    frame = sales.assign(**{name: sales[name].map(_joined) for name in _LISTS})
    new = path.with_suffix(".unfinished")
    with duckdb.connect(":memory:", config={"threads": 1}) as con:
        con.register("sales", frame)
        chosen = con.sql(f"SELECT {columns} FROM sales")
        chosen.write_parquet(str(new), compression="zstd")
    return new.replace(path)


_SIGN = "\x1f"


def _joined(words: object) -> str | None:
    return _SIGN.join(words) if isinstance(words, tuple) else None


def _column(name: str, kind: str) -> str:
    """Return the expression by which a column of a frame goes into a file."""
    cell = f'"{name}"'
    if name in _LISTS:
        value = (
            f"CASE WHEN {cell} = '' THEN CAST([] AS VARCHAR[]) "
            f"ELSE string_split(CAST({cell} AS VARCHAR), '{_SIGN}') END"
        )
    elif name == "sale_date":
        value = f"CAST({cell} AS DATE)"
    elif kind == "f":
        value = f"CASE WHEN isnan({cell}) THEN NULL ELSE {cell} END"
    else:
        value = cell if kind == "i" else f"CAST({cell} AS VARCHAR)"
    return f"{value} AS {cell}"

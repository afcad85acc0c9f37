"""Parquet files of any size read in part by part, and the evidence written out and read again."""

from pathlib import Path

import duckdb
import pandas as pd
import pytest
from evidence_files import NOW

from valuation.evidence.book import evidence_book
from valuation.evidence.opening import reading
from valuation.evidence.parquet import evidence_to_parquet, import_files
from valuation.evidence.sales_tables import TEXT_COLUMNS
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.importing.sales import read_sales

SALES = Path(__file__).parents[3] / "data_synthetic" / "sales.csv"
LINES = SALES.read_text(encoding="utf-8").splitlines(keepends=True)


def _parquet(path: Path, lines: list[str]) -> Path:
    text = path.with_suffix(".csv")
    text.write_text("".join([LINES[0], *lines]), encoding="utf-8")
    path.parent.mkdir(exist_ok=True)
    with duckdb.connect(":memory:", config={"threads": 1}) as con:
        con.read_csv(str(text)).write_parquet(str(path))
    text.unlink()
    return path


def _table(workspace: Workspace) -> pd.DataFrame:
    with reading(workspace) as con:
        return evidence_book(con).table


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder of two Parquet files with 250 and 40 sales."""
    folder = tmp_path / "many"
    folder.mkdir()
    _parquet(folder / "big.parquet", LINES[1:251])
    _parquet(folder / "small.parquet", LINES[501:541])
    return folder


def test_a_folder_is_read_in_part_by_part(workspace: Workspace, folder: Path) -> None:
    """What is larger than a part becomes several batches, and none comes in twice."""
    done = import_files(workspace, [folder], part_rows=100, who="Ada", now=NOW)
    assert [f.file for f in done.files] == [
        "big.parquet, rows 1 to 100.csv",
        "big.parquet, rows 101 to 200.csv",
        "big.parquet, rows 201 to 250.csv",
        "small.parquet",
    ]
    assert {f.outcome for f in done.files} == {"new"}
    assert [f.batch.rows for f in done.files if f.batch] == [100, 100, 50, 40]
    again = import_files(workspace, [folder], part_rows=100, who="Ada", now=NOW)
    assert {f.outcome for f in again.files} == {"known"}
    assert not list(workspace.work.iterdir())


def test_parts_hold_what_the_whole_holds(
    workspace: Workspace, folder: Path, tmp_path: Path
) -> None:
    whole = workspace_at(tmp_path / "whole", {}, make=True)
    import_files(whole, [folder], who="Ada", now=NOW)
    import_files(workspace, [folder], part_rows=120, who="Ada", now=NOW)
    # What a title tells of a rare model is learned from the rows beside it, so few cells differ.
    own = ["sale_id", "sale_date", "price", "make", "year", "chassis", "documents", "mileage"]
    one, other = (
        t[own].sort_values("sale_id", ignore_index=True) for t in map(_table, (whole, workspace))
    )
    assert len(one) > 250
    pd.testing.assert_frame_equal(one, other)


def test_a_break_leaves_whole_parts_and_the_rest_follows(
    workspace: Workspace, folder: Path
) -> None:
    class BreakError(Exception):
        """The power went."""

    def stop(done: int, of: int, word: str) -> None:
        if done == 2:
            raise BreakError

    with pytest.raises(BreakError):
        import_files(workspace, [folder], part_rows=100, who="Ada", now=NOW, progress=stop)
    done = import_files(workspace, [folder], part_rows=100, who="Ada", now=NOW)
    assert [f.outcome for f in done.files] == ["known", "known", "new", "new"]


def test_what_cannot_be_read_is_refused_and_hinders_no_other(
    workspace: Workspace, folder: Path, tmp_path: Path
) -> None:
    damaged = folder / "damaged.parquet"
    damaged.write_bytes((folder / "big.parquet").read_bytes()[:500])
    empty = tmp_path / "empty"
    empty.mkdir()
    files = [empty, damaged, tmp_path / "none.csv", folder / "small.parquet"]
    done = import_files(workspace, files, who="Ada", now=NOW)
    assert [f.outcome for f in done.files] == ["refused", "refused", "refused", "new"]
    assert [f.fault.split(" (")[0].split(".  ")[0] for f in done.files[:3]] == [
        "empty: the folder holds no Parquet file. Name a file of sales.",
        "damaged.parquet: it is no whole Parquet file",
        "none.csv: it can't be read",
    ]


def test_evidence_comes_back_from_its_own_files(
    workspace: Workspace, folder: Path, tmp_path: Path
) -> None:
    """Written out by year, typed, and read again as the same sales."""
    import_files(workspace, [folder], who="Ada", now=NOW)
    written = evidence_to_parquet(workspace, tmp_path / "out")
    table = _table(workspace)
    years = sorted(table["sale_date"].dt.year.unique())
    assert [p.name for p in written] == [f"sales_{y}.parquet" for y in years]
    with duckdb.connect(":memory:") as con:
        first = con.read_parquet(str(written[0]))
        kinds = dict(zip(first.columns, map(str, first.types), strict=True))
    assert (kinds["sale_date"], kinds["price"], kinds["make"]) == ("DATE", "DOUBLE", "VARCHAR")
    assert kinds["documents"] == kinds["statements"] == "VARCHAR[]"
    book = read_sales(tmp_path / "out")
    assert len(book) == len(table)
    left_out = {"file", "row", "statements", "sale_key", "batch", *TEXT_COLUMNS}
    same = [c for c in table.columns if c not in left_out]
    pd.testing.assert_frame_equal(book.table[same], table[same])


def test_evidence_gives_the_same_bytes_twice(
    workspace: Workspace, folder: Path, tmp_path: Path
) -> None:
    import_files(workspace, [folder], who="Ada", now=NOW)
    one, other = (evidence_to_parquet(workspace, tmp_path / n) for n in ("one", "other"))
    assert [p.read_bytes() for p in one] == [p.read_bytes() for p in other]
    assert evidence_to_parquet(workspace, tmp_path / "one") == one
    assert sorted((tmp_path / "one").iterdir()) == list(one)

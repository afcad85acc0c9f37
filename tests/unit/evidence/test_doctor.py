"""A damaged store is told apart from a whole one, saved, and made again without silent loss."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest
from evidence_files import JUNE, LATER, MAY, NOW, file_of, line
from filelock import FileLock

from valuation.errors import EvidenceError
from valuation.evidence.batches import batches, hold_batch, undo_batch
from valuation.evidence.book import evidence_book
from valuation.evidence.corrections import fix_sale, history, set_aside_sale
from valuation.evidence.examine import Diagnosis, examine
from valuation.evidence.opening import reading, writing
from valuation.evidence.rebuild import Rebuilt, rebuild
from valuation.evidence.sales_in import ImportResult, import_sales
from valuation.evidence.salvage import save_tables
from valuation.evidence.workspace import Workspace, workspace_at

ReadIn = Callable[..., ImportResult]
Write = Callable[..., Path]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Workspace:
    """Return a workspace with three batches, decisions about two and corrections of two sales."""
    root = tmp_path_factory.mktemp("made")
    files = {
        "may.csv": (*MAY, line(5, price=0)),
        "june.csv": JUNE,
        "july.csv": (line(31, day="2024-07-01"),),
    }
    for name, lines in files.items():
        (root / name).write_text(file_of(*lines), encoding="utf-8")
    workspace = workspace_at(root / "firm", {}, make=True)
    done = import_sales(workspace, [root / name for name in files], who="Ada", now=NOW)
    may, june, july = (f.batch.batch for f in done.files if f.batch)
    with writing(workspace, who="Bo", now=LATER) as con:
        hold_batch(con, july, reason="odd", who="Bo", now=LATER)
        set_aside_sale(con, f"{may}:2", reason="a replica", who="Bo", now=LATER)
        fix_sale(con, f"{june}:2", {"mileage": "900"}, reason="photo", who="Bo", now=LATER)
    return workspace


@pytest.fixture
def store(made: Workspace, tmp_path: Path) -> Workspace:
    """Return a copy of it to do harm to."""
    return Workspace(Path(shutil.copytree(made.root, tmp_path / "firm")))


def everything(workspace: Workspace) -> tuple[object, ...]:
    """Return all that the evidence tells, in a form that can be compared."""
    with reading(workspace) as con:
        book = evidence_book(con)
        keys = book.table["sale_key"].tolist()
        told = tuple(history(con, key) for key in sorted(keys))
        table = [tuple(str(v) for v in row) for row in book.table.to_numpy().tolist()]
        return batches(con), table, book.set_aside, book.notes, told


def faults(workspace: Workspace) -> list[str]:
    return [f.sentence for f in examine(workspace).faults]


def remarks(found: Diagnosis) -> list[str]:
    return [f.sentence for f in found.findings if not f.is_fault]


def make_again(workspace: Workspace) -> Rebuilt:
    return rebuild(workspace, who="Cy", now=LATER)


def flip(path: Path, at: int, n: int = 32) -> None:
    data = bytearray(path.read_bytes())
    for i in range(at, min(at + n, len(data))):
        data[i] ^= 0x5A
    path.write_bytes(data)


def place_of(workspace: Workspace, table: str) -> int:
    """Return where the blocks of a table begin in the database file."""
    with duckdb.connect(str(workspace.database), read_only=True) as con:
        found = con.execute(
            f"SELECT min(block_id) FROM pragma_storage_info('{table}') WHERE block_id >= 0"  # noqa: S608
        ).fetchall()
    return 3 * 4096 + int(found[0][0]) * 262_144


class TestExamining:
    def test_a_whole_store(self, store: Workspace) -> None:
        before = sorted((p, p.stat().st_mtime_ns) for p in store.root.rglob("*") if p.is_file())
        found = examine(store)
        assert found.findings == ()
        assert found.summary().startswith("The evidence is whole.\n\nTables:\n  batches ")
        rows = {p.table: p.rows for p in found.parts}
        assert (rows["sales"], rows["rows_set_aside"], rows["batches"]) == (7, 1, 3)
        after = sorted((p, p.stat().st_mtime_ns) for p in store.root.rglob("*") if p.is_file())
        assert [p for p in after if p[0] != store.lock] == [p for p in before if p[0] != store.lock]

    def test_nothing_yet(self, workspace: Workspace) -> None:
        found = examine(workspace)
        assert found.faults == ()
        assert remarks(found) == ["There is no evidence yet."]

    def test_an_older_store_that_lacks_a_column_is_whole(self, store: Workspace) -> None:
        with duckdb.connect(str(store.database)) as con:
            con.execute("ALTER TABLE sales DROP COLUMN colour_text")
            con.execute("ALTER TABLE corrections DROP COLUMN stated")
        assert examine(store).findings == ()

    def test_a_file_cut_short(self, store: Workspace) -> None:
        with store.database.open("r+b") as file:
            file.truncate(5_000)
        (said,) = faults(store)
        assert said.startswith("The database can't be opened: ")

    def test_flipped_bytes_in_a_table(self, store: Workspace) -> None:
        flip(store.database, place_of(store, "sales") + 1_000)
        found = examine(store)
        broken = [p.table for p in found.parts if p.rows is None]
        assert "sales" in broken
        assert all("Corrupt" in p.fault for p in found.parts if p.rows is None)
        with pytest.raises(EvidenceError, match="the database is damaged"):
            everything(store)
        assert found.faults[0].remedy == (
            "Save what can be read with --save DIR, then make it again: valuation doctor --rebuild"
        )

    def test_no_database_file(self, store: Workspace) -> None:
        store.database.unlink()
        assert faults(store) == ["The database is missing, though journal and files are there."]

    def test_copies_that_are_missing_or_changed(self, store: Workspace) -> None:
        with reading(store) as con:
            may, june, july = batches(con)
        (store.kept / f"{may.sha256}.csv").unlink()
        (store.kept / f"{june.sha256}.csv").write_text("x", encoding="utf-8")
        (store.kept / f"{july.sha256}.{july.reading}.json").write_text("{", encoding="utf-8")
        kept = "Its sales can be used, but not read again."
        assert faults(store) == [
            f"Batch {may.batch}: the copy of may.csv is missing (files/{may.sha256}.csv). {kept}",
            f"Batch {june.batch}: the copy of june.csv is no longer what came "
            f"(files/{june.sha256}.csv). {kept}",
            f"Batch {july.batch}: the note of how a kept file was read is missing or damaged "
            f"(files/{july.sha256}.{july.reading}.json). {kept}",
        ]

    def test_counts_that_do_not_agree(self, store: Workspace) -> None:
        with duckdb.connect(str(store.database)) as con:
            con.execute("DELETE FROM sales WHERE price = 28500")
            con.execute("INSERT INTO sales (batch, sale_key) VALUES ('nobody', 'nobody:2')")
            con.execute("INSERT INTO sales (batch, sale_key) VALUES ('nobody', 'nobody:2')")
        with reading(store) as con:
            may = batches(con)[0].batch
        assert faults(store) == [
            f"Batch {may} should have 4 sales and 1 rows set aside, but has 3 and 1.",
            "Sales of no batch: nobody.",
            "Sales that stand there twice: nobody:2.",
        ]

    def test_journal_and_database_differ(self, store: Workspace) -> None:
        last = sorted(store.journal.iterdir())[-1]
        content = json.loads(last.read_text(encoding="utf-8"))
        numbers = [row["row"]["number"] for row in content["rows"]]
        last.unlink()
        assert faults(store) == [
            f"Decisions that stand in the database but not in the journal: {len(numbers)}, the "
            f"first with number {numbers[0]}."
        ]
        (store.journal / "00000001.json").write_text("", encoding="utf-8")
        assert "journal/00000001.json: the change can't be read." in faults(store)

    def test_a_database_older_than_its_journal(self, store: Workspace) -> None:
        shutil.copy(store.database, store.root / "backup")
        with writing(store, who="Bo", now=LATER) as con:
            undo_batch(con, batches(con)[0].batch, reason="wrong", who="Bo", now=LATER)
        (store.root / "backup").replace(store.database)
        (said,) = faults(store)
        assert said.endswith("The database may have come from a backup.")
        make_again(store)
        assert faults(store) == []
        with reading(store) as con:
            assert batches(con)[0].status == "undone"

    def test_what_ended_processes_left(self, store: Workspace) -> None:
        store.holder.write_text(
            '{"who": "Ada", "host": "desk", "since": "2024-07-01 09:30:00",'
            ' "doing": "reading in may.csv"}',
            encoding="utf-8",
        )
        (store.work / "reading-abc").mkdir()
        (store.kept / f".{'0' * 64}.csv.xyz").write_bytes(b"half")
        (store.kept / f"{'0' * 64}.csv").write_bytes(b"whole")
        (store.journal / "00000099.unfinished").write_text("{}", encoding="utf-8")
        found = examine(store)
        assert found.faults == ()
        assert remarks(found) == [
            "A process of Ada on desk ended in the middle of reading in may.csv, begun on "
            "2024-07-01 09:30:00 UTC; what it had not finished does not count.",
            f"Files that were never finished and don't count: files/.{'0' * 64}.csv.xyz, "
            "work/reading-abc.",
            f"Copies of files whose reading was never finished: {'0' * 64}.csv.",
            "Changes whose process ended before it was done: 1.",
        ]

    def test_changes_that_are_not_yet_in_the_database_file(self, store: Workspace) -> None:
        with duckdb.connect(str(store.database)) as con:
            con.execute("PRAGMA disable_checkpoint_on_shutdown")
            con.execute("INSERT INTO meta VALUES ('a', 'b')")
        found = examine(store)
        assert found.faults == ()
        assert remarks(found) == [
            "The last changes stand in evidence.duckdb.wal and not yet in the database file, as a "
            "process ended early or the disk was full; they are not lost."
        ]
        assert {p.table: p.rows for p in found.parts}["meta"] == 3

    def test_somebody_is_at_work(self, store: Workspace) -> None:
        with FileLock(store.lock):
            store.holder.write_text(
                '{"who": "Ada", "host": "desk", "doing": "counting"}', encoding="utf-8"
            )
            with pytest.raises(EvidenceError) as caught:
                examine(store)
        assert str(caught.value) == (
            f"{store.root}: somebody is changing the evidence right now (got: Ada on desk, "
            "counting). Do it again when that is done."
        )


class TestSaving:
    def test_everything_of_a_whole_store(self, store: Workspace, tmp_path: Path) -> None:
        saved = save_tables(store, tmp_path / "saved")
        assert saved.lost == ()
        assert saved.tables["sales"] == 7
        place = tmp_path / "saved" / "sales.parquet"
        with duckdb.connect() as con, duckdb.connect(str(store.database), read_only=True) as old:
            rows = con.execute("SELECT * FROM read_parquet(?)", [str(place)]).fetchall()
            assert rows == old.execute("SELECT * FROM sales ORDER BY rowid").fetchall()
        text = (tmp_path / "saved" / "sales.csv").read_text(encoding="utf-8-sig")
        listed = list(csv.DictReader(text.splitlines()))
        assert [row["price"] for row in listed][:2] == ["41000.0", "28500.0"]

    def test_no_cell_runs_as_a_formula(
        self, workspace: Workspace, write: Write, read_in: ReadIn, tmp_path: Path
    ) -> None:
        read_in(write("may.csv", [*MAY, line(9, venue="=1+1")]))
        save_tables(workspace, tmp_path / "saved")
        text = (tmp_path / "saved" / "sales.csv").read_text(encoding="utf-8-sig")
        assert "'=1+1" in text

    def test_a_damaged_table_loses_only_its_damaged_columns(
        self, store: Workspace, tmp_path: Path
    ) -> None:
        flip(store.database, place_of(store, "sales") + 1_000)
        saved = save_tables(store, tmp_path / "saved")
        assert any(said.startswith("sales: these columns can't be read: ") for said in saved.lost)
        assert {"events", "corrections", "batches"} <= set(saved.tables)
        assert "Not saved:" in saved.summary()

    def test_nothing_can_be_opened(self, store: Workspace, tmp_path: Path) -> None:
        store.database.write_bytes(b"nothing" * 1_000)
        with pytest.raises(EvidenceError, match="the database is damaged"):
            save_tables(store, tmp_path / "saved")


class TestMakingAgain:
    @pytest.mark.parametrize(
        "harm",
        [
            lambda w: None,
            lambda w: w.database.write_bytes(b"nothing" * 1_000),
            lambda w: w.database.unlink(),
            lambda w: flip(w.database, place_of(w, "sales") + 1_000),
            lambda w: flip(w.database, place_of(w, "events") + 1_000),
        ],
        ids=["whole", "garbage", "missing", "sales flipped", "events flipped"],
    )
    def test_all_of_it_comes_back(
        self, store: Workspace, harm: Callable[[Workspace], object]
    ) -> None:
        before = everything(store)
        harm(store)
        there = store.database.exists()
        done = make_again(store)
        assert done.lost == ()
        assert (done.batches, done.sales, done.decisions) == (3, 7, 6)
        assert everything(store) == before
        assert faults(store) == []
        aside = "evidence.put-aside-20240702-170000.duckdb" if there else ""
        assert done.put_aside == aside
        assert (store.root / aside).exists()
        assert "Nothing was lost." in done.summary()

    def test_a_missing_copy_is_taken_from_the_old_database(self, store: Workspace) -> None:
        before = everything(store)
        for copy in store.kept.glob("*.csv"):
            copy.unlink()
        done = make_again(store)
        assert done.lost == ()
        assert len(done.notes) == 3
        assert everything(store) == before

    def test_no_damaged_block_is_passed_as_good(self, store: Workspace) -> None:
        for copy in store.kept.glob("*.csv"):
            copy.unlink()
        flip(store.database, place_of(store, "sales") + 1_000)
        done = make_again(store)
        assert (done.batches, done.sales) == (0, 0)
        assert [said.partition(" of ")[2][:8] for said in done.lost] == [
            "may.csv.",
            "june.csv",
            "july.csv",
        ]

    def test_what_is_lost_is_said(self, store: Workspace) -> None:
        with reading(store) as con:
            may = batches(con)[0]
        (store.kept / f"{may.sha256}.csv").unlink()
        (store.journal / "00000003.json").unlink()
        store.database.write_bytes(b"nothing" * 1_000)
        done = make_again(store)
        assert done.lost[0] == "1 of 6 entries of the journal (number 3)."
        assert done.lost[1].startswith(
            f"Batch {may.batch} of may.csv. files/{may.sha256}.csv: the copy of may.csv is missing"
        )
        assert len(done.lost) == 2
        with reading(store) as con:
            assert len(evidence_book(con)) == 2

    def test_the_journal_is_completed_from_the_database(self, store: Workspace) -> None:
        before = everything(store)
        shutil.rmtree(store.journal)
        assert make_again(store).lost == ()
        assert everything(store) == before
        assert faults(store) == []
        store.database.unlink()
        make_again(store)
        assert everything(store) == before

    def test_only_the_files_are_left(self, store: Workspace) -> None:
        shutil.rmtree(store.journal)
        store.database.unlink()
        done = make_again(store)
        assert (done.batches, done.sales) == (3, 7)
        assert all(n.endswith("in use; it is now. Undo the batch if not.") for n in done.notes)
        with reading(store) as con:
            assert {b.reason for b in batches(con)} == {
                "found among the kept files when the evidence was made again"
            }
        assert faults(store) == []

    def test_a_change_that_was_never_finished_counts_and_is_told(self, store: Workspace) -> None:
        last = sorted(store.journal.iterdir())[-1]
        last.replace(last.with_suffix(".unfinished"))
        store.database.unlink()
        done = make_again(store)
        assert done.decisions == 6
        assert done.notes == (
            f"journal/{last.stem}.unfinished: its process ended before it was done; it counts now.",
        )
        assert last.exists()

    def test_two_in_one_second_keep_both_old_ones(self, store: Workspace) -> None:
        names = {make_again(store).put_aside for _ in range(3)}
        assert len(names) == 3
        assert all((store.root / n).exists() for n in names)

    def test_nothing_to_make_it_from(self, workspace: Workspace) -> None:
        with pytest.raises(EvidenceError, match="there is nothing to make the evidence from"):
            make_again(workspace)
        assert not workspace.database.exists()

    def test_what_a_newer_version_wrote_is_left_alone(self, store: Workspace) -> None:
        with duckdb.connect(str(store.database)) as con:
            con.execute("UPDATE meta SET value = '99' WHERE key = 'format'")
        with pytest.raises(EvidenceError, match="written by a newer version"):
            make_again(store)
        assert [p.name for p in store.root.glob("*put-aside*")] == []

    def test_the_result_can_be_told_as_data(self, store: Workspace) -> None:
        done = make_again(store).to_dict()
        assert json.loads(json.dumps(done))["batches"] == 3
        assert NOW < LATER

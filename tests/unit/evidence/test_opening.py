"""Many readers, one writer, and sentences for everything that stands in the way."""

from __future__ import annotations

import errno
import os
import platform
import threading
from pathlib import Path

import duckdb
import pytest
from evidence_files import LATER, NOW
from filelock import FileLock

from valuation.errors import EvidenceError
from valuation.evidence import disk
from valuation.evidence.disk import fault_of, is_disk_fault
from valuation.evidence.journal import record
from valuation.evidence.opening import holder_of, reading, writing
from valuation.evidence.workspace import Workspace

EVENT = {"batch": "b", "kind": "sales", "event": "read in", "status": "in use"}


def note(workspace: Workspace, **changes: str) -> None:
    with writing(workspace, who="Ada", now=NOW) as con:
        record(con, "events", EVENT | changes, who="Ada", now=NOW)


def events(workspace: Workspace) -> list[str]:
    with reading(workspace) as con:
        return [b for (b,) in con.execute("SELECT batch FROM events ORDER BY number").fetchall()]


def test_a_change_is_there_whole_or_not_at_all(workspace: Workspace) -> None:
    note(workspace)

    def break_off() -> None:
        with writing(workspace, who="Ada", now=NOW) as con:
            record(con, "events", EVENT | {"batch": "lost"}, who="Ada", now=NOW)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        break_off()
    assert events(workspace) == ["b"]
    assert [p.name for p in workspace.journal.iterdir()] == ["00000001.json"]
    assert holder_of(workspace) == {}


def test_readers_change_nothing(workspace: Workspace) -> None:
    note(workspace)
    before = sorted((p.name, p.stat().st_mtime_ns) for p in workspace.root.iterdir())
    with reading(workspace) as first, reading(workspace) as second:
        for con in (first, second):
            assert con.execute("SELECT count(*) FROM events").fetchall() == [(1,)]
            with pytest.raises(duckdb.InvalidInputException, match="read-only"):
                con.execute("DELETE FROM events")
    assert sorted((p.name, p.stat().st_mtime_ns) for p in workspace.root.iterdir()) == before


def test_who_comes_second_is_told_who_is_first(workspace: Workspace) -> None:
    note(workspace)
    lock = FileLock(workspace.lock)
    with lock:
        workspace.holder.write_text(
            '{"who": "Ada", "host": "desk", "process": 7, "since": "2024-07-01 09:30:00",'
            ' "doing": "reading in may.csv"}',
            encoding="utf-8",
        )
        with (
            pytest.raises(EvidenceError) as caught,
            writing(workspace, who="Bo", now=LATER, wait=0.1),
        ):
            pass
    assert str(caught.value) == (
        f"{workspace.database}: it is in use, and was for the 0.1 seconds that were waited (got: "
        "Ada on desk since 2024-07-01 09:30:00 UTC, reading in may.csv, process 7). Do it again "
        "when that is done."
    )


def test_the_note_says_who_writes(workspace: Workspace) -> None:
    with writing(workspace, who="Ada", now=NOW, doing="counting"):
        assert holder_of(workspace) == {
            "who": "Ada",
            "host": platform.node(),
            "process": os.getpid(),
            "since": "2024-07-01 09:30:00",
            "doing": "counting",
        }


def test_a_writer_waits_for_readers_and_says_so(workspace: Workspace) -> None:
    note(workspace)
    with (
        reading(workspace),
        pytest.raises(EvidenceError, match=r"\(got: somebody who reads it\)"),
        writing(workspace, who="Bo", now=LATER, wait=0.1),
    ):
        pass


def test_a_reader_waits_until_the_writer_is_done(workspace: Workspace) -> None:
    note(workspace)
    inside, may_end = threading.Event(), threading.Event()

    def write() -> None:
        with writing(workspace, who="Ada", now=NOW) as con:
            record(con, "events", EVENT | {"batch": "c"}, who="Ada", now=NOW)
            inside.set()
            may_end.wait(10)

    writer = threading.Thread(target=write)
    writer.start()
    assert inside.wait(10)
    with pytest.raises(EvidenceError, match="it is in use"), reading(workspace, wait=0.1):
        pass
    threading.Timer(0.2, may_end.set).start()
    assert events(workspace) == ["b", "c"]
    writer.join()


def test_no_evidence_yet(workspace: Workspace) -> None:
    with pytest.raises(EvidenceError) as caught, reading(workspace):
        pass
    assert str(caught.value) == (
        f"{workspace.root}: there is no evidence in this workspace yet. Read in a first file: "
        "valuation import FILE."
    )


def test_a_database_that_went_missing_is_not_replaced_by_an_empty_one(
    workspace: Workspace,
) -> None:
    note(workspace)
    workspace.database.unlink()
    said = (
        f"{workspace.database}: the database is missing, though its journal is there. Bring it "
        "back from a backup, or make it again: valuation doctor --rebuild."
    )
    with pytest.raises(EvidenceError) as caught, writing(workspace, who="Ada", now=NOW):
        pass
    assert str(caught.value) == said
    with pytest.raises(EvidenceError) as caught, reading(workspace):
        pass
    assert str(caught.value) == said


def test_no_workspace(tmp_path: Path) -> None:
    with (
        pytest.raises(EvidenceError, match="there is no such workspace"),
        writing(Workspace(tmp_path / "nowhere"), who="Ada", now=NOW),
    ):
        pass


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.EACCES, "you may not write to this workspace. Ask whoever keeps it"),
        (errno.EROFS, "you may not write to this workspace. Ask whoever keeps it"),
        (errno.ENOSPC, "the disk is full; the evidence is as it was before. Make room"),
        (errno.EDQUOT, "the disk is full; the evidence is as it was before. Make room"),
        (errno.EIO, r"the workspace can't be used \(got: Input/output error\)"),
    ],
)
def test_a_folder_that_can_not_be_written_to(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch, number: int, said: str
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(FileLock, "acquire", refuse)
    with pytest.raises(EvidenceError, match=said), writing(workspace, who="Ada", now=NOW):
        pass


def test_the_disk_is_full_when_the_journal_is_written(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    note(workspace)
    replaced = disk.write_in_one_step

    def full(path: Path, content: bytes, *, what: str) -> Path:
        if path.parent == workspace.journal:
            try:
                raise OSError(errno.ENOSPC, "No space left on device")
            except OSError as error:
                raise disk.ValuationError(str(path), "it can't be written there") from error
        return replaced(path, content, what=what)

    monkeypatch.setattr(disk, "write_in_one_step", full)
    with pytest.raises(EvidenceError, match="the disk is full; the evidence is as it was before"):
        note(workspace, batch="c")
    monkeypatch.undo()
    assert events(workspace) == ["b"]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Could not write: No space left on device", "the disk is full"),
        ("Cannot open file: Permission denied", "you may not write"),
        (
            "Trying to read a database file with version number 99, but we can only read 64",
            "it was written by a newer version of this program",
        ),
        ("Corrupt database file: computed checksum 1", "the database is damaged"),
    ],
)
def test_what_the_database_says_becomes_a_sentence(
    workspace: Workspace, text: str, said: str
) -> None:
    assert said in str(fault_of(duckdb.IOException(text), workspace))


@pytest.mark.parametrize(
    ("error", "is_one"),
    [
        (duckdb.IOException("any"), True),
        (duckdb.Error("Corrupt database file"), True),
        (duckdb.InvalidInputException("Corrupted DICT_FSST segment"), True),
        (duckdb.TransactionException("Failed to commit: No space left on device"), True),
        (duckdb.CatalogException("no such table"), False),
        (duckdb.BinderException("no such column"), False),
    ],
)
def test_faults_of_the_program_are_not_put_on_the_disk(error: duckdb.Error, is_one: bool) -> None:
    assert is_disk_fault(error) is is_one


def test_a_newer_version_wrote_it(workspace: Workspace) -> None:
    note(workspace)
    with duckdb.connect(str(workspace.database)) as con:
        con.execute("UPDATE meta SET value = '99' WHERE key = 'format'")
    said = (
        f"{workspace.database}: it was written by a newer version of this program (got: format "
        "99, known is 1). Bring this program up to date."
    )
    for visit in (reading(workspace), writing(workspace, who="Ada", now=NOW)):
        with pytest.raises(EvidenceError) as caught, visit:
            pass
        assert str(caught.value) == said


def test_a_foreign_database_is_left_alone(workspace: Workspace) -> None:
    with duckdb.connect(str(workspace.database)) as con:
        con.execute("CREATE TABLE other (a INT)")
    with (
        pytest.raises(EvidenceError, match="it is a database, but none of evidence"),
        writing(workspace, who="Ada", now=NOW),
    ):
        pass
    with duckdb.connect(str(workspace.database)) as con:
        assert con.execute("SHOW TABLES").fetchall() == [("other",)]


def test_no_database_at_all(workspace: Workspace) -> None:
    workspace.database.write_bytes(b"This is no database." * 400)
    said = r"the database is damaged .*valuation doctor"
    with pytest.raises(EvidenceError, match=said), reading(workspace):
        pass


def test_an_older_database_lacks_a_table_and_a_column(workspace: Workspace) -> None:
    note(workspace)
    with duckdb.connect(str(workspace.database)) as con:
        con.execute("DROP TABLE corrections")
        con.execute("ALTER TABLE events DROP COLUMN reason")
    with reading(workspace) as con:
        assert con.execute("SELECT * FROM corrections").fetchall() == []
        assert con.execute("SELECT batch, reason FROM events").fetchall() == [("b", None)]
    note(workspace, batch="c", reason="it is odd")
    with reading(workspace) as con:
        found = con.execute("SELECT batch, reason FROM events ORDER BY number").fetchall()
    assert found == [("b", None), ("c", "it is odd")]

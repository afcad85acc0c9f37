"""What people decided is kept twice, and a break between the two is settled."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime

import pytest
from evidence_files import LATER, NOW

from valuation.errors import EvidenceError
from valuation.evidence.journal import read_change, record, sealed_changes
from valuation.evidence.opening import reading, writing
from valuation.evidence.workspace import Workspace

ROW = {"sale_key": "b:2", "action": "set aside", "reason": "a replica: “new” shell"}


def decide(workspace: Workspace, *reasons: str, now: datetime = NOW) -> None:
    with writing(workspace, who="Ada", now=now) as con:
        for reason in reasons:
            record(con, "corrections", ROW | {"reason": reason}, who="Ada", now=now)


def stored(workspace: Workspace) -> list[tuple[int, str]]:
    with reading(workspace) as con:
        return con.execute("SELECT number, reason FROM corrections ORDER BY number").fetchall()


def test_a_change_is_one_small_file(workspace: Workspace) -> None:
    decide(workspace, "one", "two")
    decide(workspace, "three", now=LATER)
    assert [p.name for p in sealed_changes(workspace)] == ["00000002.json", "00000003.json"]
    assert json.loads((workspace.journal / "00000002.json").read_text(encoding="utf-8")) == {
        "format": 1,
        "number": 2,
        "rows": [
            {
                "table": "corrections",
                "row": {
                    "number": n,
                    "moment": "2024-07-01 09:30:00",
                    "who": "Ada",
                    **ROW,
                    "reason": reason,
                },
            }
            for n, reason in ((1, "one"), (2, "two"))
        ],
    }
    assert stored(workspace) == [(1, "one"), (2, "two"), (3, "three")]


def test_nothing_decided_is_no_file(workspace: Workspace) -> None:
    with writing(workspace, who="Ada", now=NOW) as con:
        con.execute("SELECT 1")
    assert sealed_changes(workspace) == []


def test_a_moment_needs_a_zone(workspace: Workspace) -> None:
    with pytest.raises(ValueError, match="a moment needs a time zone"):
        decide(workspace, "one", now=NOW.replace(tzinfo=None))
    east = datetime.fromisoformat("2024-07-01T11:30:00+02:00")
    decide(workspace, "one", now=east)
    with reading(workspace) as con:
        (moment,) = con.execute("SELECT moment FROM corrections").fetchall()[0]
    assert moment.replace(tzinfo=UTC) == NOW


def test_rows_of_files_are_no_decisions(workspace: Workspace) -> None:
    with (
        writing(workspace, who="Ada", now=NOW) as con,
        pytest.raises(ValueError, match="rows of this table come from files"),
    ):
        record(con, "sales", {"sale_key": "b:2"}, who="Ada", now=NOW)


def test_a_break_before_the_database_had_it(workspace: Workspace) -> None:
    decide(workspace, "one")
    ahead = workspace.journal / "00000002.unfinished"
    ahead.write_text('{"format": 1, "number": 2, "rows": []}', encoding="utf-8")
    decide(workspace, "again")
    assert [p.name for p in sorted(workspace.journal.iterdir())] == [
        "00000001.json",
        "00000002.json",
    ]
    assert stored(workspace) == [(1, "one"), (2, "again")]
    assert read_change(workspace.journal / "00000002.json").rows[0][1]["reason"] == "again"


def test_a_break_after_the_database_had_it(workspace: Workspace) -> None:
    decide(workspace, "one")
    done = workspace.journal / "00000001.json"
    done.replace(done.with_suffix(".unfinished"))
    decide(workspace, "two")
    assert [p.name for p in sealed_changes(workspace)] == ["00000001.json", "00000002.json"]


def test_a_database_from_a_backup_takes_no_number_twice(workspace: Workspace) -> None:
    decide(workspace, "one")
    backup = workspace.root / "backup"
    shutil.copy(workspace.database, backup)
    decide(workspace, "two")
    shutil.copy(backup, workspace.database)
    decide(workspace, "three")
    assert stored(workspace) == [(1, "one"), (3, "three")]
    assert len(sealed_changes(workspace)) == 3


def test_a_file_that_can_not_be_read(workspace: Workspace) -> None:
    decide(workspace, "one")
    path = sealed_changes(workspace)[0]
    path.write_text("{", encoding="utf-8")
    with pytest.raises(EvidenceError) as caught:
        read_change(path)
    assert str(caught.value) == (
        "journal/00000001.json: the change can't be read (got: JSONDecodeError). Bring the file "
        "back from a backup, or go on without this change."
    )

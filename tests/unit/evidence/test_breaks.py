"""A process that is killed while it reads a file in leaves the last whole state."""

from __future__ import annotations

import shutil
import subprocess
import sys

import broken_off
import pytest
from evidence_files import JUNE, LATER, MAY, NOW, file_of

from valuation.evidence.batches import batches
from valuation.evidence.book import evidence_book
from valuation.evidence.examine import examine
from valuation.evidence.journal import sealed_changes, unfinished_changes
from valuation.evidence.opening import reading
from valuation.evidence.sales_in import import_sales
from valuation.evidence.workspace import Workspace, workspace_at

DONE = ("after the commit", "before the lock is free")
"""Steps after which the file is in."""

LEFT = {
    "before the copy": (1, 0, False),
    "after the copy": (2, 0, False),
    "with the rows in": (2, 0, True),
    "with the journal ahead": (2, 1, True),
    "after the commit": (2, 1, True),
    "before the lock is free": (2, 0, False),
}
"""Copies, unfinished changes and whether a note of the holder is left, by step."""


@pytest.fixture(scope="module")
def broken(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Workspace]:
    """Return a workspace for each step at which reading June in was killed; May was in before."""
    root = tmp_path_factory.mktemp("broken")
    for name, lines in (("may.csv", MAY), ("june.csv", JUNE)):
        (root / name).write_text(file_of(*lines), encoding="utf-8")
    before = workspace_at(root / "before", {}, make=True)
    import_sales(before, [root / "may.csv"], who="Ada", now=NOW)
    places = {s: root / s.replace(" ", "_") for s in broken_off.STEPS}
    for place in places.values():
        shutil.copytree(before.root, place)
    pairs = [word for step, place in places.items() for word in (str(place), step)]
    done = subprocess.run(
        [sys.executable, broken_off.__file__, str(root / "june.csv"), *pairs],
        capture_output=True,
        text=True,
        timeout=300,
        check=True,
    )
    assert done.stdout.splitlines() == [f"{step} -9" for step in broken_off.STEPS]
    return {step: Workspace(place) for step, place in places.items()}


@pytest.mark.parametrize("step", broken_off.STEPS)
def test_what_was_whole_stays_and_the_rest_can_be_done_again(
    broken: dict[str, Workspace], step: str
) -> None:
    there = broken[step]
    is_in = step in DONE
    left = len(list(there.kept.glob("*.csv"))), len(unfinished_changes(there))
    assert (*left, there.holder.exists()) == LEFT[step]
    assert examine(there).faults == ()
    with reading(there) as con:
        assert [b.file for b in batches(con)] == ["may.csv", "june.csv"][: 1 + is_in]
        assert len(evidence_book(con)) == (6 if is_in else 4)
    file = there.root.parent / "june.csv"
    done = import_sales(there, [file], who="Bo", now=LATER).files[0]
    assert done.outcome == ("known" if is_in else "new")
    with reading(there) as con:
        found = batches(con)
        assert [(b.file, b.who) for b in found] == [
            ("may.csv", "Ada"),
            ("june.csv", "Ada" if is_in else "Bo"),
        ]
        assert len(evidence_book(con)) == 6
        assert con.execute("SELECT max(number) FROM events").fetchall() == [(2,)]
    if not is_in:
        assert len(sealed_changes(there)) == 2
        assert unfinished_changes(there) == []
    assert examine(there).faults == ()

"""A sale can be traced: file, row, cells as they came, decisions, what goes with it."""

from __future__ import annotations

import gzip
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from evidence_files import HEADER, LATER, MAY, NOW, file_of, line

from valuation.errors import EvidenceError
from valuation.evidence.batches import undo_batch
from valuation.evidence.corrections import fix_sale, set_aside_sale
from valuation.evidence.opening import reading, writing
from valuation.evidence.sales_in import ImportResult, import_sales
from valuation.evidence.story import SaleStory, sale_story
from valuation.evidence.workspace import Workspace, workspace_at

ReadIn = Callable[..., ImportResult]
Write = Callable[..., Path]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Workspace, str]:
    """Return a workspace with a batch of four sales and a row that is none, and its name."""
    path = tmp_path_factory.mktemp("made") / "may.csv"
    path.write_text(file_of(*MAY, line(5, price=0)), encoding="utf-8")
    there = workspace_at(path.with_name("firm"), {}, make=True)
    done = import_sales(there, [path], who="Ada", now=NOW).files[0].batch
    assert done is not None
    return there, done.batch


@pytest.fixture
def workspace(made: tuple[Workspace, str], tmp_path: Path) -> Workspace:
    """Return a copy of the workspace."""
    return Workspace(Path(shutil.copytree(made[0].root, tmp_path / "firm")))


@pytest.fixture
def batch(made: tuple[Workspace, str]) -> str:
    """Return the name of its batch."""
    return made[1]


def story(workspace: Workspace, key: str) -> SaleStory:
    with reading(workspace) as con:
        return sale_story(con, workspace, key)


def test_where_a_sale_comes_from(workspace: Workspace, batch: str) -> None:
    found = story(workspace, f"{batch}:2")
    assert dict(found.cells) == dict(zip(HEADER.split(","), MAY[0].split(","), strict=True))
    assert (found.file, found.row, found.counts, found.batch.who) == ("may.csv", 2, True, "Ada")
    assert found.read["price"] == "41000"
    assert found.read["mileage"] == "61200"
    assert "colour" not in found.read
    text = found.summary()
    assert text.startswith(
        f"Sale {batch}:2: row 2 of may.csv, read in on 01 July 2024 by Ada with batch {batch}, in "
        "use.\nIt counts.\n\nThe row as it came:\n  sale_id "
    )
    assert list(json.loads(json.dumps(found.to_dict())))[:2] == ["format", "sale_key"]


def test_what_was_decided_and_what_goes_with_it(
    workspace: Workspace, batch: str, write: Write, read_in: ReadIn
) -> None:
    late = line(9, day="2024-06-20", chassis="TR4-1180-K", price=43_000)
    years = line(10, day="2021-06-20", chassis="tr4 1180 k", price=30_000)
    other = read_in(write("june.csv", [late, years])).files[0].batch
    assert other is not None
    with writing(workspace, who="Bo", now=LATER) as con:
        fix_sale(con, f"{other.batch}:2", {"colour": "red"}, reason="photo", who="Bo", now=LATER)
    kept, gone = story(workspace, f"{other.batch}:2"), story(workspace, f"{batch}:2")
    assert (kept.counts, kept.stands_for) == (True, (f"{batch}:2",))
    assert kept.other_sales == (f"{other.batch}:3",)
    assert "2024-07-02 17:00  Bo: colour = red (photo)" in kept.summary()
    assert f"Other sales of the same chassis: {other.batch}:3" in kept.summary()
    assert not gone.counts
    assert (
        f"It does not count: re-offer, offered again within 60 days, row 2 of june.csv "
        f"({other.batch}:2)." in gone.summary()
    )


def test_why_it_does_not_count(workspace: Workspace, batch: str) -> None:
    never = story(workspace, f"{batch}:6")
    assert (never.counts, never.read, never.why_not[0].code) == (False, {}, "price not above zero")
    assert never.cells["sale_id"] == "L-5"
    with writing(workspace, who="Bo", now=LATER) as con:
        set_aside_sale(con, f"{batch}:3", reason="a replica", who="Bo", now=LATER)
    assert "It does not count: set aside by hand, a replica (Bo, 02 July 2024)." in (
        story(workspace, f"{batch}:3").summary()
    )
    with writing(workspace, who="Bo", now=LATER) as con:
        undo_batch(con, batch, reason="the wrong file", who="Bo", now=LATER)
    assert "It does not count, as its batch is not in use." in (
        story(workspace, f"{batch}:4").summary()
    )


def test_no_such_sale(workspace: Workspace, batch: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        story(workspace, f"{batch}:99")
    assert str(caught.value) == (
        f"sale {batch}:99: there is no such sale. Name it as batch:row, such as 1f60af764346:12."
    )
    with pytest.raises(EvidenceError, match="there is no such batch"):
        story(workspace, "zzz:2")


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (Path.unlink, "the copy of may.csv is missing (got: No such file or directory)."),
        (lambda p: p.write_text("x", encoding="utf-8"), "the copy of may.csv is no longer what"),
    ],
)
def test_the_copy_of_the_file_is_gone(
    workspace: Workspace, batch: str, spoil: Callable[[Path], object], said: str
) -> None:
    (copy,) = workspace.kept.glob("*.csv")
    spoil(copy)
    found = story(workspace, f"{batch}:2")
    assert found.cells == {}
    assert found.read["price"] == "41000"
    assert f"The row as it came can't be shown. files/{copy.name}: {said}" in found.summary()


def test_a_packed_file_is_kept_packed(
    workspace: Workspace, write: Write, read_in: ReadIn, tmp_path: Path
) -> None:
    packed = tmp_path / "may.csv.gz"
    packed.write_bytes(gzip.compress(write("may.csv", MAY).read_bytes()))
    made = read_in(packed, now=NOW).files[0].batch
    assert made is not None
    assert story(workspace, f"{made.batch}:5").cells["sale_id"] == "L-4"
    assert [p.name for p in workspace.kept.glob("*.gz")] == [f"{made.sha256}.csv.gz"]

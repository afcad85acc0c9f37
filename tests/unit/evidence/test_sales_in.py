"""Reading in: each file once, whole or not at all, in one currency, and undone without loss."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from evidence_files import HEADER, JUNE, LATER, MAY, NOW, line

from valuation.errors import EvidenceError
from valuation.evidence import sales_in
from valuation.evidence.batches import Batch, batch, batches, restore_batch, undo_batch
from valuation.evidence.keep import hash_of
from valuation.evidence.opening import reading, writing
from valuation.evidence.read_file import rows_set_aside
from valuation.evidence.sales_in import FileResult, ImportResult
from valuation.evidence.workspace import Workspace
from valuation.importing.map_file import map_from_toml
from valuation.importing.rates import read_rates
from valuation.importing.sales import read_sales
from valuation.records import SalesBook

Write = Callable[..., Path]
ReadIn = Callable[..., ImportResult]
Book = Callable[..., SalesBook]


def known(workspace: Workspace) -> tuple[Batch, ...]:
    with reading(workspace) as con:
        return batches(con)


def undo(workspace: Workspace, name: str) -> None:
    with writing(workspace, who="Ada", now=NOW) as con:
        undo_batch(con, name, reason="the wrong file", who="Ada", now=NOW)


def test_a_file_becomes_a_batch(workspace: Workspace, write: Write, read_in: ReadIn) -> None:
    path = write("may.csv", (*MAY, line(5, price=0)))
    done = read_in(path)
    sha = hash_of(path.read_bytes())
    (result,) = done.files
    b = result.batch
    assert b is not None
    assert (b.batch, b.sha256, b.kind, b.file) == (sha[:12], sha, "sales", "may.csv")
    assert (b.rows, b.accepted, b.set_aside, b.status) == (5, 4, 1, "in use")
    assert (b.read_at, b.who, b.currency, b.dated) == (NOW, "Ada", "EUR", True)
    assert result.reasons == {"price not above zero": 1}
    assert done.currency == "EUR"
    assert map_from_toml(b.source_map, "map").use("price").columns == ("price",)
    assert done.summary() == (
        f"may.csv: read in as batch {b.batch}: 5 rows, 4 accepted, 1 set aside.\n"
        "        1  price not above zero\n"
        '  - "mileage" states no unit and is read as miles.'
    )
    with reading(workspace) as con:
        ((key, row),) = rows_set_aside(con, b.batch)
        assert batch(con, b.batch[:5]) == b
    assert (key, row.row, row.cells["sale_id"]) == (f"{b.batch}:6", 6, "L-5")
    assert row == read_sales(path).set_aside[0]
    (copy,) = workspace.kept.glob("*.csv")
    assert copy.name == f"{sha}.csv"
    assert copy.read_bytes() == path.read_bytes()


def test_the_same_content_again_adds_nothing(
    workspace: Workspace, write: Write, read_in: ReadIn
) -> None:
    read_in(write("may.csv", MAY))
    before = workspace.database.read_bytes()
    done = read_in(write("another name.csv", MAY), who="Bo", now=LATER)
    assert [f.outcome for f in done.files] == ["known"]
    assert done.summary() == (
        f"another name.csv: nothing added; it is batch {known(workspace)[0].batch}, read in on "
        "01 July 2024 by Ada as may.csv, in use."
    )
    assert workspace.database.read_bytes() == before


def test_twice_in_one_go_is_once(workspace: Workspace, write: Write, read_in: ReadIn) -> None:
    done = read_in(write("a.csv", MAY), write("b.csv", MAY), write("c.csv", JUNE))
    assert [f.outcome for f in done.files] == ["new", "known", "new"]
    assert [b.file for b in known(workspace)] == ["a.csv", "c.csv"]


def test_a_bad_file_hinders_no_other(workspace: Workspace, write: Write, read_in: ReadIn) -> None:
    bad = write("bad.csv", ["1,2"], header="a,b")
    done = read_in(bad, write("may.csv", MAY), workspace.root / "gone.csv")
    assert [f.outcome for f in done.files] == ["refused", "new", "refused"]
    assert [f.file for f in done.refused] == ["bad.csv", "gone.csv"]
    assert done.files[0].summary() == (
        "Not read in: bad.csv: no column holds a price (got: a, b). Name the price column in a "
        "map, or choose a file with prices."
    )
    assert "gone.csv: it can't be read (got: No such file or directory)" in done.files[2].fault
    assert [b.file for b in known(workspace)] == ["may.csv"]
    assert json.loads(json.dumps(done.to_dict()))["files"][0]["batch"] is None


def test_an_undone_batch_counts_again_when_it_is_read_in_again(
    workspace: Workspace, write: Write, read_in: ReadIn, book: Book
) -> None:
    read_in(write("may.csv", MAY))
    before = book()
    undo(workspace, known(workspace)[0].batch)
    assert len(book()) == 0
    done = read_in(write("may.csv", MAY), who="Bo", now=LATER)
    assert done.files[0].outcome == "restored"
    b = known(workspace)[0]
    assert (b.status, b.reason, b.who, b.read_at) == ("in use", "read in again", "Ada", NOW)
    pd.testing.assert_frame_equal(book().table, before.table)


def test_an_undone_batch_stays_so_while_its_file_lies_in_a_folder(
    workspace: Workspace, write: Write, read_in: ReadIn, book: Book
) -> None:
    path = write("may.csv", MAY)
    read_in(path)
    undo(workspace, known(workspace)[0].batch)
    done = read_in(path, restore=False)
    assert done.files[0].outcome == "known"
    assert done.summary().endswith("by Ada as may.csv, undone.")
    assert len(book()) == 0


def test_a_known_file_is_not_read_in_another_way_silently(write: Write, read_in: ReadIn) -> None:
    path = write("may.csv", MAY)
    miles = map_from_toml('format = 1\n[columns.mileage]\ncolumn = "mileage"\nunit = "km"', "map")
    read_in(path)
    assert read_in(path).files[0].note == ""
    assert read_in(path, source_map=miles).files[0].note == (
        "It was read in another way than is asked for; undo the batch first to read it anew."
    )
    assert read_in(path, source_map=miles).summary().endswith("to read it anew.")


def test_an_undone_batch_can_be_read_in_another_way(
    workspace: Workspace, write: Write, read_in: ReadIn, book: Book
) -> None:
    path = write("may.csv", MAY)
    read_in(path)
    undo(workspace, known(workspace)[0].batch)
    kilometres = map_from_toml(
        'format = 1\n[columns.mileage]\ncolumn = "mileage"\nunit = "km"', "m"
    )
    done = read_in(path, source_map=kilometres)
    assert done.files[0].outcome == "read again"
    assert [b.status for b in known(workspace)] == ["in use"]
    assert book().table["mileage"].max() == pytest.approx(61_200 * 0.621371, rel=1e-6)
    assert len(book()) == 4
    assert len(list(workspace.kept.glob("*.json"))) == 2


def test_sheets_of_a_workbook_have_keys_of_their_own(
    workspace: Workspace, tmp_path: Path, read_in: ReadIn, book: Book
) -> None:
    path = tmp_path / "months.xlsx"
    made = openpyxl.Workbook()
    for sheet, lines in (("May", MAY), ("June", JUNE)):
        rows = made.create_sheet(sheet)
        for text in (HEADER, *lines):
            rows.append(text.split(","))
    made.save(path)
    read_in(path)
    keys = book().table["sale_key"]
    name = known(workspace)[0].batch
    assert set(keys) == {f"{name}:{r}" for r in (2, 3, 4, 5)} | {f"{name}:2-{r}" for r in (2, 3)}


class TestCurrency:
    def test_that_of_the_first_file_counts(
        self, workspace: Workspace, write: Write, read_in: ReadIn, book: Book
    ) -> None:
        read_in(write("may.csv", MAY))
        done = read_in(write("abroad.csv", [line(7, currency="USD"), line(8, currency="EUR")]))
        assert done.files[0].reasons == {"no rate": 1}
        assert done.currency == "EUR"
        assert set(book().table["currency"]) == {"EUR"}

    def test_rates_bring_other_amounts_to_it(
        self, write: Write, read_in: ReadIn, book: Book
    ) -> None:
        rates = read_rates(write("r.csv", ["USD,2024-05-01,0.9"], header="currency,date,rate"))
        read_in(write("may.csv", MAY))
        read_in(write("abroad.csv", [line(7, currency="USD", price=10_000)]), rates=rates)
        assert sorted(book().table["price"])[0] == 9_000

    def test_another_one_is_refused(
        self, workspace: Workspace, write: Write, read_in: ReadIn
    ) -> None:
        read_in(write("may.csv", MAY), currency="eur")
        with pytest.raises(EvidenceError) as caught:
            read_in(write("june.csv", JUNE), currency="USD")
        assert str(caught.value) == (
            f"{workspace.root}: the evidence is in EUR and can't become one of another currency "
            "(got: USD). Leave the currency out, or name EUR; rates bring other amounts to it."
        )

    def test_an_undone_batch_binds_nobody_and_does_not_come_back_into_another(
        self, workspace: Workspace, write: Write, read_in: ReadIn
    ) -> None:
        read_in(write("may.csv", MAY))
        first = known(workspace)[0]
        undo(workspace, first.batch)
        read_in(write("abroad.csv", [line(7, currency="USD")]))
        with (
            pytest.raises(EvidenceError) as caught,
            writing(workspace, who="Ada", now=NOW) as con,
        ):
            restore_batch(con, first.batch, reason="after all", who="Ada", now=NOW)
        assert str(caught.value) == (
            "may.csv: its amounts would be in another currency than the evidence, which is in USD "
            "(got: EUR). Read it in USD with a table of rates, or keep it in another workspace."
        )

    @pytest.mark.parametrize("unnamed_first", [True, False])
    def test_an_unnamed_one_goes_with_any(
        self, write: Write, read_in: ReadIn, book: Book, unnamed_first: bool
    ) -> None:
        unnamed = write("unnamed.csv", [line(7, currency="", price=30_000)])
        named = write("may.csv", MAY)
        order = (unnamed, named) if unnamed_first else (named, unnamed)
        for path in order:
            last = read_in(path)
        assert last.currency == "EUR"
        found = book()
        assert found.currency == "EUR"
        assert len(found) == 5
        assert set(found.table["currency"]) == {"EUR"}
        taken = any("that name no currency, taken as EUR" in n for n in found.notes)
        noted = any("no currency is stated; taken as EUR" in n for n in last.files[0].batch.notes)
        assert (taken, noted) == ((True, False) if unnamed_first else (False, True))

    def test_nothing_named_at_all(self, write: Write, read_in: ReadIn, book: Book) -> None:
        done = read_in(write("unnamed.csv", [line(7, currency="", price=30_000)]))
        assert done.currency == "XXX"
        assert book().currency == "XXX"


def test_somebody_else_was_faster(
    workspace: Workspace, write: Write, read_in: ReadIn, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write("may.csv", MAY)
    kept, faster = sales_in.keep, []

    def keep_after_another(*arguments: object) -> None:
        monkeypatch.setattr(sales_in, "keep", kept)
        faster.append(read_in(path, who="Bo").files[0].outcome)
        kept(*arguments)

    monkeypatch.setattr(sales_in, "keep", keep_after_another)
    assert (read_in(path).files[0].outcome, faster) == ("known", ["new"])
    assert [b.who for b in known(workspace)] == ["Bo"]


def test_progress_is_told(write: Write, read_in: ReadIn) -> None:
    told: list[tuple[int, int, str]] = []
    read_in(write("a.csv", MAY), write("b.csv", JUNE), progress=lambda *of: told.append(of))
    assert told == [(0, 2, "reading in"), (1, 2, "reading in"), (2, 2, "reading in")]


def test_a_result_is_told_in_one_word(write: Write, read_in: ReadIn) -> None:
    assert FileResult("a.csv", "refused", None, fault="a.csv: it is empty.").to_dict() == {
        "file": "a.csv",
        "outcome": "refused",
        "batch": None,
        "reasons": {},
        "fault": "a.csv: it is empty.",
        "note": "",
    }
    assert read_in(write("may.csv", MAY)).to_dict()["currency"] == "EUR"

"""What was decided about a batch: appended, never edited."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC
from pathlib import Path

import pytest
from evidence_files import JUNE, LATER, MAY, NOW

from valuation.errors import EvidenceError
from valuation.evidence.batches import (
    accept_batch,
    batch,
    batches,
    enter_batch,
    hold_batch,
    restore_batch,
    undo_batch,
)
from valuation.evidence.opening import reading, writing
from valuation.evidence.sales_in import ImportResult
from valuation.evidence.workspace import Workspace
from valuation.records import SalesBook

ReadIn = Callable[..., ImportResult]


@pytest.fixture
def name(write: Callable[..., Path], read_in: ReadIn) -> str:
    """Return the name of a batch that was read in."""
    made = read_in(write("may.csv", MAY)).files[0].batch
    assert made is not None
    return made.batch


def decide(
    workspace: Workspace, act: Callable[..., object], name: str, reason: str = "odd"
) -> None:
    with writing(workspace, who="Bo", now=LATER) as con:
        act(con, name, reason=reason, who="Bo", now=LATER)


@pytest.mark.parametrize(
    ("acts", "status", "sales"),
    [
        ((), "in use", 4),
        ((undo_batch,), "undone", 0),
        ((hold_batch,), "held", 0),
        ((hold_batch, undo_batch), "undone", 0),
        ((hold_batch, accept_batch), "in use", 4),
        ((undo_batch, restore_batch), "in use", 4),
    ],
)
def test_the_last_decision_counts(
    workspace: Workspace,
    book: Callable[..., SalesBook],
    name: str,
    acts: tuple[Callable[..., object], ...],
    status: str,
    sales: int,
) -> None:
    for i, act in enumerate(acts):
        decide(workspace, act, name, f"reason {i}")
    with reading(workspace) as con:
        found = batch(con, name)
        events = con.execute("SELECT who, reason FROM events ORDER BY number").fetchall()
    assert (found.status, found.who, found.read_at) == (status, "Ada", NOW)
    assert found.reason == (f"reason {len(acts) - 1}" if acts else "")
    assert events == [("Ada", ""), *(("Bo", f"reason {i}") for i in range(len(acts)))]
    assert len(book()) == sales


@pytest.mark.parametrize(
    ("before", "act", "event", "needed", "got"),
    [
        ((), accept_batch, "accepted", "held", "in use"),
        ((), restore_batch, "restored", "undone", "in use"),
        ((hold_batch,), hold_batch, "held", "in use", "held"),
        ((undo_batch,), undo_batch, "undone", "in use or held", "undone"),
        ((undo_batch,), accept_batch, "accepted", "held", "undone"),
    ],
)
def test_what_makes_no_sense_is_refused(
    workspace: Workspace,
    name: str,
    before: tuple[Callable[..., object], ...],
    act: Callable[..., object],
    event: str,
    needed: str,
    got: str,
) -> None:
    for earlier in before:
        decide(workspace, earlier, name)
    with pytest.raises(EvidenceError) as caught:
        decide(workspace, act, name)
    assert str(caught.value) == (
        f"batch {name}: it can't be {event}, as it is not {needed} (got: {got}). See what was "
        "decided with: valuation batches."
    )


def test_a_decision_needs_a_reason(workspace: Workspace, name: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        decide(workspace, undo_batch, name, "  ")
    assert str(caught.value) == (f"batch {name}: a decision needs a reason. Say why with --reason.")


def test_a_name_may_be_cut_short_but_not_doubtful(
    workspace: Workspace, name: str, read_in: ReadIn, write: Callable[..., Path]
) -> None:
    read_in(write("june.csv", JUNE))
    with reading(workspace) as con:
        assert batch(con, name[:6].upper()).batch == name
        for wrong in ("zzz", "", " "):
            with pytest.raises(EvidenceError) as caught:
                batch(con, wrong)
            assert caught.value.problem == "there is no such batch"
    with writing(workspace, who="Ada", now=NOW) as con:
        like = replace(batch(con, name), batch=name[:3] + "0" * 9, kind="said")
        enter_batch(con, like, who="Ada", now=NOW)
        with pytest.raises(EvidenceError) as caught:
            batch(con, name[:3])
    assert str(caught.value) == (
        f"batch: several batches begin so (got: {name[:3]}). See them all with: valuation batches."
    )


def test_batches_are_told_in_the_order_they_came(
    workspace: Workspace, name: str, read_in: ReadIn, write: Callable[..., Path]
) -> None:
    read_in(write("june.csv", JUNE), who="Bo", now=LATER)
    decide(workspace, hold_batch, name)
    with reading(workspace) as con:
        first, second = batches(con)
        assert batches(con, kind="ledger") == ()
    assert first.summary() == (
        f"{name}  2024-07-01 09:30  sales   held    4 of 4 rows  may.csv, read in by Ada (odd)"
    )
    assert second.summary() == (
        f"{second.batch}  2024-07-02 17:00  sales   in use  2 of 2 rows  june.csv, read in by Bo"
    )
    assert first.read_at.tzinfo is UTC
    assert first.to_dict()["read_at"] == "2024-07-01T09:30:00+00:00"
    assert next(iter(first.to_dict())) == "format"

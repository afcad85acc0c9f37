"""Pieces of work come out the same, in their order, wherever they are run."""

from __future__ import annotations

import os
import sys

import pytest

from valuation.errors import SettingsError, ValuationError
from valuation.running.runner import Runner
from valuation.scoring.accuracy import AccuracySummary, accuracy_summary
from valuation.scoring.checks import ScoreInputError

PRICES = [100.0, 200.0]


def test_results_come_in_the_order_of_the_pieces(run: Runner) -> None:
    assert list(run.each(pow, range(9), common=3)) == [3**k for k in range(9)]


def test_nothing_to_do_gives_nothing(run: Runner) -> None:
    assert list(run.each(pow, [], common=3)) == []


def test_objects_go_out_and_come_home(run: Runner) -> None:
    estimates = [[110.0, 150.0], [100.0, 200.0], [90.0, 260.0]]
    found = list(run.each(accuracy_summary, estimates, common=PRICES))
    assert all(isinstance(f, AccuracySummary) for f in found)
    assert found == [accuracy_summary(PRICES, e) for e in estimates]


def test_progress_counts_the_pieces(run: Runner) -> None:
    told: list[tuple[int, int, str]] = []
    list(run.each(pow, range(3), common=2, progress=lambda *s: told.append(s), what="counting"))
    assert told == [(1, 3, "counting"), (2, 3, "counting"), (3, 3, "counting")]


def test_the_first_fault_arrives_as_itself(run: Runner) -> None:
    pieces = [[110.0, 150.0], [110.0, -1.0], [1.0], [110.0, 150.0]]
    with pytest.raises(ValuationError) as expected:
        accuracy_summary(PRICES, pieces[1])
    results = run.each(accuracy_summary, pieces, common=PRICES)
    assert next(results) == accuracy_summary(PRICES, pieces[0])
    with pytest.raises(ScoreInputError) as found:
        next(results)
    assert str(found.value) == str(expected.value)
    assert (found.value.where, found.value.got) == (expected.value.where, expected.value.got)
    # The runner is as good as new.
    assert list(run.each(pow, [2, 3], common=2)) == [4, 8]


def test_another_error_arrives_as_itself_too(run: Runner) -> None:
    with pytest.raises(TypeError, match="unsupported operand"):
        list(run.each(pow, [1, "two", 3], common=2))


def test_one_may_stop_early(run: Runner) -> None:
    results = run.each(pow, range(50), common=2)
    assert next(results) == 1
    results.close()
    assert list(run.each(pow, [5, 6], common=2)) == [32, 64]


def test_a_runner_needs_no_context() -> None:
    assert list(Runner(workers=2).each(pow, [1, 2, 3], common=2)) == [2, 4, 8]


def test_a_process_that_was_ended_is_said() -> None:
    # Each piece makes its process another program, which is done at once.
    pieces = [["false"]] * 3
    with Runner(workers=2) as run:
        with pytest.raises(ValuationError) as found:
            list(run.each(os.execv, pieces, common="/bin/false"))
        assert str(found.value) == (
            "workers: a process was ended from outside, most likely because memory ran out (got: 2 "
            "processes). Run fewer of them, or end what else takes memory."
        )
        assert list(run.each(pow, [1, 2], common=2)) == [2, 4]


def test_one_worker_is_this_process() -> None:
    assert Runner().alone
    assert Runner(workers=1).alone
    assert not Runner(workers=2).alone
    assert not Runner(cluster="tcp://127.0.0.1:8786").alone


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"workers": 0}, "workers: at least one process is needed (got: 0). Say 1 or more."),
        (
            {"workers": 2, "cluster": "local:2"},
            "workers: the work runs either on processes of this machine or on a cluster (got: 2 "
            "workers and local:2). Name one of them.",
        ),
        (
            {"cluster": "local:0"},
            "cluster: this is no address of a cluster (got: local:0). Write local:2 for two "
            "processes of this machine, or the address of a scheduler such as "
            "tcp://10.0.0.5:8786.",
        ),
    ],
)
def test_what_makes_no_sense_is_said(asked: dict[str, object], said: str) -> None:
    with pytest.raises(SettingsError) as found:
        Runner(**asked)
    assert str(found.value) == said


@pytest.mark.parametrize(
    "address", ["local", "local:two", "10.0.0.5:8786", "http://host", "tcp://"]
)
def test_what_is_no_address_is_refused(address: str) -> None:
    with pytest.raises(SettingsError, match="this is no address of a cluster"):
        Runner(cluster=address)


def test_without_the_extra_it_is_said_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    monkeypatch.delitem(sys.modules, "valuation.running.cluster", raising=False)
    with pytest.raises(SettingsError) as found:
        list(Runner(cluster="local:2").each(pow, [1, 2], common=2))
    assert str(found.value) == (
        "cluster: the library that talks to clusters is missing (got: distributed). Install this "
        "package with its extra `cluster`, or leave the cluster out and name a number of workers."
    )

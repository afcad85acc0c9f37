"""A cluster is used only if its workers give the bytes that this machine would give."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from typing import Any

import distributed
import pytest
from dask.tokenize import tokenize

from valuation.errors import SettingsError, ValuationError
from valuation.running import cluster
from valuation.running.pieces import Shared
from valuation.running.runner import Runner


class Answers:
    """What a client of a cluster answers."""

    def __init__(self, threads: dict[str, int], **changed: str) -> None:
        self.threads, self.changed = threads, changed

    def nthreads(self) -> dict[str, int]:
        return self.threads

    def run(self, function: Callable[[], dict[str, str]]) -> dict[str, Any]:
        return {worker: {**function(), **self.changed} for worker in self.threads}


def test_a_scheduler_of_this_machine_is_found_at_its_address() -> None:
    with distributed.LocalCluster(
        n_workers=1,
        threads_per_worker=1,
        processes=False,
        protocol="tcp",
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        silence_logs=logging.ERROR,
    ) as there:
        with Runner(cluster=there.scheduler_address) as run:
            assert list(run.each(pow, [1, 2, 3], common=2)) == [2, 4, 8]
        # It was there before, and stays.
        with Runner(cluster=there.scheduler_address) as run:
            assert list(run.each(pow, [4, 5], common=2)) == [16, 32]


@pytest.mark.parametrize("kind", [distributed.KilledWorker, distributed.CancelledError])
def test_workers_that_went_away_are_said(
    monkeypatch: pytest.MonkeyPatch, kind: type[Exception]
) -> None:
    def lost(*_: object, **__: object) -> Iterator[tuple[int, object]]:
        yield 0, 2
        raise kind("piece", None, 3) if kind is distributed.KilledWorker else kind()

    monkeypatch.setattr(cluster, "connect", lambda _: Answers({}))
    monkeypatch.setattr(cluster, "spread", lost)
    results = cluster.Cluster("tcp://s:8786").start(pow, 2, [1, 2])
    assert next(results) == (0, 2)
    with pytest.raises(ValuationError) as found:
        next(results)
    assert str(found.value) == (
        "cluster: its workers or its scheduler went away during the work (got: "
        f"{kind.__name__}). See why they ended, often for want of memory, and start again."
    )


def test_nobody_at_the_address(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "PATIENCE", 1)
    with pytest.raises(SettingsError) as found:
        cluster.connect("tcp://127.0.0.1:1")
    assert str(found.value) == (
        "cluster: no scheduler answers there within 1 seconds (got: tcp://127.0.0.1:1). Start one "
        "with `dask scheduler`, or correct the address."
    )


def test_workers_like_this_process_are_taken() -> None:
    cluster.check(Answers({"tcp://a:1": 1, "tcp://b:1": 1}), "tcp://s:8786")


def test_no_worker() -> None:
    with pytest.raises(SettingsError) as found:
        cluster.check(Answers({}), "tcp://s:8786")
    assert str(found.value) == (
        "cluster: the scheduler has no worker (got: tcp://s:8786). Start some with `dask worker "
        "tcp://s:8786 --nthreads 1`."
    )


def test_a_worker_with_two_threads() -> None:
    with pytest.raises(SettingsError) as found:
        cluster.check(Answers({"tcp://a:1": 1, "tcp://b:1": 2}), "tcp://s:8786")
    assert str(found.value) == (
        "cluster: a worker must have one thread, or its results may differ in the last digit (got: "
        "2 threads at tcp://b:1). Start it with `--nthreads 1`, and more of them with "
        "`--nworkers`."
    )


def test_a_worker_of_another_version() -> None:
    mine = cluster.versions()
    with pytest.raises(SettingsError) as found:
        cluster.check(Answers({"tcp://a:1": 1}, numpy="2.1.0", pandas="missing"), "tcp://s:8786")
    assert str(found.value) == (
        "cluster: a worker has other versions than this machine, so its results may differ (got: "
        f"numpy 2.1.0, pandas missing at tcp://a:1). Install numpy {mine['numpy']}, pandas "
        f"{mine['pandas']} there."
    )


def test_a_worker_without_this_package() -> None:
    class Foreign(Answers):
        def run(self, function: Callable[[], dict[str, str]]) -> dict[str, Any]:
            raise ModuleNotFoundError("No module named 'valuation'", name="valuation")

    with pytest.raises(SettingsError, match=r"a worker lacks this package \(got: valuation\)"):
        cluster.check(Foreign({"tcp://a:1": 1}), "tcp://s:8786")


def test_the_same_thing_is_sent_anew_by_each_run() -> None:
    """One run lets go of it at its end: by the same name the next one could lose it on its way."""
    first, second = Shared(2, "a"), Shared(2, "b")
    assert tokenize(first) == tokenize(Shared(2, "a"))
    assert tokenize(first) != tokenize(second)

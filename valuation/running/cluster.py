"""A Dask cluster: started on this machine, or found at its address.  Needs the extra `cluster`."""

from __future__ import annotations

import importlib
import logging
import sys
from collections.abc import Generator, Sequence
from importlib.metadata import PackageNotFoundError, version
from typing import Any
from uuid import uuid4

from valuation.errors import SettingsError, ValuationError
from valuation.running.pieces import Shared, attempt_shared, spread

__all__ = ["Cluster", "check", "connect", "versions"]

distributed: Any = importlib.import_module("distributed")

LOST = (
    distributed.KilledWorker,
    distributed.CancelledError,
    importlib.import_module("distributed.comm").CommClosedError,
)
"""What is raised when workers or the scheduler go away."""

PATIENCE = 10
"""Seconds that a scheduler has to answer."""

COUNT = ("collector-car-valuation", "numpy", "scipy", "pandas", "scikit-learn")
"""Packages that have a part in the bytes of a result."""


class Cluster:
    """Workers of a Dask cluster.

    Parameters
    ----------
    cluster : str
        ``local:N`` or the address of a scheduler.

    Raises
    ------
    SettingsError
        If nobody answers, no worker is there, or workers differ from this process.
    """

    def __init__(self, cluster: str) -> None:
        self._client = connect(cluster)

    def start(self, work: Any, common: Any, pieces: Sequence[Any]) -> Generator[tuple[int, Any]]:
        """Run the pieces and yield (position, result) as each finishes.

        What they share is sent once to each worker.
        """
        shared = Shared(common, uuid4().hex)
        found = spread(
            attempt_shared,
            work,
            shared,
            pieces,
            backend="dask",
            n_jobs=-1,
            client=self._client,
            scatter=[shared],
        )
        try:
            yield from found
        except LOST as error:
            raise ValuationError(
                "cluster",
                "its workers or its scheduler went away during the work",
                got=type(error).__name__,
                remedy="See why they ended, often for want of memory, and start again",
            ) from error

    def close(self) -> None:
        """Leave the cluster, and end it if it was started for this."""
        own = self._client.cluster
        self._client.close()
        if own is not None:
            own.close()


def connect(cluster: str) -> Any:
    """Return a client of a cluster whose workers give the bytes that this process would give.

    Parameters
    ----------
    cluster : str
        ``local:N`` or the address of a scheduler.

    Raises
    ------
    SettingsError
        If nobody answers, no worker is there, or workers differ from this process.
    """
    if cluster.startswith("local:"):
        return _local(int(cluster.removeprefix("local:")))
    try:
        client = distributed.Client(cluster, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise SettingsError(
            "cluster",
            f"no scheduler answers there within {PATIENCE} seconds",
            got=cluster,
            remedy="Start one with `dask scheduler`, or correct the address",
        ) from error
    try:
        check(client, cluster)
    except BaseException:
        client.close()
        raise
    return client


def _local(workers: int) -> Any:
    try:
        own = distributed.LocalCluster(
            n_workers=workers,
            threads_per_worker=1,
            processes=True,
            host="127.0.0.1",
            # Any free port: the usual one may be taken.
            dashboard_address="127.0.0.1:0",
            # A piece holds what it holds; pausing or ending its worker would help nobody.
            memory_limit=0,
            silence_logs=logging.ERROR,
        )
    except (OSError, RuntimeError) as error:
        raise SettingsError(
            "cluster",
            "its processes can't be started on this machine",
            got=str(error).partition("\n")[0],
            remedy="Run the work on plain processes: name a number of workers",
        ) from error
    return distributed.Client(own, set_as_default=False)


def versions() -> dict[str, str]:
    """Return the versions on which the bytes of a result depend; run on every worker."""
    out = {"python": ".".join(map(str, sys.version_info[:2]))}
    for name in COUNT:
        try:
            out[name] = version(name)
        except PackageNotFoundError:
            out[name] = "missing"
    return out


def check(client: Any, cluster: str) -> None:
    """Refuse a cluster whose results could differ from those of this process.

    Parameters
    ----------
    client : distributed.Client
        Connected to it.
    cluster : str
        Its address, for messages.

    Raises
    ------
    SettingsError
        If no worker is there, one has several threads, or other versions.
    """
    threads = client.nthreads()
    if not threads:
        raise SettingsError(
            "cluster",
            "the scheduler has no worker",
            got=cluster,
            remedy=f"Start some with `dask worker {cluster} --nthreads 1`",
        )
    crowded = sorted(w for w, n in threads.items() if n != 1)
    if crowded:
        raise SettingsError(
            "cluster",
            "a worker must have one thread, or its results may differ in the last digit",
            got=f"{threads[crowded[0]]} threads at {crowded[0]}",
            remedy="Start it with `--nthreads 1`, and more of them with `--nworkers`",
        )
    mine = versions()
    for worker, theirs in sorted(_versions_of(client).items()):
        other = [f"{k} {theirs[k]}" for k in mine if theirs[k] != mine[k]]
        if other:
            wanted = ", ".join(f"{k} {mine[k]}" for k in mine if theirs[k] != mine[k])
            raise SettingsError(
                "cluster",
                "a worker has other versions than this machine, so its results may differ",
                got=f"{', '.join(other)} at {worker}",
                remedy=f"Install {wanted} there",
            )


def _versions_of(client: Any) -> dict[str, dict[str, str]]:
    try:
        found: dict[str, dict[str, str]] = client.run(versions)
    except ModuleNotFoundError as error:
        raise SettingsError(
            "cluster",
            "a worker lacks this package",
            got=str(error.name),
            remedy="Install the package with its extra `cluster` on every worker",
        ) from error
    return found

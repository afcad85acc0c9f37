"""Running independent pieces of work: in this process, on local processes, or on a cluster."""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import closing
from types import TracebackType
from typing import Any, Protocol, Self, TypeVar

from valuation.errors import SettingsError
from valuation.running.pieces import Failed
from valuation.running.threads import one_thread

__all__ = ["Progress", "Runner"]

Common = TypeVar("Common")
Piece = TypeVar("Piece")
Result = TypeVar("Result")

Work = Callable[[Any, Any], Any]

Progress = Callable[[int, int, str], None]
"""Called with steps done, steps in all, and what is being done."""

_CLUSTER = re.compile(r"local:[1-9]\d*|(tcp|tls|ws|wss|ucx)://\S+")


class Runner:
    """How independent pieces of work are run.

    Results don't depend on it: each piece is worked out by one process, with one thread of linear
    algebra, from the same inputs.  Use it as a context, so that processes which it starts are kept
    from call to call and ended at the end; outside one, each call starts its own.

    Parameters
    ----------
    workers : int
        Processes of this machine; with 1 all is done in this one.
    cluster : str
        Instead a Dask cluster: ``local:N`` for one of N processes of this machine, or the address
        of a scheduler such as ``tcp://10.0.0.5:8786``.  Needs the extra `cluster`.  Whoever
        reaches a scheduler runs programs on its workers: keep it in a network you trust.

    Raises
    ------
    SettingsError
        If a number or an address makes no sense, or both ways are asked for.

    Examples
    --------
    >>> with Runner() as run:
    ...     list(run.each(pow, [1, 2, 3], common=2))
    [2, 4, 8]
    """

    def __init__(self, *, workers: int = 1, cluster: str = "") -> None:
        if workers < 1:
            raise SettingsError(
                "workers",
                "at least one process is needed",
                got=str(workers),
                remedy="Say 1 or more",
            )
        if cluster and workers > 1:
            raise SettingsError(
                "workers",
                "the work runs either on processes of this machine or on a cluster",
                got=f"{workers} workers and {cluster}",
                remedy="Name one of them",
            )
        if cluster and not _CLUSTER.fullmatch(cluster):
            raise SettingsError(
                "cluster",
                "this is no address of a cluster",
                got=cluster,
                remedy="Write local:2 for two processes of this machine, or the address of a "
                "scheduler such as tcp://10.0.0.5:8786",
            )
        self.workers, self.cluster = workers, cluster
        self._inside = False
        self._engine: _Engine | None = None

    def __enter__(self) -> Self:
        self._inside = True
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._inside = False
        self.close()

    def close(self) -> None:
        """End the processes that were started; the next call starts new ones."""
        engine, self._engine = self._engine, None
        if engine is not None:
            engine.close()

    @property
    def alone(self) -> bool:
        """Whether all is done in this process."""
        return self.workers == 1 and not self.cluster

    def each(
        self,
        work: Callable[[Common, Piece], Result],
        pieces: Sequence[Piece],
        *,
        common: Common,
        progress: Progress | None = None,
        what: str = "working",
    ) -> Iterator[Result]:
        """Yield the result of each piece, in the order of the pieces.

        Parameters
        ----------
        work : callable
            Pure, and to be found by its name in a module: ``work(common, piece)``.
        pieces : sequence
            What differs from piece to piece.
        common : object
            What all pieces share; sent once to each worker of a cluster.
        progress : callable, optional
            Told as pieces finish.
        what : str
            What is being done, for `progress`.

        Yields
        ------
        object
            A result as soon as those before it are there.

        Raises
        ------
        ValuationError
            As it came from the first piece that failed.
        SettingsError
            If the cluster can't be used.
        """
        told = _Told(progress, len(pieces), what)
        if self.alone or len(pieces) <= 1:
            for piece in pieces:
                with one_thread():
                    result = work(common, piece)
                told.one_more()
                yield result
            return
        try:
            yield from _in_order(self._ready().start(work, common, pieces), len(pieces), told)
        finally:
            if not self._inside:
                self.close()

    def _ready(self) -> _Engine:
        if self._engine is None:
            self._engine = _engine(self.workers, self.cluster)
        return self._engine


class _Told:
    """Counts finished pieces and says so."""

    def __init__(self, progress: Progress | None, total: int, what: str) -> None:
        self._progress, self._total, self._what = progress, total, what
        self._done = 0

    def one_more(self) -> None:
        self._done += 1
        if self._progress is not None:
            self._progress(self._done, self._total, self._what)


def _in_order(arriving: Generator[tuple[int, Any]], n: int, told: _Told) -> Iterator[Any]:
    """Put results back into the order of their pieces, and raise the first fault among them."""
    waiting: dict[int, Any] = {}
    with closing(arriving):
        for i in range(n):
            while i not in waiting:
                at, result = next(arriving)
                waiting[at] = result
                told.one_more()
            result = waiting.pop(i)
            if isinstance(result, Failed):
                raise result.error
            yield result


class _Engine(Protocol):
    """What runs pieces elsewhere."""

    def start(self, work: Work, common: Any, pieces: Sequence[Any]) -> Generator[tuple[int, Any]]:
        """Run the pieces and yield (position, result) as each finishes."""
        ...

    def close(self) -> None:
        """End what was started."""
        ...


def _engine(workers: int, cluster: str) -> _Engine:
    made: _Engine
    if not cluster:
        made = importlib.import_module("valuation.running.processes").Processes(workers)
        return made
    try:
        made = importlib.import_module("valuation.running.cluster").Cluster(cluster)
    except ModuleNotFoundError as error:
        raise SettingsError(
            "cluster",
            "the library that talks to clusters is missing",
            got=str(error.name),
            remedy="Install this package with its extra `cluster`, or leave the cluster out and "
            "name a number of workers",
        ) from error
    return made

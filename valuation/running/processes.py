"""Processes of this machine."""

from __future__ import annotations

import tempfile
from collections.abc import Generator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

import joblib
from joblib.externals import loky

from valuation.errors import ValuationError
from valuation.running.pieces import attempt, spread

__all__ = ["Processes", "attempt_with"]


class Processes:
    """Some processes of this machine, kept from call to call.

    Parameters
    ----------
    workers : int
        How many.
    """

    def __init__(self, workers: int) -> None:
        self._workers = workers

    def start(self, work: Any, common: Any, pieces: Sequence[Any]) -> Generator[tuple[int, Any]]:
        """Run the pieces and yield (position, result) as each finishes.

        What they share is written once and read once by each process: it may be a market of
        hundreds of megabytes, and a piece a hundred cars.
        """
        with tempfile.TemporaryDirectory(prefix="valuation-") as folder:
            shared = str(Path(folder) / "common")
            joblib.dump(common, shared)
            found = spread(
                attempt_with,
                work,
                shared,
                pieces,
                backend="loky",
                n_jobs=self._workers,
                inner_max_num_threads=1,
            )
            try:
                yield from found
            except loky.BrokenProcessPool as error:
                raise ValuationError(
                    "workers",
                    "a process was ended from outside, most likely because memory ran out",
                    got=f"{self._workers} processes",
                    remedy="Run fewer of them, or end what else takes memory",
                ) from error

    def close(self) -> None:
        """End the processes, which otherwise wait for five minutes for more to do.

        At once: nobody waits for what they may still be doing.
        """
        loky.get_reusable_executor().shutdown(wait=True, kill_workers=True)


def attempt_with(work: Any, shared: str, at: int, piece: Any) -> tuple[int, Any]:
    """Work out one piece with what was written to a file for all of them."""
    return attempt(work, _read(shared), at, piece)


@lru_cache(maxsize=1)
def _read(shared: str) -> Any:
    return joblib.load(shared)

"""One piece of work in a worker, and its way home."""

from __future__ import annotations

import importlib
import warnings
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass
from typing import Any

from valuation.errors import ValuationError
from valuation.running.threads import one_thread

__all__ = ["Failed", "Shared", "attempt", "attempt_shared", "spread"]


@dataclass(frozen=True)
class Failed:
    """A fault that the user can mend, on its way home."""

    error: ValuationError


@dataclass(frozen=True)
class Shared:
    """What all pieces of one run share, told apart from the same thing shared by another run.

    A cluster names what is sent to it by its content.  The end of one run lets it go, and the next
    run of the same content could find it gone on its way.

    Parameters
    ----------
    common : object
        What they share.
    run : str
        A name that no other run has.
    """

    common: Any
    run: str


def attempt(work: Callable[[Any, Any], Any], common: Any, at: int, piece: Any) -> tuple[int, Any]:
    """Work out one piece; a fault comes home as a value, so that the first one counts.

    Parameters
    ----------
    work : callable
        What to do.
    common, piece : object
        Its arguments.
    at : int
        Position of the piece.
    """
    with one_thread():
        try:
            return at, work(common, piece)
        except ValuationError as error:
            return at, Failed(error)


def attempt_shared(
    work: Callable[[Any, Any], Any], shared: Shared, at: int, piece: Any
) -> tuple[int, Any]:
    """Work out one piece of a run as :func:`attempt` does."""
    return attempt(work, shared.common, at, piece)


def spread(
    do: Callable[..., tuple[int, Any]],
    work: Callable[[Any, Any], Any],
    common: Any,
    pieces: Sequence[Any],
    **options: Any,
) -> Generator[tuple[int, Any]]:
    """Run pieces by joblib and yield (position, result) as each finishes.

    Parameters
    ----------
    do : callable
        :func:`attempt`, or what calls it.
    work, common, pieces
        What is done with what.
    **options
        Of ``joblib.parallel_config``.
    """
    joblib = importlib.import_module("joblib")
    jobs = (joblib.delayed(do)(work, common, i, piece) for i, piece in enumerate(pieces))
    with joblib.parallel_config(**options):
        # A piece takes seconds: several in one go would leave workers idle at the end.
        parallel = joblib.Parallel(return_as="generator_unordered", batch_size=1)
        arriving = parallel(jobs)
    try:
        # An early end must not reach joblib before its warning is silenced.
        yield from (found for found in arriving)
    finally:
        with warnings.catch_warnings():
            # Pieces that nobody waits for after a fault are meant to be given up.
            warnings.simplefilter("ignore", UserWarning)
            arriving.close()

"""One thread for linear algebra on small blocks, two for two halves of the work."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from functools import cache
from typing import Any, TypeVar

from threadpoolctl import ThreadpoolController

__all__ = ["one_thread", "side_by_side"]

Part = TypeVar("Part")
Result = TypeVar("Result")


@cache
def _controller() -> ThreadpoolController:
    # Finding the libraries takes milliseconds, limiting them microseconds.
    return ThreadpoolController()


def one_thread() -> AbstractContextManager[Any]:
    """Return a context in which linear algebra uses one thread.

    On blocks of some hundred rows a second thread costs more than it brings (measured: up to
    tenfold when the other core is busy), and one thread gives the same bytes on every machine.
    """
    limited: AbstractContextManager[Any] = _controller().limit(limits=1)
    return limited


def side_by_side(work: Callable[[Part], Result], parts: Sequence[Part]) -> list[Result]:
    """Do the same work on several parts at once, one thread a part.

    Parameters
    ----------
    work : callable
        Pure: it may write only to what belongs to its part.
    parts : sequence
        Cut the same way on every machine, so that sums over parts have the same bytes whether or
        not the machine has a core for each.

    Returns
    -------
    list
        Results in the order of the parts.
    """
    with ThreadPoolExecutor(len(parts)) as pool:
        return list(pool.map(work, parts))

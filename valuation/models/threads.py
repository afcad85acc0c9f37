"""One thread for linear algebra on small blocks."""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import cache
from typing import Any

from threadpoolctl import ThreadpoolController

__all__ = ["one_thread"]


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

"""Python's search for circles of dead objects, left out where none are made."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

__all__ = ["without_collecting"]


@contextmanager
def without_collecting() -> Iterator[None]:
    """Let no search for circles run within; as a decorator, within a function.

    The search goes through every object that lives, again and again while a table of many rows is
    built, and finds nothing: rows, cells and statements don't refer back to each other.  What is no
    longer used is freed at once all the same.  Reading 100,000 rows takes a tenth less time so.

    Examples
    --------
    >>> with without_collecting():
    ...     gc.isenabled()
    False
    >>> gc.isenabled()
    True
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()

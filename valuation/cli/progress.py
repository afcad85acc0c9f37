"""A progress bar for library calls that report how far they are."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import Self, TextIO

from tqdm import tqdm

__all__ = ["Progress"]

_PATIENCE = 2.0
"""Seconds after which a bar appears where nobody sits at a terminal."""


class Progress:
    """A callback that draws a bar on the error stream, and clears it at the end.

    At a terminal the bar is there at once; in a log it appears only if the work takes longer
    than two seconds, and then seldom.

    Parameters
    ----------
    stream : file, optional
        Where to draw; the error stream if not given.
    """

    def __init__(self, stream: TextIO | None = None) -> None:
        self._stream = stream or sys.stderr
        self._bar: tqdm[None] | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def __call__(self, done: int, total: int, what: str = "") -> None:
        """Show that `done` of `total` steps of `what` are done."""
        if self._bar is None or self._bar.total != total or self._bar.desc != what:
            self.close()
            self._bar = self._new(total, what)
        self._bar.update(done - self._bar.n)

    def close(self) -> None:
        """Clear the bar."""
        if self._bar is not None:
            self._bar.close()
        self._bar = None

    def _new(self, total: int, what: str) -> tqdm[None]:
        watched = self._stream.isatty()
        return tqdm(
            total=total,
            desc=what,
            file=self._stream,
            leave=False,
            bar_format="{desc} {bar} {n_fmt} of {total_fmt}, {elapsed}",
            delay=0 if watched else _PATIENCE,
            mininterval=0.1 if watched else _PATIENCE,
        )

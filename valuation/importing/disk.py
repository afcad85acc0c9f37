"""Files that are there whole or not at all."""

from __future__ import annotations

from pathlib import Path

from valuation.files import write_in_one_step

__all__ = ["write_bytes", "write_text"]


def write_bytes(data: bytes, path: str | Path) -> None:
    """Write a file at once or not at all.

    Parameters
    ----------
    data : bytes
        Its content.
    path : str or pathlib.Path
        Where to; an older file is replaced only when the new one is complete.

    Raises
    ------
    ValuationError
        If the place can't be written to.
    """
    write_in_one_step(path, data, what="file")


def write_text(text: str, path: str | Path) -> None:
    """Write a text file in UTF-8 at once or not at all, line ends as they are."""
    write_bytes(text.encode("utf-8"), path)

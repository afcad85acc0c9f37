"""The one place where a report touches a disk."""

from __future__ import annotations

import os
from pathlib import Path

from valuation.files import write_in_one_step

__all__ = ["write_page"]


def write_page(html: str, path: str | os.PathLike[str]) -> Path:
    """Write a page in one step: a reader sees the old file or the whole new one.

    Parameters
    ----------
    html : str
        The page.
    path : path-like
        Where to write; missing folders are made.

    Returns
    -------
    pathlib.Path
        The file that was written.

    Raises
    ------
    ValuationError
        If the place can't be written to.
    """
    return write_in_one_step(path, html.encode(), what="page")

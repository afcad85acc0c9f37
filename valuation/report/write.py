"""The one place where a report touches a disk."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from valuation.errors import ValuationError

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
    target = Path(path)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _replace(target, html.encode())
    except OSError as error:
        raise ValuationError(
            str(target),
            "the page can't be written there",
            got=error.strerror or str(error),
            remedy="Name a file in a folder you may write to",
        ) from error
    return target


def _replace(target: Path, content: bytes) -> None:
    if target.is_dir():
        raise IsADirectoryError(None, "a folder has that name")
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        umask = os.umask(0)
        os.umask(umask)
        temporary.chmod(0o666 & ~umask)
        temporary.replace(target)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise

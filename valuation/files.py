"""Replacing files in one step."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from valuation.errors import ValuationError

__all__ = ["write_in_one_step"]


def write_in_one_step(path: str | os.PathLike[str], content: bytes, *, what: str) -> Path:
    """Write a file so that a reader sees the old one or the whole new one.

    Parameters
    ----------
    path : path-like
        Where to write; missing folders are made.
    content : bytes
        What to write.
    what : str
        Name of the thing for people, such as ``page`` or ``model``.

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
        _replace(target, content)
    except OSError as error:
        raise ValuationError(
            str(target),
            f"the {what} can't be written there",
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
            stream.flush()
            os.fsync(stream.fileno())
        umask = os.umask(0)
        os.umask(umask)
        temporary.chmod(0o666 & ~umask)
        temporary.replace(target)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise

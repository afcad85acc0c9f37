"""Replacing files in one step, and workbooks that say nothing of the clock."""

from __future__ import annotations

import io
import os
import re
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path

from valuation.errors import ValuationError

__all__ = ["page_kind", "without_clock", "write_in_one_step"]

_KINDS = {"": "html", ".html": "html", ".htm": "html", ".pdf": "pdf"}
_LONG_AGO = (2000, 1, 1, 0, 0, 0)


def page_kind(path: str | os.PathLike[str], *, kinds: Sequence[str] = ("html", "pdf")) -> str:
    """Return what a page becomes that is written to a file of a name.

    Parameters
    ----------
    path : path-like
        Where it will be written.
    kinds : sequence of {"html", "pdf"}
        What it may become.

    Returns
    -------
    {"html", "pdf"}
        By the ending of the name; a name without one is HTML.

    Raises
    ------
    ValuationError
        If no page can be written under that ending.

    Examples
    --------
    >>> page_kind("car.PDF"), page_kind("car.html"), page_kind("car")
    ('pdf', 'html', 'html')
    """
    ending = Path(path).suffix.lower()
    kind = _KINDS.get(ending, "")
    if kind not in kinds:
        raise ValuationError(
            str(path),
            "this page can't be written under that ending",
            got=ending,
            remedy=f"End its name with {' or '.join(f'.{known}' for known in kinds)}",
        )
    return kind


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


def without_clock(workbook: bytes) -> bytes:
    """Return a saved workbook with no trace of when it was saved.

    Parameters
    ----------
    workbook : bytes
        An .xlsx file.

    Returns
    -------
    bytes
        The same workbook; its parts stand uncompressed, so that no version of a compressor shows.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == "docProps/core.xml":
                data = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2000-01-01T00:00:00Z", data)
            new.writestr(zipfile.ZipInfo(name, _LONG_AGO), data)
    return out.getvalue()


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

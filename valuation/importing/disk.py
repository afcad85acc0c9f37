"""Files that are there whole or not at all."""

from __future__ import annotations

from pathlib import Path

__all__ = ["write_bytes", "write_text"]


def write_bytes(data: bytes, path: str | Path) -> None:
    """Write a file at once or not at all.

    Parameters
    ----------
    data : bytes
        Its content.
    path : str or pathlib.Path
        Where to; an older file is replaced only when the new one is complete.
    """
    path = Path(path)
    temporary = path.with_name(f".{path.name}.part")
    temporary.write_bytes(data)
    temporary.replace(path)


def write_text(text: str, path: str | Path) -> None:
    """Write a text file in UTF-8 at once or not at all, line ends as they are."""
    write_bytes(text.encode("utf-8"), path)

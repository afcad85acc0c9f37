"""Results of finished pieces in a folder, so that a run that was stopped goes on where it was."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.files import write_in_one_step

__all__ = ["Kept"]

Arrays = Mapping[str, NDArray[Any]]

_SEAL = 32
"""Bytes of the hash at the end of a file."""


class Kept:
    """A folder of arrays under the keys of what they were worked out from.

    Parameters
    ----------
    folder : path-like
        Made when the first result is kept.  Nothing is ever taken out: whoever started the work
        removes the folder when it is done.
    """

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)

    def load(self, key: str) -> dict[str, NDArray[Any]] | None:
        """Return the arrays kept under a key; None if there are none, or they are damaged."""
        try:
            content = self._file(key).read_bytes()
        except FileNotFoundError:
            return None
        body, seal = content[:-_SEAL], content[-_SEAL:]
        if hashlib.sha256(body).digest() != seal:
            return None
        try:
            with np.load(io.BytesIO(body), allow_pickle=False) as found:
                return {name: found[name] for name in found.files}
        except (ValueError, zipfile.BadZipFile):
            return None

    def save(self, key: str, arrays: Arrays) -> None:
        """Keep arrays under a key; a run that is stopped meanwhile leaves no half of them.

        Raises
        ------
        ValuationError
            If the folder can't be written to.
        """
        body = io.BytesIO()
        np.savez(body, allow_pickle=False, **arrays)
        content = body.getvalue()
        sealed = content + hashlib.sha256(content).digest()
        write_in_one_step(self._file(key), sealed, what="result of a finished part")

    def _file(self, key: str) -> Path:
        return self.folder / f"{key}.part"

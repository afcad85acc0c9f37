"""Copies of the files that were read in, and what is needed to read each again."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from valuation.errors import EvidenceError, ValuationError
from valuation.evidence.disk import fault_of, write_whole
from valuation.evidence.workspace import Workspace
from valuation.importing.map_file import map_from_toml, map_to_toml
from valuation.importing.rates import RateTable
from valuation.importing.source_map import SourceMap

__all__ = [
    "KEY_DIGITS",
    "Kept",
    "batch_name",
    "content_of",
    "copy_of",
    "hash_of",
    "keep",
    "kept",
    "laid_out",
]

FORMAT = 1
KEY_DIGITS = 12
"""Digits of a hash by which a batch is named."""

_READING_DIGITS = 8


@dataclass(frozen=True, slots=True)
class Kept:
    """A file that is kept, and how it was read.

    Parameters
    ----------
    kind : str
        What it holds: ``sales``, ``ledger`` or ``said``.
    file : str
        Name under which it came.
    sha256 : str
        Hash of its content.
    source_map : SourceMap or None
        The map that was given with it, None if there was none.
    rates : RateTable or None
        The currency rates that were given with it.
    currency : str
        Currency its amounts were brought to, empty if nothing named one.
    more : mapping of str to object
        What else the reader of its kind needs, as JSON has it.
    """

    kind: str
    file: str
    sha256: str
    source_map: SourceMap | None = None
    rates: RateTable | None = None
    currency: str = ""
    more: Mapping[str, Any] | None = None

    @property
    def batch(self) -> str:
        """Name of its batch."""
        return batch_name(self.sha256)

    @property
    def reading(self) -> str:
        """Short hash of how it was read; the same file read in two ways has two."""
        return hashlib.sha256(self._text().encode()).hexdigest()[:_READING_DIGITS]

    def _text(self) -> str:
        rates = self.rates.rates if self.rates else {}
        content = {
            "format": FORMAT,
            "kind": self.kind,
            "file": self.file,
            "sha256": self.sha256,
            "source_map": map_to_toml(self.source_map) if self.source_map else None,
            "rates": {c: [[str(d), str(r)] for d, r in of] for c, of in sorted(rates.items())},
            "currency": self.currency,
            "more": dict(self.more or {}),
        }
        return json.dumps(content, ensure_ascii=False, indent=1) + "\n"


def hash_of(data: bytes) -> str:
    """Return the hash by which a file is known."""
    return hashlib.sha256(data).hexdigest()


def batch_name(sha256: str) -> str:
    """Return the name of the batch that a file makes."""
    return sha256[:KEY_DIGITS]


def _suffix(name: str) -> str:
    """Return the ending that tells the kind of a file, packed or not, in plain signs only."""
    found = re.search(r"(\.[a-z0-9]{1,5})?(\.gz)?$", name.lower())
    return found.group(0) if found else ""


def copy_of(workspace: Workspace, kept: Kept) -> Path:
    """Return where the copy of a file is."""
    return workspace.kept / f"{kept.sha256}{_suffix(kept.file)}"


def keep(workspace: Workspace, about: Kept, data: bytes) -> None:
    """Keep a file and how it is read, both whole, before anything of it counts.

    Parameters
    ----------
    workspace : Workspace
        Where to.
    about : Kept
        How it is read.
    data : bytes
        Its content.
    """
    copy = copy_of(workspace, about)
    if not copy.exists() or copy.stat().st_size != len(data):
        write_whole(workspace, copy, data)
    note = workspace.kept / f"{about.sha256}.{about.reading}.json"
    if not note.exists():
        write_whole(workspace, note, about._text().encode())


def kept(workspace: Workspace, sha256: str, reading: str) -> Kept:
    """Return how a file that is kept was read.

    Raises
    ------
    EvidenceError
        If the note on it is missing or damaged.
    """
    path = workspace.kept / f"{sha256}.{reading}.json"
    try:
        return _from_text(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, LookupError, TypeError, ArithmeticError, ValuationError) as error:
        raise EvidenceError(
            f"files/{path.name}",
            "the note of how a kept file was read is missing or damaged",
            got=type(error).__name__,
            remedy="Bring it back from a backup, or read the file in again",
        ) from error


def _from_text(text: str) -> Kept:
    content = json.loads(text)
    toml = content["source_map"]
    rates = {
        code: tuple((date.fromisoformat(d), Decimal(r)) for d, r in of)
        for code, of in content["rates"].items()
    }
    return Kept(
        str(content["kind"]),
        str(content["file"]),
        str(content["sha256"]),
        None if toml is None else map_from_toml(toml, "map"),
        RateTable(rates) if rates else None,
        str(content["currency"]),
        content["more"] or None,
    )


def content_of(workspace: Workspace, about: Kept) -> bytes:
    """Return the content of a file that is kept, checked by its hash.

    Raises
    ------
    EvidenceError
        If the copy is missing or no longer what came.
    """
    path = copy_of(workspace, about)
    try:
        data = path.read_bytes()
    except OSError as error:
        raise EvidenceError(
            f"files/{path.name}",
            f"the copy of {about.file} is missing",
            got=error.strerror or type(error).__name__,
            remedy="Bring it back from a backup, or read the file in again",
        ) from error
    if hash_of(data) != about.sha256:
        raise EvidenceError(
            f"files/{path.name}",
            f"the copy of {about.file} is no longer what came",
            remedy="Bring it back from a backup, or read the file in again",
        )
    return data


@contextmanager
def laid_out(workspace: Workspace, name: str, data: bytes) -> Iterator[Path]:
    """Lay a file out under the name it came with, for a reader that names it in what it says."""
    try:
        workspace.work.mkdir(exist_ok=True)
        folder = TemporaryDirectory(dir=workspace.work, prefix="reading-")
    except OSError as error:
        raise fault_of(error, workspace) from error
    with folder as place:
        path = Path(place) / name
        try:
            path.write_bytes(data)
        except OSError as error:
            raise fault_of(error, workspace) from error
        yield path

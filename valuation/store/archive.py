"""An archive of named arrays and plain data, sealed by hashes; the same input, the same bytes.

A zip file whose entries are stored without compression: ``.npy`` arrays (never pickled) and JSON.
``manifest.json`` lists every entry with its size and SHA-256; ``seal`` is the hash of the manifest.
The comment of the zip file, its last 64 bytes, is the SHA-256 of all bytes before it: the entries'
hashes don't cover what lies between them.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.errors import ModelFileError
from valuation.files import write_in_one_step

__all__ = ["FORMAT", "damaged", "read_archive", "write_archive"]

FORMAT = 2
"""Version of the archive; a newer one is refused.

A program of version 1 would give ranges months ahead of the last sale that are too narrow.
"""

_HASH = 64
"""Length of a hash in hexadecimal digits."""

_STAMP = (1980, 1, 1, 0, 0, 0)
"""Every entry bears the same date, so that the same model has the same bytes."""


def _npy(array: NDArray[Any]) -> bytes:
    buffer = io.BytesIO()
    np.lib.format.write_array(buffer, np.ascontiguousarray(array), allow_pickle=False)
    return buffer.getvalue()


def _json(data: Any) -> bytes:
    text = json.dumps(data, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.encode()


def write_archive(
    path: Path,
    *,
    arrays: Mapping[str, NDArray[Any]],
    plain: Mapping[str, Any],
    about: Mapping[str, Any],
) -> Path:
    """Write an archive in one step.

    Parameters
    ----------
    path : pathlib.Path
        Where to write.
    arrays : mapping of str to ndarray
        Numeric arrays by name.
    plain : mapping of str to object
        JSON documents by name.
    about : mapping of str to object
        What stands in the manifest beside the list of entries.

    Returns
    -------
    pathlib.Path
        The file.
    """
    entries = {f"{name}.npy": _npy(a) for name, a in sorted(arrays.items())}
    entries |= {f"{name}.json": _json(d) for name, d in sorted(plain.items())}
    listed = {
        name: {"bytes": len(body), "sha256": hashlib.sha256(body).hexdigest()}
        for name, body in entries.items()
    }
    manifest = _json({"format": FORMAT, **about, "entries": listed})
    seal = hashlib.sha256(manifest).hexdigest().encode()
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as z:
        for name, body in {"manifest.json": manifest, "seal": seal, **entries}.items():
            z.writestr(zipfile.ZipInfo(name, _STAMP), body)
        z.comment = bytes(_HASH)
    content = buffer.getvalue()[:-_HASH]
    content += hashlib.sha256(content).hexdigest().encode()
    return write_in_one_step(path, content, what="model")


def read_archive(path: Path) -> tuple[dict[str, NDArray[Any]], dict[str, Any], dict[str, Any]]:
    """Read an archive and check every byte of it.

    Parameters
    ----------
    path : pathlib.Path
        The file.

    Returns
    -------
    arrays, plain, manifest : dict
        As they were written.

    Raises
    ------
    ModelFileError
        If the file is missing, damaged, changed, of another kind, or from a newer version.
    """
    where = path.name
    try:
        whole = _ends_with_its_hash(path)
    except FileNotFoundError as e:
        raise ModelFileError(
            str(path), "there is no such file", got="nothing", remedy="Fit a model first"
        ) from e
    except OSError as e:
        raise ModelFileError(
            str(path), "the model can't be read", got=e.strerror or str(e), remedy="Check the path"
        ) from e
    try:
        with zipfile.ZipFile(path) as z:
            bodies = {name: z.read(name) for name in z.namelist()}
    except Exception as e:  # zipfile raises a dozen kinds for a damaged file
        raise damaged(where, "it is no model, or its end is missing") from e
    manifest = _manifest(where, bodies)
    if not whole:
        raise damaged(where, "bytes outside its entries were changed or are missing")
    arrays: dict[str, NDArray[Any]] = {}
    plain: dict[str, Any] = {}
    for name in manifest["entries"]:
        stem, _, kind = name.rpartition(".")
        try:
            if kind == "npy":
                stream = io.BytesIO(bodies[name])
                arrays[stem] = np.lib.format.read_array(stream, allow_pickle=False)
            else:
                plain[stem] = json.loads(bodies[name])
        except ValueError as e:
            raise damaged(where, f"{name} can't be read") from e
    return arrays, plain, manifest


def _ends_with_its_hash(path: Path) -> bool:
    left = path.stat().st_size - _HASH
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while left > 0 and (part := stream.read(min(left, 1 << 20))):
            digest.update(part)
            left -= len(part)
        return stream.read() == digest.hexdigest().encode()


def _manifest(where: str, bodies: Mapping[str, bytes]) -> dict[str, Any]:
    raw = bodies.get("manifest.json")
    if raw is None:
        raise damaged(where, "it has no manifest")
    try:
        manifest = json.loads(raw)
        version = int(manifest["format"])
    except (ValueError, KeyError, TypeError) as e:
        raise damaged(where, "its manifest can't be read") from e
    if version > FORMAT:
        raise ModelFileError(
            where,
            "the model comes from a newer version of this program",
            got=f"format {version}, this program reads up to {FORMAT}",
            remedy="Update the program, or fit the model again with this one",
        )
    if bodies.get("seal", b"").decode("ascii", "replace") != hashlib.sha256(raw).hexdigest():
        raise damaged(where, "its manifest was changed")
    try:
        hashes = {n: str(listed["sha256"]) for n, listed in dict(manifest["entries"]).items()}
    except (ValueError, KeyError, TypeError) as e:  # sealed by someone, but not by write_archive
        raise damaged(where, "its manifest can't be read") from e
    if set(bodies) != {"manifest.json", "seal", *hashes}:
        raise damaged(where, "entries are missing or were added")
    for name, wanted in hashes.items():
        if hashlib.sha256(bodies[name]).hexdigest() != wanted:
            raise damaged(where, f"{name} was changed")
    return dict(manifest)


def damaged(where: str, what: str) -> ModelFileError:
    """Return the error about a model that is not what was written.

    Parameters
    ----------
    where : str
        Name of the file.
    what : str
        What is wrong with it.

    Returns
    -------
    ModelFileError
        To be raised.
    """
    return ModelFileError(
        where,
        "the model is damaged or was changed, and is not used",
        got=what,
        remedy="Fit it again, or take the copy it came from",
    )

"""The folder from which a firm prices: whole versions of models, and which one is in use.

``current.json`` names the version in use; each version is a folder of its own under ``versions``.
A version is made beside them under a name that nobody reads and renamed into place whole; then
``current.json`` is replaced in one step.  So a reader, on this machine or over a network share,
sees the old version or the whole new one, and needs neither a database nor a lock.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valuation.errors import ModelFileError, ValuationError
from valuation.files import write_in_one_step

__all__ = [
    "MODEL",
    "Published",
    "Use",
    "current_version",
    "history",
    "model_file",
    "publish",
    "published_versions",
    "use_version",
    "version_name",
]

FORMAT = 1
POINTER = "current.json"
VERSIONS = "versions"
MODEL = "market.model"
"""Name of the model within its version."""


@dataclass(frozen=True, slots=True)
class Published:
    """One version of a model.

    Parameters
    ----------
    version : str
        Its name.
    folder : pathlib.Path
        Where it lies, with everything that was published with it.
    """

    version: str
    folder: Path

    @property
    def model(self) -> Path:
        """The file of its model."""
        return self.folder / MODEL

    def read(self, name: str) -> dict[str, Any]:
        """Return a JSON document that was published with it, empty if there is none."""
        try:
            found = json.loads((self.folder / name).read_bytes())
        except FileNotFoundError:
            return {}
        except (OSError, ValueError) as error:
            raise _unreadable(self.folder / name, str(error)) from error
        return found if isinstance(found, dict) else {}


@dataclass(frozen=True, slots=True)
class Use:
    """A version that was put to use.

    Parameters
    ----------
    version : str
        Its name.
    by : str
        Who put it to use.
    reason : str
        Why.
    """

    version: str
    by: str
    reason: str


def version_name(as_of: str, model: bytes) -> str:
    """Return the name of a version: the day of its evidence and the beginning of its hash.

    Examples
    --------
    >>> version_name("2024-06-30", b"a model")
    '2024-06-30-97ff8a35'
    """
    return f"{as_of or 'undated'}-{hashlib.sha256(model).hexdigest()[:8]}"


def publish(
    folder: Path, version: str, files: Mapping[str, bytes], *, by: str, reason: str
) -> Published:
    """Put a version into the folder and to use, in one step for whoever reads.

    Parameters
    ----------
    folder : pathlib.Path
        The published folder; made if it is missing.
    version : str
        Name from :func:`version_name`.
    files : mapping of str to bytes
        Content by name; one of them is :data:`MODEL`.
    by, reason : str
        Who publishes it, and why.

    Returns
    -------
    Published
        The version in use.

    Raises
    ------
    ValuationError
        If the folder can't be written to, or holds another version of that name.
    """
    if MODEL not in files:
        raise ValueError(f"publish: a version has a model (got: {', '.join(files)})")
    place = folder / VERSIONS / version
    try:
        if not place.is_dir():
            _put(place, files)
        elif (place / MODEL).read_bytes() != files[MODEL]:
            raise ValuationError(
                str(place),
                "another model was published under that name",
                got=version,
                remedy="Look at the folder; nothing was changed",
            )
        return _point(folder, version, by=by, reason=reason)
    except OSError as error:
        raise ValuationError(
            str(folder),
            "nothing can be published there",
            got=error.strerror or str(error),
            remedy="Name a folder you may write to, with room for a model",
        ) from error


def _put(place: Path, files: Mapping[str, bytes]) -> None:
    place.parent.mkdir(parents=True, exist_ok=True)
    for left in place.parent.glob(f".{place.name}.*"):  # of one that was killed
        shutil.rmtree(left, ignore_errors=True)
    made = Path(tempfile.mkdtemp(dir=place.parent, prefix=f".{place.name}."))
    try:
        for name, content in sorted(files.items()):
            write_in_one_step(made / name, content, what="version of a model")
        umask = os.umask(0)
        os.umask(umask)
        made.chmod(0o777 & ~umask)
        made.rename(place)
        _settle(place.parent)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise


def _settle(folder: Path) -> None:
    """Have the names of a folder written to the disk, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _point(folder: Path, version: str, *, by: str, reason: str) -> Published:
    try:
        used = history(folder)
    except ModelFileError:  # damaged: what is put to use now is all that is known
        used = ()
    last = used[-1] if used else None
    if last is None or last.version != version:
        used = (*used, Use(version, by, reason))
    model = folder / VERSIONS / version / MODEL
    pointer = {
        "format": FORMAT,
        "version": version,
        "model": f"{VERSIONS}/{version}/{MODEL}",
        "sha256": hashlib.sha256(model.read_bytes()).hexdigest(),
        "used": [{"version": u.version, "by": u.by, "reason": u.reason} for u in used],
    }
    text = json.dumps(pointer, ensure_ascii=False, indent=1) + "\n"
    write_in_one_step(folder / POINTER, text.encode(), what="name of the version in use")
    return Published(version, folder / VERSIONS / version)


def history(folder: Path) -> tuple[Use, ...]:
    """Return which versions were put to use, the latest last; empty for an empty folder."""
    used = _pointer(folder).get("used", ())
    return tuple(Use(u["version"], u["by"], u["reason"]) for u in used)


def current_version(folder: Path) -> Published | None:
    """Return the version in use, None in a folder where nothing was published.

    Raises
    ------
    ModelFileError
        If ``current.json`` is damaged or names a version that is not there.
    """
    pointer = _pointer(folder)
    if not pointer:
        return None
    found = Published(pointer["version"], folder / VERSIONS / pointer["version"])
    if not found.model.is_file():
        raise ModelFileError(
            str(folder / POINTER),
            "the version in use is not there",
            got=found.version,
            remedy="Put another one to use with 'valuation models use', or copy it back",
        )
    return found


def _pointer(folder: Path) -> dict[str, Any]:
    try:
        pointer = json.loads((folder / POINTER).read_bytes())
        wanted = {"version": str, "used": list}
        if all(isinstance(pointer[k], kind) for k, kind in wanted.items()):
            return dict(pointer)
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, LookupError, TypeError) as error:
        raise _unreadable(folder / POINTER, str(error)) from error
    raise _unreadable(folder / POINTER, "something else")


def _unreadable(path: Path, came: str) -> ModelFileError:
    return ModelFileError(
        str(path),
        "it can't be read",
        got=came,
        remedy="Put a version to use with 'valuation models use', or publish again",
    )


def published_versions(folder: Path) -> tuple[Published, ...]:
    """Return every version in the folder, by name, which begins with the day of its evidence."""
    place = folder / VERSIONS
    if not place.is_dir():
        return ()
    names = sorted(p.name for p in place.iterdir() if (p / MODEL).is_file())
    return tuple(Published(name, place / name) for name in names if not name.startswith("."))


def use_version(folder: Path, version: str, *, by: str, reason: str) -> Published:
    """Put a version that was published before to use again.

    Parameters
    ----------
    folder : pathlib.Path
        The published folder.
    version : str
        Its name, or the beginning of it if only one begins so.
    by, reason : str
        Who does it, and why.

    Returns
    -------
    Published
        The version in use.

    Raises
    ------
    ModelFileError
        If there is no such version, or several.
    """
    known = published_versions(folder)
    found = [p for p in known if p.version == version]
    found = found or [p for p in known if p.version.startswith(version)]
    if len(found) != 1:
        raise ModelFileError(
            str(folder),
            "several versions begin so" if found else "there is no such version",
            got=version,
            remedy="Name one of: " + (", ".join(p.version for p in found or known) or "none yet"),
        )
    return _point(folder, found[0].version, by=by, reason=reason)


def model_file(path: Path) -> Path:
    """Return the file of a model: the path itself, or the one in use in a published folder.

    Raises
    ------
    ModelFileError
        If it is a folder in which nothing is published.
    """
    if not path.is_dir():
        return path
    current = current_version(path)
    if current is None:
        raise ModelFileError(
            str(path),
            "no model is published in this folder",
            got="no current.json",
            remedy="Name a model file, or a folder that 'valuation refresh' published to",
        )
    return current.model

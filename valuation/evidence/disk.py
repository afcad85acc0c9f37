"""Faults of the disk and of the database in sentences, and files written whole or not at all."""

from __future__ import annotations

import errno
from pathlib import Path

import duckdb

from valuation.errors import EvidenceError, ValuationError
from valuation.evidence.workspace import Workspace
from valuation.files import write_in_one_step

__all__ = ["fault_of", "is_disk_fault", "too_new", "write_whole"]

_DATABASE_FAULTS = (
    duckdb.IOException,
    duckdb.FatalException,
    duckdb.InternalException,
    duckdb.SerializationException,
)

_DISK_WORDS = ("orrupt", "No space left", "Disk quota exceeded", "Failed to commit")

_FULL = (errno.ENOSPC, errno.EDQUOT)
_CLOSED = (errno.EACCES, errno.EPERM, errno.EROFS)


def is_disk_fault(error: duckdb.Error) -> bool:
    """Tell whether a disk or a damaged file brought an error about, and no fault of the program."""
    # A block that does not fit its sum comes as the base of all errors of the database; what other
    # columns make of that block, and a full disk at the end of a change, as errors of other kinds.
    of_disk = isinstance(error, _DATABASE_FAULTS) or type(error) is duckdb.Error
    return of_disk or any(words in str(error) for words in _DISK_WORDS)


def fault_of(error: Exception, workspace: Workspace) -> EvidenceError:
    """Say in a sentence what an error of the disk or the database means.

    Parameters
    ----------
    error : Exception
        An ``OSError``, or an error of the database that :func:`is_disk_fault`.
    workspace : Workspace
        Where it happened.
    """
    where, text = str(workspace.database), str(error).split("\n", 1)[0]
    number = error.errno if isinstance(error, OSError) else None
    if number in _FULL or "No space left" in text or "Disk quota exceeded" in text:
        return EvidenceError(
            str(workspace.root),
            "the disk is full; the evidence is as it was before",
            remedy="Make room and do it again",
        )
    if number in _CLOSED or "Permission denied" in text or "Read-only file system" in text:
        return EvidenceError(
            str(workspace.root),
            "you may not write to this workspace",
            remedy="Ask whoever keeps it for the right to write, or work on a copy of it",
        )
    if "version number" in text:
        return too_new(workspace, "a newer version of the database")
    if isinstance(error, OSError):
        return EvidenceError(
            str(workspace.root),
            "the workspace can't be used",
            got=error.strerror or text,
            remedy="See what is wrong with it: valuation doctor",
        )
    return EvidenceError(
        where,
        "the database is damaged",
        got=text,
        remedy="See what can be saved: valuation doctor",
    )


def too_new(workspace: Workspace, got: str) -> EvidenceError:
    """Say that a later version of the program wrote the evidence."""
    return EvidenceError(
        str(workspace.database),
        "it was written by a newer version of this program",
        got=got,
        remedy="Bring this program up to date",
    )


def write_whole(workspace: Workspace, path: Path, content: bytes) -> Path:
    """Write a file of the workspace in one step.

    Raises
    ------
    EvidenceError
        If the disk is full or the workspace can't be written to.
    """
    try:
        return write_in_one_step(path, content, what="file")
    except ValuationError as error:
        if isinstance(error.__cause__, OSError):
            raise fault_of(error.__cause__, workspace) from error
        raise

"""What was said, brought from its small files into the evidence, and read there."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb

from valuation.errors import SaidFileError
from valuation.evidence.batches import Batch, batches, enter_batch
from valuation.evidence.journal import record
from valuation.evidence.keep import batch_name
from valuation.evidence.opening import reading, writing
from valuation.evidence.said_files import SaidFile, read_said_folder
from valuation.evidence.workspace import Workspace
from valuation.results.said import Override, Said

__all__ = ["Collected", "SaidRefused", "SaidStore", "collect_said", "said_of"]

FORMAT = 1


@dataclass(frozen=True, slots=True)
class SaidRefused:
    """A file of what was said that can't be read; it is left where it is.

    Parameters
    ----------
    file : str
        Its name.
    fault : str
        What is wrong with it.
    """

    file: str
    fault: str


@dataclass(frozen=True)
class Collected:
    """What became of the files of what was said.

    Parameters
    ----------
    new : int
        Files that came into the evidence.
    known : int
        Files that were there already.
    refused : tuple of SaidRefused
        Files that can't be read.
    batch : str
        The batch of the new ones, empty if there are none.
    """

    new: int
    known: int
    refused: tuple[SaidRefused, ...] = ()
    batch: str = ""

    def summary(self) -> str:
        """Return the result as text for people."""
        as_batch = f" as batch {self.batch}" if self.batch else ""
        lines = [f"What was said: {self.new:,} new{as_batch}, {self.known:,} known already."]
        lines += [f"  left where it is: {f.file}: {f.fault}" for f in self.refused]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "new": self.new,
            "known": self.known,
            "refused": [asdict(f) for f in self.refused],
            "batch": self.batch,
        }


def collect_said(
    workspace: Workspace,
    folders: Path | Sequence[Path] = (),
    *,
    who: str,
    now: datetime,
    wait: float = 10.0,
) -> Collected:
    """Bring the files of what was said into the evidence; those that are there add nothing.

    Parameters
    ----------
    workspace : Workspace
        Where to; its own folder ``said`` is read first.
    folders : pathlib.Path or sequence of pathlib.Path, optional
        Further folders.
    who : str
        Who collects.
    now : datetime.datetime
        When, with its time zone.
    wait : float
        Seconds to wait for somebody else who writes.

    Returns
    -------
    Collected
        How many came, and which files are damaged.

    Raises
    ------
    SaidFileError
        If a folder that was named does not exist.
    EvidenceError
        If the evidence can't be changed.
    """
    further = [folders] if isinstance(folders, Path) else list(folders)
    for folder in further:
        if not folder.is_dir() and folder != workspace.said:
            raise SaidFileError(
                str(folder), "there is no such folder", remedy="Check its name, or leave it out"
            )
    known = _known_ids(workspace, wait)
    found: dict[str, SaidFile] = {}
    refused: dict[str, SaidRefused] = {}
    listed = 0
    for folder in dict.fromkeys((workspace.said, *further)):
        listed += sum(path.stem in known for path in folder.glob("*.json"))
        read = read_said_folder(folder, known=known)
        found.update((f.identity, f) for f in read.files)
        refused.update((name, SaidRefused(name, why)) for name, why in read.damaged)
    if not found:
        return Collected(0, listed, tuple(refused.values()))
    with writing(workspace, who=who, now=now, wait=wait, doing="collecting what was said") as con:
        # Somebody else may have collected some of them since.
        new = [found[i] for i in sorted(found.keys() - _ids(con))]
        listed += len(found) - len(new)
        batch = _enter(con, new, who=who, now=now) if new else ""
    return Collected(len(new), listed, tuple(refused.values()), batch)


def _known_ids(workspace: Workspace, wait: float) -> set[str]:
    if not workspace.database.exists():
        return set()
    with reading(workspace, wait=wait) as con:
        return _ids(con)


def _ids(con: duckdb.DuckDBPyConnection) -> set[str]:
    return {row[0] for row in con.execute("SELECT unnest(said_ids) FROM said").fetchall()}


def _enter(
    con: duckdb.DuckDBPyConnection, new: Sequence[SaidFile], *, who: str, now: datetime
) -> str:
    sha = hashlib.sha256("\n".join(f.identity for f in new).encode()).hexdigest()
    name = batch_name(sha)
    # A run list says hundreds of things: one row for all of them keeps the write short.
    things = [file.thing.to_dict() for file in new]
    row = {
        "batch": name,
        "said_ids": [file.identity for file in new],
        "content": json.dumps(things, ensure_ascii=False, sort_keys=True),
    }
    record(con, "said", row, who=who, now=now)
    made = Batch(
        batch=name,
        kind="said",
        file="said",
        sha256=sha,
        rows=len(new),
        accepted=len(new),
        set_aside=0,
        read_at=now,
        who=who,
        status="in use",
        reason="",
        currency="",
        dated=True,
        notes=(),
        source_map="",
        reading="",
    )
    enter_batch(con, made, who=who, now=now)
    return name


@dataclass(frozen=True)
class SaidStore:
    """Everything that was said, of the batches in use.

    Parameters
    ----------
    said : mapping of str to Said
        By identity, in the order in which it was said.
    overrides : mapping of str to tuple of Override
        Figures set in its place, by the identity of what was said, in the order of their moments.
    """

    said: Mapping[str, Said]
    overrides: Mapping[str, tuple[Override, ...]]


def said_of(con: duckdb.DuckDBPyConnection) -> SaidStore:
    """Return everything that was said.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    """
    used = {b.batch for b in batches(con, kind="said") if b.status == "in use"}
    said: dict[str, Said] = {}
    overrides: dict[str, list[Override]] = {}
    rows = con.execute("SELECT batch, said_ids, content FROM said ORDER BY number").fetchall()
    for batch, identities, content in rows:
        if batch in used:
            for identity, thing in zip(identities, json.loads(content), strict=True):
                _sort_in(identity, thing, said, overrides)
    ordered = sorted(said.items(), key=lambda e: (e[1].said_at, e[0]))
    in_time = {k: tuple(sorted(v, key=lambda o: o.at)) for k, v in sorted(overrides.items())}
    return SaidStore(dict(ordered), in_time)


def _sort_in(
    identity: str,
    thing: Mapping[str, Any],
    said: dict[str, Said],
    overrides: dict[str, list[Override]],
) -> None:
    if thing["kind"] != "override":
        said[identity] = Said.from_dict(thing)
        return
    over = Override.from_dict(thing)
    overrides.setdefault(over.of, []).append(over)

"""Kill a run of the command at a moment, and say what is left."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import signal
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from commands import Commands

from valuation.evidence.batches import batches
from valuation.evidence.examine import examine
from valuation.evidence.opening import reading
from valuation.evidence.rows import sales_of
from valuation.evidence.workspace import Workspace
from valuation.store.modelfile import load_model
from valuation.store.published import current_version

POLL = 0.0005
LONGEST = 120.0

Words = Sequence[str | Path]
Sign = Callable[[Workspace], bool]


def anything(workspace: Workspace) -> bool:
    """Tell whether the run has begun."""
    return True


def writes(workspace: Workspace) -> bool:
    """Tell whether somebody changes the evidence now."""
    return workspace.holder.exists()


def publishes(workspace: Workspace) -> bool:
    """Tell whether a version is being put into the published folder."""
    try:
        return any(p.name.startswith(".") for p in (workspace.published / "versions").iterdir())
    except FileNotFoundError:
        return False


SIGNS: dict[str, Sign] = {
    "at any time": anything,
    "while it writes": writes,
    "while it publishes": publishes,
}


@dataclass(frozen=True)
class Spans:
    """When the sign of a moment was to be seen in a run that nobody killed.

    Parameters
    ----------
    count : int
        How often it came.
    longest : float
        Seconds of the longest time.
    """

    count: int
    longest: float

    def shorter(self) -> Spans:
        """Return what a quicker run would show."""
        return Spans(self.count, 0.8 * self.longest)


@dataclass(frozen=True)
class State:
    """What a workspace holds.

    Parameters
    ----------
    files : frozenset of str
        Names of the files that are in use as batches.
    version : str
        Version of the model in use, empty for none.
    """

    files: frozenset[str]
    version: str


def run_watched(
    commands: Commands, words: Words, workspace: Workspace, sign: Sign
) -> tuple[int, Spans]:
    """Run the command to its end; return what it ended with and when the sign was to be seen."""
    process = commands.start(words, lean=True)
    spans: list[float] = []
    since: float | None = None
    while (code := commands.answer(POLL)) is None:
        now, seen = time.monotonic(), sign(workspace)
        if seen and since is None:
            since = now
        if not seen and since is not None:
            spans.append(now - since)
            since = None
    if since is not None:
        spans.append(time.monotonic() - since)
    assert process > 0
    return code, Spans(len(spans), max(spans, default=0.0))


def run_killed(
    commands: Commands,
    words: Words,
    workspace: Workspace,
    sign: Sign,
    spans: Spans,
    rng: np.random.Generator,
) -> bool:
    """Kill a run a random time after a random one of its signs; tell whether it still ran."""
    wanted = int(rng.integers(1, spans.count + 1))
    after = float(rng.uniform(0, spans.longest))
    process = commands.start(words, lean=True)
    seen, before, deadline = 0, False, time.monotonic() + LONGEST
    while seen < wanted:
        if commands.answer(POLL) is not None:
            return False
        assert time.monotonic() < deadline, "the run does not end"
        now = sign(workspace)
        seen += now and not before
        before = now
    if commands.answer(after) is not None:
        return False
    os.kill(process, signal.SIGKILL)
    return commands.answer(LONGEST) == -signal.SIGKILL


def copied(place: Path, to: Path) -> Workspace:
    """Return a copy of a workspace."""
    shutil.copytree(place, to)
    return Workspace(to)


def state_of(workspace: Workspace) -> State:
    """Return what a workspace holds, read as any reader would."""
    with reading(workspace) as con:
        files = frozenset(b.file for b in batches(con) if b.status == "in use")
    current = current_version(workspace.published)
    return State(files, current.version if current else "")


def sales_in(workspace: Workspace, file: str) -> pd.DataFrame:
    """Return the rows that the evidence holds of a file."""
    with reading(workspace) as con:
        (batch,) = (b.batch for b in batches(con) if b.file == file)
        return sales_of(con, "batch = ?", [batch])


def faults(workspace: Workspace) -> list[str]:
    """Return what is not whole."""
    return [f.sentence for f in examine(workspace).faults]


def tree(folder: Path) -> dict[str, str]:
    """Return the hash of every file of a folder."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in files
    }


def assert_readable(workspace: Workspace) -> None:
    """Check that whoever prices now gets a whole model."""
    current = current_version(workspace.published)
    assert current is not None
    pointer = json.loads((workspace.published / "current.json").read_bytes())
    model = workspace.published / pointer["model"]
    assert hashlib.sha256(model.read_bytes()).hexdigest() == pointer["sha256"]
    assert len(load_model(workspace.published).frame) > 0

"""Results kept as JSON lines, so that a run that was stopped goes on where it was."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

__all__ = ["Cache", "Job", "digest_of"]

HERE = Path(__file__).parent


@dataclass(frozen=True, order=True)
class Job:
    """One market to measure.

    Attributes
    ----------
    kind : {"fit", "range"}
        What is measured.
    market : str
        Name of the market.
    size, seed : int
        Sales; seed.
    """

    kind: str
    market: str
    size: int
    seed: int


def digest_of(folders: list[Path]) -> str:
    """Return a digest of all sources and data under some folders: what results depend on."""
    found = hashlib.sha256()
    for folder in folders:
        for path in sorted(folder.rglob("*")):
            if path.suffix in (".py", ".toml") and (folder != HERE or path.name[:5] == "truth"):
                found.update(path.relative_to(folder).as_posix().encode())
                found.update(path.read_bytes())
    return found.hexdigest()[:16]


class Cache:
    """Results of jobs in one file of a folder, one a line.

    Parameters
    ----------
    folder : pathlib.Path or None
        Where the file is; None keeps results in memory alone.
    digest : str
        Of the sources.  Results of other sources are not used.
    """

    def __init__(self, folder: Path | None, digest: str) -> None:
        self.digest = digest
        self.path = None if folder is None else folder / "truth.jsonl"
        self.results: dict[Job, dict[str, Any]] = {}
        if self.path is not None and self.path.exists():
            for line in self.path.read_text(encoding="utf-8").splitlines():
                self._read(line)

    def _read(self, line: str) -> None:
        try:
            entry = json.loads(line)
        except json.JSONDecodeError:  # the run was stopped while it wrote its last line
            return
        if entry["digest"] == self.digest:
            self.results[Job(**entry["job"])] = entry["result"]

    def keep(self, job: Job, measures: Mapping[str, Any], seconds: Mapping[str, float]) -> None:
        """Keep the result of a job."""
        # Through JSON, so that a fresh result and one that was read are the same.
        result = json.loads(json.dumps({"measures": measures, "seconds": seconds}))
        self.results[job] = result
        if self.path is None:
            return
        self.path.parent.mkdir(parents=True, exist_ok=True)
        entry = {"digest": self.digest, "job": vars(job), "result": result}
        with self.path.open("a", encoding="utf-8") as stream:
            stream.write("\n" + json.dumps(entry))

    def measures(self, kind: str, market: str, size: int) -> dict[int, dict[str, Any]]:
        """Return the measures of a market of a size, by seed."""
        return {
            job.seed: result["measures"]
            for job, result in sorted(self.results.items())
            if (job.kind, job.market, job.size) == (kind, market, size)
        }

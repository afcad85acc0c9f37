"""The command, run as often as wanted without loading its libraries each time."""

from __future__ import annotations

import json
import os
import select
import signal
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Self

SERVER = Path(__file__).with_name("command_server.py")


class Commands:
    """A process that has loaded the command and runs it in forks of itself, one at a time."""

    def __init__(self, folder: Path, environment: Mapping[str, str]) -> None:
        """Start it; what the runs print goes through files in `folder`."""
        self.out, self.err = folder / "out.txt", folder / "err.txt"
        # A fork takes only the thread that made it along: let linear algebra start no others.
        environment = {**environment, "OPENBLAS_NUM_THREADS": "1"}
        self.process = subprocess.Popen(
            [sys.executable, SERVER],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env=environment,
        )
        self._read = b""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.process.communicate(timeout=60)

    def start(self, words: Sequence[str | Path], *, lean: bool = False) -> int:
        """Start a run, with lean models if asked for, and return the number of its process."""
        request = {
            "words": [str(w) for w in words],
            "out": str(self.out),
            "err": str(self.err),
            "lean": lean,
        }
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(request).encode() + b"\n")
        self.process.stdin.flush()
        answer = self.answer(60)
        assert answer is not None, "the server does not answer"
        return answer

    def answer(self, timeout: float) -> int | None:
        """Return the next answer, or nothing if there is none after so many seconds."""
        assert self.process.stdout is not None
        pipe = self.process.stdout.fileno()
        while b"\n" not in self._read:
            if not select.select([pipe], [], [], timeout)[0]:
                return None
            piece = os.read(pipe, 4096)
            assert piece, "the server has ended"
            self._read += piece
        line, _, self._read = self._read.partition(b"\n")
        return int(line)

    def end_of(self, process: int, *, timeout: float) -> int:
        """Return what a started run ended with; one that takes too long is killed."""
        code = self.answer(timeout)
        if code is not None:
            return code
        os.kill(process, signal.SIGKILL)
        self.answer(60)
        raise subprocess.TimeoutExpired(str(process), timeout)

    def run(
        self, words: Sequence[str | Path], *, timeout: float, lean: bool = False
    ) -> subprocess.CompletedProcess[str]:
        """Run the command to its end and return what it printed."""
        code = self.end_of(self.start(words, lean=lean), timeout=timeout)
        out, err = (path.read_text(encoding="utf-8") for path in (self.out, self.err))
        return subprocess.CompletedProcess([str(w) for w in words], code, out, err)

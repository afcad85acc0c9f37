"""A Jupyter program in a process of its own, with settings, files and kernels of its own."""

from __future__ import annotations

import subprocess
import sys
import time
from abc import ABC, abstractmethod
from pathlib import Path
from types import TracebackType
from typing import Self

import psutil

START = 60.0
STOP = 20.0


class OwnServer(ABC):
    """A server on a free port of this machine; a context manager that ends all it started.

    ``root`` is the folder it serves, ``state`` an empty one for its settings and its log.
    """

    name: str
    module: str

    def __init__(self, root: Path, state: Path, environment: dict[str, str]) -> None:
        self.root = root
        self.log = state / "log.txt"
        self._runtime = state / "runtime"
        self._config = state / "config"
        self._environment = {
            **environment,
            "JUPYTER_CONFIG_DIR": str(self._config),
            "JUPYTER_DATA_DIR": str(state / "data"),
            "JUPYTER_RUNTIME_DIR": str(self._runtime),
            "JUPYTER_PREFER_ENV_PATH": "1",  # extensions and kernel of this environment
            "IPYTHONDIR": str(state / "ipython"),
        }

    @abstractmethod
    def _settle_in(self) -> list[str]:
        """Write the settings; return the words behind the program's name."""

    @abstractmethod
    def _find_port(self) -> int | None:
        """Return the port on which it answers; None while it does not."""

    def __enter__(self) -> Self:
        for folder in (self._config, self._runtime):
            folder.mkdir(parents=True)
        words = self._settle_in()
        with self.log.open("w") as log:
            self._process = psutil.Popen(
                [sys.executable, "-m", self.module, *words],
                cwd=self.root, env=self._environment, stdin=subprocess.DEVNULL,
                stdout=log, stderr=subprocess.STDOUT, start_new_session=True,
            )  # fmt: skip
        try:
            self.port = self._wait_for_port()
        except BaseException:
            self._end()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._end()

    def _wait_for_port(self) -> int:
        end = time.monotonic() + START
        while time.monotonic() < end:
            assert self._process.poll() is None, f"{self.name} ended:\n{self.log.read_text()}"
            port = self._find_port()
            if port is not None:
                return port
            time.sleep(0.1)
        raise AssertionError(f"{self.name} did not start in {START:g} s:\n{self.log.read_text()}")

    def processes(self) -> list[psutil.Process]:
        """Return the server and all that it started and that still runs."""
        try:
            return [self._process, *self._process.children(recursive=True)]
        except psutil.NoSuchProcess:
            return []

    def _end(self) -> None:
        """Ask the server to stop; what still runs after that, kernels too, is killed."""
        started = self.processes()
        if started:
            self._process.terminate()
        _, alive = psutil.wait_procs(started, timeout=STOP)
        for process in alive:
            process.kill()
        psutil.wait_procs(alive, timeout=STOP)

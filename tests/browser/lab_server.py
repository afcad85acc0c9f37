"""JupyterLab in a process of its own, with settings, files and kernels of its own."""

from __future__ import annotations

import http.client
import json
import secrets
import socket
import subprocess
import sys
import time
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import psutil

# What a user has, less every question that JupyterLab would put to a server elsewhere.
CONFIG = {
    "ServerApp": {"ip": "127.0.0.1", "port": 0, "open_browser": False, "allow_root": True},
    "LabApp": {
        "open_browser": False,
        "news_url": None,
        "check_for_updates_class": "jupyterlab.handlers.announcements.NeverCheckForUpdate",
        "extension_manager": "readonly",
        "expose_app_in_browser": True,  # to see when a kernel has answered
    },
}
NO_NEWS = {"fetchNews": "false", "checkForUpdates": False}
START = 60.0
STOP = 20.0


def _listening(written: str) -> int | None:
    """Return the port of a server's file; None while it is being written or no one answers yet."""
    if not written.rstrip().endswith("}"):
        return None
    port = int(json.loads(written)["port"])
    with socket.socket() as attempt:
        return port if attempt.connect_ex(("127.0.0.1", port)) == 0 else None


class LabServer:
    """JupyterLab on a free port of this machine; a context manager that ends all it started."""

    def __init__(self, root: Path, state: Path, environment: dict[str, str]) -> None:
        self.root = root
        self.log = state / "log.txt"
        self._token = secrets.token_hex(16)
        self._runtime = state / "runtime"
        self._config = state / "config"
        self._environment = {
            **environment,
            "JUPYTER_CONFIG_DIR": str(self._config),
            "JUPYTER_DATA_DIR": str(state / "data"),
            "JUPYTER_RUNTIME_DIR": str(self._runtime),
            "JUPYTERLAB_SETTINGS_DIR": str(state / "settings"),
            "JUPYTERLAB_WORKSPACES_DIR": str(state / "workspaces"),
            "JUPYTER_PREFER_ENV_PATH": "1",  # extensions and kernel of this environment
            "JUPYTER_TOKEN": self._token,
            "IPYTHONDIR": str(state / "ipython"),
        }
        self._settings = state / "settings" / "@jupyterlab" / "apputils-extension"

    def __enter__(self) -> Self:
        for folder in (self._config, self._runtime, self._settings):
            folder.mkdir(parents=True)
        config = {**CONFIG, "ServerApp": {**CONFIG["ServerApp"], "root_dir": str(self.root)}}
        (self._config / "jupyter_server_config.json").write_text(json.dumps(config), "utf-8")
        (self._settings / "notification.jupyterlab-settings").write_text(json.dumps(NO_NEWS))
        with self.log.open("w") as log:
            self._process = psutil.Popen(
                [sys.executable, "-m", "jupyterlab"],
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
            assert self._process.poll() is None, f"JupyterLab ended:\n{self.log.read_text()}"
            for found in self._runtime.glob("jpserver-*.json"):
                port = _listening(found.read_text("utf-8"))
                if port is not None:
                    return port
            time.sleep(0.1)
        raise AssertionError(f"JupyterLab did not start in {START:g} s:\n{self.log.read_text()}")

    def address(self, path: str) -> str:
        """Return the address of a page, with the token that opens it."""
        return f"http://127.0.0.1:{self.port}/{path}?token={self._token}"

    def ask(self, method: str, path: str) -> Any:
        """Ask the server's own interface, such as ``GET api/sessions``."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=STOP)
        try:
            connection.request(
                method, f"/{path}", headers={"Authorization": f"token {self._token}"}
            )
            answer = connection.getresponse()
            body = answer.read()
        finally:
            connection.close()
        assert answer.status < 300, f"{method} {path}: {answer.status} {body[:500]!r}"
        return json.loads(body) if body else None

    def end_kernels(self) -> None:
        """End every kernel that was started for a notebook."""
        for session in self.ask("GET", "api/sessions"):
            self.ask("DELETE", f"api/sessions/{session['id']}")

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

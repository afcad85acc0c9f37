"""JupyterLab in a process of its own, with settings, files and kernels of its own."""

from __future__ import annotations

import http.client
import json
import secrets
import socket
from pathlib import Path
from typing import Any

from own_server import STOP, OwnServer

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


def _listening(written: str) -> int | None:
    """Return the port of a server's file; None while it is being written or no one answers yet."""
    if not written.rstrip().endswith("}"):
        return None
    port = int(json.loads(written)["port"])
    with socket.socket() as attempt:
        return port if attempt.connect_ex(("127.0.0.1", port)) == 0 else None


class LabServer(OwnServer):
    """JupyterLab on a free port of this machine; a context manager that ends all it started."""

    name = "JupyterLab"
    module = "jupyterlab"

    def __init__(self, root: Path, state: Path, environment: dict[str, str]) -> None:
        self._token = secrets.token_hex(16)
        own = {
            "JUPYTERLAB_SETTINGS_DIR": str(state / "settings"),
            "JUPYTERLAB_WORKSPACES_DIR": str(state / "workspaces"),
            "JUPYTER_TOKEN": self._token,
        }
        super().__init__(root, state, {**environment, **own})
        self._settings = state / "settings" / "@jupyterlab" / "apputils-extension"

    def _settle_in(self) -> list[str]:
        self._settings.mkdir(parents=True)
        config = {**CONFIG, "ServerApp": {**CONFIG["ServerApp"], "root_dir": str(self.root)}}
        (self._config / "jupyter_server_config.json").write_text(json.dumps(config), "utf-8")
        (self._settings / "notification.jupyterlab-settings").write_text(json.dumps(NO_NEWS))
        return []

    def _find_port(self) -> int | None:
        found = (_listening(f.read_text("utf-8")) for f in self._runtime.glob("jpserver-*.json"))
        return next((port for port in found if port is not None), None)

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

"""Voilà in a process of its own: notebooks as plain pages, on this machine only."""

from __future__ import annotations

import json
import os

import psutil
from own_server import OwnServer

CONFIG = {
    "Voila": {"ip": "127.0.0.1", "port": 0, "port_retries": 0, "open_browser": False},
    # Ports are looked for first and taken later: another test's kernel may take them in between.
    "ConnectionFileMixin": {"transport": "ipc"},
}


class VoilaServer(OwnServer):
    """Voilà on a free port of this machine; a context manager that ends all it started."""

    name = "Voilà"
    module = "voila"

    def _settle_in(self) -> list[str]:
        (self._config / "voila.json").write_text(json.dumps(CONFIG), "utf-8")
        return [os.curdir]

    def _find_port(self) -> int | None:
        """Return the port that the process itself listens on: it writes it nowhere."""
        open_ones = self._process.net_connections("inet")
        return next((c.laddr.port for c in open_ones if c.status == psutil.CONN_LISTEN), None)

    def address(self, path: str) -> str:
        """Return the address of the page of a notebook."""
        return f"http://127.0.0.1:{self.port}/voila/render/{path}"

    def end_kernels(self) -> None:
        """End every kernel that was started for a page."""
        kernels = [p for p in self.processes()[1:] if "ipykernel_launcher" in p.cmdline()]
        for kernel in kernels:
            kernel.terminate()
        psutil.wait_procs(kernels, timeout=20)

"""A notebook as the plain page that Voilà makes of it: no code, no menu, only what it shows.

``page.show("a.ipynb")`` waits until every cell has run; then the page is worked as in JupyterLab.
"""

from __future__ import annotations

from pathlib import Path

from notebook_page import NotebookPage
from playwright.sync_api import BrowserContext, TimeoutError
from voila_server import VoilaServer

# Listens at the socket between page and kernel, since the page itself tells nobody whether the
# kernel has answered.  Messages come as JSON or, in the binary form, as places of their parts
# followed by the parts: channel, header, parent header, metadata, content.
WATCH = """() => {
    const open = window.asked = new Set();
    window.answered = 0;
    const parts = (data) => {
        if (typeof data === 'string') {
            const m = JSON.parse(data);
            return [m.channel, m.header, m.parent_header, m.content];
        }
        const bytes = data.buffer ? data.buffer : data;
        const view = new DataView(bytes);
        const count = Number(view.getBigUint64(0, true));
        const at = (n) => Number(view.getBigUint64(8 * (n + 1), true));
        const part = (n) => new Uint8Array(bytes, at(n), at(n + 1) - at(n));
        const text = (n) => new TextDecoder().decode(part(n));
        return [text(0), ...[1, 2, 4].map((n) => JSON.parse(text(n)))];
    };
    const Plain = window.WebSocket;
    window.WebSocket = class extends Plain {
        constructor(...words) {
            super(...words);
            this.addEventListener('message', ({ data }) => {
                const [, header, parent, content] = parts(data);
                if (header && header.msg_type === 'status' && content.execution_state === 'idle') {
                    open.delete(parent.msg_id);
                    window.answered += 1;
                }
            });
        }
        send(data) {
            const [channel, header] = parts(data);
            if (channel === 'shell') open.add(header.msg_id);
            super.send(data);
        }
    };
}"""
# An output stands in the page as data, then as an empty place, then as what it shows.
READY = """() => !document.querySelector('#loading')
    && document.querySelector('#rendered_cells')
    && !document.querySelector('script[type="application/vnd.voila.cell-output+json"]')
    && [...document.querySelectorAll('.jp-OutputArea-output')].every(
        (o) => o.childNodes.length > 0 && !o.textContent.startsWith('Loading widget'))
    && window.answered > 0"""
STILL = """() => {
    const now = document.querySelector('#rendered_cells').innerHTML;
    const seen = window.pageSeen;
    if (window.asked.size > 0 || !seen || seen.now !== now) {
        window.pageSeen = { now, since: performance.now() };
        return false;
    }
    return performance.now() - seen.since > 300;
}"""
FAULTS = ", ".join(
    (
        "[data-mime-type='application/vnd.jupyter.error']",
        "[data-mime-type='application/vnd.jupyter.stderr']",
        ".jupyter-widgets-error-widget",
        ".voila-notebook-error",
    )
)


class VoilaPage(NotebookPage):
    """A notebook as a plain page."""

    area = "#rendered_cells"

    def __init__(self, server: VoilaServer, context: BrowserContext, folder: str) -> None:
        super().__init__(server, context, folder)
        self.server = server
        self.page.add_init_script(f"({WATCH})()")

    def show(self, name: str, *, dark: bool = False, seconds: float = 120) -> None:
        """Open the page of a notebook with a new kernel and wait until all cells have run."""
        self.page.goto("about:blank")
        self.console.clear()
        self.outside.clear()
        self.server.end_kernels()
        path = "/".join(part for part in (self._folder, name) if part)
        theme = "?theme=dark" if dark else ""
        try:
            self.page.goto(self.server.address(path) + theme, timeout=seconds * 1000)
            self.page.wait_for_function(READY, timeout=60_000)
        except TimeoutError as error:
            log = self.server.log.read_text("utf-8")[-3000:]
            raise AssertionError(f"No page of {path} in time:\n{log}") from error
        self.settle()

    def settle(self, *, seconds: float = 30) -> None:
        """Wait until the kernel has answered everything and the page stands still."""
        self.page.evaluate("() => { window.pageSeen = null; }")
        try:
            self.page.wait_for_function(STILL, timeout=seconds * 1000, polling=50)
        except TimeoutError as error:
            waiting = self.page.evaluate("() => window.asked.size")
            told = f"Not still after {seconds:g} s: requests not answered: {waiting}"
            raise AssertionError(told) from error

    def faults(self) -> list[str]:
        """Return what the page holds of errors, of the error stream and of broken widgets."""
        return self.page.locator(FAULTS).all_text_contents()

    def screenshot(self, path: Path) -> None:
        """Take a picture of the whole page: the window is made as high as it needs."""
        usual = self.page.viewport_size
        assert usual is not None
        end = self.page.evaluate("() => document.querySelector('#rendered_cells').scrollHeight")
        height = max(usual["height"], end + 40)
        self.page.set_viewport_size({"width": usual["width"], "height": height})
        self.settle()
        self.page.screenshot(path=path)
        self.page.set_viewport_size(usual)

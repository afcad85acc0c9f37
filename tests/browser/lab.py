"""A notebook in JupyterLab, worked as a person works it: menu, keys, and what is seen.

``lab.open("a.ipynb")``, ``lab.run_all()``, ``lab.slider("Target margin").press("ArrowRight", 5)``,
``lab.text_of("#bid")``.  Each step returns when the kernel has answered and the page stands still.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from lab_server import LabServer
from notebook_page import NotebookPage
from playwright.sync_api import BrowserContext, TimeoutError

# Requests to a kernel that it has not answered are counted, because the mark of a busy kernel
# comes later than the key that makes it busy.
WATCH = """() => {
    const session = jupyterapp.shell.currentWidget.sessionContext;
    const open = new Set();
    window.labOpen = open;
    const watch = (kernel) => kernel && kernel.anyMessage.connect((_, { msg, direction }) => {
        if (direction === 'send' && msg.channel === 'shell') open.add(msg.header.msg_id);
        if (msg.header.msg_type === 'status' && msg.content.execution_state === 'idle')
            open.delete(msg.parent_header.msg_id);
    });
    watch(session.session.kernel);
    session.kernelChanged.connect((_, change) => { open.clear(); watch(change.newValue); });
}"""
KERNEL_READY = """() => {
    const panel = window.jupyterapp && jupyterapp.shell.currentWidget;
    const kernel = panel && panel.sessionContext && panel.sessionContext.session
        && panel.sessionContext.session.kernel;
    return kernel && panel.sessionContext.isReady && kernel.status === 'idle'
        && kernel.connectionStatus === 'connected' && panel.content.model.cells.length > 0;
}"""
# Still means: for 300 ms nothing was asked of the kernel and no output changed.
STILL = """() => {
    const prompts = [...document.querySelectorAll('.jp-InputPrompt')].map((p) => p.textContent);
    const areas = [...document.querySelectorAll('.jp-Cell-outputArea')];
    const now = areas.map((a) => a.innerHTML).join() + prompts;
    const busy = labOpen.size > 0 || prompts.some((p) => p.includes('*'));
    const seen = window.labSeen;
    if (busy || !seen || seen.now !== now) {
        window.labSeen = { now, since: performance.now() };
        return false;
    }
    return performance.now() - seen.since > 300;
}"""
STATE = """() => `kernel ${jupyterapp.shell.currentWidget.sessionContext.kernelDisplayStatus}, `
    + `requests not answered: ${labOpen.size}`"""
# How far the end of the notebook lies below the lower edge of its panel.
BELOW = """(panel) => {
    panel.scrollTop = 0;
    const cells = panel.querySelectorAll('.jp-Cell');
    const end = cells[cells.length - 1].getBoundingClientRect().bottom;
    return Math.ceil(end - panel.getBoundingClientRect().bottom) + 20;
}"""
CHANGE_THEME = "(theme) => jupyterapp.commands.execute('apputils:change-theme', theme)"
FAULTS = ", ".join(
    (
        ".jp-OutputArea-output[data-mime-type='application/vnd.jupyter.error']",
        ".jp-OutputArea-output[data-mime-type='application/vnd.jupyter.stderr']",
        ".jupyter-widgets-error-widget",
    )
)


class Lab(NotebookPage):
    """JupyterLab in a browser."""

    area = ".jp-Notebook .jp-Cell-outputArea"

    def __init__(self, server: LabServer, context: BrowserContext, folder: str) -> None:
        super().__init__(server, context, folder)
        self.server = server

    def open(self, name: str, *, mode: Literal["lab", "doc"] = "lab", dark: bool = False) -> None:
        """Open a notebook with a new kernel, among the panels (``lab``) or alone (``doc``)."""
        self.page.goto("about:blank")
        self.console.clear()
        self.outside.clear()
        self.server.end_kernels()
        path = "/".join(part for part in (self._folder, name) if part)
        self.page.goto(self.server.address(f"{mode}/tree/{path}") + "&reset")
        try:
            self.page.wait_for_function(KERNEL_READY, timeout=60_000)
        except TimeoutError as error:
            log = self.server.log.read_text("utf-8")[-3000:]
            raise AssertionError(f"No kernel for {path} after 60 s:\n{log}") from error
        self._light_or_dark(dark)
        self.page.evaluate(WATCH)

    def show(self, name: str, *, dark: bool = False, seconds: float = 120) -> None:
        """Open a notebook among the panels and run all its cells."""
        self.open(name, dark=dark)
        self.run_all(seconds=seconds)

    def _light_or_dark(self, dark: bool) -> None:
        is_so = f"document.body.dataset.jpThemeLight === '{'false' if dark else 'true'}'"
        if not self.page.evaluate(is_so):
            theme = {"theme": f"JupyterLab {'Dark' if dark else 'Light'}"}
            self.page.evaluate(CHANGE_THEME, theme)
            self.page.wait_for_function(f"() => {is_so}")

    def run_all(self, *, seconds: float = 60) -> None:
        """Choose Run All Cells from the menu and wait until the last has ended."""
        for name in ("Run", "Run All Cells"):
            self.page.get_by_role("menuitem", name=name, exact=True).click()
        self.settle(seconds=seconds)

    def settle(self, *, seconds: float = 30) -> None:
        """Wait until the kernel has answered everything and the notebook stands still."""
        self.page.evaluate("() => { window.labSeen = null; }")
        try:
            self.page.wait_for_function(STILL, timeout=seconds * 1000, polling=50)
        except TimeoutError as error:
            state = f"{self.page.evaluate(STATE)}, cells {' '.join(self.prompts())}"
            raise AssertionError(f"Not still after {seconds:g} s: {state}") from error

    def faults(self) -> list[str]:
        """Return what the outputs hold of errors, of the error stream and of broken widgets."""
        return self.page.locator(f".jp-Notebook :is({FAULTS})").all_text_contents()

    def prompts(self) -> list[str]:
        """Return the marks before the code cells, ``[3]:`` for one that ran as the third."""
        found = self.page.locator(".jp-CodeCell .jp-InputPrompt").all_text_contents()
        return [mark.strip() for mark in found]

    def screenshot(self, path: Path) -> None:
        """Take a picture of the whole notebook: the window is made as high as it needs."""
        usual = self.page.viewport_size
        assert usual is not None
        height = usual["height"]
        for _ in range(3):  # cells far below get their true height once they come into view
            height += self.page.locator(".jp-WindowedPanel-outer").evaluate(BELOW)
            height = max(height, usual["height"])
            self.page.set_viewport_size({"width": usual["width"], "height": height})
            self.settle()
        self.page.screenshot(path=path)
        self.page.set_viewport_size(usual)

"""A notebook in a browser, worked as a person works it: keys, clicks, and what is seen.

What is the same in JupyterLab and on a plain page of Voilà.  Each step returns when the kernel has
answered and the page stands still.
"""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from pathlib import Path
from typing import Any

import nbformat
from own_server import OwnServer
from playwright.sync_api import (
    BrowserContext,
    ConsoleMessage,
    Error,
    Locator,
    Request,
    Route,
)

HERE = "http://127.0.0.1:"
# JupyterLab lays out only what is in view, and what is not laid out has no text to see.
SEEN = """async (element) => {
    const frame = () => new Promise(requestAnimationFrame);
    element.scrollIntoView({ block: 'center' });
    await frame();
    await frame();
    return element.innerText.trim();
}"""


class Slider:
    """One slider of a notebook, found by its description."""

    def __init__(self, notebook: NotebookPage, widget: Locator) -> None:
        self._notebook = notebook
        self._widget = widget

    @property
    def value(self) -> str:
        """What its readout shows."""
        return str(self._widget.locator(".widget-readout").evaluate(SEEN))

    def press(self, key: str, times: int = 1) -> None:
        """Focus the handle and press a key, such as ``ArrowRight``, ``PageUp`` or ``Home``."""
        handle = self._widget.get_by_role("slider")
        handle.scroll_into_view_if_needed()
        handle.focus()
        for _ in range(times):
            handle.page.keyboard.press(key)
        self._notebook.settle()

    def type(self, text: str) -> None:
        """Write a number into the readout and confirm it with Enter."""
        readout = self._widget.locator(".widget-readout")
        readout.click()
        readout.page.keyboard.press("ControlOrMeta+a")
        readout.page.keyboard.type(text)
        readout.page.keyboard.press("Enter")
        self._notebook.settle()


class NotebookPage(ABC):
    """A notebook in a browser.

    ``console`` holds the errors the browser told, ``outside`` every address that was asked for and
    is not on this machine; such requests are stopped.
    """

    area: str
    """CSS selector of what holds an output."""

    def __init__(self, server: OwnServer, context: BrowserContext, folder: str) -> None:
        self.folder: Path = server.root / folder
        self.console: list[str] = []
        self.outside: list[str] = []
        self._folder = folder
        context.route(lambda address: not address.startswith(HERE), self._refuse)
        self.page = context.new_page()
        self.page.on("console", self._note)
        self.page.on("pageerror", self._note_error)

    def _note(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.console.append(message.text)

    def _note_error(self, error: Error) -> None:
        self.console.append(str(error))

    def _refuse(self, route: Route, request: Request) -> None:
        if request.url.startswith(("data:", "blob:")):
            route.continue_()
            return
        self.outside.append(request.url)
        route.abort()

    def write(self, name: str, *cells: str, metadata: dict[str, Any] | None = None) -> None:
        """Write a notebook of code cells beside the others; ``# `` at the start makes a heading."""
        new = nbformat.v4
        made = [
            new.new_markdown_cell(c) if c.startswith("# ") else new.new_code_cell(c) for c in cells
        ]
        kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
        notebook = new.new_notebook(cells=made, metadata={"kernelspec": kernel, **(metadata or {})})
        nbformat.write(notebook, self.folder / name)

    @abstractmethod
    def show(self, name: str, *, dark: bool = False, seconds: float = 120) -> None:
        """Open a notebook with a new kernel and wait until every cell has run."""

    @abstractmethod
    def settle(self, *, seconds: float = 30) -> None:
        """Wait until the kernel has answered everything and the page stands still."""

    def widget(self, description: str) -> Locator:
        """Return the widget whose description is this."""
        label = self.page.locator(f"{self.area} .jupyter-widgets > .widget-label")
        whole = re.compile(rf"\s*{re.escape(description)}\s*$")
        return label.filter(has_text=whole).locator("..")

    def slider(self, description: str) -> Slider:
        """Return the slider with this description."""
        return Slider(self, self.widget(description))

    def choose(self, description: str, option: str, *, seconds: float = 30) -> None:
        """Choose an option of the list with this description."""
        self.widget(description).locator("select").select_option(option)
        self.settle(seconds=seconds)

    def options(self, description: str) -> list[str]:
        """Return what can be chosen in the list with this description."""
        found = self.widget(description).locator("option").all_text_contents()
        return [" ".join(option.split()) for option in found]  # spaces there can't be broken at

    def write_into(self, description: str, text: str, *, seconds: float = 30) -> None:
        """Write over the field with this description, and leave it as the Tab key does."""
        field = self.widget(description).locator("input, textarea")
        field.fill(text)
        field.press("Tab")
        self.settle(seconds=seconds)

    def click(self, button: str, *, seconds: float = 30) -> None:
        """Click the button with these words."""
        self.outputs("button").get_by_text(button, exact=True).click()
        self.settle(seconds=seconds)

    def outputs(self, selector: str = "*") -> Locator:
        """Return what the outputs hold of a CSS selector, widgets included."""
        return self.page.locator(f"{self.area} :is({selector})")

    def text_of(self, selector: str) -> str:
        """Return the text, as it is seen, of the one element of the outputs."""
        return str(self.outputs(selector).evaluate(SEEN))

    def texts_of(self, selector: str) -> list[str]:
        """Return the texts, as they are seen, of all such elements of the outputs."""
        return [str(element.evaluate(SEEN)) for element in self.outputs(selector).all()]

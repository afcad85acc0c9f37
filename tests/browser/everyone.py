"""A page looked at for everyone who reads it: what is seen, heard, printed, enlarged and grey."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np
import numpy.typing as npt
import pypdf
from axe_core_python.base import AXE_SCRIPT
from chromium import QUIET, find_chromium
from PIL import Image
from playwright.sync_api import Page, sync_playwright

EXAMINE = (Path(__file__).parent / "examine.js").read_text(encoding="utf-8")

AXE = """async (asked) => {
    document.querySelectorAll("svg > g").forEach((drawing) => drawing.remove());
    const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"];
    const said = await axe.run({
        runOnly: asked.rule ? [asked.rule] : {type: "tag", values: tags},
        rules: asked.but ? {[asked.but]: {enabled: false}} : {},
        resultTypes: ["violations", "incomplete"], selectors: false});
    const told = (kind) => said[kind].flatMap((r) => r.nodes.map((n) =>
        `${r.id}: ${n.html.slice(0, 90)} ${n.any.concat(n.all, n.none).map((c) => c.message)[0]}`));
    const open = told("incomplete").filter((s) => !s.startsWith("color-contrast:"));
    return [...told("violations"), ...open.map((s) => `axe can't tell, ${s}`)];
}"""
"""Levels A and AA of WCAG 2.1, and what is good practice: headings, landmarks, tables.

What a drawing holds is taken out: it is one picture to a reader.  Where axe can't tell on which
ground a text stands, and in drawings, ``examine.js`` looks at the contrast."""

PAPER = """() => {
    const rules = [...document.styleSheets].flatMap((s) => [...s.cssRules]);
    const pages = rules.filter((r) => r instanceof CSSPageRule).map((r) => r.style);
    const last = (name) => pages.map((p) => p.getPropertyValue(name)).filter(Boolean).at(-1);
    const mm = (said) => parseFloat(said ?? "10mm");
    const wide = /landscape/.test(last("size") ?? "") ? 297 : 210;
    return (wide - mm(last("margin-left")) - mm(last("margin-right"))) * 96 / 25.4;
}"""
"""How wide the text of a sheet of A4 is, CSS pixels; margins are given in millimetres."""

SPACED = """p, li, td, th, dd, dt, caption, figcaption, h1, h2, h3 {
    line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important }
    p { margin-bottom: 2em !important }"""
"""Text as far apart as WCAG 1.4.12 lets a reader set it."""

LEAST_ON_PAPER = 8 * 96 / 72
"""Eight points, CSS pixels."""

LEAST_ON_SCREEN = 9.0


@dataclass(frozen=True, slots=True)
class View:
    """One way to look at a page.

    Parameters
    ----------
    width : int
        Of the window, CSS pixels; 0 for a sheet of paper.
    axe : dict or None
        What to ask axe: all its rules, those ``but`` one, or one ``rule``; None for nothing.
    grey : bool
        True to look at its charts without colour.
    style : str
        What a reader's own settings add.
    """

    width: int
    axe: dict[str, str] | None = None
    grey: bool = False
    style: str = ""


COLOURS = "color-contrast"
"""This rule takes longer than all others: a phone has the colours of the desk, and on paper nothing
else is new."""

VIEWS = {
    "desk": View(1100, axe={}, grey=True),
    "desk, twice as large": View(550),
    "desk, letters twice as large": View(1100, style="html { font-size: 200% }"),
    "phone": View(390, axe={"but": COLOURS}),
    "phone, letters apart": View(390, style=SPACED),
    "small phone": View(320),
    "paper": View(0, axe={"rule": COLOURS}),
}


class Everyone:
    """A browser that examines pages; open it with ``with``."""

    def __enter__(self) -> Self:
        """Start the browser."""
        self._driver = sync_playwright().start()
        self._browser = self._driver.chromium.launch(
            executable_path=find_chromium(), args=[*QUIET, "--disable-lcd-text"]
        )
        self._page = self._browser.new_context(offline=True).new_page()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """End it."""
        self._browser.close()
        self._driver.stop()

    def examine(self, html: str, *names: str) -> dict[str, list[str]]:
        """Return each fault of a page with the views it shows in; all views without names."""
        faults: dict[str, list[str]] = {}
        self._page.set_content(html)
        looks = [(look, name) for look in (self._look, self._ask_axe) for name in names or VIEWS]
        for look, name in looks:
            for fault in look(VIEWS[name]):
                faults.setdefault(fault, []).append(name)
        return faults

    def open(self, html: str, width: int) -> Page:
        """Show a page at a width, to be worked by hand."""
        self._page.set_content(html)
        self._set(View(width))
        return self._page

    def printed_sizes(self, html: str) -> list[float]:
        """Print a page; return the size of each piece of text in the PDF, points."""
        self._page.set_content(html)
        self._page.emulate_media(media="print")
        printed = io.BytesIO(self._page.pdf(prefer_css_page_size=True, print_background=True))
        sizes: list[float] = []

        def note(text: str, around: list[float], own: list[float], _: object, size: float) -> None:
            if text.strip():
                a, b, c, d = np.matmul(_linear(own), _linear(around)).ravel()
                sizes.append(abs(size) * float(abs(a * d - b * c)) ** 0.5)

        for sheet in pypdf.PdfReader(printed).pages:
            sheet.extract_text(visitor_text=note)
        return sizes

    def _set(self, view: View) -> None:
        self._page.emulate_media(media="screen" if view.width else "print")
        width = view.width or int(self._page.evaluate(PAPER))
        self._page.set_viewport_size({"width": width, "height": 900})

    def _look(self, view: View) -> Iterator[str]:
        page = self._page
        self._set(view)
        added = page.add_style_tag(content=view.style) if view.style else None
        least = LEAST_ON_SCREEN if view.width else LEAST_ON_PAPER
        yield from page.evaluate(EXAMINE, {"least": least, "colours": view.grey})
        if view.grey:
            yield from self._without_colour()
        if added is not None:
            added.evaluate("(e) => e.remove()")

    def _ask_axe(self, view: View) -> Iterator[str]:
        if view.axe is None:
            return
        self._set(view)
        if not self._page.evaluate("typeof axe === 'object'"):
            self._page.evaluate(AXE_SCRIPT)
        yield from self._page.evaluate(AXE, view.axe)

    def _without_colour(self) -> Iterator[str]:
        """Look at each chart as a printer without colour does."""
        boxes = self._page.evaluate(BOXES)
        if not boxes:
            return
        seen = Image.open(io.BytesIO(self._page.screenshot(full_page=True))).convert("RGB")
        for name, box in boxes:
            lost = lost_in_grey(seen.crop(box))
            if lost > FEW:
                yield f"border lost in grey: {name}, {lost} pixels"


BOXES = """() => [...document.querySelectorAll("svg")].filter((s) => s.getClientRects().length)
    .map((s) => [s.classList[0] ?? "", s.getBoundingClientRect()])
    .map(([name, r]) => [name, [r.left, r.top + scrollY, r.right, r.bottom + scrollY]])"""
"""Where each chart stands on the page."""


def _linear(matrix: list[float]) -> npt.NDArray[np.float64]:
    """Return what a matrix of a PDF does beside moving."""
    return np.asarray(matrix[:4], dtype=float).reshape(2, 2)


FEW = 12
"""Pixels of a border that smoothing may cost."""


def lost_in_grey(image: Image.Image) -> int:
    """Return at how many places a border that colour shows is gone in grey."""
    colour = np.asarray(image, dtype=np.float32)
    grey = np.asarray(image.convert("L"), dtype=np.float32)
    return sum(_lost(np.moveaxis(colour, 0, k), np.moveaxis(grey, 0, k)) for k in (0, 1))


def _lost(colour: npt.NDArray[np.float32], grey: npt.NDArray[np.float32]) -> int:
    # Two pixels on, smoothing of an edge is over.
    apart = np.linalg.norm(colour[2:] - colour[:-2], axis=-1)
    shade = np.abs(grey[2:] - grey[:-2])
    return int(np.count_nonzero((apart > 90) & (shade < 10)))

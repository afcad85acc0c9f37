"""What draws on the sheets of a PDF: places count from the upper left corner, in points."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from valuation.report.palette import INK
from valuation.report.pdf_fonts import in_fonts, readable, text_width
from valuation.report.pdf_tags import Element, write_tree
from valuation.report.pdf_text import Line, Style

__all__ = ["Pen"]

_NEVER = "D:20000101000000+00'00'"
"""The moment that the file names as that of its making, so that the same page is the same file."""

_UNDERLINE = 0.13
"""How far below a word its line is, and of what weight, as shares of its size: this and half."""


class Pen:
    """A document while it is drawn.

    Parameters
    ----------
    width, height : float
        Of its sheets, in points.
    language : str
        BCP 47 code of its words.
    title : str
        Name of the document.
    """

    def __init__(self, width: float, height: float, *, language: str, title: str) -> None:
        self.width, self.height = width, height
        self.root = Element("Document")
        self._file = io.BytesIO()
        self._sheets: list[list[Element]] = [[]]
        self._bookmarks = 0
        # Nothing is compressed: versions of the compressor differ in the bytes they make.
        self.canvas: Any = Canvas(
            self._file,
            pagesize=(width, height),
            pageCompression=0,
            invariant=1,
            pdfVersion=(1, 7),
            lang=language,
            initialFontName=next(in_fonts("", "sans"))[0],
        )
        self._describe(readable(title))

    def _describe(self, title: str) -> None:
        canvas = self.canvas
        canvas.setTitle(title)
        for say_nothing in (canvas.setAuthor, canvas.setSubject, canvas.setCreator):
            say_nothing("")
        canvas.setDateFormatter(lambda *_moment: _NEVER)
        canvas.setViewerPreference("DisplayDocTitle", "true")
        # An environment that names a moment of making would else show in the identity of the file.
        canvas._doc.signature = hashlib.blake2b(digest_size=16)

    def next_sheet(self) -> None:
        """Begin another sheet."""
        self.canvas.showPage()
        self._sheets.append([])

    def finish(self) -> bytes:
        """End the last sheet and return the file."""
        self.canvas.showPage()
        write_tree(self.canvas._doc, self.root, self._sheets)
        self.canvas.save()
        return self._file.getvalue()

    @contextmanager
    def part(self, element: Element | None) -> Iterator[None]:
        """Draw what belongs to an element; to none: what only decorates."""
        if element is None:
            self.canvas._code.append("/Artifact BMC")
        else:
            number = len(self._sheets[-1])
            self._sheets[-1].append(element)
            element.marks.append((len(self._sheets) - 1, number))
            self.canvas._code.append(f"/{element.kind} <</MCID {number}>> BDC")
        yield
        self.canvas._code.append("EMC")

    def line(self, line: Line, x: float, top: float) -> None:
        """Draw a line of text whose upper left corner is at `x`, `top`."""
        for run in line.runs:
            self.words(run.text, run.style, x + run.x, self.height - top - line.baseline)
            if run.style.underlined:
                drop = _UNDERLINE * run.style.size
                y = top + line.baseline + drop
                self.rule(x + run.x, x + run.x + run.width, y, drop / 2, run.style.colour)

    def words(self, text: str, style: Style, x: float, y: float) -> None:
        """Draw a readable text that starts at a place counted as the canvas does at the moment."""
        self.canvas.setFillColor(HexColor(style.colour))
        for font, part in in_fonts(text, style.face):
            self.canvas.setFont(font, style.size)
            self.canvas.drawString(x, y, part)
            x += text_width(part, style.face, style.size)

    def rule(self, left: float, right: float, y: float, weight: float, colour: str = INK) -> None:
        """Draw a level line."""
        self.canvas.setStrokeColor(HexColor(colour))
        self.canvas.setLineWidth(weight)
        self.canvas.line(left, self.height - y, right, self.height - y)

    def upright(self, x: float, top: float, bottom: float, weight: float, colour: str) -> None:
        """Draw an upright line."""
        self.canvas.setStrokeColor(HexColor(colour))
        self.canvas.setLineWidth(weight)
        self.canvas.line(x, self.height - top, x, self.height - bottom)

    def ground(self, x: float, top: float, width: float, height: float, colour: str) -> None:
        """Fill a box."""
        self.canvas.setFillColor(HexColor(colour))
        self.canvas.rect(x, self.height - top - height, width, height, stroke=0, fill=1)

    def photograph(self, jpeg: bytes, x: float, top: float, width: float, height: float) -> None:
        """Draw a photograph; its bytes are carried as they are."""
        source = ImageReader(io.BytesIO(jpeg))
        self.canvas.drawImage(source, x, self.height - top - height, width, height)

    def bookmark(self, title: str, top: float) -> None:
        """Let the outline of the document point to a place on this sheet."""
        self._bookmarks += 1
        key = f"part-{self._bookmarks}"
        self.canvas.bookmarkPage(key, fit="XYZ", left=0, top=self.height - top, zoom=0)
        self.canvas.addOutlineEntry(readable(title), key)

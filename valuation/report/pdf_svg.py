"""Reads a chart as the page has it, and draws it on paper: the same lines, the same words.

It knows what :func:`valuation.report.drawing.to_svg` writes and refuses everything else, so that
nothing of a chart goes missing unseen.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree.ElementTree import Element as Node
from xml.etree.ElementTree import XMLPullParser

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import FILL_NON_ZERO
from reportlab.pdfgen.pathobject import PDFPathObject

from valuation.errors import ValuationError
from valuation.report.palette import INK
from valuation.report.pdf_fonts import readable, text_width
from valuation.report.pdf_pen import Pen
from valuation.report.pdf_text import Style, as_seen

__all__ = ["Drawing", "read_drawing"]

_NUMBER = re.compile(r"-?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_STEP = re.compile(r"([A-Za-z])([^A-Za-z]*)")
_CALL = re.compile(r"(\w+)\(([^)]*)\)")
_ALL = {"stroke-linejoin": "round", "stroke-linecap": "butt"}
"""What the style of a chart says of every element in it."""

_FIRST = {"fill": "#000000", "stroke": "none", "stroke-width": "1"}
_CAPS = {"butt": 0, "round": 1, "square": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2}
_MITER_LIMIT = 4
"""What SVG has where nothing is said; that of PDF is 10, which makes spikes of flat corners."""

_SILENT = frozenset({"defs", "title", "desc", "style"})
_SHIFTS = {"start": 0.0, "middle": 0.5, "end": 1.0}


@dataclass(frozen=True, slots=True)
class Drawing:
    """A chart that can be drawn in any size.

    Parameters
    ----------
    root : xml.etree.ElementTree.Element
        Its ``<svg>``.
    width, height : float
        In its own units.
    words : str
        What is read out in its place.
    """

    root: Node
    width: float
    height: float
    words: str

    def draw(self, pen: Pen, left: float, top: float, scale: float) -> None:
        """Draw it so that its upper left corner is at `left`, `top`."""
        pen.canvas.saveState()
        pen.canvas.setMiterLimit(_MITER_LIMIT)
        pen.canvas.transform(scale, 0, 0, -scale, left, pen.height - top)
        _Painter(pen, self.root).paint(self.root, _FIRST)
        pen.canvas.restoreState()


def read_drawing(svg: str) -> Drawing:
    """Return a chart of a page.

    Parameters
    ----------
    svg : str
        An element made by :func:`valuation.report.drawing.to_svg`.

    Returns
    -------
    Drawing
        It can be drawn in any size.
    """
    parser: Any = XMLPullParser(("start",))
    parser.feed(svg)
    parser.close()
    nodes: list[Node] = [node for _event, node in parser.read_events()]
    for node in nodes:
        node.tag = node.tag.rpartition("}")[2]
    root = nodes[0]
    _x, _y, width, height = _numbers(root.attrib["viewBox"])
    words = (root.findtext("title", ""), root.findtext("desc", ""))
    return Drawing(root, width, height, readable(". ".join(filter(None, words))))


class _Painter:
    """Draws the elements of one chart in its own units, which count downwards."""

    def __init__(self, pen: Pen, root: Node) -> None:
        self._pen = pen
        self._canvas: Any = pen.canvas
        self._parts = {n.attrib["id"]: n for n in root.iter() if "id" in n.attrib}

    def paint(self, node: Node, inherited: Mapping[str, str]) -> None:
        """Draw an element and all inside it."""
        if node.tag in _SILENT:
            return
        style = {**inherited, **_ALL, **_own_style(node)}
        self._canvas.saveState()
        self._clip(node)
        for matrix in _matrices(node.attrib.get("transform", "")):
            self._canvas.transform(*matrix)
        if node.tag in {"svg", "g"}:
            for child in node:
                self.paint(child, style)
        elif node.tag == "path":
            self._path(node.attrib["d"], style)
        elif node.tag == "use":
            self._canvas.translate(_number(node, "x"), _number(node, "y"))
            self.paint(self._parts[node.attrib["href"].removeprefix("#")], style)
        elif node.tag == "text":
            self._text(node, style)
        else:
            raise ValuationError(
                "chart",
                "a PDF can't show an element of it",
                got=node.tag,
                remedy="Draw it with lines, shapes and words",
            )
        self._canvas.restoreState()

    def _clip(self, node: Node) -> None:
        if "clip-path" not in node.attrib:
            return
        (box,) = self._parts[_reference(node.attrib["clip-path"])]
        path = self._canvas.beginPath()
        path.rect(*(_number(box, name) for name in ("x", "y", "width", "height")))
        self._canvas.clipPath(path, stroke=0, fill=0)

    def _path(self, d: str, style: Mapping[str, str]) -> None:
        steps = tuple(_steps(d))
        if style["fill"].startswith("url("):
            self._hatch(steps, self._parts[_reference(style["fill"])])
            style = {**style, "fill": "none"}
        fills, strokes = style["fill"] != "none", style["stroke"] != "none"
        if not (fills or strokes):
            return
        self._set(style)
        path = _trace(self._canvas.beginPath(), steps)
        self._canvas.drawPath(path, stroke=strokes, fill=fills, fillMode=FILL_NON_ZERO)

    def _set(self, style: Mapping[str, str]) -> None:
        """Take colours and lines from a style."""
        canvas = self._canvas
        alpha = float(style.get("opacity", 1))
        if style["fill"] != "none":
            canvas.setFillColor(HexColor(style["fill"]))
            canvas.setFillAlpha(alpha * float(style.get("fill-opacity", 1)))
        if style["stroke"] == "none":
            return
        canvas.setStrokeColor(HexColor(style["stroke"]))
        canvas.setStrokeAlpha(alpha * float(style.get("stroke-opacity", 1)))
        canvas.setLineWidth(_numbers(style["stroke-width"])[0])
        canvas.setLineCap(_CAPS[style["stroke-linecap"]])
        canvas.setLineJoin(_JOINS[style["stroke-linejoin"]])
        dashes = _numbers(style.get("stroke-dasharray", ""))
        if dashes:
            canvas.setDash(dashes, _numbers(style.get("stroke-dashoffset", "0"))[0])

    def _hatch(self, steps: Sequence[_Step], pattern: Node) -> None:
        """Fill a shape with the tiles of a pattern."""
        self._canvas.saveState()
        path = _trace(self._canvas.beginPath(), steps)
        self._canvas.clipPath(path, stroke=0, fill=0, fillMode=FILL_NON_ZERO)
        x, y, width, height = (_number(pattern, n) for n in ("x", "y", "width", "height"))
        left, upper, right, lower = _bounds(steps)
        box, lines = pattern
        self._canvas.setFillColor(HexColor(box.attrib["fill"]))
        self._canvas.rect(left, upper, right - left, lower - upper, stroke=0, fill=1)
        style = {**_FIRST, **_ALL, **_own_style(lines)}
        for column in range(math.floor((left - x) / width), math.ceil((right - x) / width)):
            for row in range(math.floor((upper - y) / height), math.ceil((lower - y) / height)):
                self._canvas.saveState()
                self._canvas.translate(x + column * width, y + row * height)
                self._path(lines.attrib["d"], style)
                self._canvas.restoreState()
        self._canvas.restoreState()

    def _text(self, node: Node, style: Mapping[str, str]) -> None:
        text = as_seen(readable(node.text or ""))
        bold = style.get("font-weight", "400") not in {"400", "normal"}
        size = _numbers(style["font-size"])[0]
        face = "sans bold" if bold else "sans"
        shift = _SHIFTS[style.get("text-anchor", "start")] * text_width(text, face, size)
        colour = style["fill"] if style["fill"].startswith("#") else INK
        self._canvas.transform(1, 0, 0, -1, _number(node, "x"), _number(node, "y"))
        self._pen.words(text, Style(size, face, colour), -shift, 0.0)


_Step = tuple[str, tuple[float, ...]]
"""A letter of a path and the numbers behind it."""


def _steps(d: str) -> Iterator[_Step]:
    for letter, behind in _STEP.findall(d):
        yield letter, _numbers(behind)


def _trace(path: PDFPathObject, steps: Sequence[_Step]) -> PDFPathObject:
    """Draw along the steps of a path."""
    here = (0.0, 0.0)
    for letter, numbers in steps:
        if letter == "z":
            path.close()
            continue
        if letter == "M":
            path.moveTo(*numbers)
        elif letter == "L":
            path.lineTo(*numbers)
        elif letter == "C":
            path.curveTo(*numbers)
        elif letter == "Q":
            path.curveTo(*_as_cubic(here, numbers))
        else:
            raise ValuationError(
                "chart",
                "a PDF can't draw a step of a path",
                got=letter,
                remedy="Use lines and curves in absolute places",
            )
        here = (numbers[-2], numbers[-1])
    return path


def _as_cubic(here: tuple[float, float], numbers: Sequence[float]) -> tuple[float, ...]:
    """Return the three points of the cubic curve that is a given quadratic one."""
    (x, y), (cx, cy, ex, ey) = here, numbers
    return (x + 2 * (cx - x) / 3, y + 2 * (cy - y) / 3, ex + 2 * (cx - ex) / 3,
            ey + 2 * (cy - ey) / 3, ex, ey)  # fmt: skip


def _bounds(steps: Sequence[_Step]) -> tuple[float, float, float, float]:
    """Return a box that holds a path: left, upper, right, lower."""
    numbers = [number for _letter, group in steps for number in group]
    xs, ys = numbers[::2], numbers[1::2]
    return min(xs), min(ys), max(xs), max(ys)


def _own_style(node: Node) -> dict[str, str]:
    """Return what an element says of itself."""
    entries = (entry.partition(":") for entry in node.attrib.get("style", "").split(";"))
    return {name.strip(): value.strip() for name, sign, value in entries if sign}


def _matrices(transform: str) -> Iterator[tuple[float, ...]]:
    """Yield the steps of a transform."""
    for name, inside in _CALL.findall(transform):
        numbers = _numbers(inside)
        if name == "rotate":
            x, y = numbers[1:] or (0.0, 0.0)
            turn = math.radians(numbers[0])
            yield 1, 0, 0, 1, x, y
            yield math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn), 0, 0
            yield 1, 0, 0, 1, -x, -y
        elif name == "translate":
            yield 1, 0, 0, 1, *numbers
        else:
            raise ValuationError(
                "chart", "a PDF can't follow a transform", got=name, remedy="Turn and shift only"
            )


def _reference(url: str) -> str:
    """Return the name inside ``url(#name)``."""
    return url.removeprefix("url(#").removesuffix(")")


def _number(node: Node, name: str) -> float:
    return float(node.attrib.get(name, "0"))


def _numbers(text: str) -> tuple[float, ...]:
    return tuple(map(float, _NUMBER.findall(text)))

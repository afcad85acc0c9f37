"""From the blocks of a page to what stands on sheets of paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from valuation.report.page import (
    Block,
    Bullets,
    Chart,
    Figures,
    Grid,
    Page,
    Paragraph,
    Picture,
    Section,
)
from valuation.report.palette import FAINT, TINT
from valuation.report.pdf_bricks import Band, Brick, Column, Edge, Frame, Plate
from valuation.report.pdf_fonts import readable
from valuation.report.pdf_look import Look
from valuation.report.pdf_pen import Pen
from valuation.report.pdf_svg import read_drawing
from valuation.report.pdf_table import table_bricks
from valuation.report.pdf_tags import Element
from valuation.report.pdf_text import Line, Span, Style, break_lines, whole_width

__all__ = ["Room", "head_bricks", "section_bricks"]

_GAP = 6.0
"""Blank between blocks."""

_WIDE_GAP = 10.0
"""Blank above tables, drawings and figures."""

_INDENT = 11.0
_FIGURES_APART = 26.0
_MEANING = 190.0
"""How wide the explanation of a figure is at most."""

_CHART = 0.7
"""Share of a sheet that a drawing takes at most: one that is made smaller can't be read."""

_PICTURE = 198.0
"""How high a photograph is at most, 70 mm."""

_PIXEL = 0.75
_RULED = 23.0
_RULED_LINES = 3


@dataclass(frozen=True, slots=True)
class Room:
    """What a sheet has for text: its width and height in points, and how it looks."""

    width: float
    height: float
    look: Look


def head_bricks(page: Page, room: Room, parent: Element) -> Iterator[Brick]:
    """Yield notice, title and subtitle of a page."""
    if page.notice:
        yield _boxed_notice(page.notice, room, parent)
    heading = _text(page.title, room.look.title_style, room, parent.add("H1"))
    yield replace(heading, before=_GAP, sticks=True)
    if page.subtitle:
        style = replace(room.look.body, colour=room.look.quiet.colour)
        yield replace(_text(page.subtitle, style, room, parent.add("P")), before=2.0, sticks=True)


def section_bricks(section: Section, room: Room, parent: Element) -> Iterator[Brick]:
    """Yield the heading of a section and its blocks."""
    inside = parent.add("Sect")
    heading = _text(section.heading, room.look.heading_style, room, inside.add("H2"))
    yield replace(
        heading,
        before=room.look.above_section,
        above=7.0,
        below=1.0,
        top=Edge(0.6, FAINT),
        sticks=True,
        bookmark=section.heading,
        flows=False,
    )
    for block in section.blocks:
        yield from block_bricks(block, room, inside)


def block_bricks(block: Block, room: Room, parent: Element) -> Iterator[Brick]:
    """Yield what a block becomes."""
    if isinstance(block, Paragraph):
        yield _WEIGHTS.get(block.weight, _plain)(block.text, room, parent)
    elif isinstance(block, Bullets):
        yield from _bullets(block, room, parent)
    elif isinstance(block, Figures):
        yield from _figures(block, room, parent)
    elif isinstance(block, Grid):
        yield from table_bricks(block, room.width, room.look.caption, parent, before=_WIDE_GAP)
    elif isinstance(block, Chart):
        yield from _chart(block, room, parent)
    else:
        yield _picture(block, room, parent)


def _text(text: str, style: Style, room: Room, element: Element) -> Band:
    lines = break_lines((Span(text, style),), room.width)
    column = Column(0.0, room.width, lines, element)
    return Band(columns=(column,), width=room.width, flows=True)


def _plain(text: str, room: Room, parent: Element) -> Band:
    return replace(_text(text, room.look.body, room, parent.add("P")), before=_GAP)


def _lead(text: str, room: Room, parent: Element) -> Band:
    return replace(_plain(text, room, parent), sticks=True)


def _quiet(text: str, room: Room, parent: Element) -> Band:
    band = _text(text, room.look.quiet, room, parent.add("P"))
    return replace(band, before=_GAP, flows=False)


def _warning(text: str, room: Room, parent: Element) -> Band:
    frame = Frame(Edge(1.5, room.look.warning_colour))
    return _framed(text, room.look.bold, frame, room, parent)


def _stop(text: str, room: Room, parent: Element) -> Band:
    return _framed(text, room.look.stop, Frame(Edge(1.4), double=True), room, parent)


def _framed(text: str, style: Style, frame: Frame, room: Room, parent: Element) -> Band:
    side = 10.0
    lines = break_lines((Span(text, style),), room.width - 2 * side)
    column = Column(side, room.width - 2 * side, lines, parent.add("P"))
    return Band(
        columns=(column,), width=room.width, above=7.0, below=7.0, frame=frame, before=_WIDE_GAP
    )


def _boxed_notice(text: str, room: Room, parent: Element) -> Band:
    side = 5.0
    lines = break_lines((Span(text, room.look.notice),), room.width - 2 * side)
    width = max((line.width for line in lines), default=0.0)
    column = Column(side, width, lines, parent.add("P"))
    frame = Frame(Edge(0.8), width=width + 2 * side)
    return Band(columns=(column,), width=room.width, above=2.0, below=2.0, frame=frame, before=_GAP)


def _ruled(_text: str, room: Room, _parent: Element) -> Plate:
    def paint(pen: Pen, left: float, top: float) -> None:
        for line in range(1, _RULED_LINES + 1):
            pen.rule(left, left + room.width, top + line * _RULED, 0.6, FAINT)

    return Plate(size=_RULED_LINES * _RULED + 1.0, paint=paint, before=_GAP)


_WEIGHTS: dict[str, Callable[[str, Room, Element], Brick]] = {
    "lead": _lead,
    "quiet": _quiet,
    "warning": _warning,
    "stop": _stop,
    "notice": _boxed_notice,
    "ruled": _ruled,
}


def _bullets(block: Bullets, room: Room, parent: Element) -> Iterator[Brick]:
    inside = parent.add("L")
    style = room.look.body
    for number, item in enumerate(block.items):
        entry = inside.add("LI")
        sign = break_lines((Span("•", style),), _INDENT)
        lines = break_lines((Span(item, style),), room.width - _INDENT)
        columns = (
            Column(0.0, _INDENT, sign, entry.add("Lbl")),
            Column(_INDENT, room.width - _INDENT, lines, entry.add("LBody")),
        )
        yield Band(columns=columns, width=room.width, before=3.0 if number else _GAP)


def _figures(block: Figures, room: Room, parent: Element) -> Iterator[Brick]:
    """Yield the figures on tinted ground, as many side by side as fit."""
    side = 10.0
    inside = room.width - 2 * side
    sizes = (26.0 if block.style == "answer" else 18.0, 13.0)
    cells = [
        _figure(pair, room.look, sizes[min(at, 1)], inside, parent)
        for at, pair in enumerate(block.pairs)
    ]
    rows = list(_rows(cells, inside, alone=block.style == "answer"))
    for number, row in enumerate(rows):
        last = number == len(rows) - 1
        yield Band(
            columns=tuple(replace(column, x=column.x + side) for column in row),
            width=room.width,
            above=8.0 if number == 0 else 3.0,
            below=8.0 if last else 3.0,
            ground=TINT,
            before=0.0 if number else _WIDE_GAP,
            sticks=not last,
        )


def _figure(
    pair: tuple[str, str, str], look: Look, size: float, width: float, parent: Element
) -> Column:
    name, value, meaning = pair
    texts = [(name, look.name), (value, look.value(size)), (meaning, look.meaning)]
    wholes = [whole_width((Span(text, style),)) for text, style in texts]
    own = min(max(wholes[0], wholes[1], min(wholes[2], _MEANING)) + 0.01, width)
    lines: list[Line] = []
    for text, style in texts:
        lines += break_lines((Span(text, style),), own)
    return Column(0.0, own, tuple(lines), parent.add("P"))


def _rows(cells: Sequence[Column], width: float, *, alone: bool) -> Iterator[list[Column]]:
    """Yield columns in rows that are no wider than `width`; the first `alone` if asked."""
    row: list[Column] = []
    x = 0.0
    for at, cell in enumerate(cells):
        if row and (x + cell.width > width or (alone and at == 1)):
            yield row
            row, x = [], 0.0
        row.append(replace(cell, x=x))
        x += cell.width + _FIGURES_APART
    if row:
        yield row


def _chart(block: Chart, room: Room, parent: Element) -> Iterator[Brick]:
    """Yield a drawing in its wide form, and how to read it."""
    drawing = read_drawing(block.wide)
    scale = min(room.width / drawing.width, _CHART * room.height / drawing.height)
    figure = parent.add("Figure", alt=drawing.words)

    def paint(pen: Pen, left: float, top: float) -> None:
        drawing.draw(pen, left, top, scale)

    yield Plate(
        size=scale * drawing.height, paint=paint, element=figure, before=_WIDE_GAP, sticks=True
    )
    caption = _text(block.caption, room.look.quiet, room, parent.add("Caption"))
    yield replace(caption, before=4.0, flows=False)


def _picture(block: Picture, room: Room, parent: Element) -> Plate:
    """Return a photograph, never larger than it is at 96 pixels an inch."""
    scale = min(_PIXEL, room.width / block.width, _PICTURE / block.height)

    def paint(pen: Pen, left: float, top: float) -> None:
        pen.photograph(block.content, left, top, scale * block.width, scale * block.height)

    return Plate(
        size=scale * block.height,
        paint=paint,
        element=parent.add("Figure", alt=readable(block.alternative)),
        before=_WIDE_GAP,
    )

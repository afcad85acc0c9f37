"""From a page held as data to a PDF: vector drawings, searchable words, one truth with the HTML."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.lib import pagesizes

from valuation.errors import ValuationError
from valuation.report.page import Page
from valuation.report.pdf_blocks import Room, head_bricks, section_bricks
from valuation.report.pdf_bricks import Brick
from valuation.report.pdf_look import FLAT, UPRIGHT
from valuation.report.pdf_pen import Pen
from valuation.report.pdf_sheets import on_sheets
from valuation.report.pdf_tags import Element
from valuation.report.pdf_text import Span, break_lines

__all__ = ["PAPERS", "render_pdf"]

_SIZES = {"A4": pagesizes.A4, "Letter": pagesizes.LETTER}

PAPERS = tuple(_SIZES)
"""Sizes of paper."""

_FOOT_LINES = 2
"""Lines that the notice may have at the foot of a sheet."""


def render_pdf(page: Page, *, paper: str = "A4") -> bytes:
    """Return a page as a PDF.

    Parameters
    ----------
    page : Page
        What to show.  No text is taken as markup; charts are drawn from what the HTML page shows.
    paper : {"A4", "Letter"}
        Size of its sheets.

    Returns
    -------
    bytes
        A tagged PDF with its typefaces inside, an outline by section, and on every sheet its
        number and the notice.  The same page gives the same bytes; nothing in them tells when,
        where or by whom they were made.

    Raises
    ------
    ValuationError
        If the size of paper is not known, or a chart holds what no PDF can show.
    """
    look = FLAT if page.landscape else UPRIGHT
    width, height = _size(paper, landscape=page.landscape)
    top, right, bottom, left = look.edges
    room = Room(width - left - right, height - top - bottom, look)
    pen = Pen(width, height, language=page.language, title=f"{page.title}: {page.about}")
    sheets = on_sheets(tuple(_bricks(page, room, pen.root)), room.height)
    for number, sheet in enumerate(sheets, start=1):
        if number > 1:
            pen.next_sheet()
        for placed in sheet:
            placed.brick.draw(pen, left, top + placed.top)
        _foot(pen, f"{number} of {len(sheets)}", page.notice, room)
    return pen.finish()


def _size(paper: str, *, landscape: bool) -> tuple[float, float]:
    if paper not in _SIZES:
        raise ValuationError(
            "paper",
            "no such size of paper is known",
            got=paper,
            remedy=f"Use one of {', '.join(PAPERS)}",
        )
    width, height = _SIZES[paper]
    return (height, width) if landscape else (width, height)


def _bricks(page: Page, room: Room, parent: Element) -> Iterator[Brick]:
    yield from head_bricks(page, room, parent)
    for section in page.sections:
        yield from section_bricks(section, room, parent)


def _foot(pen: Pen, number: str, notice: str, room: Room) -> None:
    """Write the number of a sheet and for whom it is; both are no part of the text."""
    look = room.look
    _top, right, bottom, left = look.edges
    base = pen.height - 0.55 * bottom
    with pen.part(None):
        for line in break_lines((Span(number, look.foot),), room.width / 2):
            pen.line(line, left, base - line.baseline)
        lines = break_lines((Span(notice, look.foot_notice),), 0.7 * room.width)[:_FOOT_LINES]
        for at, line in enumerate(lines):
            top = base - line.baseline + at * line.height
            pen.line(line, pen.width - right - line.width, top)

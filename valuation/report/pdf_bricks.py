"""What sheets of paper are filled with: bands of text side by side, and drawings."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from valuation.report.palette import INK
from valuation.report.pdf_pen import Pen
from valuation.report.pdf_tags import Element
from valuation.report.pdf_text import Line

__all__ = ["Band", "Brick", "Column", "Edge", "Frame", "Plate"]

_FEWEST = 2
"""Lines of a paragraph that stand together on a sheet."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A rule along a band: its weight in points and its colour."""

    weight: float
    colour: str = INK


@dataclass(frozen=True, slots=True)
class Frame:
    """A box around a band; a part of a band has no edge where it was cut.

    Parameters
    ----------
    edge : Edge
        Its lines.
    double : bool
        True for two lines, one inside the other.
    width : float
        Of the box; 0 for that of the sheet.
    """

    edge: Edge
    double: bool = False
    width: float = 0.0
    is_open_above: bool = False
    is_open_below: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """Lines below one another.

    Parameters
    ----------
    x, width : float
        From the left edge of its band, and how wide it is.
    lines : tuple of Line
        What stands in it.
    element : Element, optional
        What it is; none for what a reader has heard before.
    is_flush_right : bool
        True for figures.
    """

    x: float
    width: float
    lines: tuple[Line, ...]
    element: Element | None = None
    is_flush_right: bool = False

    @property
    def height(self) -> float:
        """Of all its lines."""
        return sum(line.height for line in self.lines)

    def draw(self, pen: Pen, left: float, top: float) -> None:
        """Draw its lines."""
        if not self.lines:
            return
        with pen.part(self.element):
            for line in self.lines:
                shift = self.width - line.width if self.is_flush_right else 0.0
                pen.line(line, left + self.x + shift, top)
                top += line.height

    def fitting(self, room: float) -> int:
        """Return how many of its lines are no higher than `room` together."""
        used = 0.0
        for count, line in enumerate(self.lines):
            used += line.height
            if used > room:
                return count
        return len(self.lines)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Brick(ABC):
    """Something that stands on one sheet.

    Parameters
    ----------
    before : float
        Blank above it, except at the head of a sheet.
    sticks : bool
        True to stand on one sheet with the next one.
    group : Element, optional
        Bricks of one group had better stand on one sheet.
    blank : float
        Share of a sheet that may stay blank so that they do.
    again : tuple of Brick
        Drawn above it when it is the first of a sheet.
    """

    before: float = 0.0
    sticks: bool = False
    group: Element | None = None
    blank: float = 1 / 3
    again: tuple[Brick, ...] = ()

    @property
    @abstractmethod
    def height(self) -> float:
        """In points, without the blank above it."""

    @property
    def least(self) -> float:
        """Height of the least part of it that may stand on a sheet."""
        return self.height

    @abstractmethod
    def draw(self, pen: Pen, left: float, top: float) -> None:
        """Draw it with its upper left corner at `left`, `top`."""

    @abstractmethod
    def cut(self, room: float, *, anywhere: bool) -> tuple[Brick, Brick] | None:
        """Return a part that is no higher than `room`, and the rest; none if it can't be cut.

        Parameters
        ----------
        room : float
            In points.
        anywhere : bool
            True if it has to be, as it is higher than a sheet.
        """


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band(Brick):
    """Columns side by side, with what surrounds them.

    Parameters
    ----------
    columns : tuple of Column
        From left to right.
    width : float
        Of the whole band.
    above, below : float
        Blank inside it, above and below its columns.
    ground : str
        Colour behind it; empty for none.
    top, bottom : Edge, optional
        Rules along it.
    frame : Frame, optional
        Box around it.
    at_least : float
        Its height at least.
    bookmark : str
        Entry of the outline that points to it.
    flows : bool
        True for running text, which may go on on the next sheet.
    """

    columns: tuple[Column, ...]
    width: float
    above: float = 0.0
    below: float = 0.0
    ground: str = ""
    top: Edge | None = None
    bottom: Edge | None = None
    frame: Frame | None = None
    at_least: float = 0.0
    bookmark: str = ""
    flows: bool = False

    @property
    def height(self) -> float:
        """In points, without the blank above it."""
        inside = max((column.height for column in self.columns), default=0.0)
        return max(self.above + inside + self.below, self.at_least)

    @property
    def least(self) -> float:
        """Height of the least part of it that may stand on a sheet."""
        lines = self.columns[0].lines if self.flows else ()
        if len(lines) < 2 * _FEWEST:
            return self.height
        return self.above + sum(line.height for line in lines[:_FEWEST])

    def draw(self, pen: Pen, left: float, top: float) -> None:
        """Draw it with its upper left corner at `left`, `top`."""
        if self.bookmark:
            pen.bookmark(self.bookmark, top)
        if self.ground or self.top or self.bottom or self.frame:
            with pen.part(None):
                self._surround(pen, left, top)
        for column in self.columns:
            column.draw(pen, left, top + self.above)

    def _surround(self, pen: Pen, left: float, top: float) -> None:
        right, bottom = left + self.width, top + self.height
        if self.ground:
            pen.ground(left, top, self.width, self.height, self.ground)
        for edge, y in ((self.top, top), (self.bottom, bottom)):
            if edge:
                pen.rule(left, right, y, edge.weight, edge.colour)
        if self.frame:
            _draw_frame(pen, self.frame, (left, top, self.frame.width or self.width, self.height))

    def cut(self, room: float, *, anywhere: bool) -> tuple[Brick, Brick] | None:
        """Return a part that is no higher than `room`, and the rest; none if it can't be cut."""
        counts = [column.fitting(room - self.above - self.below) for column in self.columns]
        if self.flows and not anywhere:
            lines = len(self.columns[0].lines)
            counts = [min(counts[0], lines - _FEWEST)]
            if counts[0] < _FEWEST:
                return None
        if not any(counts):
            return None
        return self._part(counts, first=True), self._part(counts, first=False)

    def _part(self, counts: Sequence[int], *, first: bool) -> Band:
        columns = tuple(
            replace(column, lines=column.lines[:count] if first else column.lines[count:])
            for column, count in zip(self.columns, counts, strict=True)
        )
        frame = self.frame
        if frame and first:
            frame = replace(frame, is_open_below=True)
        elif frame:
            frame = replace(frame, is_open_above=True)
        if first:
            return replace(self, columns=columns, frame=frame, at_least=0.0, sticks=False)
        return replace(self, columns=columns, frame=frame, at_least=0.0, before=0.0, bookmark="")


def _draw_frame(pen: Pen, frame: Frame, box: tuple[float, float, float, float]) -> None:
    left, top, width, height = box
    for inset in (0.0, 2.5 * frame.edge.weight)[: 1 + frame.double]:
        ends = (left + inset, left + width - inset)
        upper = top if frame.is_open_above else top + inset
        lower = top + height if frame.is_open_below else top + height - inset
        for x in ends:
            pen.upright(x, upper, lower, frame.edge.weight, frame.edge.colour)
        if not frame.is_open_above:
            pen.rule(*ends, upper, frame.edge.weight, frame.edge.colour)
        if not frame.is_open_below:
            pen.rule(*ends, lower, frame.edge.weight, frame.edge.colour)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plate(Brick):
    """A drawing or picture, which is never cut.

    Parameters
    ----------
    size : float
        Its height in points.
    paint : callable
        Draws it, given a pen and the upper left corner.
    element : Element, optional
        What it is; none for what only decorates.
    """

    size: float
    paint: Callable[[Pen, float, float], None]
    element: Element | None = field(default=None)

    @property
    def height(self) -> float:
        """In points, without the blank above it."""
        return self.size

    def draw(self, pen: Pen, left: float, top: float) -> None:
        """Draw it with its upper left corner at `left`, `top`."""
        with pen.part(self.element):
            self.paint(pen, left, top)

    def cut(self, room: float, *, anywhere: bool) -> tuple[Brick, Brick] | None:
        """Return none: a drawing is never cut."""
        return None

"""Tables of a PDF: columns as wide as their words need, headings that return on each sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from valuation.report.page import Cell, Grid
from valuation.report.palette import FAINT, QUIET, TINT
from valuation.report.pdf_bricks import Band, Brick, Column, Edge
from valuation.report.pdf_look import TableLook, table_look
from valuation.report.pdf_tags import Element
from valuation.report.pdf_text import Line, Span, Style, break_lines, least_width, whole_width
from valuation.report.pdf_widths import column_widths

__all__ = ["table_bricks"]

_SCALES = (1.0, 0.93, 0.86, 0.8, 0.74)
"""Shares of its size in which a table is tried until no word of it has to be cut."""

_EVENLY = (0.0, 0.5, 1.0)
"""Ways to share widths, see :func:`valuation.report.pdf_widths.column_widths`."""

_LONGEST = 15.0
"""Words that are longer than so many times their size may be cut."""

_RULE = Edge(0.5, FAINT)
_STRONG = Edge(1.2, QUIET)


def table_bricks(
    grid: Grid, width: float, caption: Style, parent: Element, *, before: float
) -> Iterator[Brick]:
    """Yield caption, headings and rows of a table.

    Parameters
    ----------
    grid : Grid
        The table.
    width : float
        Of the sheet, in points.
    caption : Style
        How its caption is set.
    parent : Element
        What the table stands in.
    before : float
        Blank above it.

    Yields
    ------
    Brick
        From top to bottom; they are one group, the caption sticks to the headings, those to the
        first row, and a last row or a total to the row before.
    """
    table = parent.add("Table")
    blank = table_look(grid.style).blank
    lines = break_lines((Span(grid.caption, caption),), width)
    column = Column(0.0, width, lines, table.add("Caption"))
    named = Band(columns=(column,), width=width, below=3.0, before=before, sticks=True)
    yield replace(named, group=table, blank=blank)
    setter = _best_setter(grid, width)
    head = setter.head(table.add("TR"))
    yield replace(head, sticks=bool(grid.rows), group=table, blank=blank)
    again = (setter.head(None),)
    last = len(grid.rows) - 1
    for at, row in enumerate(grid.rows):
        band = setter.row(row, table.add("TR"), is_total=at in grid.totals, is_last=at == last)
        sticks = at < last and (at + 1 in grid.totals or at in {0, last - 1})
        yield replace(band, sticks=sticks, group=table, blank=blank, again=again)


def _best_setter(grid: Grid, width: float) -> _Setter:
    """Return what sets the table in the largest size in which its words fit, and as low as can be.

    How widths are shared decides where lines break; no one way is best for figures with long notes
    and for sentences, so several are tried.
    """
    look = table_look(grid.style)
    for scale, wraps in product(_SCALES, sorted({False, look.wraps_numbers})):
        one = replace(look.scaled(scale), wraps_numbers=wraps)
        tried = [_Setter.of(grid, one, width, evenly=evenly) for evenly in _EVENLY]
        fitting = {s.widths: s for s in tried if sum(s.least) <= width}
        if fitting:
            return min(fitting.values(), key=lambda setter: setter.height_of(grid))
    return tried[0]


@dataclass(frozen=True, slots=True)
class _Setter:
    """Sets rows in columns whose widths are known."""

    look: TableLook
    columns: tuple[Cell, ...]
    least: tuple[float, ...]
    widths: tuple[float, ...]

    @classmethod
    def of(cls, grid: Grid, look: TableLook, width: float, *, evenly: float) -> _Setter:
        """Return the setter of a table in one look, with its widths shared in one way."""
        columns = [list(_texts_of(grid, at, look)) for at in range(len(grid.columns))]
        pad = 2 * look.pad[0]
        longest = _LONGEST * look.size
        least = tuple(pad + min(longest, max(text.least for text in column)) for column in columns)
        whole = tuple(pad + max(text.whole for text in column) for column in columns)
        widths = column_widths(
            least, whole, width, fills=look.fills, equal=look.equal, evenly=evenly
        )
        return cls(look, grid.columns, least, widths)

    def height_of(self, grid: Grid) -> tuple[float, float]:
        """Return how high all rows of a table are together, and then all their cells."""
        rows = [
            self.row(cells, None, is_total=at in grid.totals, is_last=False)
            for at, cells in enumerate(grid.rows)
        ]
        bands = (self.head(None), *rows)
        cells = sum(column.height for band in bands for column in band.columns)
        return sum(band.height for band in bands), cells

    def head(self, element: Element | None) -> Band:
        """Return the headings of the columns."""
        texts = [_heading_of(cell, self.look) for cell in self.columns]
        kinds = ["TH" if cell.text else "TD" for cell in self.columns]
        band = self._band(texts, kinds, element, scope="Column")
        return replace(band, ground=TINT, bottom=_STRONG)

    def row(
        self, cells: Sequence[Cell], element: Element | None, *, is_total: bool, is_last: bool
    ) -> Band:
        """Return a row; one that sums up others is bold, with a rule above it."""
        texts = [
            _text_of(cell, self.look, strong=is_total or at == 0 or at in self.look.bold)
            for at, cell in enumerate(cells)
        ]
        kinds = ["TH", *["TD"] * (len(cells) - 1)]
        band = self._band(texts, kinds, element, scope="Row")
        return replace(
            band,
            top=_STRONG if is_total else None,
            bottom=_STRONG if is_total and not is_last else _RULE,
            at_least=self.look.at_least,
        )

    def _band(
        self, texts: Sequence[_Text], kinds: Sequence[str], element: Element | None, *, scope: str
    ) -> Band:
        beside, above = self.look.pad
        columns, x = [], 0.0
        for text, kind, width in zip(texts, kinds, self.widths, strict=True):
            inside = width - 2 * beside
            cell = element and element.add(kind, scope=scope if kind == "TH" else "")
            lines = text.lines(inside)
            columns.append(Column(x + beside, inside, lines, cell, text.is_number))
            x += width
        return Band(columns=tuple(columns), width=x, above=above, below=above)


@dataclass(frozen=True, slots=True)
class _Text:
    """What stands in a cell: paragraphs below one another."""

    paragraphs: tuple[tuple[Span, ...], ...]
    is_number: bool
    is_kept: bool
    """True if its first paragraph had better stand on one line."""

    @property
    def least(self) -> float:
        """How wide it is at least, if no word is to be cut."""
        words = max(map(least_width, self.paragraphs), default=0.0)
        return max(words, whole_width(self.paragraphs[0])) if self.is_kept else words

    @property
    def whole(self) -> float:
        """How wide it is if no line breaks."""
        return max(map(whole_width, self.paragraphs), default=0.0)

    def lines(self, width: float) -> tuple[Line, ...]:
        """Return it in lines of a width."""
        return tuple(line for spans in self.paragraphs for line in break_lines(spans, width))


def _texts_of(grid: Grid, at: int, look: TableLook) -> Iterator[_Text]:
    """Yield the texts of a column."""
    yield _heading_of(grid.columns[at], look)
    for number, row in enumerate(grid.rows):
        strong = number in grid.totals or at == 0 or at in look.bold
        yield _text_of(row[at], look, strong=strong)


def _heading_of(cell: Cell, look: TableLook) -> _Text:
    return replace(_text_of(cell, look, strong=True), is_kept=False)


def _text_of(cell: Cell, look: TableLook, *, strong: bool) -> _Text:
    first = [Span(cell.text, look.strong if strong else look.text)]
    below: list[tuple[Span, ...]] = []
    if cell.mark:
        mark = Span(f" {cell.mark}", replace(look.strong, underlined=True))
        if look.marks_below:
            below.append((mark,))
        else:
            first.append(mark)
    if cell.note and look.notes_beside:
        first.append(Span(f" {cell.note}", look.note))
    elif cell.note:
        below.append((Span(cell.note, look.note),))
    is_kept = cell.number and not look.wraps_numbers
    return _Text((tuple(first), *below), cell.number, is_kept)

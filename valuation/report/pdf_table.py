"""Tables of a PDF: columns as wide as their words need, headings that return on each sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

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
    lines = break_lines((Span(grid.caption, caption),), width)
    column = Column(0.0, width, lines, table.add("Caption"))
    yield Band(columns=(column,), width=width, below=3.0, before=before, sticks=True, group=table)
    setter = _fitting_setter(grid, width)
    head = setter.head(table.add("TR"))
    yield replace(head, sticks=bool(grid.rows), group=table)
    again = (setter.head(None),)
    last = len(grid.rows) - 1
    for at, row in enumerate(grid.rows):
        band = setter.row(row, table.add("TR"), is_total=at in grid.totals, is_last=at == last)
        sticks = at < last and (at + 1 in grid.totals or at in {0, last - 1})
        yield replace(band, sticks=sticks, group=table, again=again)


def _fitting_setter(grid: Grid, width: float) -> _Setter:
    """Return what sets the table in the largest size in which its words fit."""
    look = table_look(grid.style)
    looks = [look.scaled(scale) for scale in _SCALES]
    if look.wraps_numbers:
        looks.insert(0, replace(look, wraps_numbers=False))
    for one in looks:
        setter = _Setter.of(grid, one, width)
        if sum(setter.least) <= width:
            break
    return setter


@dataclass(frozen=True, slots=True)
class _Setter:
    """Sets rows in columns whose widths are known."""

    look: TableLook
    columns: tuple[Cell, ...]
    least: tuple[float, ...]
    widths: tuple[float, ...]

    @classmethod
    def of(cls, grid: Grid, look: TableLook, width: float) -> _Setter:
        """Return the setter of a table in one look."""
        columns = [_texts_of(grid, at, look) for at in range(len(grid.columns))]
        pad = 2 * look.pad[0]
        longest = _LONGEST * look.size
        least = tuple(pad + min(longest, max(text.least for text in column)) for column in columns)
        whole = tuple(pad + max(text.whole for text in column) for column in columns)
        widths = column_widths(least, whole, width, fills=look.fills, equal=look.equal)
        return cls(look, grid.columns, least, widths)

    def head(self, element: Element | None) -> Band:
        """Return the headings of the columns."""
        texts = [_text_of(cell, self.look, strong=True) for cell in self.columns]
        kinds = ["TH" if cell.text else "TD" for cell in self.columns]
        band = self._band(texts, kinds, element, scope="Column")
        return replace(band, ground=TINT, bottom=_STRONG)

    def row(
        self, cells: Sequence[Cell], element: Element, *, is_total: bool, is_last: bool
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


def _texts_of(grid: Grid, at: int, look: TableLook) -> list[_Text]:
    """Return the texts of a column, as if all of them were totals: bold is wider."""
    rows = [grid.columns, *grid.rows]
    bold = {0, *(1 + total for total in grid.totals)}
    return [
        _text_of(row[at], look, strong=number in bold or at == 0 or at in look.bold)
        for number, row in enumerate(rows)
    ]


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

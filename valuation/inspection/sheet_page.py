"""One tab of the inspection sheet under construction: labels that are locked, boxes to fill in.

Column A is hidden and says of each row which boxes stand on it, so that a sheet is read rightly
whatever program has saved it and whatever settings it was made from.
"""

from __future__ import annotations

import math

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.styles import Alignment, Border, Font, PatternFill, Protection, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.pagebreak import Break
from openpyxl.worksheet.worksheet import Worksheet

from valuation.inspection.cautions import SAFETY
from valuation.inspection.form import Box, Place
from valuation.inspection.sheet import Entry, entry_text

__all__ = ["Page", "WordLists", "places_text"]

_FACE = "Arial"
_INK, _QUIET = "000000", "404040"
_LABEL = PatternFill("solid", fgColor="EFEFEF")
_LINE = Side("thin", color=_INK)
_BOX = Border(left=_LINE, right=_LINE, top=_LINE, bottom=_LINE)
_LEFT_TOP = Alignment(horizontal="left", vertical="top", wrap_text=True)
_MIDDLE = Alignment(horizontal="left", vertical="center", wrap_text=True)
_CAUTION_HEIGHT = 36.0
_SMALL_LETTERS = 1.3
"""Small letters to one of the width in which columns are measured."""


def places_text(places: list[tuple[str, Place]]) -> str:
    """Return what column A says of a row: the column of each box and its place.

    Examples
    --------
    >>> places_text([("C", Place("car", "", "make"))])
    'C=car//make'
    """
    return " | ".join(f"{column}={'/'.join(place)}" for column, place in places)


class WordLists:
    """A hidden tab with the words of all drop-downs, each list once.

    Parameters
    ----------
    book : openpyxl.Workbook
        Where the tab is added.
    """

    def __init__(self, book: Workbook) -> None:
        self._sheet: Worksheet = book.create_sheet("Words")
        self._sheet.sheet_state = "hidden"
        self._known: dict[tuple[str | float, ...], str] = {}

    def source(self, words: tuple[str | float, ...]) -> str:
        """Return the range in which a list of words stands."""
        if words not in self._known:
            column = len(self._known) + 1
            for row, word in enumerate(words, start=1):
                self._sheet.cell(row=row, column=column, value=word)
            letter = get_column_letter(column)
            self._known[words] = f"Words!${letter}$1:${letter}${len(words)}"
        return self._known[words]


class Page:
    """One tab: an A4 page or several, with the cautions at the head of each.

    Parameters
    ----------
    book : openpyxl.Workbook
        Where the tab is added.
    title : str
        Its name.
    widths : tuple of float
        Widths of its columns in characters, from column B on.
    lists : WordLists
        Where the words of drop-downs stand.
    said : str
        What the tab is for, one sentence.
    words : tuple of (str, tuple)
        Words that can be chosen, by label: on paper there is no drop-down.
    landscape : bool
        Whether it is printed across.
    lot : str
        Cell of another tab with the lot, for the head of each page; empty for none.
    """

    def __init__(
        self,
        book: Workbook,
        title: str,
        widths: tuple[float, ...],
        lists: WordLists,
        *,
        said: str,
        words: tuple[tuple[str, tuple[str, ...]], ...] = (),
        landscape: bool = False,
        lot: str = "",
    ) -> None:
        self.sheet: Worksheet = book.create_sheet(title)
        self.last = len(widths) + 1
        self._lists = lists
        self._rules: dict[str, DataValidation] = {}
        self._places: dict[int, list[tuple[str, Place]]] = {}
        self.sheet.column_dimensions["A"].hidden = True
        for column, width in enumerate(widths, start=2):
            self.sheet.column_dimensions[get_column_letter(column)].width = width
        self._head(title, said, lot)
        self._words(words, sum(widths))
        self._print(landscape)

    def _head(self, title: str, said: str, lot: str) -> None:
        wide = self.last - 1
        self.text(1, 2, f"{title}. ", said, span=wide - bool(lot), size=13, filled=False)
        if lot:
            # Pages part on a clipboard: each says of which car it is.
            self.shown(1, self.last, f'=IF({lot}="","Lot","Lot "&{lot})')
        self.height(1, 32)
        self.text(2, 2, "Cautions. ", " ".join(SAFETY), span=wide, size=8.5, filled=False)
        self.height(2, _CAUTION_HEIGHT)

    def _words(self, words: tuple[tuple[str, tuple[str, ...]], ...], wide: float) -> None:
        told = "\n".join(f"{label}: {' · '.join(choice)}" for label, choice in words)
        lines = sum(math.ceil(len(line) / (wide * _SMALL_LETTERS)) for line in told.split("\n"))
        self.text(3, 2, "Words. ", told, span=self.last - 1, size=8.5, filled=False)
        self.height(3, 4 + 11 * max(1, lines))

    def _print(self, landscape: bool) -> None:
        setup, sheet = self.sheet.page_setup, self.sheet
        setup.paperSize = sheet.PAPERSIZE_A4
        setup.orientation = "landscape" if landscape else "portrait"
        setup.fitToWidth, setup.fitToHeight = 1, 0
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
        margins = sheet.page_margins
        margins.left = margins.right = 0.4
        margins.top, margins.bottom, margins.header, margins.footer = 0.4, 0.55, 0.2, 0.25
        sheet.print_options.horizontalCentered = True
        sheet.oddFooter.left.text = "&A"
        sheet.oddFooter.right.text = "&P / &N"
        sheet.protection.sheet = True
        sheet.protection.formatColumns = sheet.protection.formatRows = False
        sheet.sheet_view.showGridLines = False

    def text(
        self,
        row: int,
        column: int,
        strong: str,
        plain: str = "",
        *,
        span: int = 1,
        rows: int = 1,
        size: float = 10,
        filled: bool = True,
    ) -> None:
        """Write a label: its name in bold, then how and where in small letters."""
        cell = self._area(row, column, span, rows)
        blocks = [TextBlock(InlineFont(rFont=_FACE, sz=size, b=True, color=_INK), strong)]
        if plain:
            small = min(size, 8.5)
            blocks.append(TextBlock(InlineFont(rFont=_FACE, sz=small, color=_QUIET), plain))
        cell.value = CellRichText(*blocks)
        cell.alignment = _MIDDLE if filled else _LEFT_TOP
        self._paint(row, column, span, rows, filled=filled)

    def box(
        self,
        row: int,
        column: int,
        box: Box,
        place: Place,
        value: Entry | None = None,
        *,
        span: int = 1,
        rows: int = 1,
        large: bool = False,
    ) -> None:
        """Add a box to fill in, its drop-down with it."""
        cell = self._area(row, column, span, rows)
        cell.value = entry_text(value) if box.plain and value is not None else value
        cell.font = Font(name=_FACE, size=16 if large else 11, bold=large)
        cell.alignment = _MIDDLE
        cell.number_format = "@" if box.plain else "General"
        self._paint(row, column, span, rows, filled=False)
        for i in range(row, row + rows):
            for j in range(column, column + span):
                self.sheet.cell(row=i, column=j).protection = Protection(locked=False)
        self._places.setdefault(row, []).append((get_column_letter(column), place))
        if box.words:
            self._rule(box).add(cell.coordinate)

    def shown(self, row: int, column: int, formula: str, *, span: int = 1) -> None:
        """Add a box that shows what stands in another tab, or is written by pen."""
        cell = self._area(row, column, span, 1)
        cell.value = formula
        cell.font = Font(name=_FACE, size=11)
        cell.alignment = _MIDDLE
        self._paint(row, column, span, 1, filled=False)

    def height(self, row: int, points: float) -> None:
        """Set the height of a row."""
        self.sheet.row_dimensions[row].height = points

    def break_after(self, row: int) -> None:
        """Start a new printed page after a row."""
        self.sheet.row_breaks.append(Break(id=row))

    def cell_of(self, place: Place) -> str:
        """Return the cell of a box; KeyError if this tab has none for the place."""
        cells = {p: f"{c}{row}" for row, found in self._places.items() for c, p in found}
        return cells[place]

    def finish(self, *, head: int = 3) -> None:
        """Say where the boxes are, repeat the first rows on each page, and close the tab."""
        for row, places in self._places.items():
            self.sheet.cell(row=row, column=1, value=places_text(places))
        for rule in self._rules.values():
            self.sheet.add_data_validation(rule)
        last = self.sheet.max_row
        self.sheet.print_title_rows = f"1:{head}"
        self.sheet.print_area = f"B1:{get_column_letter(self.last)}{last}"
        self.sheet.freeze_panes = f"B{head + 1}"

    def _area(self, row: int, column: int, span: int, rows: int) -> Cell:
        if span > 1 or rows > 1:
            self.sheet.merge_cells(
                start_row=row,
                start_column=column,
                end_row=row + rows - 1,
                end_column=column + span - 1,
            )
        cell = self.sheet.cell(row=row, column=column)
        if not isinstance(cell, Cell):
            raise TypeError(f"Page: the cell is covered by another (got: {cell.coordinate})")
        return cell

    def _paint(self, row: int, column: int, span: int, rows: int, *, filled: bool) -> None:
        for i in range(row, row + rows):
            for j in range(column, column + span):
                cell = self.sheet.cell(row=i, column=j)
                cell.border = _BOX
                if filled:
                    cell.fill = _LABEL

    def _rule(self, box: Box) -> DataValidation:
        source = self._lists.source(box.words)
        if source not in self._rules:
            rule = DataValidation(type="list", formula1=source, allow_blank=True)
            rule.errorStyle = "warning"
            rule.errorTitle = "Not in the list"
            rule.error = "Choose one of the words of the list, or leave the box empty."
            self._rules[source] = rule
        return self._rules[source]

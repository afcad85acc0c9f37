"""How a PDF looks: sizes in points, after the style in which the HTML page is printed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from valuation.report.palette import LOWERS, QUIET
from valuation.report.pdf_text import Style

__all__ = ["FLAT", "UPRIGHT", "Look", "TableLook", "table_look"]

_MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class Look:
    """Sizes and blanks of a page.

    Parameters
    ----------
    title, heading : float
        Sizes of the title and of the heading of a section.
    above_section : float
        Blank above a section.
    margins : tuple of float
        Of a sheet: top, right, bottom, left, in millimetres; the last line of a sheet stands in
        the one at the bottom.
    """

    title: float
    heading: float
    above_section: float
    margins: tuple[float, float, float, float]

    body = Style(9.2, leading=1.42)
    bold = Style(9.2, "sans bold", leading=1.42)
    quiet = Style(8.2, colour=QUIET, leading=1.42)
    name = Style(8.8, "sans bold")
    meaning = Style(8.0, colour=QUIET)
    stop = Style(11.0, "sans bold")
    notice = Style(8.0, "sans bold")
    caption = Style(8.5, "sans bold")
    foot = Style(8.0, colour=QUIET)
    foot_notice = Style(8.0, "sans bold", QUIET)
    warning_colour = LOWERS

    @property
    def edges(self) -> tuple[float, float, float, float]:
        """Its margins in points."""
        top, right, bottom, left = (side * _MM for side in self.margins)
        return top, right, bottom, left

    @property
    def title_style(self) -> Style:
        """How the title is set."""
        return Style(self.title, "serif bold", leading=1.2)

    @property
    def heading_style(self) -> Style:
        """How the heading of a section is set."""
        return Style(self.heading, "serif bold", leading=1.25)

    def value(self, size: float) -> Style:
        """Return how a figure is set that a reader came for."""
        return Style(size, "serif bold", leading=1.25)


UPRIGHT = Look(17.0, 12.5, 14.0, (16, 15, 17, 15))
FLAT = Look(14.0, 10.5, 9.0, (11, 10, 14, 10))


@dataclass(frozen=True, slots=True)
class TableLook:
    """How a table is set.

    Parameters
    ----------
    size, small : float
        Of its text and of second lines; a table that is too wide is set smaller.
    pad : (float, float)
        Blank beside and above the text of a cell.
    fills : bool
        True to be as wide as the sheet.
    equal : bool
        True for columns of one width behind the first.
    wraps_numbers : bool
        True if a number may stand on two lines.
    notes_beside : bool
        True for second lines that go on in the first one.
    marks_below : bool
        True for marks on a line of their own.
    bold : tuple of int
        Columns set in bold.
    at_least : float
        Height of a row.
    blank : float
        Share of a sheet that may stay blank so that the table stands on one.
    """

    size: float = 8.5
    small: float = 8.0
    pad: tuple[float, float] = (3.4, 1.9)
    fills: bool = True
    equal: bool = False
    wraps_numbers: bool = False
    notes_beside: bool = False
    marks_below: bool = False
    bold: tuple[int, ...] = ()
    at_least: float = 0.0
    blank: float = 1 / 3

    @property
    def text(self) -> Style:
        """How a cell is set."""
        return Style(self.size)

    @property
    def strong(self) -> Style:
        """How headings, totals and marks are set."""
        return Style(self.size, "sans bold")

    @property
    def note(self) -> Style:
        """How the second line of a cell is set."""
        return Style(self.small, colour=QUIET)

    def scaled(self, share: float) -> TableLook:
        """Return the same look with smaller text."""
        beside, above = self.pad
        return replace(
            self,
            size=share * self.size,
            small=share * self.small,
            pad=(share * beside, share * above),
        )


_TABLES: dict[str, dict[str, Any]] = {
    "small": {"fills": False},
    "ladder": {"fills": False},
    "courses": {"fills": False},
    "swings": {"fills": False},
    "account": {"fills": False},
    "unpriced": {"fills": False},
    "facts": {"fills": False},
    "years": {"fills": False},
    "closest": {"equal": True, "blank": 0.6},
    "reasons": {"notes_beside": True, "pad": (3.4, 1.3)},
    "checks": {"marks_below": True},
    "batches": {"marks_below": True},
    "look": {"wraps_numbers": True},
    "strata": {"size": 8.0, "pad": (2.0, 1.4), "wraps_numbers": True, "marks_below": True},
    "ratios": {"wraps_numbers": True},
    "lots": {
        "size": 8.0,
        "pad": (2.6, 1.6),
        "wraps_numbers": True,
        "bold": (4,),
        "at_least": 9 * _MM,
    },
}


def table_look(style: str) -> TableLook:
    """Return how a grid of a style is set; names that are not known change nothing.

    Parameters
    ----------
    style : str
        One or several names, as :class:`valuation.report.page.Grid` has them.
    """
    look: dict[str, Any] = {}
    for name in style.split():
        look |= _TABLES.get(name, {})
    return replace(TableLook(), **look)

"""A page is data: sections made of blocks, turned into HTML last."""

from __future__ import annotations

import base64
from dataclasses import dataclass

__all__ = [
    "Block",
    "Bullets",
    "Cell",
    "Chart",
    "Figures",
    "Grid",
    "Page",
    "Paragraph",
    "Picture",
    "Section",
]


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text.

    Parameters
    ----------
    text : str
        Plain text; it is escaped when rendered.
    weight : {"plain", "lead", "quiet", "warning", "stop", "notice", "ruled"}
        How it is set; ``stop`` is for what forbids to go on, ``notice`` for whom a page is,
        ``ruled`` leaves lines to write on.
    """

    text: str
    weight: str = "plain"
    kind: str = "paragraph"


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of sentences.

    Parameters
    ----------
    items : tuple of str
        Plain texts.
    """

    items: tuple[str, ...]
    kind: str = "bullets"


@dataclass(frozen=True, slots=True)
class Figures:
    """The few numbers that a reader came for, each with its name.

    Parameters
    ----------
    pairs : tuple of (str, str, str)
        Name, value and one line of explanation; the first is set largest.
    style : str
        ``answer`` sets the first on a line of its own.
    """

    pairs: tuple[tuple[str, str, str], ...]
    style: str = ""
    kind: str = "figures"


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table.

    Parameters
    ----------
    text : str
        First line.
    note : str
        Second line, set smaller.
    mark : str
        A word that stands out, such as ``large``.
    number : bool
        True to set it flush right.
    """

    text: str
    note: str = ""
    mark: str = ""
    number: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """A table with a heading for every row and column.

    Parameters
    ----------
    caption : str
        What the table shows.
    columns : tuple of Cell
        Column headings; the first is that of the row headings.
    rows : tuple of tuple of Cell
        Each row starts with its heading.
    totals : tuple of int
        Positions of the rows that sum up others.
    style : str
        Class of the element.
    """

    caption: str
    columns: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]
    totals: tuple[int, ...] = ()
    style: str = "plain"
    kind: str = "grid"


@dataclass(frozen=True, slots=True)
class Chart:
    """A drawing in two widths; a reader sees the one that fits.

    Parameters
    ----------
    wide, narrow : str
        Elements made by :func:`valuation.report.drawing.to_svg`.
    caption : str
        How to read it.
    """

    wide: str
    narrow: str
    caption: str
    kind: str = "chart"


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph, carried inside the page.

    Parameters
    ----------
    content : bytes
        A JPEG; it is shown as it is, so metadata has to be gone from it.
    width, height : int
        In pixels.
    alternative : str
        What it shows, for those who can't see it.
    """

    content: bytes
    width: int
    height: int
    alternative: str
    kind: str = "picture"

    @property
    def address(self) -> str:
        """The picture as a data address."""
        return f"data:image/jpeg;base64,{base64.b64encode(self.content).decode('ascii')}"


Block = Paragraph | Bullets | Figures | Grid | Chart | Picture
"""What a section is made of."""


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a page under its own heading.

    Parameters
    ----------
    name : str
        Anchor of the section.
    heading : str
        Its heading.
    blocks : tuple of Block
        Its content in order.
    """

    name: str
    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Page:
    """A whole page.

    Parameters
    ----------
    title : str
        Its main heading.
    subtitle : str
        What and when, in one line.
    sections : tuple of Section
        Its parts in order.
    language : str
        BCP 47 code.
    about : str
        What is said of the title, for the name of the window.
    notice : str
        For whom the page is, shown above everything and on every sheet of paper; empty for all.
    landscape : bool
        True to print it on paper that lies.
    """

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    language: str = "en"
    about: str = "what it is worth"
    notice: str = ""
    landscape: bool = False

"""Words of a PDF: how they are set, and where their lines break."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

from valuation.report.palette import INK
from valuation.report.pdf_fonts import readable, text_width

__all__ = ["Line", "Run", "Span", "Style", "as_seen", "break_lines", "least_width", "whole_width"]

# A line may also break behind a hyphen, dash or stroke between words, never inside an amount.
_PIECES = re.compile(r"(?<=[^\W\d]-)(?=[^\W\d])|(?<=[–—/])(?=[^\W\d])")
_RIGHT_TO_LEFT = frozenset({"R", "AL"})
_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")
_CLOSES = frozenset({")"})
_FITS = 1e-6
"""A word that is as wide as its line, but for rounding, fits it."""


@dataclass(frozen=True, slots=True)
class Style:
    """How a piece of text is set.

    Parameters
    ----------
    size : float
        In points.
    face : {"sans", "sans bold", "serif bold"}
        The typeface.
    colour : str
        As ``#rrggbb``.
    leading : float
        Height of a line as a multiple of the size.
    underlined : bool
        True for a word that stands out without colour.
    """

    size: float
    face: str = "sans"
    colour: str = INK
    leading: float = 1.35
    underlined: bool = False


@dataclass(frozen=True, slots=True)
class Span:
    """A piece of text in one style; blanks at its ends part it from what stands beside it."""

    text: str
    style: Style


@dataclass(frozen=True, slots=True)
class Run:
    """What is drawn at one go: a readable text, how far from the start of its line, how wide."""

    text: str
    style: Style
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its runs from left to right, its height, and how far below its top it stands."""

    runs: tuple[Run, ...]
    height: float
    baseline: float

    @property
    def width(self) -> float:
        """Where its last run ends."""
        return self.runs[-1].x + self.runs[-1].width if self.runs else 0.0


@dataclass(frozen=True, slots=True)
class _Piece:
    """What no line breaks inside, if it fits one."""

    text: str
    style: Style
    after_blank: bool
    width: float


def break_lines(spans: Sequence[Span], width: float) -> tuple[Line, ...]:
    """Return a text broken into lines between its words.

    A word that is wider than a line is broken between its signs.

    Parameters
    ----------
    spans : sequence of Span
        The text; nothing in it is markup.
    width : float
        Of a line, in points.

    Returns
    -------
    tuple of Line
        From top to bottom; empty for a text without a sign.
    """
    lines: list[Line] = []
    now: list[_Piece] = []
    x = 0.0
    for piece in _fitting(_pieces(spans), width):
        gap = _blank(piece.style) if piece.after_blank and now else 0.0
        if now and x + gap + piece.width > width + _FITS:
            lines.append(_line(now))
            now, x, gap = [], 0.0, 0.0
        now.append(piece)
        x += gap + piece.width
    return (*lines, _line(now)) if now else tuple(lines)


def least_width(spans: Sequence[Span]) -> float:
    """Return the width of the widest word, in points."""
    return max((piece.width for piece in _pieces(spans)), default=0.0)


def whole_width(spans: Sequence[Span]) -> float:
    """Return how wide a text is on one line, in points."""
    pieces = list(_pieces(spans))
    return _line(pieces).width if pieces else 0.0


def _pieces(spans: Iterable[Span]) -> Iterator[_Piece]:
    blank = False
    for span in spans:
        for piece in _pieces_of(span):
            yield replace(piece, after_blank=True) if blank else piece
            blank = False
        blank = blank or span.text[-1:].isspace()


@lru_cache(maxsize=5_000)
def _pieces_of(span: Span) -> tuple[_Piece, ...]:
    """Return the pieces of one text; tables ask for them in every width they are tried in."""
    out: list[_Piece] = []
    blank = False
    for word in readable(span.text).split(" "):
        for part in _PIECES.split(word) if word else ():
            out.append(_piece(part, span.style, after_blank=blank))
            blank = False
        blank = True
    return tuple(out)


def _piece(text: str, style: Style, *, after_blank: bool) -> _Piece:
    return _Piece(text, style, after_blank, text_width(text, style.face, style.size))


def _fitting(pieces: Iterable[_Piece], width: float) -> Iterator[_Piece]:
    """Yield the pieces, those that are wider than a line cut to its width."""
    for piece in pieces:
        if piece.width <= width + _FITS:
            yield piece
        else:
            yield from _cut(piece, width)


def _cut(piece: _Piece, width: float) -> Iterator[_Piece]:
    start, x, style = 0, 0.0, piece.style
    for at, sign in enumerate(piece.text):
        step = text_width(sign, style.face, style.size)
        if at > start and x + step > width and not unicodedata.combining(sign):
            part = piece.text[start:at]
            yield _piece(part, style, after_blank=piece.after_blank and start == 0)
            start, x = at, 0.0
        x += step
    yield _piece(piece.text[start:], style, after_blank=piece.after_blank and start == 0)


def _line(pieces: Sequence[_Piece]) -> Line:
    runs: list[Run] = []
    x = 0.0
    for style, same in groupby(pieces, key=lambda piece: piece.style):
        words = list(same)
        if words[0].after_blank and runs:
            x += _blank(style)
        text = words[0].text + "".join((" " if w.after_blank else "") + w.text for w in words[1:])
        width = text_width(text, style.face, style.size)
        runs.append(Run(as_seen(text), style, x, width))
        x += width
    largest = max((piece.style for piece in pieces), key=lambda style: style.size * style.leading)
    height = largest.size * largest.leading
    return Line(tuple(runs), height, (height + 0.72 * largest.size) / 2)


def _blank(style: Style) -> float:
    return text_width(" ", style.face, style.size)


def as_seen(text: str) -> str:
    """Return a text in the order in which its signs stand on paper, from left to right.

    Words of languages written from right to left are turned where they stand; figures are not.
    """
    if text.isascii():
        return text
    turns = [at for at, sign in enumerate(text) if _is_turned(sign)]
    if not turns:
        return text
    out, at = [], 0
    while turns:
        start = turns[0]
        end = _end_of_turn(text, start)
        out += [text[at:start], _turned(text[start:end])]
        at, turns = end, [turn for turn in turns if turn >= end]
    return "".join((*out, text[at:]))


def _is_turned(sign: str) -> bool:
    return unicodedata.bidirectional(sign) in _RIGHT_TO_LEFT


def _end_of_turn(text: str, start: int) -> int:
    """Return where the words written from right to left end that start at `start`."""
    end = start
    for at in range(start, len(text)):
        if _is_turned(text[at]) or unicodedata.combining(text[at]):
            end = at + 1
        elif unicodedata.bidirectional(text[at]) == "L":
            break
    inside = text[start:end]
    closes = text[end : end + 1] in _CLOSES and inside.count("(") > inside.count(")")
    return end + closes


def _turned(text: str) -> str:
    groups = re.findall(r"\d[\d.,:/]*\d|\d|[^\W\d_][\u0300-\u036f\u0591-\u05c7]*|.", text)
    return "".join(group.translate(_MIRRORED) for group in reversed(groups))

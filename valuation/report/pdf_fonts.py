"""The typefaces of a PDF, how wide their signs are, and what stands for a sign that none has."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path

import matplotlib as mpl
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

__all__ = ["MISSING", "in_fonts", "readable", "text_width"]

MISSING = "\N{REPLACEMENT CHARACTER}"
"""Shown in place of a sign that can't be shown."""

_FILES = {
    "sans": "DejaVuSans.ttf",
    "sans bold": "DejaVuSans-Bold.ttf",
    "serif bold": "DejaVuSerif-Bold.ttf",
}
_NEXT = {
    "sans": ("sans",),
    "sans bold": ("sans bold", "sans"),
    "serif bold": ("serif bold", "sans bold", "sans"),
}
"""Where a sign is looked for, by face."""

_LAST = 0xFFFF

# What turns the direction of writing could make an amount read backwards, so it is shown.
_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_BLANKS = re.compile("[ \t\n\r\f\v\x85\u2028\u2029]+")
_SELECTORS = re.compile("[\ufe00-\ufe0f\U000e0100-\U000e01ef]")


def readable(text: str) -> str:
    """Return a text in which every sign can be shown.

    Parameters
    ----------
    text : str
        Any text, also from files.

    Returns
    -------
    str
        Runs of blanks and line ends are one blank, as in HTML.  Signs that are never seen (soft
        hyphens, joiners) are left out; those that control a machine or turn the direction of
        writing, and those that no typeface has, are replaced by `MISSING`.
    """
    if text.isascii() and text.isprintable() and "  " not in text:
        return text
    plain = _SELECTORS.sub("", unicodedata.normalize("NFC", _BLANKS.sub(" ", text)))
    return "".join(map(_sign, plain))


def in_fonts(text: str, face: str) -> Iterator[tuple[str, str]]:
    """Yield the parts of a readable text, each with the name of a font that has all its signs.

    Parameters
    ----------
    text : str
        What :func:`readable` returned.
    face : {"sans", "sans bold", "serif bold"}
        The typeface it is set in.
    """
    if text.isascii():
        yield _registered(face), text
        return
    for name, signs in groupby(text, key=lambda sign: _face_with(sign, face)):
        yield _registered(name), "".join(signs)


@lru_cache(maxsize=20_000)
def text_width(text: str, face: str, size: float) -> float:
    """Return how wide a readable text is, in points."""
    return sum(_widths(_face_with(sign, face)).get(ord(sign), 0.0) for sign in text) * size / 1000


@cache
def _sign(sign: str) -> str:
    if sign == " ":
        return sign
    kind = unicodedata.category(sign)
    if sign in _TURNS or kind in {"Cc", "Cs", "Cn"}:
        return MISSING
    if kind == "Cf":
        return ""
    # What maps the signs of a font back to text has no room for those beyond the first plane.
    if ord(sign) > _LAST:
        return MISSING
    return sign if any(ord(sign) in _widths(face) for face in _NEXT["sans bold"]) else MISSING


@cache
def _face_with(sign: str, face: str) -> str:
    return next((one for one in _NEXT[face] if ord(sign) in _widths(one)), face)


@cache
def _widths(face: str) -> dict[int, float]:
    """Return how wide each sign is that a typeface has, in thousandths of its size."""
    font = _font(face)
    return {code: font.face.charWidths[code] for code in font.face.charToGlyph}


@cache
def _registered(face: str) -> str:
    """Return the name under which a canvas finds a typeface."""
    font = _font(face)
    pdfmetrics.registerFont(font)
    return str(font.fontName)


@cache
def _font(face: str) -> TTFont:
    path = Path(mpl.get_data_path()) / "fonts" / "ttf" / _FILES[face]
    return TTFont(f"valuation {face}", str(path), asciiReadable=False)

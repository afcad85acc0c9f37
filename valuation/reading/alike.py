"""Texts that are read alike: they differ in figures that no rule of the reader looks at."""

from __future__ import annotations

import re

__all__ = ["written_alike"]

# Figures by themselves: a year of the century past, a number of three digits that is no round
# hundred, the size of an engine, a year without its century.  Between 1900 and 1989, within the
# nineties, between 101 and 199 and from 200 on, every figure means the same to every phrase.
_FIGURE = re.compile(
    r"(?<![\w.,'’#$€£+/-])"
    r"(?:19(?:(?P<year>[0-8]\d)|(?P<nineties>9\d))|1(?!00)(?P<some>\d\d)|(?P<many>[2-9]\d\d)|"
    r"(?P<size>\d\.\d)(?=[Ll ]))"
    r"(?![.,]?\d|['’%+/-])(?:(?=[Ll] )|(?!\w))"
    r"|(?<!\w)'(?P<short>[3-9]\d)(?!\w)"
)
_WRITTEN = {
    "year": "1933",
    "nineties": "1993",
    "some": "133",
    "many": "333",
    "size": "3.3",
    "short": "'33",
}


def written_alike(text: str) -> str:
    """Return a text with each figure of a kind written the same, every sign in its place.

    What the reader of listings finds in it, and where, is what it finds in `text`: a list of
    sales holds the same words with other years and sizes many times over.

    Examples
    --------
    >>> written_alike("1967 Torvane Pattern 214 coupe, 2.6 litre, 5-speed, 61,200 miles")
    '1933 Torvane Pattern 333 coupe, 3.3 litre, 5-speed, 61,200 miles'
    """
    return _FIGURE.sub(lambda found: _WRITTEN[found.lastgroup or ""], text)

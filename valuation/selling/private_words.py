"""Chassis numbers of other people's cars, kept out of every text a customer may read.

Titles and adverts hold them, spaced and punctuated as each writer likes.  A sheet builds its words
from what was read and not from such texts; this is the second lock on the same door.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from valuation.appraisal.market import MarketModel
from valuation.importing.repeats import chassis_key
from valuation.reading.text import compact, fold
from valuation.records import Car

__all__ = ["MASK", "PrivateWords", "private_words"]

MASK = "[number not shown]"
"""What stands in the place of a number."""

_LONG = 7
"""Signs from which on a number is masked wherever it stands, within other letters too."""

_SHARED = 3
"""Cars that have to share a variant for it to be a name."""

_CUE = re.compile(
    r"(?:chassis|frame|serial|number|vin|no|nr|fin|telaio|fahrgestell\w*|rahmen\w*|bastidor|"
    r"chassi|podwozi\w*|#)\W*$"
)
"""Before a short number that is all figures: without it such a number is a year or an amount."""


@dataclass(frozen=True)
class PrivateWords:
    """Numbers that a text for a customer may not hold.

    Parameters
    ----------
    hidden : frozenset of str
        Compact numbers of other cars.
    own : frozenset of str
        Compact number of the customer's car, which may stand.
    """

    hidden: frozenset[str]
    own: frozenset[str] = frozenset()

    def masked(self, text: str) -> str:
        """Return a text in which other cars' chassis numbers are masked.

        Examples
        --------
        >>> words = PrivateWords(frozenset({"tr41180k"}))
        >>> words.masked("1968 Torvane GT, chassis TR4 / 1180-K, red")
        '1968 Torvane GT, chassis [number not shown], red'
        >>> words.masked("TR4-1181-K")
        'TR4-1181-K'
        """
        out, at = [], 0
        for start, stop in self._spans(text):
            out += [text[at:start], MASK]
            at = stop
        return "".join([*out, text[at:]])

    def found(self, text: str) -> tuple[str, ...]:
        """Return the numbers that a text holds, as they stand in it."""
        return tuple(text[start:stop] for start, stop in self._spans(text))

    def _spans(self, text: str) -> Iterator[tuple[int, int]]:
        """Yield where other cars' numbers stand, in order, none over another."""
        signs, places = _compacted(text)
        kept = [span for span, _ in _windows(signs, self.own)]
        at = 0
        # Of numbers that begin at one place the longest is meant.
        found = sorted(_windows(signs, self.hidden), key=lambda f: (f[0][0], -f[0][1]))
        for (start, stop), number in found:
            if start < at or any(a <= start and stop <= b for a, b in kept):
                continue
            first, last = places[start], places[stop - 1] + 1
            if _meant(text, first, last, number):
                yield first, last
                at = stop


def _compacted(text: str) -> tuple[str, list[int]]:
    """Return the letters and figures of a text, folded, and where each stands."""
    signs, places = [], []
    for i, sign in enumerate(text):
        plain = sign.lower() if sign.isascii() else fold(unicodedata.normalize("NFKC", sign))
        for c in plain:
            if c.isascii() and c.isalnum():
                signs.append(c)
                places.append(i)
    return "".join(signs), places


def _windows(signs: str, numbers: frozenset[str]) -> Iterator[tuple[tuple[int, int], str]]:
    """Yield each stretch of signs that is one of some numbers."""
    for size in sorted({len(n) for n in numbers}):
        for start in range(len(signs) - size + 1):
            number = signs[start : start + size]
            if number in numbers:
                yield (start, start + size), number


def _meant(text: str, first: int, last: int, number: str) -> bool:
    """Tell whether a stretch of a text is meant as a car's number."""
    long = len(number) >= _LONG
    if long and not number.isdigit():
        return True
    before, after = text[:first][-1:], text[last:][:1]
    if before.isalnum() or after.isalnum():
        return False
    return long or not number.isdigit() or bool(_CUE.search(fold(text[:first])))


def private_words(market: MarketModel, car: Car) -> PrivateWords:
    """Return what keeps other cars' chassis numbers out of texts.

    Parameters
    ----------
    market : MarketModel
        As it is on disk: with every sale, shown or not.
    car : Car
        The customer's car, whose own number may stand.

    Returns
    -------
    PrivateWords
        Numbers that tell cars apart (:func:`valuation.importing.repeats.chassis_key`) and are no
        name of a make, of a model, or of a variant that several cars share.  Numbers of less than
        seven signs are masked where they stand alone, and if they are all figures only behind a
        word such as "chassis" or "no.": they can't be told from years and amounts otherwise.
    """
    names = {compact(text) for text in _names(market)}
    columns = market.columns
    pairs = zip(columns["chassis"].tolist(), columns["make"].tolist(), strict=True)
    numbers = {chassis_key(number, make).rpartition(":")[2] for number, make in pairs if number}
    own = frozenset({compact(car.chassis)} - {""})
    return PrivateWords(frozenset(numbers - names - own - {""}), own)


def _names(market: MarketModel) -> Iterator[str]:
    """Yield what cars are called: a word of it can read like a number."""
    for name in ("make", "model", "generation"):
        for value in market.frame[name].dropna().unique():
            yield str(value)
            yield from str(value).split()
    # What somebody wrote into the variant of one car may be the number of that car.
    known = market.frame[["variant", "chassis"]].dropna()
    cars = known.groupby("variant", sort=True)["chassis"].nunique()
    yield from (str(value) for value in cars.index[cars >= _SHARED])

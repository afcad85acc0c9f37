"""Plain text underneath every reader: folding, blank cells, reading each spelling once."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np
import pandas as pd

__all__ = [
    "compact",
    "each_once",
    "fold",
    "is_blank",
    "is_other",
    "most_common",
    "name_words",
    "word_set",
]

T = TypeVar("T")

_LETTERS = str.maketrans(
    {
        "ł": "l",
        "Ł": "l",
        "ø": "o",
        "Ø": "o",
        "ß": "ss",
        "æ": "ae",
        "Æ": "ae",
        "œ": "oe",
        "đ": "d",
        "–": "-",
        "—": "-",
        "‑": "-",
        "−": "-",
        "’": "'",
        "‘": "'",
        "´": "'",
        "`": "'",
        "“": '"',
        "”": '"',
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
    }
)
_SPACES = re.compile(r"\s+")
_CAMEL = re.compile(r"(?<=[a-zà-ÿ]{2})(?=[A-ZÀ-Þ])")
_NOT_WORD = re.compile(r"[^a-z0-9½%]+")


def word_set(text: str) -> frozenset[str]:
    """Return the words of a list written as running text."""
    return frozenset(text.split())


_BLANK = word_set(
    """
    - -- --- . .. ? ?? ??? / n/a na n.a. n.a #n/a n/s ns n.s. null nil nan nat <na> none unknown
    unspecified tbd tba tbc nc n.c. n.c nr n/r k.a. k.a b/d s/d brak unbekannt inconnu
    desconocido desconocida sconosciuto onbekend nieznany desconhecido okand
    """
) | {
    "",
    "not stated",
    "not given",
    "not known",
    "not available",
    "not specified",
    "keine angabe",
    "ohne angabe",
    "non renseigne",
    "non precise",
    "sin datos",
    "no consta",
    "non indicato",
    "niet bekend",
    "nie podano",
    "nao informado",
    "ej angivet",
}
_OTHER = word_set(
    """
    other others misc miscellaneous various andere anderer anderes sonstige sonstiges autre
    autres otro otra otros altro altri altra anders overig overige inny inna inne outro outra
    outros annan annat ovrig
    """
) | {"inny kolor", "all other", "other colour", "other color"}


@lru_cache(maxsize=200_000)
def fold(text: str) -> str:
    """Return `text` in lower case, without accents, with plain dashes, quotes and spaces.

    Examples
    --------
    >>> fold("  Pojemność – Coupé ")
    'pojemnosc - coupe'
    """
    if text.isascii():
        # Most cells are: of all that is folded they can hold only capitals, spaces and this quote.
        return " ".join(text.lower().replace("`", "'").split())
    plain = text.lower().translate(_LETTERS)
    if not plain.isascii():
        plain = unicodedata.normalize("NFKD", plain.replace("½", "\x00"))
        plain = "".join(c for c in plain if not unicodedata.combining(c)).replace("\x00", "½")
        # Taking an accent away can leave a letter that is still to be written plainly.
        plain = plain.lower().translate(_LETTERS)
    return _SPACES.sub(" ", plain).strip()


def compact(text: str) -> str:
    """Return the letters and digits of `text` alone, folded.

    Examples
    --------
    >>> compact("GT-4 Mk. II")
    'gt4mkii'
    """
    return _NOT_WORD.sub("", fold(text))


def name_words(name: str) -> tuple[str, ...]:
    """Split a column name into folded words, at punctuation and at a change of case.

    Examples
    --------
    >>> name_words("TypeBoite_2")
    ('type', 'boite', '2')
    """
    spaced = fold(_CAMEL.sub(" ", name.replace("_", " ")))
    spaced = re.sub(r"(?<=[a-z])(?=\d+$)", " ", spaced)
    return tuple(w for w in _NOT_WORD.split(spaced) if w)


def is_blank(text: str) -> bool:
    """Tell whether a cell states nothing, by being empty or saying so.

    Examples
    --------
    >>> [is_blank(x) for x in ("", "n/s", "NULL", "0")]
    [True, True, True, False]
    """
    # What is folded once would be kept in memory, and most cells state something of their own.
    return (" ".join(text.lower().split()) if text.isascii() else fold(text)) in _BLANK


def is_other(text: str) -> bool:
    """Tell whether a cell only says that it is none of the usual."""
    return fold(text) in _OTHER


def each_once(cells: Sequence[str] | pd.Series[Any], reader: Callable[[str], T]) -> list[T]:
    """Read a column by reading each different cell once.

    Parameters
    ----------
    cells : sequence of str, length n
        Cells as they came.
    reader : callable
        Reads one cell.

    Returns
    -------
    list, length n
        What `reader` made of each cell.
    """
    codes, uniques = pd.factorize(np.asarray(cells, dtype=object))
    read = [reader(u) for u in uniques]
    return [read[c] for c in codes]


def most_common(values: Iterable[str]) -> str:
    """Return the most frequent value, the first one met among equals."""
    counts: dict[str, int] = {}
    for v in values:
        counts[v] = counts.get(v, 0) + 1
    return max(counts, key=lambda v: counts[v]) if counts else ""

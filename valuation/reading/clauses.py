"""The pieces of a text within which a negation, a doubt or a source holds."""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

__all__ = ["Layout", "fold_in_place", "lay_out", "without_stops"]

_PLAIN = {
    "’": "'", "‘": "'", "´": "'", "`": "'", "“": '"', "”": '"', "–": "–", "—": "—", "‑": "-",
    "−": "-", "\u00a0": " ", "\u202f": " ", "\u2009": " ", "ø": "o", "ł": "l", "đ": "d", "ß": "s",
}  # fmt: skip

_ABBREVIATED = frozenset(
    [
        "orig",
        "eng",
        "no",
        "nos",
        "approx",
        "acc",
        "trans",
        "susp",
        "reg",
        "hist",
        "int",
        "exc",
        "conv",
        "inv",
        "incl",
        "poss",
        "prob",
        "mr",
        "mrs",
        "ms",
        "dr",
        "st",
        "vs",
        "etc",
        "ca",
        "circa",
        "c",
        "s'wheel",
        "spec",
        "specs",
        "comp",
        "cyl",
        "frt",
        "str",
        "pwr",
        "ign",
        "resto",
        "auto",
        "man",
        "cond",
        "exc",
        "pres",
        "prev",
        "yrs",
        "yr",
        "mls",
        "mi",
        "km",
        "ltr",
        "lh",
        "rh",
        "reg'd",
        "inc",
        "excl",
        "ext",
        "v",
        "elec",
        "elecs",
        "col",
        "exch",
        "pnt",
        "std",
        "gen",
        "hydr",
        "temp",
        "elec",
        "no's",
        "nr",
        "bldg",
        "capt",
        "col",
        "sgt",
        "prof",
        "messrs",
        "supt",
        "sec",
        "suppl",
        "doc",
        "docs",
        "cert",
        "certs",
        "box",
        "orgi",
        "mfr",
        "mfg",
    ]
)
# Abbreviations behind which a capital letter does not begin a sentence.
_TITLES = frozenset(["mr", "mrs", "ms", "dr", "st", "messrs", "prof", "capt", "col", "sgt", "no"])

_SHORTENED = re.compile(
    r"\b(orig|eng|trans|prev|poss|prob|reg|no|nos|susp|acc|approx|int|hist|elecs?|col|exch|pnt|v|"
    r"std|exc|conv|frt|cond(?=\.\s+(?:but|and|for|&)))\.(?=[\s/])"
)

_BREAK = re.compile(
    r"(?P<strong>[.!?;\n\r•|]+|\s-{1,3}\s|\s?[–—]\s?|\s/\s|\.\.+|…)"
    r"|(?P<open>\()|(?P<close>\))"
    r"|(?P<colon>:(?!\d))"
    r"|(?P<comma>,(?!\d))"
    r"|\b(?P<contrast>but(?! for\b)|although|though|while|whilst|whereas|however|"
    r"(?<!nor )(?<!not )(?<!as )(?<!has )(?<!have )yet(?! to\b)|nevertheless|"
    r"nonetheless|despite|albeit)\b"
    r"|\b(?P<except>except(?:ing|ed)?(?: for)?|save(?: for)?|apart from|aside from|but for|"
    r"with the exception of|excluding|not counting|leaving aside|"
    r"(?<!is )(?<!are )(?<!was )(?<!were )other than|bar|"
    r"barring|exc)\b"
    r"|\b(?P<sub>since|because|when|until|till|unless|before|after|if|where|who|whose|which|so|"
    r"thanks to|following|whom|in case)\b"
    r"|(?P<and>\band\b|&|\s\+\s|\bplus\b)"
    r"|(?P<or>\bor\b|\bnor\b|/)"
)


@lru_cache(maxsize=4096)
def _plain(char: str) -> str:
    known = _PLAIN.get(char.lower())
    if known:
        return known
    low = char.lower()
    if len(low) == 1 and low.isascii():
        return low
    base = unicodedata.normalize("NFKD", low)[:1]
    return base if len(base) == 1 and base.isascii() else (low if len(low) == 1 else char)


def fold_in_place(text: str) -> str:
    """Return `text` in lower case with plain letters and quotes, every sign in its place.

    Examples
    --------
    >>> fold_in_place("Coupé’s ROOF")
    "coupe's roof"
    """
    if text.isascii():
        return text.lower()
    return "".join(map(_plain, text))


def _goes_on(behind: str) -> bool:
    """Tell whether what stands behind a full stop carries on: a small letter or "&"."""
    sign = behind.lstrip()[:1]
    return sign.islower() or sign in tuple("&+/")


def without_stops(folded: str, raw: str) -> str:
    """Put spaces for the full stops of abbreviations that end no sentence.

    Examples
    --------
    >>> without_stops("orig. bill of sale. trans. rebuilt", "Orig. bill of sale. Trans. rebuilt")
    'orig  bill of sale. trans  rebuilt'
    """
    return _SHORTENED.sub(
        lambda m: m[1] + " " if _goes_on(raw[m.end() : m.end() + 2]) else m[0], folded
    )


@dataclass(frozen=True, slots=True)
class Layout:
    """A text cut into pieces.

    Parameters
    ----------
    text : str
        The folded text.
    pieces : tuple of (int, int)
        Beginning and end of every piece.
    bounds : tuple of (str, int, int)
        What stands before each piece: kind, beginning, end; kind ``start`` before the first.
    sentences : tuple of int
        Number of the sentence that each piece belongs to.
    """

    text: str
    pieces: tuple[tuple[int, int], ...]
    bounds: tuple[tuple[str, int, int], ...]
    sentences: tuple[int, ...]

    def at(self, place: int) -> int:
        """Return the number of the piece that holds a place of the text."""
        return max(0, bisect_right(self.pieces, (place, len(self.text) + 1)) - 1)

    def sentence(self, place: int) -> tuple[int, int]:
        """Return the first and the last piece of the sentence at a place."""
        number = self.sentences[self.at(place)]
        first = self.sentences.index(number)
        last = first
        while last + 1 < len(self.pieces) and self.sentences[last + 1] == number:
            last += 1
        return first, last

    def words(self, piece: int) -> str:
        """Return what stands in a piece."""
        start, end = self.pieces[piece]
        return self.text[start:end]


def _ends_sentence(text: str, raw: str, found: re.Match[str]) -> bool:
    """Tell whether a full stop ends a sentence rather than an abbreviation or a number."""
    if found.group() != ".":
        return True
    before = re.search(r"[\w']+$", text[max(0, found.start() - 12) : found.start()])
    after = re.match(r"\s*(\S?)", raw[found.end() : found.end() + 4])
    if (
        found.end() < len(text)
        and not text[found.end()].isspace()
        and text[found.end()] not in ")\"'"
    ):
        return text[found.end()] in ".,;"
    word = before.group() if before else ""
    following = after[1] if after else ""
    if word in _TITLES and following:
        return word == "no" and following.isupper()
    if word in _ABBREVIATED and following:
        return following.isupper() or following in "'\""
    return True


def lay_out(raw: str, folded: str, whole: Iterable[tuple[int, int]]) -> Layout:
    """Cut a text into pieces at punctuation and at the words that join clauses.

    Parameters
    ----------
    raw, folded : str
        The text as written, and folded in place.
    whole : iterable of (int, int)
        Runs that are not to be cut by a word, such as "runs and drives".
    """
    kept = sorted(whole)
    pieces: list[tuple[int, int]] = []
    bounds: list[tuple[str, int, int]] = [("start", 0, 0)]
    sentences: list[int] = []
    start, sentence = 0, 0
    k = 0
    for found in _BREAK.finditer(folded):
        kind = found.lastgroup or ""
        at = found.start()
        if kind not in ("strong",):
            while k < len(kept) and kept[k][1] <= at:
                k += 1
            if kind != "except" and any(s <= at < e for s, e in kept[k : k + 12]):
                continue
        elif not _ends_sentence(folded, raw, found):
            continue
        pieces.append((start, at))
        sentences.append(sentence)
        bounds.append((kind, at, found.end()))
        start = found.end()
        if kind == "strong":
            sentence += 1
    pieces.append((start, len(folded)))
    sentences.append(sentence)
    return Layout(folded, tuple(pieces), tuple(bounds), tuple(sentences))

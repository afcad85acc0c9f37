"""Gearbox texts: kind and number of gears of "4-spd", "M/T", "5-Speed Manual Transaxle"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from valuation.reading.text import fold, is_blank, word_set

__all__ = ["GEARBOX_WORD", "Gearbox", "gearbox_words", "read_gearbox"]

_COUNTS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9, "ten": 10,
}  # fmt: skip
_COUNT = r"(\d{1,2}|" + "|".join(_COUNTS) + ")"
_GEARS = re.compile(
    rf"(?<![\w.]){_COUNT}[\s-]?(?:speeds?|spd|sp|gang|gears?|vitesses|rapports|velocidades|marchas|"
    r"marce|rapporti|versnellingen|bak|biegow[ay]|biegi|biegow|stegad|vaxlad|vaxlar|forward)\b"
)
_SHORT_GEARS = re.compile(r"(?<![a-z0-9])(?:bvm|bva|bv|mt|at|m/t|a/t)[\s-]?([1-9]|10)(?!\d)")

# The order decides: "automated manual" is neither manual nor automatic.
_KINDS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (kind, re.compile(pattern))
    for kind, pattern in (
        (
            "continuously variable",
            r"\b(?:e?cvt|continuously variable|stufenlos\w*|variomatic\w*|variateur|variador|"
            r"bezstopniow[ay])\b",
        ),
        (
            "dual-clutch",
            r"\b(?:dct|dual[\s-]?clutch|double[\s-]clutch|twin[\s-]clutch|doppelkupplung\w*|"
            r"double embrayage|doble embrague|doppia frizione|dubbele koppeling|dwusprzeglow[ay]|"
            r"dubbelkoppling)\b",
        ),
        (
            "semi-automatic",
            r"\b(?:semi[\s-]?auto(?:matic|matica|matico|matique|matisch)?|amt|"
            r"automated|robotis[ée]e?|robotizada|halbautomat\w*|pre-?selector|preselector|"
            r"clutchless|polautomat\w*|sequential|paddle[\s-]?shift\w*|single[\s-]clutch)\b",
        ),
        (
            "manual",
            r"\b(?:manual\w*|manuel\w*|manuell\w*|manuale|handgeschakeld|schalt(?:getriebe|ung)\w*|"
            r"hand(?:schalt\w*)|stick(?:[\s-]shift)?|m/t|mt\d?|bvm\d?|handbak|manualna|reczna|"
            r"mecanique|mecanica|meccanico|man)\b",
        ),
        (
            "automatic",
            r"\b(?:auto|autom|automat\w*|a/t|at\d?|bva\d?|automaat|automatik\w*|"
            r"torque converter)\b",
        ),
    )
)
_OVERDRIVE = re.compile(r"\b(?:overdrive|od|o/d)\b")
GEARBOX_WORD = re.compile(
    rf"(?<![\w.]){_COUNT}[\s-]?(?:speeds?|spd|sp|gang)\b|"
    r"\b(?:manual|automatic|auto|semi-?auto(?:matic)?|transmission|gearbox|transaxle|"
    r"m/t|a/t|cvt|dct|stick[\s-]shift)\b"
)
"""What speaks of the gearbox in a heading."""


@dataclass(frozen=True, slots=True)
class Gearbox:
    """What a gearbox text says.

    Parameters
    ----------
    kind : str
        A level of the attribute ``transmission``; empty if not told.
    gears : int, optional
        Number of forward gears; the overdrive of a manual gearbox counts as one.
    """

    kind: str = ""
    gears: int | None = None


def _gears(plain: str) -> int | None:
    found = _GEARS.search(plain) or _SHORT_GEARS.search(plain)
    if not found:
        return None
    count = _COUNTS.get(found[1]) or int(found[1])
    return count if 1 <= count <= 12 else None


@lru_cache(maxsize=100_000)
def read_gearbox(text: str) -> Gearbox:
    """Read a gearbox cell.

    Examples
    --------
    >>> read_gearbox("5-Speed Manual Transaxle"), read_gearbox("4-spd")
    (Gearbox(kind='manual', gears=5), Gearbox(kind='', gears=4))
    >>> read_gearbox("M/T").kind, read_gearbox("Automatyczna").kind, read_gearbox("Semi-Auto").kind
    ('manual', 'automatic', 'semi-automatic')
    """
    if is_blank(text):
        return Gearbox()
    plain = fold(text)
    kind = next((k for k, pattern in _KINDS if pattern.search(plain)), "")
    gears = _gears(plain)
    if gears and kind == "manual" and _OVERDRIVE.search(plain):
        gears += 1
    return Gearbox(kind, gears)


_NOISE = word_set(
    """
    dct cvt dual-clutch semi-automatic automated automated-manual transmission transmissions
    gearbox gearboxes transaxle trans tranny speed speeds spd manual automatic auto with w
    and the a an of to for in on by gear gears shift getriebe boite cambio skrzynia biegow
    versnellingsbak
    """
) | frozenset(_COUNTS)
_TOKEN = re.compile(r"[a-z0-9½]+(?:[.'/+-][a-z0-9½]+)*")
_SPEED = re.compile(rf"(?:{_COUNT}[\s-]?)?(?:speeds?|spd|sp)|\d{{1,2}}|[ma]/t")


@lru_cache(maxsize=100_000)
def gearbox_words(text: str) -> tuple[str, ...]:
    """Return the words of a gearbox text beside its kind and number of gears, in their order.

    Examples
    --------
    >>> gearbox_words("Rebuilt Column-Shifted 3-Speed Manual Gearbox")
    ('rebuilt', 'column-shifted')
    """
    if not text or is_blank(text):
        return ()
    words: dict[str, None] = {}
    plain = re.sub(r"\bw/\s?", " ", fold(text))
    for token in _TOKEN.findall(re.sub(r"\b(?:o/d|od)\b", "overdrive", plain)):
        if token not in _NOISE and not _SPEED.fullmatch(token):
            words[token] = None
    return tuple(words)

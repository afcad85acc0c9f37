"""Engine texts: size, layout and aspiration of "454ci V8", "7,4", "1,500cc", "3.0-Liter"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import median

from valuation.reading.numbers import plain_number, read_number
from valuation.reading.text import each_once, fold, is_blank, word_set

__all__ = [
    "CC_PER_CUBIC_INCH",
    "SIZE_UNITS",
    "Engine",
    "engine_words",
    "find_engine",
    "read_engine",
    "read_layout",
    "settle_size_unit",
]

CC_PER_CUBIC_INCH = 16.387064
SIZE_UNITS = ("litres", "cc", "ci")

_NUM = r"(?<!\d)\d{1,3}(?:[.,]\d{3})+(?!\d)|\d+(?:[.,]\d+)?"
_CI = re.compile(rf"({_NUM})[\s-]?(?:c\.?i\.?d?\.?|cu\.?\s?in\.?|cubic[\s-]inch(?:es)?)(?![a-z])")
_CC = re.compile(rf"({_NUM})[\s-]?(?:cc|ccm|cm3|cm³|c\.c\.)(?![a-z])")
_LITRES = re.compile(
    r"(?<![\w.,])(\d{1,2}(?:[.,]\d{1,3})?)[\s-]?(?:l|lt|lit|lit(?:er|re)s?|litros?|litri)(?![a-z0-9])"
)
_COUNTS = {
    "one": 1, "single": 1, "two": 2, "twin": 2, "three": 3, "triple": 3, "four": 4, "five": 5,
    "six": 6, "eight": 8, "ten": 10, "twelve": 12, "sixteen": 16,
}  # fmt: skip
_COUNT = r"(\d{1,2}|" + "|".join(_COUNTS) + r")"
_V = re.compile(r"(?<![a-z0-9])(v|w|vr)[\s-]?(\d{1,2})(?!\d|[.,]\d)")
_INLINE = re.compile(
    rf"\b(?:inline|in-line|straight|reihen|en ligne|en linea|in linea)[\s-]?{_COUNT}\b"
)
_FLAT = re.compile(rf"\b(?:flat|boxer|horizontally opposed|opposed)[\s-]?{_COUNT}\b")
_SHORT = re.compile(r"(?<![a-z0-9.])([ilrh])-?([2-9]|1[0-2])(?![a-z0-9.,])")
_CYLINDERS = re.compile(
    rf"\b{_COUNT}[\s-]?(?:cyl|cyls|cylinders?|cylindres?|cilindros?|cilindri|zylinder|cilinders?)\b"
)
_BARE = re.compile(r"\b(four|five|six|eight|triple|single|twin)\s*(?:engine)?$")
_SHORT_KINDS = {"i": "inline", "l": "inline", "r": "inline", "h": "flat"}

_TURBO = re.compile(r"\b(?:twin-?|bi-?|quad-?)?turbo(?:s|charged|diesel|charger)?\b|\bturbo-")
_SUPER = re.compile(r"\b(?:super-?charge[dr]|blown|blower|kompressor|compresseur|compressore)\b")
_NATURAL = re.compile(r"\b(?:naturally[\s-]aspirated|normally[\s-]aspirated|saugmotor)\b")


@dataclass(frozen=True, slots=True)
class Engine:
    """What an engine text says.

    Parameters
    ----------
    size : float, optional
        Displacement in litres.
    layout : str
        Such as ``V8``, ``inline-6``, ``flat-6``, ``rotary``, ``8-cylinder``; empty if not told.
    aspiration : str
        ``natural``, ``turbocharged`` or ``supercharged``; empty if not told.
    """

    size: float | None = None
    layout: str = ""
    aspiration: str = ""


def _count(text: str) -> int:
    return _COUNTS.get(text) or int(text)


def _size(plain: str, unit: str) -> float | None:
    if found := _CI.search(plain):
        return plain_number(found[1]) * CC_PER_CUBIC_INCH / 1000
    if found := _CC.search(plain):
        return plain_number(found[1]) / 1000
    if found := _LITRES.search(plain):
        return float(found[1].replace(",", "."))
    value = read_number(plain, "," if "," in plain else ".")
    if value is None or not re.fullmatch(r"[<>~]?\s*[\d.,\s]+", plain):
        return None
    if value >= 500 or (value > 30 and unit == "cc"):
        return value / 1000
    return value * CC_PER_CUBIC_INCH / 1000 if value > 30 and unit == "ci" else value


def _layout(plain: str, *, short: bool = True) -> str:
    if found := _V.search(plain):
        return f"{found[1].upper()}{int(found[2])}"
    for pattern, kind in ((_INLINE, "inline"), (_FLAT, "flat")):
        if found := pattern.search(plain):
            return f"{kind}-{_count(found[1])}"
    if re.search(r"\b(?:rotary|wankel|[123]-rotor)\b", plain):
        return "rotary"
    if short and (found := _SHORT.search(plain)):
        return f"{_SHORT_KINDS[found[1]]}-{int(found[2])}"
    if found := _CYLINDERS.search(plain) or _BARE.search(plain):
        return f"{_count(found[1])}-cylinder"
    return "electric" if re.search(r"\belectric motor\b", plain) else ""


def _aspiration(plain: str) -> str:
    if _SUPER.search(plain):
        return "supercharged"
    if _TURBO.search(plain):
        return "turbocharged"
    return "natural" if _NATURAL.search(plain) else ""


@lru_cache(maxsize=100_000)
def read_engine(text: str, unit: str = "") -> Engine:
    """Read an engine cell: a bare number or a text.

    Parameters
    ----------
    text : str
        The cell.  Of a bare number, 0 means not stated.
    unit : {"", "litres", "cc", "ci"}
        Unit of bare numbers in this column; a number of 500 and more is cubic centimetres anyway.

    Examples
    --------
    >>> engine = read_engine("Rebuilt 454ci V8")
    >>> round(engine.size, 2), engine.layout
    (7.44, 'V8')
    >>> [read_engine(x).size for x in ("7.4L", "7,4", "1,500cc", "3.0-Liter", "999", "2300", "0")]
    [7.4, 7.4, 1.5, 3.0, 0.999, 2.3, None]
    """
    if is_blank(text):
        return Engine()
    plain = fold(text)
    size = _size(plain, unit)
    return Engine(size or None, _layout(plain), _aspiration(plain))


def find_engine(text: str) -> Engine:
    """Find in a heading or description what is said of the engine.

    A size counts only with its unit, a layout only when it is written out: "R5" and "3.5" may be
    the name of a model.

    Examples
    --------
    >>> find_engine("1967 Kora R5 2.6-Litre Turbo V6"), find_engine("1967 Kora R5 3.5").size
    (Engine(size=2.6, layout='V6', aspiration='turbocharged'), None)
    """
    plain = fold(text)
    size = _size(plain, "") if re.search(r"\d[\s-]?(?:l|lit|c|cu)", plain) else None
    return Engine(size or None, _layout(plain, short=False), _aspiration(plain))


def settle_size_unit(cells: Sequence[str]) -> str:
    """Settle over a whole column what its bare numbers are.

    Returns
    -------
    {"litres", "cc", "ci"}
        Litres up to 30; cubic inches for a column between 30 and 500; beyond, cubic centimetres.
    """
    bare = [c for c in cells if re.fullmatch(r"[\d.,\s]+", c)]
    numbers = [v for v in each_once(bare, lambda c: read_number(c, ".")) if v]
    middle = median(numbers) if numbers else 0.0
    return "litres" if middle <= 30 else "ci" if middle < 500 else "cc"


@lru_cache(maxsize=20_000)
def read_layout(text: str) -> str | None:
    """Read a cell that holds the layout alone, else keep its own words.

    Examples
    --------
    >>> read_layout("I6"), read_layout("V-8"), read_layout("8"), read_layout("swashplate")
    ('inline-6', 'V8', '8-cylinder', 'swashplate')
    """
    if is_blank(text):
        return None
    plain = fold(text)
    if re.fullmatch(r"\d{1,2}(?:\.0)?", plain):
        return f"{int(float(plain))}-cylinder" if float(plain) else None
    return _layout(plain) or " ".join(text.split())


_ENGINE_NOISE = word_set(
    """
    engine engines motor moteur motore silnik liter liters litre litres l lt cc ccm ci cid cui
    cubic inch inches and with w the of a an to for in by on from its in-line inline straight
    flat boxer cyl cylinder cylinders four six eight five twelve ten two turbo turbocharged
    supercharged gas v4 v6 v8 v10 v12 v16 inline-four inline-five inline-six inline-three
    straight-six straight-eight straight-four inline-eight flat-four flat-six flat-twin flat-
    eight
    """
)
_TOKEN = re.compile(r"[a-z0-9½]+(?:[.'+-][a-z0-9½]+)*")
_SIZE_TOKEN = re.compile(
    r"[\d.,]+(?:-?(?:l|lit(?:er|re)s?|cc|ci|cid|cyl|cylinder))?|(?:v|w|vr)-?\d{1,2}|[ilh]-?\d|"
    r"(?:inline|straight|flat)-[a-z0-9]+|[a-z]+-cylinder|rotary|wankel"
)


@lru_cache(maxsize=100_000)
def engine_words(text: str) -> tuple[str, ...]:
    """Return the words of an engine text beside size, layout and aspiration, in their order.

    Examples
    --------
    >>> engine_words('Rebuilt 340ci "Six-Pack" V8'), engine_words("Numbers-Matching 3.2L S52")
    (('rebuilt', 'six-pack'), ('numbers-matching', 's52'))
    """
    if not text or is_blank(text):
        return ()
    plain = re.sub(r"(?<=\d),(?=\d{3})", "", fold(text)).replace('"', " ")
    words: dict[str, None] = {}
    for token in _TOKEN.findall(plain):
        if token not in _ENGINE_NOISE and not _SIZE_TOKEN.fullmatch(token):
            words[token] = None
    return tuple(words)

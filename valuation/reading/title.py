"""A title or description: what it states, and the words left that set a variant apart."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from functools import lru_cache

from valuation.reading.engine import Engine, find_engine
from valuation.reading.families import BODY_WORDS
from valuation.reading.gearbox import GEARBOX_WORD, Gearbox, read_gearbox
from valuation.reading.mileage import find_mileage
from valuation.reading.text import compact, fold
from valuation.reading.titles import Makes, title_tokens
from valuation.reading.years import read_year

__all__ = [
    "TitleFacts",
    "find_body",
    "find_gearbox",
    "find_name",
    "find_year",
    "read_title",
    "title_words",
]

_YEAR = re.compile(r"(?<![\w$€£.,])(1[89]\d\d|20\d\d)(?:½| ?1/2)?(?![\w.,]\d|\d)")
_SHORT_YEAR = re.compile(r"(?<!\w)'(\d\d)(?!\d)")
_MILES = re.compile(
    r"(?<![\w.])\d[\d.,]*\s?k?[\s-]?(?:miles?|mi|kilometers?|kilometres?|kms?)\b|\bno[\s-]reserve\b"
)
_TOKEN = re.compile(r"[a-z0-9½]+(?:[.'+-][a-z0-9½]+)*")
_BODY = re.compile(
    r"\b(?:" + "|".join(sorted(map(re.escape, BODY_WORDS), key=len, reverse=True)) + r")\b"
)
# Families that are also names of models or common words are not taken out of a heading.
_BODY_NOT_IN_TITLES = frozenset(
    {"familiar", "compacte", "compacta", "break", "berlina", "spider", "spyder", "touring car"}
)
_STOP = frozenset(
    {"and", "the", "a", "an", "of", "to", "for", "in", "on", "by", "with", "w", "from", "car"}
)


@dataclass(frozen=True, slots=True)
class TitleFacts:
    """What a title states; None or empty where it is silent.

    Parameters
    ----------
    year : int, optional
        First year in it.
    make, model : str
        As the vocabulary spells them.
    body : str
        Body family.
    engine : Engine
        Size (only with its unit), layout, aspiration.
    gearbox : Gearbox
        Kind and number of gears.
    mileage : float, optional
        Distance in `mileage_unit`.
    mileage_unit : str
        ``miles`` or ``km``.
    words : tuple of str
        Words that are left.
    """

    year: int | None
    make: str
    model: str
    body: str
    engine: Engine
    gearbox: Gearbox
    mileage: float | None
    mileage_unit: str
    words: tuple[str, ...]


def find_body(text: str) -> str:
    """Return the body family that a running text names, or nothing.

    Examples
    --------
    >>> find_body("1967 Torvane GT Drophead Coupe")
    'convertible'
    """
    found = _BODY.search(fold(text))
    return BODY_WORDS[found.group()] if found else ""


@lru_cache(maxsize=20_000)
def _name_pattern(name: str) -> re.Pattern[str] | None:
    tokens = title_tokens(name)
    if not tokens:
        return None
    joined = r"[\s./-]*".join(map(re.escape, tokens))
    return re.compile(rf"(?<![a-z0-9]){joined}(?![a-z0-9½])")


def _without_name(plain: str, name: str | None) -> str:
    """Take a make or model out of a title: as a whole if it stands there, else word by word."""
    if not name:
        return plain
    pattern = _name_pattern(name)
    if pattern and pattern.search(plain):
        return pattern.sub(" ", plain)
    for token in title_tokens(name):
        part = _name_pattern(token)
        plain = part.sub(" ", plain) if part else plain
    return plain


def _without_year(plain: str, year: float | None) -> str:
    wanted = f"{year:.0f}" if year else ""
    if not wanted or wanted not in plain:
        return _YEAR.sub(" ", plain, count=1)
    return re.sub(rf"(?<!\w){wanted}(?:½| ?1/2)?(?!\w)", " ", plain)


@lru_cache(maxsize=200_000)
def title_words(
    title: str,
    *,
    make: str | None = None,
    model: str | None = None,
    year: float | None = None,
    known: Collection[str] = (),
) -> tuple[str, ...]:
    """Return the words of a title beside year, make, model, body, gearbox and mileage.

    Parameters
    ----------
    title : str
        Heading of the advert or catalogue entry.
    make, model : str, optional
        Of this car; their words are taken out.
    year : float, optional
        Of this car; without it the first year is taken out.
    known : frozenset or tuple of str
        Further words to take out, folded (it must be hashable).

    Returns
    -------
    tuple of str
        Folded words in their order, each once.  Two single digits in a row are one number that
        lost its point ("3 6" is "3.6").

    Examples
    --------
    >>> title_words("15k-Mile 1967 Kora GT-4 Fast Six Coupe 5-Speed", make="Kora", model="GT-4")
    ('fast', 'six')
    """
    plain = re.sub(r"(?<=\d),(?=\d{3})", "", fold(title)).replace('"', " ")
    plain = _without_year(plain, year)
    plain = _MILES.sub(" ", plain)
    plain = _without_name(_without_name(plain, make), model)
    plain = GEARBOX_WORD.sub(" ", plain)
    plain = _BODY.sub(lambda m: m.group() if m.group() in _BODY_NOT_IN_TITLES else " ", plain)
    plain = re.sub(r"(?<![\w.])(\d) (\d)(?![\w.])", r"\1.\2", plain)
    words = dict.fromkeys(_TOKEN.findall(plain))
    return tuple(w for w in words if w not in _STOP and w not in known)


def find_year(plain: str, latest: int = 2030) -> int | None:
    """Return the first year in a folded title.

    Parameters
    ----------
    plain : str
        Title, folded.
    latest : int
        For years of two digits, the last possible year.

    Examples
    --------
    >>> find_year("'67 torvane gt"), find_year("torvane gt 4-speed")
    (1967, None)
    """
    found = _YEAR.search(plain)
    if found:
        return int(found[1])
    short = _SHORT_YEAR.search(plain)
    return read_year(short.group(), latest) if short else None


def find_name(title: str, makes: Makes, *, make: str = "") -> tuple[str, str]:
    """Return the make and the model that a title names, each empty if it names none.

    Parameters
    ----------
    title : str
        Heading.
    makes : Makes
        Known makes and models.
    make : str
        The make if it is known from elsewhere.
    """
    tokens = title_tokens(title)
    found, end = makes.find(tokens)
    if make and compact(found) != compact(make):
        end = next((i for i, t in enumerate(tokens) if re.fullmatch(_YEAR, t)), -1) + 1
    return make or found, makes.model_at(make or found, tokens, end)[0]


def find_gearbox(title: str) -> Gearbox:
    """Return what a running text says of the gearbox.

    Examples
    --------
    >>> find_gearbox("1967 Torvane GT 4-Speed")
    Gearbox(kind='', gears=4)
    """
    return read_gearbox(" ".join(m.group() for m in GEARBOX_WORD.finditer(fold(title))))


def read_title(title: str, makes: Makes, *, make: str = "", latest: int = 2030) -> TitleFacts:
    """Read what a title or a description states.

    Parameters
    ----------
    title : str
        Heading.
    makes : Makes
        Known makes and models.
    make : str
        The make if it is known from elsewhere.
    latest : int
        For years of two digits, the last possible year.

    Examples
    --------
    >>> from valuation.reading.titles import makes_from
    >>> facts = read_title("1967 Torvane GT Coupe 4-Speed", makes_from({"Torvane": ("GT",)}))
    >>> facts.year, facts.make, facts.model, facts.body, facts.gearbox.gears
    (1967, 'Torvane', 'GT', 'coupe', 4)
    """
    named, model = find_name(title, makes, make=make)
    year = find_year(fold(title), latest)
    mileage = find_mileage(title)
    words = title_words(title, make=named or None, model=model or None, year=year)
    return TitleFacts(
        year,
        named,
        model,
        find_body(title),
        find_engine(title),
        find_gearbox(title),
        mileage.value,
        mileage.unit,
        words,
    )

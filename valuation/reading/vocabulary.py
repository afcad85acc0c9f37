"""Closed vocabularies: a cell to one of the contract's levels, and sets written "a; b; c"."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from valuation.reading.gearbox import read_gearbox
from valuation.reading.money import read_outcome
from valuation.reading.text import fold, is_blank, word_set
from valuation.schema import BY_FIELD, BY_NAME

__all__ = ["levels_of", "read_level", "read_set"]

_YES = word_set(
    """
    yes y true 1 x tak ja oui si sim
    """
)
_NO = word_set(
    """
    no n false 0 none nie nein non nao nej nee without
    """
)

# What people write instead of a level, by attribute or sale field.
_ALSO: dict[str, dict[str, str]] = {
    "steering_side": {
        **dict.fromkeys(("lhd", "left-hand drive", "left hand drive", "l"), "left"),
        **dict.fromkeys(("rhd", "right-hand drive", "right hand drive", "r"), "right"),
        **dict.fromkeys(("center", "central", "middle"), "centre"),
    },
    "aspiration": {
        **dict.fromkeys(("turbo", "twin-turbo", "twin turbo"), "turbocharged"),
        **dict.fromkeys(("na", "n/a", "naturally aspirated"), "natural"),
    },
    "engine_originality": {
        **dict.fromkeys(("matching numbers", "numbers matching", "matching"), "numbers-matching"),
        "date correct": "date-correct",
    },
    "title_status": {
        **dict.fromkeys(("clean", "clean title"), "clear"),
        **dict.fromkeys(("salvage", "rebuilt", "flood", "lemon"), "branded"),
        "bill of sale": "bill of sale only",
    },
    "mileage_status": {
        **dict.fromkeys(("tmu", "true mileage unknown"), "unknown"),
        **dict.fromkeys(("actual", "documented", "verified"), "proven"),
    },
    "genuineness": {"genuine": "genuine, documented", "clone": "tribute", "recreation": "replica"},
    "basis": {
        **dict.fromkeys(("hammer",), "hammer price"),
        **dict.fromkeys(
            ("with premium", "incl. premium", "including premium"),
            "hammer price plus buyer's premium",
        ),
        **dict.fromkeys(("asking", "ask", "list price"), "asking price"),
        **dict.fromkeys(("paid", "transaction price"), "price paid"),
    },
    "reserve": {
        **dict.fromkeys(("no reserve", "without reserve", "nr"), "none"),
        **dict.fromkeys(("reserve", "with reserve"), "yes"),
    },
}


def levels_of(name: str) -> tuple[str, ...]:
    """Return the closed vocabulary of an attribute or sale field, empty if any word is allowed."""
    if name in BY_NAME:
        return BY_NAME[name].levels
    return BY_FIELD[name].levels if name in BY_FIELD else ()


@cache
def _folded(name: str) -> dict[str, str]:
    out = {fold(level): level for level in levels_of(name)}
    return {fold(k): v for k, v in _ALSO.get(name, {}).items()} | out


@lru_cache(maxsize=100_000)
def read_level(name: str, text: str) -> str | None:
    """Return the level that a cell means.

    Parameters
    ----------
    name : str
        Attribute or sale field with a closed vocabulary.
    text : str
        The cell.

    Returns
    -------
    str or None
        The level, None if the cell states none of them.

    Examples
    --------
    >>> read_level("steering_side", "RHD"), read_level("outcome", "bid to")
    ('right', 'not sold')
    """
    plain = fold(text)
    known = _folded(name)
    if plain in known:
        return known[plain]
    if name == "transmission":
        return read_gearbox(text).kind or None
    if name == "outcome":
        return read_outcome(text) or _if_true(plain, "sold", "not sold")
    if name == "reserve":
        return _if_true(plain, "yes", "none")
    return _if_true(plain, "yes", "no") if name == "re_engineered" else None


def _if_true(plain: str, if_yes: str, if_no: str) -> str | None:
    return if_yes if plain in _YES else if_no if plain in _NO else None


@lru_cache(maxsize=100_000)
def read_set(name: str, text: str) -> tuple[tuple[str, ...] | None, tuple[str, ...]]:
    """Read a set of words such as "build record; bills".

    Parameters
    ----------
    name : str
        Attribute of kind set.
    text : str
        Words between semicolons (or commas, where no allowed word holds one); "none" for a set
        that is stated to be empty.

    Returns
    -------
    values : tuple of str or None
        Sorted words, empty for "none", None if nothing is stated.
    unknown : tuple of str
        Words that are not in a closed vocabulary.

    Examples
    --------
    >>> read_set("documents", "bills; build record; poem")
    (('bills', 'build record'), ('poem',))
    >>> read_set("documents", "none"), read_set("documents", "")
    (((), ()), (None, ()))
    """
    if fold(text) in ("none", "keine", "aucun", "ninguno", "nessuno", "geen", "brak", "inga"):
        return (), ()
    if is_blank(text):
        return None, ()
    words = [w.strip() for w in re.split(r"[;|\n]" if re.search(r"[;|\n]", text) else ",", text)]
    levels = levels_of(name)
    if not levels:
        return tuple(sorted({fold(w) for w in words if w})), ()
    known = _folded(name)
    read = tuple(sorted({known[fold(w)] for w in words if fold(w) in known}))
    unknown = tuple(w for w in words if w and fold(w) not in known)
    return (read if read or not unknown else None), unknown

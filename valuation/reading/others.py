"""Other cars of the same name: "Peter's Tern caught fire", "a lesser Tern sold here"."""

from __future__ import annotations

import re
from collections.abc import Iterator

from valuation.reading.clauses import Layout
from valuation.reading.strengths import Scope

__all__ = ["car_names", "find_others"]

_YEAR = re.compile(
    r"(?:\b(?:18|19|20)\d\d|(?<!\w)['’]\d\d)[ ,]+(?P<name>[A-Z][\w’'-]*(?: [A-Z0-9][\w/-]*)*)"
)
_MY = re.compile(
    r"\b(?:this|my|our|the|selling|a) (?P<name>[A-Z][a-z]{2,}[\w-]*(?: [A-Z0-9][\w/-]*)*)"
)
_NOT_A_NAME = frozenset(
    {
        "coupe", "coupé", "saloon", "estate", "tourer", "roadster", "convertible", "cabriolet",
        "drophead", "spider", "spyder", "barchetta", "limousine", "pickup", "van", "sedan", "wagon",
        "type", "mark", "mk", "sport", "sports", "super", "works", "the", "series", "litre",
    }
)  # fmt: skip
# Whose car may well be this one: it came down to the seller.
_FAMILY = (
    r"(?:dad|daddy|father|mum|mom|mother|husband|wife|grand\w+|gran|nan|grandpa|late|parents?|"
    r"owner|estate|"
    r"keeper|vendor|seller|decedent|lady|gentleman|doctor)"
)
_FINITE = (
    r"(?:is|was|has|had|did|does|made|took|sold|went|caught|rusted|burnt|burned|blew|overheats?|"
    r"leaks?|smokes?|"
    r"rusts?|got|came|ended|fetched|lost|won|runs|ran|needs|needed|broke|suffered|stands|stood|"
    r"changed)"
)


def car_names(raw: str) -> tuple[str, ...]:
    """Return the words by which a text calls its car: capitals behind a year or "my".

    Examples
    --------
    >>> car_names("1962 Halvern Tessel coupé, one owner.")
    ('Halvern', 'Tessel')
    """
    found = [*_YEAR.finditer(raw[:400]), *_MY.finditer(raw)]
    words = {w for f in found for w in f["name"].split() if len(w) > 2 and w[0].isupper()}
    return tuple(sorted(w for w in words if w.lower().rstrip("s") not in _NOT_A_NAME))


def find_others(layout: Layout, raw: str) -> Iterator[Scope]:
    """Yield where a text speaks of another car by the name of its own.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    raw : str
        The text as written, for the capitals of names.
    """
    names = car_names(raw)
    behind = raw[layout.pieces[0][1] :]
    if not any(name in behind for name in names):
        # What the first piece says is said of the car itself.
        return
    name = rf"(?:{'|'.join(map(re.escape, names))})"
    ours = rf"(?!{_FAMILY}\b)"
    article = r"(?:(?:[Mm]y|[Hh]is|[Hh]er|[Aa]|[Oo]ur|[Tt]he) )?"
    whose = rf"{article}(?:{ours}[\w-]+ )?{ours}[A-Za-z][\w-]+['’]s"
    which = (
        r"(?:[Aa]nother|[Tt]he other|[Ss]econd|[Mm]ost|[Mm]any|[Ff]ew|[Ss]everal|[Oo]ther|"
        r"[Ll]esser|"
        r"(?:[Aa]|[Oo]ne|[Tt]wo|[Tt]hree|[Ss]ome)(?: (?:lesser|complete|rusty|restored|better|"
        r"similar|"
        r"perfect|later|earlier|cheaper|rotten|fine|good|twin|sister|modern|genuine|real|proper|"
        r"second))+)"
    )
    ahead = rf"(?=,|[^.,;]{{0,24}}\b{_FINITE}\b)"
    other = re.compile(
        rf"\b(?:{whose} (?:[a-z]+ )?{name}s?\b{ahead}|{which} (?:[a-z]+ )?{name}s?\b)"
    )
    for found in other.finditer(raw):
        k = layout.at(found.start())
        first, last = layout.sentence(found.start())
        if first == 0 and k == 0:
            continue
        while k < last and layout.bounds[k + 1][0] != "contrast":
            k += 1
        yield Scope("void", found.span(), found.start(), layout.pieces[k][1])

"""Lots that are no cars: signs and posters, parts, models, toys."""

from __future__ import annotations

import re
from functools import lru_cache

from valuation.reading.text import fold
from valuation.reading.title import find_year

__all__ = ["thing_in", "withdrawn"]

_THINGS = (
    r"(?:petrol|gas|fuel|gasoline) pumps?|(?:pump )?globes?|(?:\w+ )?signs?|posters?|brochures?|"
    r"literature|handbooks?|(?:workshop|owner'?s|service) manuals?|books?|photographs?|prints?|"
    r"lithographs?|paintings?|sculptures?|bronzes?|trophy|trophies|plaques?|badges?|mascots?|"
    r"(?:hood|bonnet) ornaments?|(?:wrist)?watch(?:es)?|clocks?|jackets?|helmets?|overalls|"
    r"race suits?|luggage|suitcases?|picnic (?:sets?|hampers?)|(?:scale|desk|wind tunnel) models?|"
    r"model cars?|die-?casts?|toys?|pedal cars?|child(?:ren)?'?s cars?|automobilia|memorabilia|"
    r"(?:number|licen[cs]e|vanity|registration) plates?|(?:cherished )?registration numbers?|"
    r"juke ?box(?:es)?|oil cans?|tool ?(?:kits?|box(?:es)?|rolls?)|display (?:stands?|cases?)|"
    r"emailschild(?:er)?|plakate?|blechschild(?:er)?|zapfsaulen?|tretautos?|modellautos?|"
    r"affiches?|plaques? emaillees?|pompe a essence|voiture a pedales|cartel(?:es)?|insegn[ae]"
)
_PARTS = (
    r"(?:long |short )?(?:block )?engines?|engine blocks?|gear ?box(?:es)?|transmissions?|"
    r"(?:wire |alloy |road |steel )?wheels?|steering wheels?|seats?|hard ?tops?|"
    r"carburett?ors?|carburet(?:t)?ers?|body ?shells?|bare shells?|chassis frames?|rolling chassis|"
    r"radiators?|grilles?|(?:rear |front )?axles?|differentials?|bumpers?|cylinder heads?|"
    r"(?:spare )?parts|spares|instrument panels?|headlamps?|headlights?|"
    r"motorblock|motor und getriebe|felgen|ersatzteile|pieces detachees"
)
_BEFORE = (
    r"(?:(?:an?|the|original|rare|large|small|spare|complete|rebuilt|restored|vintage|period|"
    r"illuminated|enamel(?:led)?|porcelain|assorted|various|some|two|three|four|five|six|eight|"
    r"1[:/]\d{1,2}|\d{1,2}|(?:pair|set|collection|lot|box|quantity|selection|group) of|"
    r"(?:c\.?\s?)?\d{4}s?)\s+)*"
)
_BEGINS = re.compile(rf"\W*{_BEFORE}(?P<thing>{_THINGS}|{_PARTS})(?=\W|$)(?!-| cars?\b)")
_ENDS_THING = re.compile(rf"(?:^|[\s/-])(?P<thing>{_THINGS})\s*$")
_ENDS_PART = re.compile(rf"(?:^|[\s/-])(?P<thing>{_PARTS})\s*$")
# What comes along with a car, or what a thing is for, stands behind one of these.
_HEAD = re.compile(r"[,;:(|]|\s[-+&]\s|\b(?:with|incl\w*|including|plus|and|from|for|ex|w/)(?=\s)")
_POWER = re.compile(
    r"\bv\d{1,2}\b|\b\d[.,]\d\s?(?:l|litres?|liters?)?\b|\b\d{2,4}\s?(?:cc|ci|hp)\b"
)
_WITHDRAWN = re.compile(
    r"\W*(?:lot |los )?(?:has been |is |was )?"
    r"(?:withdrawn|zuruckgezogen|retire|retirado|ritirato|teruggetrokken|wycofany|tillbakadraget)"
    r"(?: from (?:the )?(?:sale|auction))?\W*"
)


@lru_cache(maxsize=50_000)
def thing_in(title: str, *, like_a_car: bool = False) -> str:
    """Return the word by which a title says that the lot is no car, or nothing.

    Parameters
    ----------
    title : str
        Heading of the lot.
    like_a_car : bool
        Whether something else is stated that only a car has, such as a mileage: then parts in
        the title are what is said of it, and nothing is returned.

    Examples
    --------
    >>> thing_in("1955 petrol pump globe, Torvane"), thing_in("Gearbox for a 1967 Torvane GT")
    ('petrol pump', 'gearbox')
    >>> thing_in("1967 Torvane GT Coupe with brochures and spare engine")
    ''
    """
    if like_a_car:
        return ""
    plain = fold(title)
    begins = _BEGINS.match(plain)
    if begins:
        return begins["thing"]
    cut = _HEAD.search(plain)
    head = plain[: cut.start()] if cut else plain
    found = _ENDS_THING.search(head)
    # Behind a year, "... V8 engine" describes a car; without one it is what is sold.
    if not found and not _POWER.search(head) and find_year(plain) is None:
        found = _ENDS_PART.search(head)
    return found["thing"].strip() if found else ""


def withdrawn(text: str) -> bool:
    """Tell whether a whole cell says that the lot was withdrawn.

    Examples
    --------
    >>> withdrawn("WITHDRAWN"), withdrawn("Withdrawn from military service in 1961")
    (True, False)
    """
    return bool(_WITHDRAWN.fullmatch(fold(text)))

"""What is known of one component: what is claimed, and what was read, photographed or on paper."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from typing import Any, TypeVar

from valuation.errors import SheetError
from valuation.importing.car_value import Wrong
from valuation.inspection.date_text import DATE_FORMS, MODEL_YEAR_STARTS, model_year, read_date
from valuation.inspection.dates import WrittenDate
from valuation.inspection.marks import ANSWERS, NOT_ON_THIS_CAR, read_answer
from valuation.inspection.settings import STATUSES, Component, InspectionSettings
from valuation.reading.text import fold
from valuation.schema import BY_NAME
from valuation.schema.kinds import NOT_LOOKED_AT

__all__ = [
    "DATE_VERBS",
    "PAPERS",
    "CarFacts",
    "ComponentFinding",
    "Evidence",
    "PartDate",
    "build_of",
    "read_claims",
    "read_evidence",
    "read_part_dates",
]

T = TypeVar("T")

DATE_VERBS = ("cast", "assembled", "made", "stamped", "dated")
"""What a date on a part can tell; a date without such a word is ``dated``."""

PAPERS = BY_NAME["documents"].levels
"""Papers that may speak for a component."""

_NONE = frozenset({"none", "no number", "blank", "not stamped"})
_CLAIMS = {fold(status): status for status in STATUSES}
_YES_NO = {"yes": True, "true": True, "x": True, "no": False, "false": False}


@dataclass(frozen=True, slots=True)
class CarFacts:
    """What of a car its parts are held against.

    Parameters
    ----------
    make : str
        The marque.
    year : int or None
        Model year.
    built : WrittenDate or None
        When it was built; without it the model year stands in.
    chassis : str
        Chassis number as on the papers.
    """

    make: str = ""
    year: int | None = None
    built: WrittenDate | None = None
    chassis: str = ""


@dataclass(frozen=True, slots=True)
class PartDate:
    """One date on a part.

    Parameters
    ----------
    verb : str
        What it tells, one of :data:`DATE_VERBS`.
    when : WrittenDate
        The date.
    """

    verb: str
    when: WrittenDate


@dataclass(frozen=True, slots=True)
class Evidence:
    """What was found out about one component, as it was read.

    Parameters
    ----------
    number : str
        Number stamped on it; ``?`` for every character that can't be made out.
    no_number : bool
        Whether its place was seen and carries none.
    number_on_record : str
        Number that the maker's record gives for it.
    dates : tuple of PartDate
        Dates on it.
    part_number : str
        Part number on it.
    part_number_wanted : str
        Part number that such a car left the works with.
    part_years : (int, int) or None
        First and last year in which parts of this number were made.
    papers : tuple of str
        Papers that speak for it, of :data:`PAPERS`.
    photographs : tuple of str
        Names of photographs of number, date or finish.
    notes : str
        Finish, fixings, marks.
    appears_original : bool
        Whether the looker only says that it looks original.
    """

    number: str = ""
    no_number: bool = False
    number_on_record: str = ""
    dates: tuple[PartDate, ...] = ()
    part_number: str = ""
    part_number_wanted: str = ""
    part_years: tuple[int, int] | None = None
    papers: tuple[str, ...] = ()
    photographs: tuple[str, ...] = ()
    notes: str = ""
    appears_original: bool = False

    @property
    def looked(self) -> bool:
        """Whether anything was found out by looking at the component."""
        seen = (self.number, self.dates, self.part_number, self.photographs, self.notes)
        return any(seen) or self.no_number or self.appears_original


@dataclass(frozen=True, slots=True)
class ComponentFinding:
    """What is claimed of a component, and the evidence.

    Parameters
    ----------
    claim : str
        One of :data:`~valuation.inspection.settings.STATUSES`, or why there is none:
        ``not looked at``, ``not possible here``, ``not on this car``.
    evidence : Evidence
        What was found out.
    """

    claim: str = NOT_LOOKED_AT
    evidence: Evidence = field(default_factory=Evidence)


_CELLS = tuple(f.name for f in fields(Evidence) if f.name != "no_number")
"""Entries of a line of the sheet."""


def build_of(car: CarFacts, settings: InspectionSettings) -> WrittenDate | None:
    """Return when a car was built: as known, else its model year, else None."""
    if car.built is not None or car.year is None:
        return car.built
    return model_year(car.year, settings.model_year_start(car.make, car.year))


def read_claims(
    entries: Mapping[str, str], settings: InspectionSettings
) -> tuple[dict[str, str], tuple[Wrong, ...]]:
    """Read the claimed statuses of components, and sort out what can't be one.

    Parameters
    ----------
    entries : mapping of str to str
        By component: a status, an answer, or nothing, which means that nobody has looked.
    settings : InspectionSettings
        With the components.

    Returns
    -------
    claims : dict of str to str
        Every component; one with a wrong entry is not looked at.
    faults : tuple of Wrong
        Every wrong entry, its component as key.
    """
    faults: list[Wrong] = []
    claims: dict[str, str] = {}
    for component in settings.components:
        text = entries.get(component.name, "") or ""
        claim = _claim(component, text)
        if claim is None:
            answers = ANSWERS if component.can_be_absent else ANSWERS[:2]
            allowed = "one of " + ", ".join((*STATUSES, *answers))
            faults.append(Wrong(component.name, text, allowed))
        claims[component.name] = claim or NOT_LOOKED_AT
    known = ", ".join(claims)
    faults += [
        Wrong(name, "no such component", f"a component of the settings: {known}")
        for name in entries
        if name not in claims
    ]
    return claims, tuple(faults)


def _claim(component: Component, text: str) -> str | None:
    if not text.strip():
        return NOT_LOOKED_AT
    answer = read_answer(text)
    if answer == NOT_ON_THIS_CAR and not component.can_be_absent:
        return None
    return answer or _CLAIMS.get(fold(text))


def read_part_dates(
    text: str, *, starts: tuple[int, int] = MODEL_YEAR_STARTS, where: str = "date"
) -> tuple[PartDate, ...]:
    """Read the dates of one part.

    Parameters
    ----------
    text : str
        One date or several with ``;`` between them, each with or without a word of
        :data:`DATE_VERBS` before it.
    starts : (int, int)
        Month and day on which a model year starts in the year before.
    where : str
        Name for messages.

    Returns
    -------
    tuple of PartDate
        In the order in which they stand.

    Raises
    ------
    SheetError
        At the first one that can't be read.

    Examples
    --------
    >>> dates = read_part_dates("cast 20 January 1969; assembled 3 February 1969")
    >>> [(d.verb, d.when.shown) for d in dates]
    [('cast', '20 January 1969'), ('assembled', '3 February 1969')]
    """
    pattern = re.compile(rf"\s*(?:({'|'.join(DATE_VERBS)})\b(?: on| in)?:?\s+)?(.+)", re.I | re.S)
    out = []
    for piece in (p for p in text.split(";") if p.strip()):
        found = pattern.fullmatch(piece)
        verb, rest = (found[1] or "dated", found[2]) if found else ("dated", piece)
        out.append(PartDate(verb.lower(), read_date(rest, starts=starts, where=where)))
    return tuple(out)


def read_evidence(
    entries: Mapping[str, Any], *, starts: tuple[int, int] = MODEL_YEAR_STARTS
) -> tuple[Evidence, tuple[Wrong, ...]]:
    """Read the evidence of one component from a line of a sheet, and sort out what can't stand.

    Parameters
    ----------
    entries : mapping of str to object
        By name of a field of :class:`Evidence`, all as text: ``number`` (``none`` where its place
        carries none), ``dates``, ``part_years`` (``1966-1969``); ``papers`` and ``photographs``
        with ``;`` between them; ``appears_original`` ``yes`` or ``no``.
    starts : (int, int)
        Month and day on which a model year starts in the year before.

    Returns
    -------
    evidence : Evidence
        Numbers and codes as they were written; a wrong entry is left out.
    faults : tuple of Wrong
        Every wrong entry, its field as key.
    """
    cells = {key: "" if value is None else str(value).strip() for key, value in entries.items()}
    none = fold(cells.get("number", "")) in _NONE
    faults: list[Wrong] = []

    def read(key: str, reader: Callable[[str], T | None], allowed: str, empty: T) -> T:
        text = cells.get(key, "")
        made = reader(text) if text else empty
        if text and made is None:
            faults.append(Wrong(key, text, allowed))
        return empty if made is None else made

    def dates(text: str) -> tuple[PartDate, ...] | None:
        try:
            return read_part_dates(text, starts=starts)
        except SheetError:
            return None

    made = Evidence(
        number="" if none else cells.get("number", ""),
        no_number=none,
        number_on_record=cells.get("number_on_record", ""),
        dates=read("dates", dates, f"dates such as {DATE_FORMS}", ()),
        part_number=cells.get("part_number", ""),
        part_number_wanted=cells.get("part_number_wanted", ""),
        part_years=read("part_years", _years, "years such as 1966-1969", None),
        papers=read("papers", _papers, "papers of " + ", ".join(PAPERS), ()),
        photographs=_pieces(cells.get("photographs", "")),
        notes=cells.get("notes", ""),
        appears_original=read(
            "appears_original", lambda text: _YES_NO.get(fold(text)), "yes or no", False
        ),
    )
    known = ", ".join(_CELLS)
    faults += [Wrong(key, "no such entry", f"one of {known}") for key in cells if key not in _CELLS]
    return made, tuple(faults)


def _pieces(text: str) -> tuple[str, ...]:
    return tuple(p.strip() for p in text.split(";") if p.strip())


def _papers(text: str) -> tuple[str, ...] | None:
    papers = tuple(fold(p) for p in _pieces(text))
    return papers if all(p in PAPERS for p in papers) else None


def _years(text: str) -> tuple[int, int] | None:
    found = re.fullmatch(r"(\d{4})(?: ?(?:-|to) ?(\d{4}))?", fold(text))
    years = (int(found[1]), int(found[2] or found[1])) if found else (1, 0)
    return years if years[0] <= years[1] else None

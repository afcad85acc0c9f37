"""What is known of each zone: a mark, a span of marks, or why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from valuation.importing.car_value import Wrong
from valuation.inspection.settings import InspectionSettings, Zone
from valuation.reading.text import fold
from valuation.schema.kinds import NOT_LOOKED_AT, NOT_ON_THIS_CAR

__all__ = [
    "ANSWERS",
    "BEST_MARK",
    "MARK_ALLOWED",
    "NOT_ON_THIS_CAR",
    "NOT_POSSIBLE_HERE",
    "Finding",
    "Mark",
    "MarkSpan",
    "read_answer",
    "read_group_marks",
    "read_mark",
    "read_marks",
    "spread_groups",
]

BEST_MARK = 10.0
"""The best mark of a zone; the worst is 0."""

MARK_ALLOWED = "a mark from 0 to 10 in halves"
"""What :func:`read_mark` takes, for messages."""

NOT_POSSIBLE_HERE = "not possible here"
"""It could not be reached or tried on this occasion: no lift, no battery, no road."""

ANSWERS = (NOT_LOOKED_AT, NOT_POSSIBLE_HERE, NOT_ON_THIS_CAR)
"""What stands where nothing could be found out."""

_SPELLINGS = {
    "not looked": NOT_LOOKED_AT,
    "not looked at": NOT_LOOKED_AT,
    "not possible": NOT_POSSIBLE_HERE,
    "not possible here": NOT_POSSIBLE_HERE,
    "not on this car": NOT_ON_THIS_CAR,
}


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark that a zone was given.

    Parameters
    ----------
    value : float
        0 to 10 in halves.

    Raises
    ------
    ValueError
        If it is no such mark.
    """

    value: float

    def __post_init__(self) -> None:
        if not (0 <= self.value <= BEST_MARK and self.value * 2 == int(self.value * 2)):
            raise ValueError(f"Mark: 0 to 10 in halves (got: {self.value})")

    @property
    def low(self) -> float:
        """The mark."""
        return self.value

    @property
    def high(self) -> float:
        """The mark."""
        return self.value


@dataclass(frozen=True, slots=True)
class MarkSpan:
    """Marks that a zone may deserve, told by the mark of its group.

    Parameters
    ----------
    value : float
        The mark of the group.
    low, high : float
        Ends of the span, 0 to 10.
    group : str
        Name of the group.

    Raises
    ------
    ValueError
        If the ends don't lie round the mark, within 0 to 10.
    """

    value: float
    low: float
    high: float
    group: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.value <= self.high <= BEST_MARK:
            raise ValueError(f"MarkSpan: 0, low, value, high, 10 have to rise (got: {self})")


Finding = Mark | MarkSpan | str
"""What is known of a zone: a mark, a span, or one of :data:`ANSWERS`."""


def read_answer(text: str) -> str | None:
    """Return one of :data:`ANSWERS` for a text that means it, None for any other text."""
    return _SPELLINGS.get(fold(text))


def read_mark(value: Any) -> float | None:
    """Return a mark from 0 to 10 in halves as people write it, None for anything else.

    Examples
    --------
    >>> read_mark("7½"), read_mark(6), read_mark("7,5"), read_mark(7.2), read_mark("good")
    (7.5, 6.0, 7.5, None, None)
    """
    if isinstance(value, bool):
        return None
    try:
        number = float(str(value).strip().replace(",", ".").replace("½", ".5"))
    except ValueError:
        return None
    return number if 0 <= number <= BEST_MARK and number * 2 == int(number * 2) else None


def _is_empty(value: Any) -> bool:
    return value is None or (isinstance(value, str) and not value.strip())


def _finding(zone: Zone, value: Any) -> Finding | None:
    """Return what an entry says of a zone; None if it can't stand there."""
    if _is_empty(value):
        return NOT_LOOKED_AT
    answer = read_answer(value) if isinstance(value, str) else None
    if answer is not None:
        return answer if answer != NOT_ON_THIS_CAR or zone.can_be_absent else None
    number = read_mark(value)
    return None if number is None else Mark(number)


def _allowed(zone: Zone) -> str:
    answers = ANSWERS if zone.can_be_absent else ANSWERS[:2]
    return f"{MARK_ALLOWED}, or " + ", ".join(answers)


def read_marks(
    entries: Mapping[str, Any], settings: InspectionSettings
) -> tuple[dict[str, Finding], tuple[Wrong, ...]]:
    """Read the marks of zones as they stand on a sheet, and sort out what can't be one.

    Parameters
    ----------
    entries : mapping of str to object
        By zone: a number, ``7½``, an answer, or nothing, which means that nobody has looked.
    settings : InspectionSettings
        With the zones.

    Returns
    -------
    findings : dict of str to Finding
        Every zone; one with a wrong entry is not looked at.
    faults : tuple of Wrong
        Every wrong entry, its zone as key.

    Examples
    --------
    >>> from valuation.inspection.settings_file import default_inspection_settings
    >>> found, faults = read_marks({"paint": "7,5", "boot": "good"}, default_inspection_settings())
    >>> found["paint"], found["boot"], [f.key for f in faults]
    (Mark(value=7.5), 'not looked at', ['boot'])
    """
    faults: list[Wrong] = []
    found: dict[str, Finding] = {}
    for zone in settings.zones:
        finding = _finding(zone, entries.get(zone.name))
        if finding is None:
            faults.append(Wrong(zone.name, str(entries[zone.name]), _allowed(zone)))
        found[zone.name] = NOT_LOOKED_AT if finding is None else finding
    faults += _unknown(entries, tuple(found), "a zone")
    return found, tuple(faults)


def read_group_marks(
    entries: Mapping[str, Any], settings: InspectionSettings
) -> tuple[dict[str, Mark], tuple[Wrong, ...]]:
    """Read the marks of the five groups of a preview.

    Parameters
    ----------
    entries : mapping of str to object
        By group: a number, an answer, or nothing.
    settings : InspectionSettings
        With the groups.

    Returns
    -------
    marks : dict of str to Mark
        Groups that were marked.
    faults : tuple of Wrong
        Every wrong entry, its group as key.
    """
    faults: list[Wrong] = []
    marks: dict[str, Mark] = {}
    for group in settings.groups:
        value = entries.get(group.name)
        if _is_empty(value) or (isinstance(value, str) and read_answer(value) in ANSWERS[:2]):
            continue
        number = read_mark(value)
        if number is None:
            allowed = f"{MARK_ALLOWED}, or " + ", ".join(ANSWERS[:2])
            faults.append(Wrong(group.name, str(value), allowed))
        else:
            marks[group.name] = Mark(number)
    faults += _unknown(entries, tuple(g.name for g in settings.groups), "a group")
    return marks, tuple(faults)


def _unknown(entries: Mapping[str, Any], known: tuple[str, ...], what: str) -> list[Wrong]:
    return [
        Wrong(name, f"no such {what.split()[-1]}", f"{what} of the settings: {', '.join(known)}")
        for name in entries
        if name not in known
    ]


def spread_groups(
    marks: Mapping[str, Mark], findings: Mapping[str, Finding], settings: InspectionSettings
) -> dict[str, Finding]:
    """Let the mark of a group stand for those of its zones that have none of their own.

    Parameters
    ----------
    marks : mapping of str to Mark
        By group, from a preview.
    findings : mapping of str to Finding
        By zone; a mark of its own and "not on this car" stay, and zones of which a preview says
        nothing stay open.
    settings : InspectionSettings
        With the zones and how far each may lie from the mark of its group.

    Returns
    -------
    dict of str to Finding
        Every zone; a spread mark is a span, clipped to 0 to 10.
    """
    out: dict[str, Finding] = {}
    for zone in settings.zones:
        own = findings.get(zone.name, NOT_LOOKED_AT)
        mark = marks.get(zone.group)
        is_open = isinstance(own, str) and own != NOT_ON_THIS_CAR
        if mark is None or not is_open or not zone.preview:
            out[zone.name] = own
            continue
        low, high = max(0.0, mark.value - zone.spread), min(BEST_MARK, mark.value + zone.spread)
        out[zone.name] = MarkSpan(mark.value, low, high, zone.group)
    return out

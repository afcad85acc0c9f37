"""The condition grade after work on zones: what was known of the grade stays known."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from valuation.inspection.grade import ConditionGrade, condition_grade
from valuation.inspection.marks import BEST_MARK, NOT_ON_THIS_CAR
from valuation.inspection.planned import findings_of
from valuation.inspection.settings import InspectionSettings
from valuation.records import ZoneMark

__all__ = ["Regraded", "agree", "regrade"]

_ROUNDED = 0.5
"""Points by which a grade that somebody wrote down may differ from that of its marks."""

_LEVEL = 0.01
"""Points within which a grade is at what the worst structural zone allows: grades are rounded."""

Marks = Mapping[str, ZoneMark]
Ends = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Regraded:
    """A condition grade after the work.

    Parameters
    ----------
    low, high : float
        Between which it lies.
    grade : ConditionGrade
        What the marks after the work give by themselves, with the zones that are open.
    """

    low: float
    high: float
    grade: ConditionGrade


def agree(marks: Marks, today: Ends | None, settings: InspectionSettings) -> bool:
    """Return whether a stated grade can be that of the marks.

    Parameters
    ----------
    marks : mapping of str to ZoneMark
        Of the zones that were looked at.
    today : (float, float) or None
        Ends of the stated grade, None if none is stated.
    settings : InspectionSettings
        Zones, weights and cap.
    """
    if today is None:
        return True
    grade = condition_grade(findings_of(marks), settings)
    return today[0] <= grade.high + _ROUNDED and today[1] >= grade.low - _ROUNDED


def regrade(
    before: Marks, after: Marks, today: Ends | None, settings: InspectionSettings
) -> Regraded:
    """Grade a car once the work on its zones is done.

    Parameters
    ----------
    before, after : mapping of str to ZoneMark
        Marks without and with the work; none is lower after it.
    today : (float, float) or None
        Ends of the grade that is stated, None if none is.
    settings : InspectionSettings
        Zones, weights and cap.

    Returns
    -------
    Regraded
        The same as the grade of the marks after the work if all zones are marked.

    Notes
    -----
    The grade is the smaller of the mean of the marks and of what the worst structural zone
    allows.  Where zones are open the marks alone tell little, and the stated grade tells more.
    From it the grade rises by no more than the mean does, unless the worst structural zone held
    it down and is put right; and it rises by that much, unless a structural zone holds it down.
    """
    old, new = (condition_grade(findings_of(m), settings) for m in (before, after))
    stated = today or (old.low, old.high)
    known = [min(max(end, old.low), old.high) for end in stated]
    least, most = _rise(before, after, settings)
    structural = [z.name for z in settings.zones if z.structural]
    low = max(new.low, known[0], min(known[0] + least, _least_cap(after, settings)))
    # A cap that isn't lifted, or one that doesn't bind, lets the grade rise by the mean alone.
    by_mean = all(before.get(name) == after.get(name) for name in structural)
    by_mean = by_mean or _least_cap(before, settings) > known[1] + _LEVEL
    high = min(new.high, known[1] + most) if by_mean else new.high
    low = max(low, stated[0])
    return Regraded(low, max(low, high, stated[1] if today else high), new)


def _rise(before: Marks, after: Marks, settings: InspectionSettings) -> Ends:
    """Return by how many points the mean of the marks rises, at least and at most."""
    on_car = [z for z in settings.zones if before.get(z.name) != NOT_ON_THIS_CAR]
    weight = math.fsum(z.weight for z in on_car)
    least = most = 0.0
    for zone in on_car:
        (low, high), reached = _ends(before, zone.name), _ends(after, zone.name)[0]
        least += zone.weight * max(0.0, reached - high)
        most += zone.weight * max(0.0, reached - low)
    return 10 * least / weight, 10 * most / weight


def _least_cap(marks: Marks, settings: InspectionSettings) -> float:
    """Return the lowest grade that the worst structural zone may allow."""
    lows = [
        _ends(marks, z.name)[0]
        for z in settings.zones
        if z.structural and marks.get(z.name) != NOT_ON_THIS_CAR
    ]
    return 10 * min(lows, default=math.inf) + settings.cap_points


def _ends(marks: Marks, zone: str) -> Ends:
    mark = marks.get(zone, (0.0, BEST_MARK))
    if isinstance(mark, str):
        return (0.0, 0.0)
    return mark if isinstance(mark, tuple) else (mark, mark)

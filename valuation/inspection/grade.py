"""Condition grade from the marks of zones: what is not seen makes a span, not a guess.

The grade is the weighted mean of the marks, 0 to 100, and never more than some points above the
worst structural zone: a show interior doesn't offset a rotten frame.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from valuation.inspection.marks import (
    ANSWERS,
    BEST_MARK,
    NOT_ON_THIS_CAR,
    Finding,
    Mark,
    MarkSpan,
)
from valuation.inspection.settings import InspectionSettings, Zone
from valuation.schema.kinds import NOT_LOOKED_AT

__all__ = ["Cap", "ConditionGrade", "OpenZone", "condition_grade"]


@dataclass(frozen=True, slots=True)
class Cap:
    """A structural zone that holds the grade down.

    Parameters
    ----------
    zone, label : str
        The worst structural zone.
    mark : float
        Its mark, 0 to 10.
    limit : float
        The highest grade it allows.
    mean : float
        The weighted mean without the cap.
    """

    zone: str
    label: str
    mark: float
    limit: float
    mean: float

    @property
    def sentence(self) -> str:
        """What holds the grade, for people."""
        return (
            f"{self.label} has {self.mark:g} of 10, so the grade is at most {self.limit:.1f}; "
            f"the zones alone would give {self.mean:.1f}."
        )


@dataclass(frozen=True, slots=True)
class OpenZone:
    """A zone whose mark isn't settled.

    Parameters
    ----------
    zone : Zone
        The zone, with where to look, with what, how, and how long it takes.
    answer : str
        Why: ``not looked at``, ``not possible here``, or ``mark of its group``.
    low, high : float
        The grade if this zone turns out worst or best and all others are as they were seen.
    """

    zone: Zone
    answer: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ConditionGrade:
    """Condition of a car, 0 to 100.

    Parameters
    ----------
    low, high : float
        The grade if everything open turns out worst, and best.
    point : float or None
        The grade over what was seen, groups at their mark; None if nothing was.
    cap : Cap or None
        What holds the point down, if anything does.
    low_cap : Cap or None
        What holds the lowest grade down, if anything does.
    bands : tuple of str
        Plain word of the lowest and of the highest grade; one if they are the same.
    point_band : str
        Plain word of the point, empty if there is none.
    open : tuple of OpenZone
        Zones that make the span, the widest first.
    seen : float
        Share of the weight of this car's zones that has a mark of its own, 0 to 1.
    """

    low: float
    high: float
    point: float | None
    cap: Cap | None
    low_cap: Cap | None
    bands: tuple[str, ...]
    point_band: str
    open: tuple[OpenZone, ...]
    seen: float

    @property
    def settled(self) -> bool:
        """Whether nothing is open."""
        return not self.open

    def summary(self) -> str:
        """Return the grade in one or two sentences.

        Examples
        --------
        >>> from valuation.inspection.settings_file import default_inspection_settings
        >>> condition_grade({}, default_inspection_settings()).summary()
        'Condition grade 0.0 to 100.0: project to show. Nothing was seen.'
        """
        if self.settled:
            told = f"Condition grade {self.low:.1f}: {self.bands[0]}."
        else:
            told = f"Condition grade {self.low:.1f} to {self.high:.1f}: {' to '.join(self.bands)}."
            if self.point is None:
                return f"{told} Nothing was seen."
            told += f" What was seen gives {self.point:.1f}."
        return f"{told} {self.cap.sentence}" if self.cap else told


_Marks = list[tuple[Zone, float]]


def condition_grade(
    findings: Mapping[str, Finding], settings: InspectionSettings
) -> ConditionGrade:
    """Grade the condition of a car.

    Parameters
    ----------
    findings : mapping of str to Finding
        By zone: a mark, a span, or an answer; a zone that isn't named is not looked at.
    settings : InspectionSettings
        Zones, weights, cap and bands.

    Returns
    -------
    ConditionGrade
        ``low`` and ``high`` hold for every mark the open zones may turn out to have.

    Raises
    ------
    ValueError
        If a zone is unknown, an answer is unknown, or a zone that every car has is said not to be
        on this car.

    Notes
    -----
    Mean: 10 Σ w·m / Σ w over the zones on the car, m from 0 to 10.  Cap: 10 × the worst mark of a
    structural zone + ``cap_points``.  Both rise with every mark, so the ends of the span are the
    grades of all worst and all best marks.
    """
    _check(findings, settings)
    known = {z.name: findings.get(z.name, NOT_LOOKED_AT) for z in settings.zones}
    on_car = [z for z in settings.zones if known[z.name] != NOT_ON_THIS_CAR]
    lows = [(z, _ends(known[z.name])[0]) for z in on_car]
    highs = [(z, _ends(known[z.name])[1]) for z in on_car]
    seen = [(z, f.value) for z in on_car if isinstance(f := known[z.name], Mark | MarkSpan)]
    low, low_cap = _grade(lows, settings)
    high, _ = _grade(highs, settings)
    point, cap = _grade(seen, settings) if _weight(seen) else (None, None)
    marked = [(z, 0.0) for z in on_car if isinstance(known[z.name], Mark)]
    bands = tuple(dict.fromkeys((settings.band(low), settings.band(high))))
    return ConditionGrade(
        low=low,
        high=high,
        point=point,
        cap=cap,
        low_cap=low_cap,
        bands=bands,
        point_band="" if point is None else settings.band(point),
        open=_open(known, seen, settings),
        seen=_weight(marked) / _weight(lows),
    )


def _check(findings: Mapping[str, Finding], settings: InspectionSettings) -> None:
    zones = {z.name: z for z in settings.zones}
    for name, finding in findings.items():
        if name not in zones:
            raise ValueError(f"condition_grade: no such zone (got: {name})")
        if isinstance(finding, str) and finding not in ANSWERS:
            raise ValueError(f"condition_grade: no such answer for {name} (got: {finding})")
        if finding == NOT_ON_THIS_CAR and not zones[name].can_be_absent:
            raise ValueError(f"condition_grade: every car has this zone (got: {name}, {finding})")


def _ends(finding: Finding) -> tuple[float, float]:
    return (0.0, BEST_MARK) if isinstance(finding, str) else (finding.low, finding.high)


def _weight(marks: _Marks) -> float:
    return math.fsum(z.weight for z, _ in marks)


def _grade(marks: _Marks, settings: InspectionSettings) -> tuple[float, Cap | None]:
    """Return the grade and the cap that binds it, if one does."""
    mean = 10 * math.fsum(z.weight * m for z, m in marks) / _weight(marks)
    structural = [(m, z) for z, m in marks if z.structural]
    if not structural:
        return mean, None
    worst, zone = min(structural, key=lambda pair: pair[0])
    limit = 10 * worst + settings.cap_points
    if limit >= mean:
        return mean, None
    return limit, Cap(zone.name, zone.label, worst, limit, mean)


def _open(
    known: Mapping[str, Finding], seen: _Marks, settings: InspectionSettings
) -> tuple[OpenZone, ...]:
    out = []
    for zone in settings.zones:
        finding = known[zone.name]
        settled = finding == NOT_ON_THIS_CAR or _ends(finding)[0] == _ends(finding)[1]
        if settled or not zone.weight:
            continue
        others = [(z, m) for z, m in seen if z.name != zone.name]
        low, high = (_with(zone, mark, others, settings) for mark in _ends(finding))
        answer = finding if isinstance(finding, str) else "mark of its group"
        out.append(OpenZone(zone, answer, low, high))
    return tuple(sorted(out, key=lambda z: z.low - z.high))


def _with(zone: Zone, mark: float, others: _Marks, settings: InspectionSettings) -> float:
    return _grade([*others, (zone, mark)], settings)[0]

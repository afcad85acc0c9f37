"""From defects and marks of a sheet to the work, and to the marks it starts from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from valuation.inspection.contents import Defect
from valuation.inspection.marks import NOT_ON_THIS_CAR, Finding, Mark, MarkSpan
from valuation.records import Work, ZoneMark

__all__ = ["findings_of", "marks_of", "uncounted", "work_of"]


def work_of(defects: Sequence[Defect]) -> tuple[Work, ...]:
    """Return the defects that have a cost as lines of work.

    Parameters
    ----------
    defects : sequence of Defect
        As they stand on the sheet.

    Returns
    -------
    tuple of Work
        A line with a mark of its zone after the work restores it; without one it is only a cost.
    """
    return tuple(_line(d) for d in defects if d.cost is not None)


def _line(defect: Defect) -> Work:
    cost = defect.cost
    if cost is None:
        raise ValueError(f"work_of: no cost (got: {defect})")
    if not defect.zone or defect.mark_after is None:
        return Work(defect.shown, cost.low, cost.high, cost.currency)
    return Work(
        defect.shown_alone, cost.low, cost.high, cost.currency, defect.zone, defect.mark_after
    )


def uncounted(defects: Sequence[Defect]) -> tuple[str, ...]:
    """Return which defects are no line of work, and which marks after the work belong to no zone.

    Parameters
    ----------
    defects : sequence of Defect
        As they stand on the sheet.

    Returns
    -------
    tuple of str
        Sentences; none if every defect has its cost and every mark its zone.
    """
    out = []
    without = [d.shown for d in defects if d.cost is None]
    if without:
        out.append(f"Without a cost and not among the work: {'; '.join(without)}.")
    lost = [d.shown for d in defects if d.mark_after is not None and not d.zone]
    if lost:
        out.append(f"A mark after the work and no zone, so it restores nothing: {'; '.join(lost)}.")
    return tuple(out)


def marks_of(findings: Mapping[str, Finding]) -> dict[str, ZoneMark]:
    """Return what a car keeps of the marks of its zones.

    Parameters
    ----------
    findings : mapping of str to Finding
        Of every zone.

    Returns
    -------
    dict of str to ZoneMark
        Zones that were not looked at, or could not be, are left out.
    """
    out: dict[str, ZoneMark] = {}
    for zone, finding in findings.items():
        if isinstance(finding, Mark):
            out[zone] = finding.value
        elif isinstance(finding, MarkSpan):
            out[zone] = (finding.low, finding.high)
        elif finding == NOT_ON_THIS_CAR:
            out[zone] = finding
    return out


def findings_of(marks: Mapping[str, ZoneMark]) -> dict[str, Finding]:
    """Return the marks that a car keeps as what is known of its zones.

    Parameters
    ----------
    marks : mapping of str to ZoneMark
        As in :class:`~valuation.records.Car`.

    Returns
    -------
    dict of str to Finding
        A span stands round its middle.
    """
    return {zone: _finding(mark) for zone, mark in marks.items()}


def _finding(mark: ZoneMark) -> Finding:
    if isinstance(mark, str):
        return mark
    low, high = mark if isinstance(mark, tuple) else (mark, mark)
    return MarkSpan((low + high) / 2, low, high)

"""An inspection as plain data, for other programs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from valuation.inspection.contents import Contents, CostRange, Defect, ZoneNote
from valuation.inspection.dates import WrittenDate
from valuation.inspection.evidence import Evidence
from valuation.inspection.grade import ConditionGrade
from valuation.inspection.marks import Finding
from valuation.inspection.originality import ComponentResult, OriginalityScore
from valuation.records import OpenFact

__all__ = ["contents_dict", "grade_dict", "open_dict", "score_dict"]


def contents_dict(contents: Contents, name: str) -> dict[str, Any]:
    """Return what the sheet says, but for zones and components.

    Parameters
    ----------
    contents : Contents
        What it says.
    name : str
        Name of the car.
    """
    visit, title, changes = contents.visit, contents.title, contents.changes
    return {
        "sheet": contents.name,
        "car": name,
        "chassis": contents.facts.chassis,
        "built": _date(contents.facts.built),
        "visit": {
            "lot": visit.lot,
            "by": visit.by,
            "on": visit.on.isoformat() if visit.on else None,
            "asking": None if visit.asking is None else str(visit.asking),
            "currency": visit.currency,
            "notes": visit.notes,
        },
        "title": {
            "first_registered": _date(title.first_registered),
            "year": title.year,
            "days_to_cure": title.days,
            "cost_to_cure": _cost(title.cost),
        },
        "answers": dict(contents.answers),
        "history": dict(contents.history),
        "documents": {
            n: {"answer": p.answer, "notes": p.notes} for n, p in contents.papers.items()
        },
        "modifications": [
            {"kind": m.kind, "how": m.how, "when": m.when, "what": m.what}
            for m in contents.modifications
        ],
        "looked_for_modifications": changes.looked,
        "re_engineered_by": changes.builder,
        "mileage_proof": changes.mileage_proof,
        "defects": [_defect(d) for d in contents.defects],
        "work_done": [
            {"zone": w.zone, "what": w.what, "when": w.when, "bills": w.bills}
            for w in contents.work
        ],
    }


def _date(date: WrittenDate | None) -> dict[str, Any] | None:
    if date is None:
        return None
    ends = [[d.first.isoformat(), d.last.isoformat()] for d in date.readings]
    return {"shown": date.shown, "as_read": date.as_read, "readings": ends}


def _cost(cost: CostRange | None) -> dict[str, str] | None:
    if cost is None:
        return None
    return {"low": str(cost.low), "high": str(cost.high), "currency": cost.currency}


def _defect(defect: Defect) -> dict[str, Any]:
    return {
        "zone": defect.zone,
        "what": defect.what,
        "where": defect.where,
        "how_bad": defect.how_bad,
        "cost": _cost(defect.cost),
        "mark_after": defect.mark_after,
    }


def grade_dict(
    grade: ConditionGrade, marks: Mapping[str, Finding], contents: Contents
) -> dict[str, Any]:
    """Return the condition of a car with every zone.

    Parameters
    ----------
    grade : ConditionGrade
        The grade.
    marks : mapping of str to Finding
        Of every zone.
    contents : Contents
        With what was written beside the marks.
    """
    return {
        "low": grade.low,
        "high": grade.high,
        "point": grade.point,
        "bands": list(grade.bands),
        "point_band": grade.point_band,
        "held_down_by": grade.cap.sentence if grade.cap else None,
        "seen": grade.seen,
        "zones": [
            {"zone": n, **_mark(f), **_note(contents.zone_notes.get(n))} for n, f in marks.items()
        ],
        "groups": [
            {"group": n, "mark": m.value, **_note(contents.group_notes.get(n))}
            for n, m in contents.groups.items()
        ],
    }


def _mark(finding: Finding) -> dict[str, Any]:
    if isinstance(finding, str):
        return {"answer": finding}
    return {"low": finding.low, "high": finding.high}


def _note(note: ZoneNote | None) -> dict[str, Any]:
    found = note or ZoneNote()
    return {"notes": found.notes, "photographs": list(found.photographs)}


def score_dict(score: OriginalityScore, contents: Contents) -> dict[str, Any]:
    """Return the originality of a car with every component: claim, support, contradiction apart.

    Parameters
    ----------
    score : OriginalityScore
        The score.
    contents : Contents
        With the evidence.
    """
    return {
        "low": score.low,
        "high": score.high,
        "identity": list(score.identity),
        "components": [
            _component(c, contents.components[c.component.name].evidence) for c in score.components
        ],
    }


def _component(result: ComponentResult, evidence: Evidence) -> dict[str, Any]:
    return {
        "component": result.component.name,
        "claim": result.claim,
        "supported": result.supported,
        "possible": list(result.possible),
        "contradiction": result.contradiction,
        "open": list(result.open),
        "low": result.low,
        "high": result.high,
        "number": evidence.number,
        "number_told": result.number.sentence if result.number else None,
        "dates": [d.sentence for d in result.dates],
        "part_number": evidence.part_number,
        "papers": list(evidence.papers),
        "photographs": list(evidence.photographs),
        "notes": evidence.notes,
    }


def open_dict(fact: OpenFact) -> dict[str, Any]:
    """Return a fact that is not settled.

    Parameters
    ----------
    fact : OpenFact
        The fact.
    """
    return {
        "attribute": fact.attribute,
        "levels": list(fact.levels),
        "low": fact.low,
        "high": fact.high,
        "claim": fact.claim,
        "contradiction": fact.contradiction,
        "where": fact.where,
        "tool": fact.tool,
        "how": fact.how,
        "minutes": fact.minutes,
    }

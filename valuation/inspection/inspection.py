"""One inspected car: what the sheet says, what it comes to, and what is left open."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

from valuation.inspection.concluding import (
    CAUTIONS,
    Question,
    contradictions_of,
    questions_of,
)
from valuation.inspection.contents import Contents, CostRange
from valuation.inspection.grade import ConditionGrade, condition_grade
from valuation.inspection.inspection_dict import contents_dict, grade_dict, open_dict, score_dict
from valuation.inspection.inspection_text import lines_of
from valuation.inspection.marks import Finding, spread_groups
from valuation.inspection.originality import OriginalityScore, originality_score
from valuation.inspection.planned import marks_of, uncounted, work_of
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings
from valuation.inspection.settle_said import settle_said
from valuation.inspection.settle_seen import settle_seen
from valuation.inspection.settled import Settled
from valuation.inspection.sheet_files import load_sheet
from valuation.inspection.sheet_reader import read_contents
from valuation.inspection.title_states import NUMBERS_STOP, title_stop
from valuation.records import Car
from valuation.schema import BY_NAME

__all__ = ["Inspection", "conclude", "read_sheet"]


@dataclass(frozen=True)
class Inspection:
    """A car as it was inspected.

    Parameters
    ----------
    contents : Contents
        What the sheet says.
    marks : dict of str to Finding
        Of every zone, marks of groups spread to those without a mark of their own.
    grade : ConditionGrade
        Condition, 0 to 100, or its span.
    originality : OriginalityScore
        Originality, 0 to 100, or its span.
    settled : Settled
        Attributes of the contract: settled, open, not looked at.
    contradictions : tuple of str
        What contradicts what, with both dates or both numbers.
    questions : tuple of Question
        What is still to be found out.
    stops : tuple of str
        What stops the purchase until it is cured.
    cautions : tuple of str
        What has to be shown with it.
    """

    contents: Contents
    marks: dict[str, Finding]
    grade: ConditionGrade
    originality: OriginalityScore
    settled: Settled
    contradictions: tuple[str, ...]
    questions: tuple[Question, ...]
    stops: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def name(self) -> str:
        """Name of the car for people."""
        return self.to_car().name

    @property
    def cost(self) -> CostRange | None:
        """What all defects with a figure cost to put right together, None if none has one."""
        costs = [d.cost for d in self.contents.defects if d.cost is not None]
        if not costs:
            return None
        low = sum((c.low for c in costs), Decimal(0))
        return CostRange(low, sum((c.high for c in costs), Decimal(0)), costs[0].currency)

    def to_car(self) -> Car:
        """Return the car that is to be priced.

        Returns
        -------
        Car
            An attribute stands among its values, its open facts, what nobody looked at or what
            cannot be told, never in two of them.
        """
        visit, out = self.contents.visit, self.settled
        notes = [*out.notes, *uncounted(self.contents.defects)]
        if visit.asking is not None and visit.currency:
            notes.append(f"The asking price is in {visit.currency}.")
        order = list(BY_NAME)
        return Car(
            values={name: out.values[name] for name in order if name in out.values},
            not_looked_at=frozenset(out.not_looked_at),
            cannot_be_told=frozenset(out.cannot_be_told),
            chassis=self.contents.facts.chassis,
            notes=(*notes, *self.contradictions, *self.stops),
            asking=None if visit.asking is None else float(visit.asking),
            seen_on=visit.on,
            open=tuple(out.open[name] for name in order if name in out.open),
            work=work_of(self.contents.defects),
            marks=marks_of(self.marks),
            cure=self.contents.title.cure,
            stops=tuple(s for s in self.stops if s == NUMBERS_STOP),
        )

    def summary(self) -> str:
        """Return what was found, for a screen."""
        return "\n".join(
            lines_of(
                self.name,
                self.contents,
                (self.grade.summary(), self.originality.summary()),
                self.contradictions,
                self.stops,
                self.cost,
                self.questions,
                self.settled.notes,
                self.cautions,
            )
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        order, out = list(BY_NAME), self.settled
        cost = self.cost
        return {
            "format": 1,
            **contents_dict(self.contents, self.name),
            "condition": grade_dict(self.grade, self.marks, self.contents),
            "originality": score_dict(self.originality, self.contents),
            "cost_to_put_right": None
            if cost is None
            else {"low": str(cost.low), "high": str(cost.high), "currency": cost.currency},
            "contradictions": list(self.contradictions),
            "stops": list(self.stops),
            "questions": [
                {"about": q.about, "sentence": q.sentence, "minutes": q.minutes}
                for q in self.questions
            ],
            "attributes": {
                n: list(v) if isinstance(v := out.values[n], tuple) else v
                for n in order
                if n in out.values
            },
            "open": [open_dict(out.open[n]) for n in order if n in out.open],
            "not_looked_at": [n for n in order if n in out.not_looked_at],
            "cannot_be_told": [n for n in order if n in out.cannot_be_told],
            "notes": list(out.notes),
            "cautions": list(self.cautions),
        }


def conclude(contents: Contents, settings: InspectionSettings) -> Inspection:
    """Conclude what a sheet comes to.

    Parameters
    ----------
    contents : Contents
        What it says.
    settings : InspectionSettings
        What counts how much.

    Returns
    -------
    Inspection
        Grade, score, contradictions, questions, and the attributes that a price rests on.
    """
    marks = spread_groups(contents.groups, contents.marks, settings)
    grade = condition_grade(marks, settings)
    score = originality_score(contents.components, contents.facts, settings)
    settled = Settled(notes=list(contents.remarks))
    settle_said(contents, score, settled)
    settle_seen(contents, grade, score, settings, settled)
    status = str(contents.stated.get("title_status", ""))
    numbers = score.names_another_car and status != "number differs"
    stops = (title_stop(status, contents.title), NUMBERS_STOP if numbers else "")
    return Inspection(
        contents=contents,
        marks=marks,
        grade=grade,
        originality=score,
        settled=settled,
        contradictions=contradictions_of(contents, score, settings),
        questions=questions_of(contents, grade, score, settled),
        stops=tuple(s for s in stops if s),
    )


def read_sheet(path: str | Path, settings: InspectionSettings | None = None) -> Inspection:
    """Read a filled or half-filled inspection sheet.

    Parameters
    ----------
    path : str or pathlib.Path
        Ends in ``.xlsx`` or ``.toml``.
    settings : InspectionSettings, optional
        The firm's own; those that come with the package without it.

    Returns
    -------
    Inspection
        What was found, and what is open.

    Raises
    ------
    SheetError
        If the file can't be read, is no inspection sheet, or holds wrong entries: all of them are
        named, each with where it stands.
    """
    held = settings or default_inspection_settings()
    return conclude(read_contents(load_sheet(path, held), held), held)

"""An inspection for a screen: what was found, what contradicts it, what is left to look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from valuation.inspection.concluding import Question
from valuation.inspection.contents import Contents, CostRange, Defect
from valuation.inspection.dates import show_day
from valuation.inspection.form_parts import BAD

__all__ = ["lines_of"]


def lines_of(
    name: str,
    contents: Contents,
    scores: Sequence[str],
    contradictions: Sequence[str],
    stops: Sequence[str],
    cost: CostRange | None,
    questions: Sequence[Question],
    notes: Sequence[str],
    cautions: Sequence[str],
) -> Iterator[str]:
    """Yield the lines of a summary.

    Parameters
    ----------
    name : str
        Name of the car.
    contents : Contents
        What the sheet says.
    scores : sequence of str
        Sentences on condition and originality.
    contradictions, stops, notes, cautions : sequence of str
        Sentences.
    cost : CostRange or None
        Cost of all defects with a figure.
    questions : sequence of Question
        What is still to be found out.
    """
    yield _heading(name, contents)
    yield from scores
    yield from _listed("Not to be bought as it stands:", stops)
    yield from _listed("Contradictions:", contradictions)
    if contents.defects:
        yield from _listed(_defects_heading(contents, cost), _defects(contents))
    yield from _listed("Work done:", _work(contents))
    yield from _listed("Still to find out:", _questions(questions))
    yield from _listed("Notes:", notes)
    yield from _listed("Cautions:", cautions)


def _listed(heading: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield ""
        yield heading
        yield from (f"  {line}" for line in lines)


def _heading(name: str, contents: Contents) -> str:
    visit = contents.visit
    parts = [name]
    if visit.lot:
        parts.append(f"lot {visit.lot}")
    if visit.on:
        parts.append(f"seen on {show_day(visit.on)}")
    if visit.by:
        parts.append(f"by {visit.by}")
    return ", ".join(parts)


def _defects_heading(contents: Contents, cost: CostRange | None) -> str:
    without = sum(d.cost is None for d in contents.defects)
    told = cost.shown if cost else "without a figure"
    more = f"; {without} more without a figure" if cost and without else ""
    return f"Defects: {told}{more}."


def _defects(contents: Contents) -> list[str]:
    """Return the defects, the worst first."""

    def rank(defect: Defect) -> int:
        return -BAD.index(defect.how_bad) if defect.how_bad else 1

    return [_defect(d) for d in sorted(contents.defects, key=rank)]


def _defect(defect: Defect) -> str:
    told = [defect.shown]
    if defect.cost is not None:
        told.append(defect.cost.shown)
    if defect.mark_after is not None:
        told.append(f"mark {defect.mark_after:g} after that")
    return ", ".join(told)


def _work(contents: Contents) -> list[str]:
    return [", ".join(t for t in (w.what, w.when, f"bills: {w.bills}") if t) for w in contents.work]


def _questions(questions: Sequence[Question]) -> list[str]:
    """Return what is half seen in full, and what nobody has looked at in one line."""
    out = [f"{_about(q)}: {q.sentence}" for q in questions if not q.untouched]
    untouched = [_about(q) for q in questions if q.untouched]
    return [*out, f"Not looked at: {', '.join(untouched)}."] if untouched else out


def _about(question: Question) -> str:
    return f"{question.about} ({question.minutes:g} min)" if question.minutes else question.about

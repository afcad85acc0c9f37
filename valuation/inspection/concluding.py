"""What contradicts what on a sheet, and what is still to be found out, in order of weight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from valuation.inspection.cautions import ORIGINALITY_CAUTIONS, SAFETY
from valuation.inspection.contents import Contents
from valuation.inspection.date_text import model_year
from valuation.inspection.dates import show_day
from valuation.inspection.form_parts import CLAIMED, OPEN_WORDS
from valuation.inspection.grade import ConditionGrade
from valuation.inspection.originality import OriginalityScore
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settled import Settled
from valuation.schema.kinds import NOT_LOOKED_AT

__all__ = ["CAUTIONS", "Question", "contradictions_of", "questions_of"]

CAUTIONS = (*SAFETY, *ORIGINALITY_CAUTIONS)
"""What is shown with every inspection."""


@dataclass(frozen=True, slots=True)
class Question:
    """Something that is still to be found out.

    Parameters
    ----------
    about : str
        Zone, component or attribute, for people.
    sentence : str
        What to find out, and how.
    minutes : float or None
        How long it takes, None if nobody can say.
    untouched : bool
        Whether nobody has looked at it at all.
    """

    about: str
    sentence: str
    minutes: float | None = None
    untouched: bool = False


def contradictions_of(
    contents: Contents, score: OriginalityScore, settings: InspectionSettings
) -> tuple[str, ...]:
    """Return what contradicts what, each in sentences with both dates or both numbers.

    Parameters
    ----------
    contents : Contents
        What the sheet says.
    score : OriginalityScore
        With what contradicts claims of components, and numbers that differ.
    settings : InspectionSettings
        When a model year starts.

    Returns
    -------
    tuple of str
        Those of components first, in the order of the sheet.
    """
    told = score.contradictions
    rest = tuple(s for s in score.identity if not any(_says(s, t) for t in told))
    return (*told, *rest, *_of_years(contents, settings))


def _says(sentence: str, told: str) -> bool:
    """Whether a number that differs is told already, with or without its component."""
    label, _, rest = sentence.partition(": ")
    return sentence in told or (told.startswith(f"{label}: ") and rest in told)


def _of_years(contents: Contents, settings: InspectionSettings) -> Iterator[str]:
    facts, first = contents.facts, contents.title.first_registered
    built = facts.built
    if built is None or len(built.readings) != 1:
        return
    made = built.readings[0]
    if facts.year is not None:
        named = model_year(facts.year, settings.model_year_start(facts.make, facts.year))
        days = named.readings[0]
        if made.last < days.first or made.first > days.last:
            yield (
                f"Built {built.when}, but model year {facts.year} was built from "
                f"{show_day(days.first)} to {show_day(days.last)}."
            )
    if first is not None and len(first.readings) == 1 and first.readings[0].last < made.first:
        yield f"First registered {first.when}, before the car was built {built.when}."


def questions_of(
    contents: Contents, grade: ConditionGrade, score: OriginalityScore, settled: Settled
) -> tuple[Question, ...]:
    """Return what is still to be found out.

    Parameters
    ----------
    contents : Contents
        What the sheet says.
    grade : ConditionGrade
        With its open zones.
    score : OriginalityScore
        With its open components.
    settled : Settled
        With the attributes that are open.

    Returns
    -------
    tuple of Question
        Zones by how much hangs on them, then components likewise, then papers and words.
    """
    return (*_of_zones(grade), *_of_components(score), *_of_facts(settled), *_of_lines(contents))


def _of_zones(grade: ConditionGrade) -> Iterator[Question]:
    for zone in grade.open:
        span = f"The grade would be {zone.low:.1f} to {zone.high:.1f}"
        known = zone.answer if zone.answer in OPEN_WORDS else "only the mark of its group is known"
        look = f"{known}. {zone.zone.how} Where: {zone.zone.where}. {span}."
        yield Question(
            zone.zone.label,
            look[:1].upper() + look[1:],
            zone.zone.minutes,
            zone.answer == NOT_LOOKED_AT,
        )


def _of_components(score: OriginalityScore) -> Iterator[Question]:
    for result in sorted(score.components, key=lambda c: c.low - c.high):
        if result.open:
            label = result.component.label
            told = " ".join(s.removeprefix(f"{label}: ") for s in result.open)
            untouched = told.startswith(NOT_LOOKED_AT)
            yield Question(label, told[:1].upper() + told[1:], result.component.minutes, untouched)


_TOLD = ("condition_grade", "originality_score", "engine_originality", "transmission_origin")


def _of_facts(settled: Settled) -> Iterator[Question]:
    for name, fact in settled.open.items():
        if name in (*_TOLD, "colour_origin"):
            continue
        about = name.replace("_", " ").capitalize()
        yield Question(about, f"{fact.how} Where: {fact.where}.", fact.minutes)


def _of_lines(contents: Contents) -> Iterator[Question]:
    for number, change in enumerate(contents.modifications, start=1):
        if not change.level:
            lacks = " and ".join(
                told
                for told, given in (
                    ("whether it can be undone", change.how),
                    ("whether it is of the period", change.when),
                )
                if not given
            )
            yield Question(f"Modification {number}, {change.kind}", f"Find out {lacks}.")
    for done in contents.work:
        if done.bills == CLAIMED or (done.bills in OPEN_WORDS and done.what):
            when = f", {done.when}" if done.when else ""
            yield Question("Work done", f"Ask for the bills: {done.what}{when}.")
    year, told = contents.title.year, contents.facts.year
    if year is not None and told is not None and year != told:
        yield Question(
            "Title",
            f"The year on the title is {year}, the model year {told}: ask what the papers count.",
        )

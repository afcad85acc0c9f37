"""What is known of a car for its customer: facts with how they are known, papers, open questions.

Every word is one of the contract's: a claim in a seller's own words, a note of the firm or what a
repair costs is nothing that the sheet repeats.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from valuation.appraisal.wordings import open_words, say
from valuation.inspection.settings import InspectionSettings
from valuation.records import Car, OpenFact
from valuation.results.customer_sheet_parts import CarFact, OpenQuestion
from valuation.results.valuation import Check
from valuation.schema import BY_NAME
from valuation.selling.sheet_words import plain_label, plain_value

__all__ = ["basic_facts", "finding_facts", "open_questions", "paper_facts"]

_BASICS = (
    ("Engine", ("engine_size", "engine_layout", "aspiration", "power", "fuel")),
    ("Gearbox", ("transmission", "gears")),
    ("Mileage", ("mileage", "mileage_status")),
    ("Colour", ("colour",)),
    ("Interior", ("interior_colour",)),
    ("Steering", ("steering_side",)),
    ("First market", ("original_market",)),
    ("Equipment", ("equipment",)),
)

_FINDINGS = (
    "condition_grade",
    "originality_score",
    "engine_originality",
    "transmission_origin",
    "colour_origin",
    "genuineness",
    "restoration",
    "restorer",
    "modifications",
    "re_engineered",
    "history",
    "title_status",
)

_SEEN = frozenset(
    {
        "body",
        "transmission",
        "colour",
        "interior_colour",
        "steering_side",
        "condition_grade",
        "originality_score",
        "engine_originality",
        "transmission_origin",
        "colour_origin",
        "modifications",
        "documents",
    }
)
"""What an inspection settles by looking; all else on its sheet is told or written there."""

_BY_PAPER = ("genuine, documented", "fresh restoration, documented", "proven")
"""What an inspection concludes only once the papers were seen."""

_MILEAGE = {
    "proven": "proven by papers",
    "stated": "as stated",
    "unknown": "true distance unknown",
    "exempt": "exempt from statement, true distance unknown",
}

_DOCUMENTS = "documents"

_AGAINST = "contradicted"


def _standing(car: Car, names: Sequence[str]) -> str:
    """Return how a fact is known: the weakest of what it rests on."""
    if any(name in car.statements for name in names):
        return "stated"
    seen = all(n in _SEEN or car.values.get(n) in _BY_PAPER for n in names)
    return "checked" if car.marks and seen else "recorded"


def basic_facts(car: Car) -> tuple[CarFact, ...]:
    """Return what car it is.

    Parameters
    ----------
    car : Car
        The car.
    """
    out = []
    for label, names in _BASICS:
        stated = [n for n in names if n in car.values]
        if stated and (value := _basic(car, stated)):
            out.append(CarFact(label, value, _standing(car, stated)))
    return tuple(out)


def _basic(car: Car, names: Sequence[str]) -> str:
    cells: dict[str, Any] = {**car.values, "chassis": car.chassis}
    if "mileage" in names:
        status = str(car.values.get("mileage_status", "stated"))
        return f"{say('mileage', cells)}, {_MILEAGE[status]}"
    if names == ["mileage_status"]:
        return _MILEAGE[str(car.values["mileage_status"])]
    texts = [plain_value(n, cells).replace(" gears", " forward gears") for n in names]
    return ", ".join(t for t in texts if t)


def finding_facts(car: Car, inspection: InspectionSettings) -> tuple[CarFact, ...]:
    """Return state, originality and history of a car.

    Parameters
    ----------
    car : Car
        The car.  What nobody looked at or settled is no fact, see :func:`open_questions`.
    inspection : InspectionSettings
        With the bands of the condition.
    """
    cells: dict[str, Any] = {**car.values, "chassis": car.chassis}
    out = [
        CarFact(plain_label(n), _finding(n, cells, inspection), _standing(car, [n]))
        for n in _FINDINGS
        if n in car.values
    ]
    gone = sorted(plain_label(n).lower() for n in car.cannot_be_told)
    if gone:
        out.append(CarFact("Can no longer be found out", ", ".join(gone), "recorded"))
    return tuple(out)


def _finding(name: str, cells: Mapping[str, Any], inspection: InspectionSettings) -> str:
    text = plain_value(name, cells)
    if name == "condition_grade" and isinstance(grade := cells[name], float | int):
        return f"{text} ({inspection.band(float(grade))})"
    return text


def paper_facts(car: Car) -> tuple[CarFact, ...]:
    """Return which documents are with a car.

    Parameters
    ----------
    car : Car
        The car.

    Returns
    -------
    tuple of CarFact
        One a kind of document; all are told, as a missing one counts as much as a present one.
    """
    fact = next((f for f in car.open if f.attribute == _DOCUMENTS), None)
    return tuple(
        CarFact(name.capitalize(), *_paper(car, fact, name)) for name in BY_NAME[_DOCUMENTS].levels
    )


def _paper(car: Car, fact: OpenFact | None, name: str) -> tuple[str, str]:
    """Return how one kind of document stands, and how that is known."""
    standing = _standing(car, [_DOCUMENTS])
    if fact is not None:
        sets = [set(level.split("; ")) for level in fact.levels]
        if sets and all(name in one for one in sets):
            return "with the car", standing
        if name in fact.claim.split("; "):
            return "said to be with the car, not seen", "stated"
        settled = sets and not any(name in one for one in sets)
        return ("not with the car", standing) if settled else ("not settled", "unknown")
    held = car.values.get(_DOCUMENTS)
    if isinstance(held, tuple):
        return ("with the car" if name in held else "not with the car"), standing
    looked = _DOCUMENTS not in car.not_looked_at
    return ("not stated" if looked else "not looked at"), "unknown"


def open_questions(car: Car, checks: Sequence[Check]) -> tuple[OpenQuestion, ...]:
    """Return what is not settled about a car.

    Parameters
    ----------
    car : Car
        The car.
    checks : sequence of Check
        What hangs on each fact.

    Returns
    -------
    tuple of OpenQuestion
        Contradictions first, then by the money between worst and best.
    """
    hangs = {c.attribute: (c.bad, c.good) for c in checks}
    found = sorted(_questions(car, hangs), key=lambda q: (q.state != _AGAINST, -_stake(q), q.label))
    return tuple(found)


def _questions(car: Car, hangs: Mapping[str, tuple[int, int]]) -> Iterator[OpenQuestion]:
    for fact in car.open:
        state = _AGAINST if fact.contradiction else "open"
        yield OpenQuestion(
            plain_label(fact.attribute),
            state,
            _possible(fact),
            _claim(fact),
            *hangs.get(fact.attribute, (None, None)),
        )
    for name in sorted(car.not_looked_at):
        label = plain_label(name)
        yield OpenQuestion(label, "not looked at", "", "", *hangs.get(name, (None, None)))


def _possible(fact: OpenFact) -> str:
    """Return what a fact can still be; the documents are told one by one."""
    if BY_NAME[fact.attribute].kind == "set" or (fact.low is None and not fact.levels):
        return ""
    if any("," in level for level in fact.levels):
        # Words with a comma of their own could not be told from the list of them.
        quoted = tuple(f"“{level}”" for level in fact.levels)
        return open_words(replace(fact, levels=quoted))
    return open_words(fact).replace(" points", " of 100 points")


def _claim(fact: OpenFact) -> str:
    """Return a claim if it is made of words of the contract, nothing if of the seller's own."""
    known = BY_NAME[fact.attribute].levels
    parts = fact.claim.split("; ")
    return fact.claim if known and all(p in known for p in parts) else ""


def _stake(question: OpenQuestion) -> int:
    if question.low is None or question.high is None:
        return 0
    return question.high - question.low

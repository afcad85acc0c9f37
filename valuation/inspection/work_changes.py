"""Which attributes of a car its work can change, and which it can't: a closed list, with reasons.

Work changes what a car looks like and how well it is kept.  It never brings back what a car was
born with, and it makes no papers and no history.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import NamedTuple

from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settle_seen import TRANSMISSION, outward
from valuation.inspection.settled import Settled
from valuation.records import OpenFact, Value
from valuation.schema import BY_NAME

__all__ = ["CHANGEABLE", "COST_ALONE", "Change", "Changing", "change"]

COST_ALONE = "It counts as cost alone."
"""Ends what is said of a line that restores nothing."""


class Change(NamedTuple):
    """What came of a line of work.

    Parameters
    ----------
    counts : bool
        Whether the car is another after it.
    note : str
        Why not, or what else follows; empty if there is nothing to say.
    """

    counts: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class Changing:
    """An attribute that a line of work is about to change.

    Parameters
    ----------
    attribute : str
        The attribute.
    value : Value
        What it is after the work.
    state : Settled
        Attributes of the car, changed in place.
    named : collection of str
        Attributes that any line of the work names: what follows from a line gives way to them.
    settings : InspectionSettings
        What a gearbox counts in the originality score.
    """

    attribute: str
    value: Value
    state: Settled
    named: Collection[str]
    settings: InspectionSettings

    @property
    def label(self) -> str:
        """The attribute for people."""
        return BY_NAME[self.attribute].label

    @property
    def today(self) -> Value | None:
        """What it is without the line, None if that isn't settled."""
        return self.state.values.get(self.attribute)

    def done(self, note: str = "") -> Change:
        """Change the attribute."""
        self.state.put(self.attribute, self.value)
        return Change(True, note)


def refused(sentence: str) -> Change:
    """Return that a line changes nothing, and why."""
    return Change(False, f"{sentence} {COST_ALONE}")


_OTHER_CAR = "it says which car this is: a car that is built to another needs a file of its own"

_REASONS = {
    "engine_originality": "no work brings back the engine a car was born with; a car that gets "
    "another engine needs a file of its own",
    "originality_score": "originality is what a car was born with: work can lose it and never "
    "brings it back",
    "genuineness": "a version is proven by papers, not by work",
    "documents": "papers are found and not made by work; bills of your own count once they exist",
    "equipment": "what came with the car is found and not made by work",
    "restorer": "who restored it counts once it is done",
    "mileage": "what a car has run stays as it is, and an odometer is never turned back",
    "mileage_status": "an odometer is proven by papers, not by work",
    "title_status": "a title is cured by papers: write days and cost under [cure]",
}

_RESTORED = ("partly restored", "fresh restoration", "fresh restoration, documented")
_DUE, _DONE = "major service due", "major service done"
_CONVERTED, _CHANGED = "converted later", "changed"


def change(line: Changing) -> Change:
    """Change an attribute of a car as a line of work says, if work can.

    Parameters
    ----------
    line : Changing
        The attribute, and what it is to be.

    Returns
    -------
    Change
        What came of it.
    """
    rule = CHANGEABLE.get(line.attribute)
    if rule is None:
        reason = _REASONS.get(line.attribute, _OTHER_CAR)
        return refused(f"{line.label} can't be changed by work: {reason}.")
    if line.today == line.value:
        return refused(f"{line.label} is that without this line.")
    return rule(line)


def _origin(line: Changing) -> Change:
    """Let a car wear the colour, or have the kind of gearbox, that it left the works with."""
    back = line.value not in (_CONVERTED, _CHANGED)
    proof = "Only if data plate or build record shows what it left the works with."
    return line.done(proof if back else "")


def _colour(line: Changing) -> Change:
    state = line.state
    if "colour_origin" in line.named or state.values.get("colour_origin") == _CHANGED:
        return line.done()
    state.put("colour_origin", _CHANGED)
    return line.done(
        "With another colour it no longer wears the one it left the works in; if this is that "
        "one, say so in a line on colour_origin."
    )


def _gearbox(line: Changing) -> Change:
    state = line.state
    if line.attribute == "transmission" and "gears" not in line.named:
        state.drop("gears")
    told = "transmission_origin" in line.named
    if told or state.values.get("transmission_origin") == _CONVERTED:
        return line.done()
    state.put("transmission_origin", _CONVERTED)
    _lose_gearbox(state, line.settings)
    return line.done(
        "With another gearbox the origin of the transmission is converted later, and the "
        "originality score may fall by what a gearbox counts."
    )


def _lose_gearbox(state: Settled, settings: InspectionSettings) -> None:
    """Let the originality score fall by up to what a gearbox counts."""
    name = "originality_score"
    weights = {c.name: c.weight for c in settings.components}
    loss = 100 * weights.get(TRANSMISSION, 0.0) / sum(weights.values())
    fact, value = state.open.get(name), state.values.get(name)
    if isinstance(value, float | int):
        fact = OpenFact(name, low=float(value), high=float(value))
    if fact is None or fact.low is None or fact.high is None:
        return
    low, high = outward(max(0.0, fact.low - loss), fact.high)
    if low < high:
        state.put(name, OpenFact(name, low=low, high=high, claim=fact.claim))


def _restoration(line: Changing) -> Change:
    levels = BY_NAME["restoration"].levels
    if line.value not in _RESTORED:
        return refused(f"Work makes a car one of: {', '.join(_RESTORED)}.")
    if line.today in levels and levels.index(str(line.today)) > levels.index(str(line.value)):
        return refused(f"The car is further than that without this line: {line.today}.")
    shown = "Only with photographs and bills of the work."
    return line.done(shown if line.value == _RESTORED[-1] else "")


def _history(line: Changing) -> Change:
    """Add that a major service is done to what is known to have happened."""
    if line.value != (_DONE,):
        return refused(f"Of the history work makes only this: {_DONE}.")
    fact, told = line.state.open.get("history"), line.today
    if fact is not None and fact.levels:
        levels = dict.fromkeys("; ".join(_served(_words(level))) for level in fact.levels)
        line.state.put(
            "history", OpenFact("history", tuple(levels), where=fact.where, how=fact.how)
        )
        return Change(True)
    known = told if isinstance(told, tuple) else ()
    if _DONE in known:
        return refused(f"{line.label} says that without this line.")
    line.state.put("history", _served(known))
    return Change(True)


def _words(level: str) -> tuple[str, ...]:
    return () if level == "none" else tuple(level.split("; "))


def _served(events: Collection[str]) -> tuple[str, ...]:
    return tuple(sorted({*events, _DONE} - {_DUE}))


def _modifications(line: Changing) -> Change:
    """Undo what is reversible."""
    if not (isinstance(line.today, tuple) and isinstance(line.value, tuple)):
        return refused("What was modified isn't settled, so nothing can be undone.")
    known, left = set(line.today), set(line.value)
    if added := sorted(left - known):
        return refused(f"Work on this list undoes and adds nothing: {', '.join(added)}.")
    if stuck := sorted(m for m in known - left if "/reversible/" not in m):
        return refused(f"What is permanent can't be undone: {', '.join(stuck)}.")
    return line.done()


CHANGEABLE: dict[str, Callable[[Changing], Change]] = {
    "colour": _colour,
    "interior_colour": Changing.done,
    "colour_origin": _origin,
    "transmission": _gearbox,
    "gears": _gearbox,
    "transmission_origin": _origin,
    "restoration": _restoration,
    "history": _history,
    "modifications": _modifications,
}
"""What a line of work can change besides the condition grade, and how."""

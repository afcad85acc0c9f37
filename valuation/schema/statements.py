"""What the words of an advert or a catalogue can say about a car: the contract, declared once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["GROUPS", "NOT_SAID", "STRENGTHS", "TOPICS", "Group", "Statement", "Strength", "Topic"]

Strength = Literal["claimed", "third-party", "documented", "hedged", "denied"]
"""How a thing is said.

``claimed``: the seller says so plainly.  ``third-party``: somebody other than the seller is named
for it.  ``documented``: it rests on a paper, photograph or stamp that the text names.  ``hedged``:
it is said with doubt or distance.  ``denied``: the text says that it is not so.
"""

Group = Literal["affirmed", "hedged", "denied"]
"""Which way a statement points."""

GROUPS: dict[Strength, Group] = {
    "claimed": "affirmed",
    "third-party": "affirmed",
    "documented": "affirmed",
    "hedged": "hedged",
    "denied": "denied",
}

STRENGTHS: tuple[Strength, ...] = tuple(GROUPS)

NOT_SAID = "not said"
"""Stands in a car file for a statement that the words do not make after all."""

_PREFIXES: dict[Group, str] = {"affirmed": "", "hedged": "perhaps ", "denied": "not "}


@dataclass(frozen=True, slots=True)
class Topic:
    """One thing about which listings make statements.

    Parameters
    ----------
    name : str
        Name in tables and files.
    label : str
        Name for people.
    help : str
        One sentence on what belongs here.
    values : tuple of str
        Closed vocabulary.
    """

    name: str
    label: str
    help: str
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing a text says about the car.

    Parameters
    ----------
    topic, value : str
        What is said, in the words of :data:`TOPICS`.  A denial names what is denied.
    strength : str
        How it is said, one of :data:`STRENGTHS`.
    words : str
        The words that carry it, as they stand in the text; empty for a correction.
    start, end : int
        Where they stand: ``text[start:end] == words``.

    Examples
    --------
    >>> said = Statement("faults", "rust", "denied", "no rust", 12, 19)
    >>> said.group, said.key, said.text
    ('denied', 'faults: rust', 'not faults: rust')
    """

    topic: str
    value: str
    strength: Strength
    words: str = ""
    start: int = 0
    end: int = 0

    @property
    def group(self) -> Group:
        """Which way it points: ``affirmed``, ``hedged`` or ``denied``."""
        return GROUPS[self.strength]

    @property
    def key(self) -> str:
        """Topic and value in one text, such as ``faults: rust``."""
        return f"{self.topic}: {self.value}"

    @property
    def text(self) -> str:
        """The key with the way it points before it: nothing, ``perhaps`` or ``not``."""
        return _PREFIXES[self.group] + self.key


_ALL = (
    Topic(
        "originality",
        "Originality",
        "What is as it left the works.",
        (
            "car",
            "engine",
            "gearbox",
            "final drive",
            "chassis",
            "body panels",
            "colour",
            "paint",
            "interior",
            "wheels",
            "glass",
        ),
    ),
    Topic(
        "numbers",
        "Numbers",
        "Whose stamped numbers agree, and which engine is in the car.",
        (
            "matching numbers",
            "matching engine",
            "matching gearbox",
            "matching final drive",
            "date-correct engine",
            "correct type engine",
            "works replacement engine",
            "replacement engine",
        ),
    ),
    Topic(
        "restoration",
        "Restoration",
        "Whether and when it was restored.",
        (
            "restored",
            "partly restored",
            "older restoration",
            "fresh restoration",
            "repainted",
            "retrimmed",
        ),
    ),
    Topic(
        "modifications",
        "Modifications",
        "What is other than the works made it, on purpose.",
        (
            "engine",
            "fuel system",
            "gearbox",
            "brakes",
            "suspension",
            "steering",
            "wheels",
            "body",
            "paint",
            "interior",
            "electrics",
            "exhaust",
            "any",
            "re-engineered",
        ),
    ),
    Topic(
        "documents",
        "Documents",
        "Which papers come with the car.",
        (
            "build record",
            "first bill of sale",
            "ownership chain",
            "restoration photographs",
            "bills",
            "handbook",
            "any",
        ),
    ),
    Topic(
        "genuineness",
        "Genuine or tribute",
        "Whether it is the rare version it looks like.",
        ("genuine", "tribute", "replica"),
    ),
    Topic(
        "owners",
        "Owners",
        "How many had it, and for how long.",
        ("one owner", "two owners", "three or more owners", "long ownership"),
    ),
    Topic(
        "mileage",
        "Mileage",
        "How far the odometer can be believed.",
        (
            "actual",
            "unknown",
            "exempt",
            "odometer replaced",
            "odometer not working",
            "rolled over",
        ),
    ),
    Topic(
        "title",
        "Title",
        "State of the papers of ownership.",
        (
            "clear",
            "not in the seller's name",
            "lien",
            "missing",
            "bill of sale only",
            "foreign, duty unpaid",
            "branded",
            "number differs",
        ),
    ),
    Topic(
        "faults",
        "Faults",
        "What is wrong with it.",
        (
            "rust",
            "filler",
            "leak",
            "does not run",
            "smoke",
            "overheating",
            "paint",
            "dents",
            "glass",
            "interior",
            "electrics",
            "brakes",
            "gearbox",
            "engine",
            "suspension",
            "tyres",
            "missing parts",
        ),
    ),
    Topic(
        "condition",
        "Condition",
        "What the whole car is called.",
        ("project", "tired", "driver", "sharp", "show"),
    ),
    Topic(
        "history",
        "History",
        "What is known to have happened to it.",
        (
            "accident",
            "fire",
            "flood",
            "racing",
            "well-known owner",
            "long stored",
            "running and maintained",
            "major service due",
            "major service done",
        ),
    ),
)

TOPICS: dict[str, Topic] = {t.name: t for t in _ALL}
"""Every topic by its name, in the order in which they are shown."""

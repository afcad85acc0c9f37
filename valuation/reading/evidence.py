"""From what a text says to the attributes of the contract, each with the words it rests on."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from valuation.schema.attributes import BY_NAME
from valuation.schema.statements import Statement

__all__ = ["Evidence", "attribute_of", "attributes_of", "unexpressed"]

Value = float | str | tuple[str, ...]

_ENGINE = {
    ("numbers", "matching engine"): "numbers-matching",
    ("numbers", "matching numbers"): "numbers-matching",
    ("originality", "engine"): "numbers-matching",
    ("numbers", "date-correct engine"): "date-correct",
    ("numbers", "correct type engine"): "correct type",
    ("numbers", "works replacement engine"): "maker's service replacement",
    ("numbers", "replacement engine"): "later replacement",
}
# Of two that say the same engine in more or less detail, the later ones give way.
_ENGINE_ORDER = (
    "maker's service replacement",
    "date-correct",
    "correct type",
    "later replacement",
)
_RESTORATION = ("partly restored", "older restoration", "fresh restoration")
_MILEAGE = {
    "unknown": "unknown",
    "odometer replaced": "unknown",
    "odometer not working": "unknown",
    "exempt": "exempt",
}
_WORN = {
    ("condition", "tired"),
    ("condition", "project"),
    ("faults", "rust"),
    ("faults", "interior"),
}
_SHOWN = frozenset({"restoration photographs", "bills"})


@dataclass(frozen=True, slots=True)
class Evidence:
    """Attributes that a text fills.

    Parameters
    ----------
    values : mapping of str to Value
        Attribute to value.
    rests_on : mapping of str to tuple of Statement
        The statements behind each attribute.
    notes : tuple of str
        What contradicts itself and therefore fills nothing, in sentences.
    """

    values: Mapping[str, Value] = field(default_factory=dict)
    rests_on: Mapping[str, tuple[Statement, ...]] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def attribute_of(said: Statement) -> str:
    """Return the attribute of the contract that a statement speaks of, empty if none does.

    Examples
    --------
    >>> attribute_of(Statement("title", "lien", "claimed"))
    'title_status'
    """
    topic, value = said.topic, said.value
    if (topic, value) in _ENGINE:
        return "engine_originality"
    if topic == "originality":
        return "colour_origin" if value == "colour" else ""
    if topic == "documents":
        known = value in BY_NAME["documents"].levels
        return "documents" if known or (value == "any" and said.group == "denied") else ""
    if topic == "restoration":
        told = value in _RESTORATION or (value == "restored" and said.group == "denied")
        return "restoration" if told else ""
    if topic == "modifications":
        if value == "any" and said.group == "denied":
            return "modifications"
        return {"re-engineered": "re_engineered", "gearbox": "transmission_origin"}.get(value, "")
    names = {"genuineness": "genuineness", "title": "title_status", "history": "history"}
    if topic == "mileage":
        return "mileage_status" if value == "actual" or value in _MILEAGE else ""
    if topic == "history" and said.group != "affirmed":
        return ""
    return names.get(topic, "")


def unexpressed(said: Iterable[Statement], stated: Collection[str]) -> tuple[str, ...]:
    """Return the texts of the statements that no stated attribute expresses, sorted.

    Parameters
    ----------
    said : iterable of Statement
        What a text says.
    stated : collection of str
        Attributes with a value.

    Examples
    --------
    >>> lien = Statement("title", "lien", "claimed")
    >>> unexpressed([lien, Statement("faults", "rust", "denied")], {"title_status"})
    ('not faults: rust',)
    """
    return tuple(sorted({s.text for s in said if attribute_of(s) not in stated}))


class _Filling:
    """Collects values, and what contradicts itself."""

    def __init__(self, said: Sequence[Statement]) -> None:
        affirmed = {(s.topic, s.value) for s in said if s.group == "affirmed"}
        denied = {(s.topic, s.value) for s in said if s.group == "denied"}
        self.torn = affirmed & denied
        self.said = said
        self.values: dict[str, Value] = {}
        self.rests_on: dict[str, tuple[Statement, ...]] = {}
        self.notes: list[str] = []

    def told(self, topic: str, group: str = "affirmed") -> list[Statement]:
        """Return what is said of a topic one way and not the other way too."""
        return [
            s
            for s in self.said
            if s.topic == topic and s.group == group and (s.topic, s.value) not in self.torn
        ]

    def fill(self, name: str, value: Value, rests_on: Iterable[Statement]) -> None:
        self.values[name] = value
        self.rests_on[name] = tuple(rests_on)

    def choose(self, name: str, found: Mapping[str, list[Statement]]) -> None:
        """Fill a category if exactly one of its levels is said."""
        if len(found) == 1:
            value, behind = next(iter(found.items()))
            self.fill(name, value, behind)
        elif found:
            listed = " and ".join(f'"{v}"' for v in found)
            self.notes.append(
                f"{BY_NAME[name].label} is left open: the words say {listed}, which do not agree."
            )


def _by_level(said: Iterable[Statement], levels: Mapping[str, str]) -> dict[str, list[Statement]]:
    out: dict[str, list[Statement]] = {}
    for s in said:
        if s.value in levels:
            out.setdefault(levels[s.value], []).append(s)
    return out


def _engine(f: _Filling) -> None:
    found: dict[str, list[Statement]] = {}
    for s in [*f.told("numbers"), *f.told("originality")]:
        level = _ENGINE.get((s.topic, s.value))
        if level:
            found.setdefault(level, []).append(s)
    # "A replacement, of the correct type" is one engine said twice.
    same = [level for level in _ENGINE_ORDER if level in found]
    for level in same[1:]:
        found.pop(level)
    f.choose("engine_originality", found)


def _documents(f: _Filling) -> None:
    known = [s for s in f.told("documents") if s.value in BY_NAME["documents"].levels]
    none = [s for s in f.told("documents", "denied") if s.value == "any"]
    if known:
        f.fill("documents", tuple(sorted({s.value for s in known})), known)
    elif none and not f.told("documents"):
        f.fill("documents", (), none)


def _restoration(f: _Filling) -> None:
    found = _by_level(f.told("restoration"), {v: v for v in _RESTORATION})
    never = [s for s in f.told("restoration", "denied") if s.value == "restored"]
    if never:
        worn = [s for s in f.said if s.group == "affirmed" and (s.topic, s.value) in _WORN]
        level = "unrestored, worn" if worn else "unrestored, preserved"
        found[level] = [*never, *worn]
    fresh = found.get("fresh restoration")
    shown = [s for s in f.told("documents") if s.value in _SHOWN]
    if fresh and (shown or any(s.strength == "documented" for s in fresh)):
        found["fresh restoration, documented"] = [*found.pop("fresh restoration"), *shown]
    f.choose("restoration", found)


def _modifications(f: _Filling) -> None:
    none = [s for s in f.told("modifications", "denied") if s.value == "any"]
    some = f.told("modifications")
    if none and not some:
        f.fill("modifications", (), none)
    for value, name, level in (
        ("re-engineered", "re_engineered", "yes"),
        ("gearbox", "transmission_origin", "converted later"),
    ):
        behind = [s for s in some if s.value == value]
        if behind:
            f.fill(name, level, behind)


def _genuineness(f: _Filling) -> None:
    found: dict[str, list[Statement]] = {}
    for s in f.said:
        if s.topic != "genuineness":
            continue
        if (s.topic, s.value) in f.torn:
            level = "claimed, not documented"
        elif s.group == "denied":
            level = "tribute" if s.value == "genuine" else ""
        elif s.value != "genuine":
            level = s.value if s.group == "affirmed" else ""
        elif s.strength == "documented":
            level = "genuine, documented"
        else:
            level = "claimed, not documented"
        if level:
            found.setdefault(level, []).append(s)
    if "genuine, documented" in found:
        found.pop("claimed, not documented", None)
    if "replica" in found:
        found.pop("tribute", None)
    f.choose("genuineness", found)


def _mileage(f: _Filling) -> None:
    said = f.told("mileage")
    found = _by_level(said, _MILEAGE)
    actual = [s for s in said if s.value == "actual"]
    if actual:
        proven = any(s.strength == "documented" for s in actual)
        found["proven" if proven else "stated"] = actual
    f.choose("mileage_status", found)


def _title(f: _Filling) -> None:
    levels = BY_NAME["title_status"].levels
    found = _by_level(f.told("title"), {v: v for v in levels})
    # A car without a title is sold on a bill of sale: the papers that are there count.
    if "bill of sale only" in found:
        found.pop("missing", None)
    if len(found) > 1:
        found.pop("clear", None)
    f.choose("title_status", found)


def _rest(f: _Filling) -> None:
    history = f.told("history")
    if history:
        f.fill("history", tuple(sorted({s.value for s in history})), history)
    colour = {
        "as it left the works": [s for s in f.told("originality") if s.value == "colour"],
        "changed": [s for s in f.told("originality", "denied") if s.value == "colour"],
    }
    f.choose("colour_origin", {level: behind for level, behind in colour.items() if behind})


def attributes_of(said: Sequence[Statement]) -> Evidence:
    """Return the attributes of the contract that statements fill.

    Parameters
    ----------
    said : sequence of Statement
        What a text says.

    Returns
    -------
    Evidence
        Hedged statements fill nothing, save that a version said with doubt is claimed without
        documents.  Contradictions fill nothing and are told in the notes.

    Examples
    --------
    >>> found = attributes_of([Statement("title", "lien", "claimed", "bank lien", 0, 9)])
    >>> dict(found.values), found.rests_on["title_status"][0].words
    ({'title_status': 'lien'}, 'bank lien')
    """
    f = _Filling(said)
    for step in (_engine, _documents, _restoration, _modifications, _genuineness, _mileage):
        step(f)
    _title(f)
    _rest(f)
    for topic, value in sorted(f.torn):
        f.notes.append(f'The words both say and deny "{topic}: {value}".')
    return Evidence(f.values, f.rests_on, tuple(f.notes))

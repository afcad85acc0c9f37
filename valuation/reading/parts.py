"""The parts of a car: how they are named together, and what a property says of each."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from valuation.reading.phrases import Hit

__all__ = ["MODIFIED", "ORIGINALITY", "Group", "Said", "groups_of", "said_of"]

ORIGINALITY = {
    "engine": "engine",
    "gearbox": "gearbox",
    "axle": "final drive",
    "chassis": "chassis",
    "body": "body panels",
    "colour": "colour",
    "paint": "paint",
    "interior": "interior",
    "lining": "interior",
    "wheels": "wheels",
    "glass": "glass",
    "windows": "glass",
}
MODIFIED = {
    "engine": "engine",
    "gearbox": "gearbox",
    "body": "body",
    "paint": "paint",
    "interior": "interior",
    "lining": "interior",
    "wheels": "wheels",
    "brakes": "brakes",
    "suspension": "suspension",
    "steering": "steering",
    "electrics": "electrics",
    "ignition": "electrics",
    "exhaust": "exhaust",
    "fuel": "fuel system",
}
_NUMBERS = {
    "engine": "matching engine",
    "gearbox": "matching gearbox",
    "axle": "matching final drive",
}
_FAULTY = {
    "bad": {
        "paint": "paint",
        "interior": "interior",
        "lining": "interior",
        "brakes": "brakes",
        "suspension": "suspension",
        "steering": "suspension",
        "tyres": "tyres",
        "gearbox": "gearbox",
        "clutch": "gearbox",
        "electrics": "electrics",
    },
    "cracked": {
        "paint": "paint",
        "interior": "interior",
        "lining": "interior",
        "glass": "glass",
        "windows": "glass",
        "tyres": "tyres",
    },
    "surface": {"paint": "paint", "exterior": "paint"},
    "cloth": {"interior": "interior", "lining": "interior"},
    "dead": {"electrics": "electrics", "windows": "electrics"},
    "loud": {"gearbox": "gearbox", "clutch": "gearbox"},
    "rough": {"engine": "engine"},
    "old": {"tyres": "tyres"},
    "missing": dict.fromkeys(
        [
            "engine",
            "gearbox",
            "axle",
            "wheels",
            "glass",
            "windows",
            "electrics",
            "other",
            "hood",
            "exhaust",
            "fuel",
            "exterior",
        ],
        "missing parts",
    ),
}
_NOT_AS_BUILT = frozenset({"gearbox", "axle", "chassis", "body", "wheels", "glass"})

_JOIN = re.compile(
    r"\s*(?:(?P<link>,?\s*(?:and|or|nor|plus)\b|&|\+|/)|(?P<comma>,))\s*"
    r"(?:(?:the|its|his|her|my|their|all|of|both|any|even|most|also|a|an)\s+)*"
)


@dataclass(frozen=True, slots=True)
class Said:
    """Something said of a part.

    Parameters
    ----------
    topic, value : str
        What.
    hit : Hit
        The words from the part to what is said of it.
    place : int
        Where a negation or a doubt has to hold.
    denied, hedged : bool
        Whether it is denied or doubted by the words themselves.
    """

    topic: str
    value: str
    hit: Hit
    place: int
    denied: bool = False
    hedged: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Parts that are named together, in the order of the text."""

    parts: tuple[Hit, ...]

    @property
    def start(self) -> int:
        """Where the first of them begins."""
        return self.parts[0].start

    @property
    def end(self) -> int:
        """Where the last of them ends."""
        return self.parts[-1].end


def groups_of(text: str, parts: Sequence[Hit]) -> list[Group]:
    """Join parts that are named together: "engine, gearbox and axle"."""
    out: list[list[Hit]] = []
    links: list[bool] = []
    for part in parts:
        if out:
            between = _JOIN.fullmatch(text, out[-1][-1].end, part.start)
            if between:
                out[-1].append(part)
                links[-1] |= between["link"] is not None
                continue
            if not text[out[-1][-1].end : part.start].strip(" -"):
                out[-1].append(part)
                continue
        out.append([part])
        links.append(False)
    done: list[Group] = []
    for group, linked in zip(out, links, strict=True):
        apart = any("," in text[a.end : b.start] for a, b in pairwise(group))
        if apart and not linked:
            done += [Group((p,)) for p in group]
        else:
            done.append(Group(tuple(group)))
    return done


def said_of(part: Hit, prop: str, hit: Hit, place: int) -> Iterator[Said]:
    """Yield what a property says of a part."""
    name = part.label[1]
    if prop == "original" and name in ORIGINALITY:
        yield Said("originality", ORIGINALITY[name], hit, place)
    elif (prop == "unoriginal" and name in ORIGINALITY) or (
        prop == "changed" and name in ORIGINALITY and name not in ("engine", "paint", "colour")
    ):
        yield Said("originality", ORIGINALITY[name], hit, place, denied=True)
    elif prop in ("replaced", "changed") and name == "engine":
        yield Said("numbers", "replacement engine", hit, place)
    elif prop == "replaced" and name in _NOT_AS_BUILT:
        yield Said("originality", ORIGINALITY[name], hit, place, denied=True)
    elif prop == "matching" and name in _NUMBERS:
        yield Said("numbers", _NUMBERS[name], hit, place)
    elif prop == "dated" and name == "engine":
        yield Said("numbers", "date-correct engine", hit, place)
    elif prop == "type" and name == "engine":
        yield Said("numbers", "correct type engine", hit, place)
    elif prop == "rebuilt" and name in ("engine", "gearbox"):
        yield Said("history", "major service done", hit, place)
    elif prop == "retrim" and name == "interior":
        yield Said("restoration", "retrimmed", hit, place)
    elif prop == "repaint" and name == "paint":
        yield Said("restoration", "repainted", hit, place)
    elif prop in ("modified", "fitted") and name in MODIFIED:
        yield Said("modifications", MODIFIED[name], hit, place)
    elif name == "odometer" and prop in ("replaced", "changed"):
        yield Said("mileage", "odometer replaced", hit, place)
    elif name == "odometer" and prop == "stopped":
        yield Said("mileage", "odometer not working", hit, place)
    elif name == "mileage" and prop in ("true", "original"):
        yield Said("mileage", "actual", hit, place)
    elif name == "title" and prop in ("clear", "missing"):
        yield Said("title", prop, hit, place)
    elif name in _FAULTY.get(prop, {}):
        yield Said("faults", _FAULTY[prop][name], hit, place)

"""Of what was found at one place, what is kept."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from valuation.reading.found import Found
from valuation.schema.statements import Statement, Strength

__all__ = ["once", "settled"]

_BETTER = {
    ("genuineness", "genuine"): (("mileage", "actual"),),
    ("numbers", "replacement engine"): (
        ("numbers", "works replacement engine"),
        ("modifications", "engine"),
    ),
    ("originality", "engine"): (
        ("numbers", "works replacement engine"),
        ("numbers", "replacement engine"),
        ("modifications", "engine"),
    ),
    ("originality", "interior"): (("restoration", "retrimmed"),),
    ("originality", "paint"): (("restoration", "repainted"),),
    ("modifications", "interior"): (("restoration", "retrimmed"), ("faults", "interior")),
    ("modifications", "electrics"): (("mileage", "odometer replaced"),),
    ("modifications", "steering"): (("faults", "leak"),),
    ("restoration", "restored"): (
        ("restoration", "older restoration"),
        ("restoration", "fresh restoration"),
        ("restoration", "partly restored"),
    ),
    ("originality", "body panels"): (("restoration", "repainted"),),
    ("faults", "missing parts"): (("documents", "handbook"), ("title", "missing")),
    ("mileage", "actual"): (("mileage", "unknown"),),
    ("faults", "engine"): (("faults", "suspension"),),
}
# A part of another kind is a change, not just a part that is not original.
_OTHER_KIND = {
    ("originality", "gearbox"): (("modifications", "gearbox"),),
    ("originality", "wheels"): (("modifications", "wheels"),),
    ("originality", "interior"): (("modifications", "interior"),),
    ("originality", "body panels"): (("modifications", "body"),),
}


def _meet(one: Found, other: Found) -> bool:
    return one.start < other.end and other.start < one.end


def _same_engine(one: Found, other: Found) -> bool:
    """Tell whether two statements a few words apart are about one engine."""
    apart = max(one.start, other.start) - min(one.end, other.end)
    return one.topic == other.topic == "numbers" and apart < 45


def settled(found: Sequence[Found]) -> Iterator[Found]:
    """Leave out what a closer statement at the same place says better."""
    for s in found:
        rivals = _BETTER.get((s.topic, s.value), ())
        if s.group == "denied":
            engine = s.value == "replacement engine"
            keeps = s.topic not in ("numbers", "mileage") and s.value not in (
                "body panels",
                "interior",
            )
            rivals = (("originality", "engine"),) if engine else () if keeps else rivals
            rivals += _OTHER_KIND.get((s.topic, s.value), ())
        near = [o for o in found if _meet(o, s) or _same_engine(o, s)]
        if any((o.topic, o.value) in rivals and o.group != "denied" for o in near):
            continue
        again = [o for o in near if (o.topic, o.value) == (s.topic, s.value)]
        if s.topic == "title" and s.group == "denied" and any(o.group != "denied" for o in again):
            # "No title, lost" misses it once.
            continue
        if s.value == "missing parts" and any(o.topic == "originality" for o in near):
            continue
        yield s


_SPAN = re.compile(r"\b(?:years|yrs|decades)\b")


def _fuller(said: Found, first: Found, text: str) -> bool:
    """Tell whether a later mention says how long, where the first only says since when."""
    if said.value != "long ownership":
        return False
    return bool(_SPAN.search(text, *said.span)) and not _SPAN.search(text, *first.span)


_ORDER = ("claimed", "third-party", "documented")


def _stronger(other: Found, said: Found) -> bool:
    """Tell whether the same is said at the same place on better authority."""
    same = (other.topic, other.value, other.group) == (said.topic, said.value, said.group)
    if not same or said.group != "affirmed":
        return False
    meet = other.start < said.end and said.start < other.end
    return meet and _ORDER.index(other.strength) > _ORDER.index(said.strength)


def once(found: Iterable[Found], text: str) -> tuple[Statement, ...]:
    """Keep each topic, value and strength once, where it stands first or fullest."""
    out: dict[tuple[str, str, Strength], Found] = {}
    listed = sorted(found, key=lambda s: (s.start, s.end))
    for s in listed:
        if any(_stronger(o, s) for o in listed):
            continue
        if s.key not in out or _fuller(s, out[s.key], text):
            out[s.key] = s
    spans = ((s.key, *s.span) for s in out.values())
    kept = [Statement(*key, text[start:end], start, end) for key, start, end in spans]
    return tuple(sorted(kept, key=lambda s: (s.start, s.end)))

"""Statements in an advert or a catalogue entry: what its words say of the car, and how."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from valuation.reading.anaphora import Mention, point_back
from valuation.reading.clauses import Layout, fold_in_place, lay_out
from valuation.reading.components import link_parts
from valuation.reading.lexicon import index
from valuation.reading.parts import Said
from valuation.reading.phrases import Hit
from valuation.reading.sources import find_sources
from valuation.reading.strengths import Scope, find_scopes, strength_at
from valuation.reading.versions import Version, find_versions
from valuation.schema.statements import Statement, Strength

__all__ = ["read_statements"]


# A wish or a question: what should or could be done was not.
_TO_BE = re.compile(
    r"\b(?:to|should|could|would|can|will|must|shall) (?:\w+ly )?(?:be|get) (?:\w+ )?$"
)
_BETTER = {
    ("genuineness", "genuine"): (("mileage", "actual"),),
    ("originality", "paint"): (("faults", "paint"),),
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
    ("modifications", "interior"): (("restoration", "retrimmed"), ("faults", "interior")),
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


def _outer(hits: Sequence[Hit]) -> list[Hit]:
    """Leave out what lies within a longer hit."""
    ordered = sorted(hits, key=lambda h: (h.start, -h.end))
    out: list[Hit] = []
    for hit in ordered:
        if any(o.holds(hit) for o in out):
            continue
        out.append(hit)
    return out


_STRONG = frozenset({"original", "matching", "type", "dated", "true"})


def _properties(hits: Sequence[Hit]) -> list[Hit]:
    """Leave out what lies within a longer hit of the same property, or of one that settles it."""
    ordered = sorted(hits, key=lambda h: (h.start, -h.end))
    return [
        h
        for h in ordered
        if not any(o.holds(h) and (o.label == h.label or o.label[1] in _STRONG) for o in ordered)
    ]


def _unmasked(hits: Iterable[Hit], masks: Sequence[Hit]) -> list[Hit]:
    """Leave out what overlaps words that only look like it."""
    return [h for h in hits if not any(m.start <= h.start and h.end <= m.end for m in masks)]


def _kinds(hits: Sequence[Hit], *kinds: str) -> list[Hit]:
    return [h for h in hits if h.label[0] in kinds]


def _cues(hits: Sequence[Hit]) -> list[Hit]:
    """Return negations and doubts, without idioms that are none."""
    cues = _kinds(hits, "cue")
    masks = [h for h in cues if h.label[1] in ("mask", "sure")]
    real = [h for h in cues if h.label[1] in ("neg", "without", "hedge", "void")]
    real = _unmasked(real, masks)
    kept = _outer([h for h in real if h.label[1] != "void"])
    return sorted([*kept, *(h for h in real if h.label[1] == "void")], key=lambda h: h.start)


def _topics(hits: Sequence[Hit]) -> list[Hit]:
    """Return the statements' own phrases, the longest where they overlap."""
    flat = _kinds(hits, "say", "deny", "maybe", "beside", "near")
    out = []
    voids = _kinds(hits, "void")
    for hit in flat:
        masks = [v for v in voids if v.label[1:] == hit.label[1:]]
        if not _unmasked([hit], masks):
            continue
        out.append(hit)
    return [h for h in out if not any(o.holds(h) and not _beside(o, h) for o in out)]


def _beside(other: Hit, hit: Hit) -> bool:
    """Tell whether one run of words says both: "I bought it new in 1971"."""
    values = {other.label[2], hit.label[2]}
    if values == {"colour", "repainted"}:
        return True
    return other.label[1] == "owners" and len(values) == 2 and "long ownership" in values


def _flat(layout: Layout, topics: Sequence[Hit], scopes: Sequence[Scope]) -> Iterator[Statement]:
    topic_of = {h.label[1] for h in topics if h.label[0] == "say"}
    for hit in topics:
        kind, topic, value = hit.label
        if kind == "beside" and topic not in topic_of:
            continue
        if kind == "near" and not _near_work(layout, hit, topics):
            continue
        if topic in ("restoration", "modifications") and _TO_BE.search(
            layout.text, max(0, hit.start - 24), hit.start
        ):
            continue
        strength = strength_at(
            scopes, hit, hit.start, denied=kind == "deny", hedged=kind == "maybe"
        )
        if topic in ("documents", "title") and strength == "documented":
            # The paper itself is claimed to be there, whatever rests on it.
            strength = "claimed"
        if strength is not None:
            yield Statement(topic, value, strength, "", hit.start, hit.end)


def _near_work(layout: Layout, hit: Hit, topics: Sequence[Hit]) -> bool:
    """Tell whether a sentence that speaks of photographs speaks of work on the car."""
    sentence = layout.sentence(hit.start)
    return any(t.label[1] == "restoration" and layout.sentence(t.start) == sentence for t in topics)


def _of_parts(said: Sequence[Said], scopes: Sequence[Scope]) -> Iterator[Statement]:
    for s in said:
        prop = Hit(("said",), s.place, max(s.hit.end, s.place + 1), s.hit.gaps)
        strength = strength_at(scopes, prop, s.place, denied=s.denied, hedged=s.hedged)
        if strength is not None:
            yield Statement(s.topic, s.value, strength, "", s.hit.start, s.hit.end)


def _of_versions(versions: Sequence[Version], scopes: Sequence[Scope]) -> Iterator[Statement]:
    for v in versions:
        strength = strength_at(scopes, v.hit, v.hit.end - 1, denied=v.denied)
        if v.denied and strength is not None:
            strength = "denied"
        if strength is None or (v.naming and strength == "claimed"):
            continue
        yield Statement("genuineness", "genuine", strength, "", v.hit.start, v.hit.end)


def _mentions(
    topics: Sequence[Hit], said: Sequence[Said], versions: Sequence[Version]
) -> list[Mention]:
    """Return everything the text speaks of, whichever way."""
    out = [Mention(h.label[1], h.label[2], h.start, h.end) for h in topics]
    out += [Mention(s.topic, s.value, s.hit.start, s.hit.end) for s in said]
    out += [Mention("genuineness", "genuine", v.hit.start, v.hit.end) for v in versions]
    return out


def _meet(one: Statement, other: Statement) -> bool:
    return one.start < other.end and other.start < one.end


def _settled(found: Sequence[Statement]) -> Iterator[Statement]:
    """Leave out what a closer statement at the same place says better."""
    for s in found:
        rivals = _BETTER.get((s.topic, s.value), ())
        if s.group == "denied":
            engine = s.value == "replacement engine"
            keeps = s.topic != "numbers" and s.value not in ("body panels", "interior")
            rivals = (("originality", "engine"),) if engine else () if keeps else rivals
        near = [o for o in found if _meet(o, s)]
        if any((o.topic, o.value) in rivals and o.group != "denied" for o in near):
            continue
        if s.value == "missing parts" and any(o.topic == "originality" for o in near):
            continue
        yield s


_ORDER = ("claimed", "third-party", "documented")


def _stronger(other: Statement, said: Statement) -> bool:
    """Tell whether the same is said at the same place on better authority."""
    same = (other.topic, other.value, other.group) == (said.topic, said.value, said.group)
    if not same or said.group != "affirmed":
        return False
    meet = other.start < said.end and said.start < other.end
    return meet and _ORDER.index(other.strength) > _ORDER.index(said.strength)


def _once(found: Iterable[Statement], text: str) -> tuple[Statement, ...]:
    """Keep each topic, value and strength once, where it stands first, with its words."""
    out: dict[tuple[str, str, Strength], Statement] = {}
    listed = sorted(found, key=lambda s: (s.start, s.end))
    for s in listed:
        if any(_stronger(o, s) for o in listed):
            continue
        key = (s.topic, s.value, s.strength)
        if key not in out:
            out[key] = Statement(*key, text[s.start : s.end], s.start, s.end)
    return tuple(out.values())


def _speaks(hits: Sequence[Hit], text: str) -> bool:
    """Tell whether anything in a text can become a statement: most headings hold nothing."""
    kinds = {h.label[0] for h in hits}
    if kinds & {"say", "deny", "maybe"} or {"part", "property"} <= kinds:
        return True
    return "cue" in kinds and next(find_versions(text, ()), None) is not None


@lru_cache(maxsize=100_000)
def read_statements(text: str) -> tuple[Statement, ...]:
    """Read what a text says about the car.

    Parameters
    ----------
    text : str
        An advert, a catalogue entry or a heading, in English.

    Returns
    -------
    tuple of Statement
        In the order of the text, each topic, value and strength once.

    Examples
    --------
    >>> for s in read_statements("Engine and gearbox are original, the wheels are not. No rust."):
    ...     print(s.text, "|", s.words)
    originality: engine | Engine and gearbox are original
    originality: gearbox | Engine and gearbox are original
    not originality: wheels | wheels are not
    not faults: rust | rust
    """
    folded = fold_in_place(text)
    hits = sorted(index().find(folded), key=lambda h: (h.start, h.end))
    if not _speaks(hits, text):
        return ()
    masks = _kinds(hits, "void")
    cues = _cues(hits)
    topics = _topics(hits)
    part_masks = [m for m in masks if m.label[1] == "part"]
    parts = _outer(_unmasked(_kinds(hits, "part"), part_masks))
    props = _properties(_kinds(hits, "property"))
    whole = [
        (h.start, h.end) for h in [*topics, *cues] if re.search(r"\W", folded[h.start : h.end])
    ]
    layout = lay_out(text, folded, whole)
    said, used = link_parts(layout, parts, props)
    spoken = [*topics, *(Hit(("said",), s.place, s.hit.end) for s in said)]
    versions = list(find_versions(text, [*topics, *parts]))
    spoken += [v.hit for v in versions]
    scopes = [*find_scopes(layout, cues, spoken), *find_sources(layout, text, hits, spoken)]
    topics = [t for t in topics if not _taken(t, used) and not _in_name(t, versions)]
    found = [
        *_flat(layout, topics, scopes),
        *_of_parts(said, scopes),
        *_of_versions(versions, scopes),
    ]
    back = list(point_back(folded, _mentions(topics, said, versions), scopes))
    found = [s for s in found if not any(b.takes_back(s) for b in back)]
    found += [b.statement for b in back]
    return _once(_settled(found), text)


def _in_name(hit: Hit, versions: Sequence[Version]) -> bool:
    """Tell whether a word is part of the name of a version, as in "a real Hill Climb"."""
    return any(a <= hit.start < b for a, b in (v.name for v in versions))


def _taken(hit: Hit, used: Sequence[Hit]) -> bool:
    """Tell whether a word about the whole car was said of a part."""
    whole = hit.label[1] in ("condition",) or hit.label[1:] in (
        ("originality", "car"),
        ("numbers", "matching numbers"),
        ("faults", "does not run"),
    )
    if whole:
        return any(u.start < hit.end and hit.start < u.end for u in used)
    if hit.label[1] == "restoration" and hit.label[2] not in ("repainted", "retrimmed"):
        rebuilt = [u for u in used if u.label[1] in ("rebuilt", "retrim", "repaint")]
        return any(u.start < hit.end and hit.start < u.end for u in rebuilt)
    return False

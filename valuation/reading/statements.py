"""Statements in an advert or a catalogue entry: what its words say of the car, and how."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from valuation.reading.clauses import Layout, fold_in_place, lay_out
from valuation.reading.components import Said, link_parts
from valuation.reading.lexicon import index
from valuation.reading.phrases import Hit
from valuation.reading.sources import find_sources
from valuation.reading.strengths import Scope, find_scopes, strength_at
from valuation.reading.versions import Version, find_versions
from valuation.schema.statements import Statement, Strength

__all__ = ["read_statements"]


def _outer(hits: Sequence[Hit]) -> list[Hit]:
    """Leave out what lies within a longer hit."""
    ordered = sorted(hits, key=lambda h: (h.start, -h.end))
    out: list[Hit] = []
    for hit in ordered:
        if any(o.holds(hit) for o in out):
            continue
        out.append(hit)
    return out


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
    flat = _kinds(hits, "say", "deny", "maybe", "beside")
    out = []
    voids = _kinds(hits, "void")
    for hit in flat:
        masks = [v for v in voids if v.label[1] == hit.label[1]]
        if not _unmasked([hit], masks):
            continue
        out.append(hit)
    return [
        h
        for h in out
        if not any((o.holds(h) and o.label[1:] != h.label[1:]) or _same(o, h) for o in out)
    ]


def _same(other: Hit, hit: Hit) -> bool:
    """Tell whether another hit says the same thing at the same place with more words."""
    return other.label[1:] == hit.label[1:] and other.holds(hit)


def _flat(layout: Layout, topics: Sequence[Hit], scopes: Sequence[Scope]) -> Iterator[Statement]:
    topic_of = {h.label[1] for h in topics if h.label[0] == "say"}
    for hit in topics:
        kind, topic, value = hit.label
        if kind == "beside" and topic not in topic_of:
            continue
        strength = strength_at(
            scopes, hit, hit.start, denied=kind == "deny", hedged=kind == "maybe"
        )
        if strength is not None:
            yield Statement(topic, value, strength, "", hit.start, hit.end)


def _of_parts(said: Sequence[Said], scopes: Sequence[Scope]) -> Iterator[Statement]:
    for s in said:
        prop = Hit(("said",), s.place, max(s.hit.end, s.place + 1), s.hit.own)
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


def _once(found: Iterable[Statement], text: str) -> tuple[Statement, ...]:
    """Keep each topic, value and strength once, where it stands first, with its words."""
    out: dict[tuple[str, str, Strength], Statement] = {}
    for s in sorted(found, key=lambda s: (s.start, s.end)):
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
    props = _outer(_kinds(hits, "property"))
    whole = [
        (h.start, h.end) for h in [*topics, *cues] if re.search(r"\W", folded[h.start : h.end])
    ]
    layout = lay_out(text, folded, whole)
    said, used = link_parts(layout, parts, props)
    spoken = [*topics, *(Hit(("said",), s.place, s.hit.end) for s in said)]
    versions = list(find_versions(text, [*topics, *parts]))
    spoken += [v.hit for v in versions]
    scopes = [*find_scopes(layout, cues, spoken), *find_sources(layout, text, hits, spoken)]
    topics = [t for t in topics if not _taken(t, used)]
    found = [
        *_flat(layout, topics, scopes),
        *_of_parts(said, scopes),
        *_of_versions(versions, scopes),
    ]
    return _once(found, text)


def _taken(hit: Hit, used: Sequence[Hit]) -> bool:
    """Tell whether a word about the whole car was said of a part."""
    whole = hit.label[1] in ("condition",) or hit.label[1:] in (
        ("originality", "car"),
        ("numbers", "matching numbers"),
    )
    return whole and any(u.start < hit.end and hit.start < u.end for u in used)

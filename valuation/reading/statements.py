"""Statements in an advert or a catalogue entry: what its words say of the car, and how."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

from valuation.reading.alike import written_alike
from valuation.reading.anaphora import Mention, point_back
from valuation.reading.answers import find_answers, headings_as_colons
from valuation.reading.asides import Aside, aside_scopes, find_asides, smoothed
from valuation.reading.clauses import Layout, fold_in_place, lay_out, without_stops
from valuation.reading.components import link_parts
from valuation.reading.elsewhere import find_elsewhere
from valuation.reading.found import Found
from valuation.reading.lexicon import index
from valuation.reading.others import find_others
from valuation.reading.parts import Said
from valuation.reading.phrases import Hit
from valuation.reading.picking import cues, kinds, outer, properties, topics, unmasked
from valuation.reading.reach import find_scopes
from valuation.reading.settling import once, settled
from valuation.reading.sources import find_sources
from valuation.reading.strengths import Scope, Verdict, strength_at
from valuation.reading.undone import undone
from valuation.reading.versions import Version, find_versions
from valuation.schema.statements import Statement

__all__ = ["listing_text", "read_statements"]

# A wish or a question: what should or could be done was not.
# "What is original is the glass" says it of the glass, not of the car.
_CLEFT = re.compile(
    r"\b(?:what|all that|only (?:thing|part|item|bit)s?(?: that)?)(?: \w+){0,2}[ ']+\w$"
)
# "The colour is the one in which it was built": the doubt before it holds for all of it.
_ONE_WHICH = re.compile(
    r"\b(?:the ones?|that|those|the \w+)\s+(?:(?:in|with|on|to|by)\s+)?"
    r"(?:which|that|it|she|he)\b(?=[^.;]*$)"
)
_JOINED = re.compile(
    r"(?:(?:and|or|but|though|nor)\s+)?(?P<own>.*?)(?:\s+(?:and|or|but|though|nor))?"
)
_SAYING = ("say", "deny", "maybe", "only_denied", "property")
_TO_BE = re.compile(
    r"(?<!said )(?<!believed )(?<!thought )(?<!known )(?<!reported )(?<!reputed )"
    r"\b(?:to|should|could|would|can|will|must|shall) (?:\w+ly )?(?:be|get) (?:\w+ )?$"
)


def _flat(
    layout: Layout, topics: Sequence[Hit], scopes: Sequence[Scope], asides: Sequence[Aside]
) -> Iterator[Found]:
    topic_of = {h.label[1] for h in topics if h.label[0] == "say"}
    for hit in topics:
        kind, topic, value = hit.label
        if kind == "beside" and topic not in topic_of:
            continue
        if (topic, value) == ("originality", "car") and _CLEFT.search(
            layout.text, max(0, hit.start - 24), hit.start + 1
        ):
            continue
        if kind == "near" and not _near_work(layout, hit, topics):
            continue
        if topic in ("restoration", "modifications", "condition") and _TO_BE.search(
            layout.text, max(0, hit.start - 24), hit.start
        ):
            continue
        verdict = strength_at(scopes, hit, hit.start, denied=kind == "deny", hedged=kind == "maybe")
        if verdict and any(a.covers(hit.start) for a in asides):
            # A paper named in passing is there, whatever is denied around it.
            verdict = Verdict("claimed")
        if verdict and verdict.strength == "documented" and topic in ("documents", "title"):
            # The paper itself is claimed to be there, whatever rests on it.
            verdict = Verdict("claimed")
        if kind == "only_denied" and (verdict is None or verdict.strength != "denied"):
            continue
        yield from _found(topic, value, verdict, hit)


def _near_work(layout: Layout, hit: Hit, topics: Sequence[Hit]) -> bool:
    """Tell whether a sentence that speaks of photographs speaks of work on the car."""
    sentence = layout.sentence(hit.start)
    return any(t.label[1] == "restoration" and layout.sentence(t.start) == sentence for t in topics)


def _found(topic: str, value: str, verdict: Verdict | None, hit: Hit) -> Iterator[Found]:
    if verdict is not None:
        yield Found(topic, value, verdict.strength, hit.start, hit.end, verdict.first, verdict.last)


def _place(text: str, said: Said) -> int:
    """Return where cues must hold for what is said of a part, outside a clause it stands in."""
    within = _ONE_WHICH.search(text, said.hit.start, max(said.place, said.hit.start))
    return within.start() if within else said.place


def _of_parts(text: str, said: Sequence[Said], scopes: Sequence[Scope]) -> Iterator[Found]:
    idle = [v for v in scopes if v.kind == "void"]
    for said_of in said:
        s = replace(said_of, place=_place(text, said_of))
        if s.place < 0 and any(v.covers(s.hit.start) for v in idle):
            continue
        prop = Hit(("said",), s.place, max(s.hit.end, s.place + 1), s.hit.gaps)
        verdict = strength_at(scopes, prop, s.place, denied=s.denied, hedged=s.hedged)
        yield from _found(s.topic, s.value, verdict, s.hit)


def _of_versions(versions: Sequence[Version], scopes: Sequence[Scope]) -> Iterator[Found]:
    for v in versions:
        verdict = strength_at(scopes, v.hit, v.hit.end - 1, denied=v.denied)
        if verdict is None or (v.naming and verdict.strength in v.says_nothing):
            continue
        if v.denied:
            verdict = Verdict("denied", verdict.first, verdict.last)
        yield from _found("genuineness", "genuine", verdict, v.hit)


def _mentions(
    topics: Sequence[Hit], said: Sequence[Said], versions: Sequence[Version]
) -> list[Mention]:
    """Return everything the text speaks of, whichever way."""
    out = [Mention(h.label[1], h.label[2], h.start, h.end) for h in topics]
    out += [Mention(s.topic, s.value, s.hit.start, s.hit.end) for s in said]
    out += [Mention("genuineness", "genuine", v.hit.start, v.hit.end) for v in versions]
    return out


def listing_text(title: str, description: str) -> str:
    """Join heading and text of a listing into the one text that is read.

    Examples
    --------
    >>> listing_text("One-owner Torvane GT", "No rust.").splitlines()
    ['One-owner Torvane GT', 'No rust.']
    """
    return "\n".join(t for t in (title, description) if t)


def _speaks(hits: Sequence[Hit], text: str) -> bool:
    """Tell whether anything in a text can become a statement: most headings hold nothing."""
    found = {h.label[0] for h in hits}
    signs = {h.label[1] for h in hits if h.label[0] == "cue"} & {"neg", "without", "hedge"}
    if found & {"say", "deny", "maybe", "only_denied"} or (
        "part" in found and ("property" in found or signs)
    ):
        return True
    return bool(signs) and next(find_versions(text, ()), None) is not None


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
    not faults: rust | No rust
    """
    return tuple(
        Statement(s.topic, s.value, s.strength, text[s.start : s.end], s.start, s.end)
        for s in _read(written_alike(text))
    )


@lru_cache(maxsize=50_000)
def _read(text: str) -> tuple[Statement, ...]:
    folded = without_stops(fold_in_place(text), text)
    hits = sorted(index().find(folded), key=lambda h: (h.start, h.end))
    if not _speaks(hits, text):
        return ()
    nouns = kinds(hits, "noun")
    asides = find_asides(folded, text, nouns)
    smooth = headings_as_colons(smoothed(folded, asides), kinds(hits, *_SAYING))
    if smooth != folded:
        within = [h for h in kinds(hits, "say") if any(a.covers(h.start) for a in asides)]
        again = [*index().find(smooth), *within]
        hits = sorted(again, key=lambda h: (h.start, h.end))
    found = _Reading(text, smooth, hits, asides, nouns)
    return once(settled(found.found()), text)


class _Reading:
    """One text on its way: its phrases, its pieces, and where cues hold in it."""

    def __init__(
        self,
        text: str,
        folded: str,
        hits: Sequence[Hit],
        asides: Sequence[Aside],
        nouns: Sequence[Hit],
    ) -> None:
        self.folded, self.asides = folded, asides
        no_parts = [v for v in kinds(hits, "void") if v.label[1] == "part"]
        parts = outer(unmasked(kinds(hits, "part"), no_parts))
        flat, signs = topics(hits), cues(hits)
        runs = [_without_joiners(folded, t) for t in flat]
        runs += [(c.start, c.end) for c in signs]
        joined = [(a, b) for a, b in runs if re.search(r"\W", folded[a:b])]
        self.layout = lay_out(text, folded, joined)
        self.said, used = link_parts(self.layout, parts, properties(kinds(hits, "property")))
        idioms = [h for h in kinds(hits, "cue") if h.label[1] == "mask"]
        self.versions = list(find_versions(smoothed(text, asides), [*flat, *parts, *idioms]))
        spoken = [*flat, *(v.hit for v in self.versions)]
        spoken += [Hit(("said", s.topic, s.value), s.place, s.hit.end) for s in self.said]
        self.scopes = [
            *find_scopes(self.layout, signs, spoken),
            *find_answers(self.layout, spoken),
            *find_others(self.layout, text),
            *find_elsewhere(self.layout, spoken),
            *find_sources(self.layout, text, hits, spoken),
        ]
        places = sorted(h.start for h in spoken)
        self.scopes += aside_scopes(self.layout, asides, nouns, places)
        self.flat = [t for t in flat if not _taken(t, used) and not _in_name(t, self.versions)]

    def found(self) -> list[Found]:
        """Return everything the text says, in no order."""
        found = [
            *_flat(self.layout, self.flat, self.scopes, self.asides),
            *_of_parts(self.folded, self.said, self.scopes),
            *_of_versions(self.versions, self.scopes),
        ]
        kept = list(settled(found))
        passed_over = {(f.topic, f.value, f.start) for f in found if f not in kept}
        mentions = [
            m
            for m in _mentions(self.flat, self.said, self.versions)
            if (m.topic, m.value, m.start) not in passed_over
        ]
        back = list(point_back(self.folded, mentions, self.scopes))
        kept = [f for f in kept if not any(b.takes_back(f) for b in back)]
        return [*kept, *(b.found for b in back), *undone(self.folded)]


def _without_joiners(text: str, hit: Hit) -> tuple[int, int]:
    """Return where a phrase stands without words that only join it to more: "raced and"."""
    found = _JOINED.fullmatch(text, hit.start, hit.end)
    return found.span("own") if found else (hit.start, hit.end)


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

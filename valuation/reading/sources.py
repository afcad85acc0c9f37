"""Who or what a statement rests on: a person other than the seller, or a paper the text names."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.reading.strengths import Scope

__all__ = ["find_sources"]

# "The registrar's view is", "we have her word that".
_THEIR_WORD = re.compile(
    r"\b[\w-]+'s? (?:own )?(?:word|view|opinion|verdict|finding|findings|judgement|account|"
    r"testimony|belief|"
    r"assurance|recollection|statement)\b(?: is| was| that|:|,)"
)
_STOPS = frozenset({"contrast"})
_THEY = re.compile(
    r"\b(?:he|she|they|who|his word|her word)(?: also| always| himself| herself| themselves)? "
    r"(?:says|said|told|tells|reckons|swore|swears|insists|states|stated|recalls|remembers|assured|"
    r"assures|vouches|confirmed|say|adds|noted|maintains|reported|claims|puts|calls|called|found|"
    r"rates|was certain)\b"
)
_SO_SAYS = re.compile(
    r"\bso (?:the|his|her|my|our|its|their|dad's|mum's|one)\s+[\w' ]{2,30}?"
    r"\b(?:says|said|told|tells|claims|claimed|insists|reckons|swears|swore|assures)(?: (?:me|"
    r"us))?\b"
)
_NAMED = re.compile(
    r"\b(?!(?:We|I|You|It|This|That|There|Please|Can|No|Nobody|Nothing) )(?:[A-Z][\w'-]+(?: (?:&|"
    r"and|of) [A-Z][\w'-]+| [A-Z][\w'-]+)*) (?:\w+ )?"
    r"(?:says|said|told|states|state|stated|recalls?|certif\w+|confirm\w*|insists|remembers|"
    r"reckons|"
    r"vouches|lists|listed|calls|considers|say)\b|\bsays (?:Mr |Mrs |Dr )?[A-Z]"
)
_BARE_PAPER = re.compile(
    r"\s*(?:(?:with|w/|and|the|a|an|all|its|have|got|has|i've|both|full|old|factory|original|"
    r"signed|"
    r"stamped|dated|every|some|engine builders|my|their|his|copy|copies|of|by|in) ?){0,4}$"
)


_SHORT_CUES = frozenset({"with", "by", "as", "from", "whose"})
# What a paper that merely stands beside it can prove.
_PROVABLE = frozenset(
    {"history", "restoration", "genuineness", "numbers", "mileage", "modifications"}
)


def _until(layout: Layout, place: int) -> int:
    """Return where the rest of a sentence ends, at its first contrast."""
    k = layout.at(place)
    _, last = layout.sentence(place)
    while k < last and layout.bounds[k + 1][0] not in _STOPS:
        k += 1
    return layout.pieces[k][1]


def _since(layout: Layout, place: int) -> int:
    """Return where a sentence begins, or where its last contrast before a place lies."""
    k = layout.at(place)
    first, _ = layout.sentence(place)
    while k > first and layout.bounds[k][0] not in _STOPS:
        k -= 1
    return layout.pieces[k][0]


def _sided(layout: Layout, kind: str, start: int, end: int, said: Sequence[int]) -> Scope:
    """Return where a source holds: before its words if they close a clause, else after them."""
    since, until = _since(layout, start), _until(layout, max(start, end - 1))
    before = any(since <= h < start for h in said)
    after = any(end <= h < until for h in said)
    piece_end = layout.pieces[layout.at(end - 1)][1]
    closes = not re.search(r"\w", layout.text[end:piece_end])
    if before and (closes or not after):
        return Scope(kind, (start, end), since, end)
    return Scope(kind, (start, end), start, until)


def _near(hits: Sequence[Hit], start: int, reach: int) -> Hit | None:
    return next((h for h in hits if start <= h.start <= start + reach), None)


def _persons(
    layout: Layout, raw: str, persons: Sequence[Hit], cues: Sequence[Hit], said: Sequence[int]
) -> Iterator[Scope]:
    says = [c for c in cues if c.label[1] == "says"]
    for cue in cues:
        if cue.label[1] != "by_person":
            continue
        who = _near(persons, cue.end, 45)
        named = re.match(r"\s*(?:the )?[A-Z]", raw[cue.end : cue.end + 8])
        if who and layout.sentence(who.start) == layout.sentence(cue.start):
            yield _sided(layout, "third-party", cue.start, who.end, said)
        elif named and cue.end - cue.start > 2:
            yield _sided(layout, "third-party", cue.start, cue.end, said)
    for who in persons:
        if (
            layout.text[who.end : who.end + 1] == ":"
            and len(layout.text[layout.pieces[layout.at(who.start)][0] : who.start].split()) <= 2
        ):
            yield Scope("third-party", (who.start, who.end), who.end, _until(layout, who.end))
        verb = _near(says, who.end, 70)
        if verb and layout.sentence(verb.start) == layout.sentence(who.start):
            yield _sided(layout, "third-party", who.start, verb.end, said)
    for found in [
        *_THEY.finditer(layout.text),
        *_SO_SAYS.finditer(layout.text),
        *_NAMED.finditer(raw),
    ]:
        yield _sided(layout, "third-party", found.start(), found.end(), said)


def _by_papers(
    layout: Layout, papers: Sequence[Hit], cues: Sequence[Hit], said: Sequence[int]
) -> Iterator[Scope]:
    """Yield where "confirmed by", "per" or "with" lead to a paper."""
    for cue in cues:
        paper = _near(papers, cue.end, 40) if cue.label[1] == "by_paper" else None
        if not paper or layout.sentence(paper.start) != layout.sentence(cue.start):
            continue
        short = layout.text[cue.start : cue.end] in _SHORT_CUES
        if not (short and paper.start - cue.end > 14):
            yield _sided(layout, "documented", cue.start, paper.end, said)


def _papers(
    layout: Layout, papers: Sequence[Hit], cues: Sequence[Hit], spoken: Sequence[Hit]
) -> Iterator[Scope]:
    """Yield where a paper proves something, or stands beside work it belongs to."""
    said = sorted(h.start for h in spoken)
    yield from _by_papers(layout, papers, cues, said)
    proves = [c for c in cues if c.label[1] == "proves"]
    for paper in papers:
        verb = _near(proves, paper.end + 1, 90)
        if verb and layout.sentence(verb.start) == layout.sentence(paper.start):
            yield _sided(layout, "documented", paper.start, verb.end, said)
        elif _stands_alone(layout, paper):
            start, end = layout.pieces[layout.at(paper.start) - 1]
            bracketed = layout.bounds[layout.at(paper.start)][0] == "open"
            if any(
                start <= h.start < end and (bracketed or h.label[1] in _PROVABLE) for h in spoken
            ):
                yield Scope("documented", (paper.start, paper.end), start, end)


def _stands_alone(layout: Layout, paper: Hit) -> bool:
    """Tell whether a piece of a sentence begins with a paper: "engine rebuilt, bills on file"."""
    k = layout.at(paper.start)
    start = layout.pieces[k][0]
    return (
        layout.bounds[k][0] in ("comma", "open", "and", "colon")
        and k > layout.sentence(paper.start)[0]
        and _BARE_PAPER.match(layout.text, start, paper.start) is not None
    )


def find_sources(layout: Layout, raw: str, hits: Sequence[Hit], said: Sequence[Hit]) -> list[Scope]:
    """Find where a statement rests on another person or on a paper.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    raw : str
        The text as written, for the capitals of names.
    hits : sequence of Hit
        Every phrase of the text.
    said : sequence of Hit
        What the text speaks of.
    """
    nouns = [h for h in hits if h.label[0] == "noun"]
    cues = [h for h in hits if h.label[0] == "cue"]
    places = sorted(h.start for h in said)
    persons = [h for h in nouns if h.label[1] == "person"]
    papers = [h for h in nouns if h.label[1] == "paper"]
    return [
        *_persons(layout, raw, persons, cues, places),
        *_papers(layout, papers, cues, said),
    ]

"""Parts of a car and what is said of them: "engine and gearbox are original"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from valuation.reading.clauses import Layout
from valuation.reading.parts import Group, Said, groups_of, said_of
from valuation.reading.phrases import Hit
from valuation.reading.unsaid import unsaid

__all__ = ["link_parts"]

_ATTRIBUTE_GAP = re.compile(r"\.?[\s-]+(?:[\w'.-]*\w[\s-]+){0,3}")
_GAP_STOP = re.compile(
    r"\b(?:is|are|was|were|be|been|and|or|in|with|of|to|the|its|from|but|has|have|had|for|on|at|by|"
    r"under|over|behind|inside|about|around|after|until|since|where|that|as|it|not|no|never|believed|thought|when|however|which|still|a|an|too|also|except|i|"
    r"says|said|acc|per|according|apart|by|then|this|throughout|owners?|keepers?|fitted|added)\b"
)
_OBJECT = re.compile(r"\s+(?:the|its|his|her|their|both|my|our)\s+(?:\w+\s+)?")
_ADJECTIVES = frozenset({"original", "changed", "unoriginal", "modified"})
_ATTRIBUTIVE = frozenset(
    {"original", "matching", "changed", "unoriginal", "modified", "bad", "cracked", "surface",
     "cloth", "dead", "stopped", "retrim", "loud", "rough", "old", "rebuilt", "replaced"}
)  # fmt: skip
# What may stand behind an adjective that is said of the part before it, not of a noun to come.
_FOLLOWS = """
    and in with throughout as but at from on by or too unit units one ones item items part
    parts to though although while when except i we he she it if per according says acc
    apart save bar mostly is are was were so the for since because inside that than only
    again of type condition not never still here now later whereas recently last some about
    around under before after maybe possibly probably believed ditto this these there also
    then which who having being yet out all my our his her their orig original factory
    leather steel cloth ago during first along through like badly slightly quite very rather
    over off up down between beyond right left both each every what what's
"""
_STAYS = re.compile(r"\s*(?:$|[.,;:!?()/&+\"'–—-]|\b(?:" + "|".join(_FOLLOWS.split()) + r")\b)")
# A piece that goes on with the sentence behind an insertion: "the body, he says, is original".
_GOES_ON = re.compile(
    r"\s*(?:is|are|was|were|has|have|had|may|might|could|appears?|seems?|looks?|remains?|it's|"
    r"it is|"
    r"they are|they're|which (?:is|are)|to be)\b"
)
_LOST = re.compile(
    r"(?:\s+(?:now|itself|sadly))*\s*,?\s*(?:"
    r"(?:is|are|was|were|has|have|does|do|did)\s+(?:(?:sadly|now|long|been|long since)\s+)*"
    r"(?:not|no longer|lost|gone|missing|long gone|replaced|disposed|sold|scrapped|discarded|"
    r"removed|destroyed|swapped|thrown|taken out|blown up|peeled)\b|"
    r"(?:blew|failed|died|expired|went|peeled|gave up|isn't|doesn't)\b|"
    r"(?:is|are|will be|comes?|goes?|go)\s+(?:also\s+)?"
    r"(?:included|supplied|with|retained|offered|sold)\b|"
    r"(?:long\s+)?gone\b|missing\b|lost\b|not included|"
    r"no longer (?:present|available|exists|with|in|fitted|survives))"
)


def _attributive(layout: Layout, prop: Hit, groups: Sequence[Group], after: int) -> Group | None:
    """Return the parts that an adjective stands before."""
    text = layout.text
    if prop.label[1] not in _ATTRIBUTIVE:
        return None
    for group in groups[after:]:
        if group.start < prop.end:
            continue
        if layout.sentence(group.start) != layout.sentence(prop.start):
            return None
        gap = text[prop.end : group.start]
        if text[prop.start : prop.end] in ("works", "factory") and gap.strip():
            return None
        if _ATTRIBUTE_GAP.fullmatch(gap) and not _GAP_STOP.search(gap):
            return group
        if text[: prop.end].endswith("ed") and _OBJECT.fullmatch(gap):
            # A verb with its object: "he replaced the gearbox".
            return group
        return None
    return None


def _subject(layout: Layout, prop: Hit, groups: Sequence[Group]) -> Group | None:
    """Return the parts that a property is said of, named before it in the sentence."""
    here = layout.at(prop.start)
    first, _ = layout.sentence(prop.start)
    floor = layout.pieces[first][0]
    best = None
    for group in groups:
        if group.end <= prop.start and group.start >= floor:
            best = group
    if best is None:
        return None
    at = layout.at(best.end - 1)
    if at == here:
        return best
    inserted = bool(_GOES_ON.match(layout.words(here)))
    for k in range(at + 1, here + 1):
        kind = layout.bounds[k][0]
        if inserted and kind in ("comma", "sub", "open", "close", "and"):
            continue
        if kind == "colon":
            continue
        words = layout.words(k)
        if kind in ("comma", "and", "or", "contrast", "open", "close", "except"):
            own = words[: max(0, prop.start - layout.pieces[k][0])] if k == here else words
            if re.match(r"\s*(?:the|its|a|an|this|there|i|we|he|she|my|our|some|no)\b", own):
                return None
            if len(own.split()) > 8:
                return None
            continue
        if kind == "sub" and re.match(
            r"\s*(?:which|who|whose)\b", layout.text[layout.bounds[k][1] :]
        ):
            continue
        return None
    return best


def _linked(
    layout: Layout, props: Sequence[Hit], groups: Sequence[Group]
) -> Iterator[tuple[Hit, Group, bool]]:
    """Yield each property with the parts it is said of, and whether it stands before them."""
    text = layout.text
    after = 0
    for prop in props:
        while after < len(groups) and groups[after].start < prop.end:
            after += 1
        if text[prop.start : prop.end] == "first" and _GEAR.search(text, 0, prop.start):
            continue
        if prop.label[1] in _DONE and _WANTED.search(text, 0, prop.start):
            continue
        before = _attributive(layout, prop, groups, after)
        if before is not None:
            yield prop, before, True
            continue
        plural = prop.label[1] == "changed" and text[prop.end - 1] == "s"
        if text[prop.start : prop.end] in ("works", "factory") and not _bare(text, prop, groups):
            continue
        bare = len(text[prop.start : prop.end].split()) <= 2
        if (
            prop.label[1] in _ADJECTIVES
            and bare
            and not plural
            and not _STAYS.match(text, prop.end)
        ):
            continue
        subject = _subject(layout, prop, groups)
        heads = prop.label[1] in ("original", "changed") and _COLON.match(text, prop.end)
        if heads and not _next_to(text, prop, subject):
            for group in _listed(layout, prop, groups):
                yield prop, group, False
            continue
        if subject is not None and _whole_car(layout, prop, subject):
            continue
        if subject is not None:
            yield prop, subject, False


_COLON = re.compile(r"\s*:\s*")
_STOP = re.compile(r"\s*(?:$|[.,;!?()/])")
# "Will want a rebuild": work still to be done.
_DONE = frozenset({"rebuilt", "retrim", "repaint"})
_WANTED = re.compile(
    r"\b(?:wants?|needs?|requires?|deserves?|due|ready|awaits|awaiting|in need|benefit|budget)\s+"
    r"(?:(?:for|of|from)\s+)?(?:an?\s+)?(?:(?:full|complete|total|proper|thorough)\s+)?$"
)
# "Noisy in first": a gear.
_GEAR = re.compile(r"\b(?:in|into|from|for|at|out of|of)\s+$")
_NEXT_TO = re.compile(r"\s+(?:(?:is|are|all|both|still)\s+)*")


def _next_to(text: str, prop: Hit, subject: Group | None) -> bool:
    """Tell whether a property stands right behind its part: "body original: build record"."""
    return subject is not None and bool(_NEXT_TO.fullmatch(text, subject.end, prop.start))


def _bare(text: str, prop: Hit, groups: Sequence[Group]) -> bool:
    """Tell whether a noun stands behind its part like an adjective: "glass factory, seats not"."""
    behind = any(not text[g.end : prop.start].strip(" :") for g in groups if g.end <= prop.start)
    return behind and bool(_STOP.match(text, prop.end))


def _listed(layout: Layout, prop: Hit, groups: Sequence[Group]) -> list[Group]:
    """Return the parts listed behind a property and a colon: "not original: carpets, wheels"."""
    _, last = layout.sentence(prop.start)
    end = layout.pieces[last][1]
    return [g for g in groups if prop.end <= g.start < end]


def _whole_car(layout: Layout, prop: Hit, subject: Group) -> bool:
    """Tell whether matching numbers are said of the car, not of the part in an earlier piece."""
    words = layout.text[prop.start : prop.end]
    apart = layout.at(subject.end - 1) != layout.at(prop.start)
    return prop.label[1] == "matching" and apart and bool(re.search(r"number|#|\bnos\b", words))


def link_parts(
    layout: Layout, parts: Sequence[Hit], props: Sequence[Hit]
) -> tuple[list[Said], list[Hit]]:
    """Bring parts and properties together.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    parts, props : sequence of Hit
        Parts and properties, by where they begin.

    Returns
    -------
    said : list of Said
        What is said of parts.
    used : list of Hit
        The properties that found their part.
    """
    groups = groups_of(layout.text, parts)
    links = list(_linked(layout, props, groups))
    out: list[Said] = []
    used: list[Hit] = []
    for prop, group, before in links:
        lost = before and prop.label[1] == "original" and _LOST.match(layout.text, group.end)
        for part in group.parts:
            start, end = min(prop.start, group.start), max(prop.end, group.end)
            # A negation before the parts reaches them; one between them and the property, it.
            hit = Hit(("said",), prop.start, prop.end)
            for said in said_of(part, prop.label[1], hit, prop.start):
                used.append(prop)
                words = Hit(("said",), start, end, prop.gaps)
                denied = said.denied or bool(lost)
                out.append(Said(said.topic, said.value, words, prop.start, denied))
    out += unsaid(layout, groups, links)
    return out, used

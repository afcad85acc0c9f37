"""What is left unsaid of a part: "the wheels are not", "gearbox ditto", "no engine"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from valuation.reading.clauses import Layout
from valuation.reading.parts import MODIFIED, ORIGINALITY, Group, Said, said_of
from valuation.reading.phrases import Hit

__all__ = ["Links", "unsaid"]

Links = Sequence[tuple[Hit, Group, bool]]
"""Properties with the parts they are said of, and whether they stand before them."""

_BE = r"(?:is|are|was|were)"
_ALSO = r"(?:too|also|likewise|as well|ditto|the same|similarly)"
_PERHAPS = r"(?:probably|maybe|possibly|perhaps|presumably|apparently)"
_NOT = (
    r"(?:is|are|was|were|has|have|had|does|do|did)\s+"
    r"(?:(?:probably|perhaps|likely|definitely|certainly|sadly|clearly) )?(?:not|n't)|"
    r"isn't|isnt|aren't|arent|wasn't|wasnt|weren't|hasn't|haven't|doesn't|not|"
    rf"(?:believed|thought) not|{_BE} (?:believed|thought|said) not(?: to be)?"
)
_SO = (
    rf"(?:{_BE}|{_ALSO})(?:\s+(?:{_ALSO}|{_PERHAPS}|believed so|thought to be))?|"
    rf"{_PERHAPS}(?:\s+(?:is|are))?|"
    r"(?:may|might|could)(?:\s+(?:be|well be))?(?:\s+(?:too|also))?|"
    rf"{_BE} (?:thought|believed|said|understood) to be"
)
_ELLIPSIS = re.compile(
    r"\s*,?\s*(?:(?:alone|however|though|itself|apart|nos?\.?|numbers?)\s*,?\s*)?"
    r"(?:(?:certainly|definitely|probably|sadly|clearly)\s+)?"
    rf"(?:(?P<no>{_NOT})|(?P<yes>{_SO}))"
    r"\s*(?:$|[.,;:!?)]|\b(?:and|but|maybe|sadly)\b)"
)
_AGAIN = re.compile(_ALSO)
_DOUBT = re.compile(r"believed|thought|said|prob|maybe|poss|perhaps|may|might|could|presum|appar")
_REPEATED = frozenset({"original", "replaced", "matching", "changed"})

_WITHOUT = re.compile(
    r"(?:\b(?:there is|there's|there are|has|have|with|comes with|had|got)\s*(?:got\s+)?|"
    r"[:,;./]\s*|^)(?:no|neither|minus|sans|nor)\s+(?:the\s+|its\s+|an?\s+)?$|"
    r"\bwithout\s+(?:any\s+)?"
    r"(?:the\s+|its\s+|an?\s+)?$"
)
_CAN_BE_MISSING = frozenset(
    {"engine", "gearbox", "axle", "wheels", "glass", "exhaust", "fuel", "interior", "lining",
     "hood", "other", "electrics", "body"}
)  # fmt: skip
_BEHIND = re.compile(
    r"\s*(?:$|[.,;:!?()/]|\b(?:and|or|nor|but|at all|fitted|left|present|in it)\b)"
)
_UNSURE = re.compile(
    r"(?:'s)?\s*(?P<number>no\.?|number|nos\.?|numbers)?\s*[,:?–-]*\s*"
    r"(?:that's|which|of which|about which|one|i|he|she|we|they)?\s*"
    r"(?:(?:is|are|am|remains)\s+)?(?:"
    r"(?:cannot be|can't be|isn't) (?:sure|certain)|"
    r"not (?:sure|certain|verified|confirmed|checked)|unverified|unconfirmed|unchecked|uncertain|"
    r"unknown|unproven|of unknown origin|in doubt|open to question|"
    r"(?:has not|hasn't) been (?:confirmed|verified)|to be confirmed)\b"
)


def unsaid(layout: Layout, groups: Sequence[Group], links: Links) -> Iterator[Said]:
    """Yield what the text leaves unsaid of parts.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    groups : sequence of Group
        Parts named together.
    links : sequence of (Hit, Group, bool)
        What is said of them in words.
    """
    told = {id(g) for _, g, _ in links}
    yield from _elliptic(layout, groups, told, links)
    yield from _excepted(layout, groups, told)
    yield from _without(layout, groups, told)
    yield from _uncertain(layout, groups, told, links)


def _earlier(links: Links, group: Group) -> Hit | None:
    """Return the last property before a part that can be meant again."""
    found = [
        p
        for p, g, _ in links
        if max(p.end, g.end) <= group.start < max(p.end, g.end) + 160 and p.label[1] in _REPEATED
    ]
    return found[-1] if found else None


def _elliptic(
    layout: Layout, groups: Sequence[Group], told: set[int], links: Links
) -> Iterator[Said]:
    """Yield what is said by pointing back: "the wheels are not", "gearbox ditto"."""
    for group in groups:
        found = _ELLIPSIS.match(layout.text, group.end)
        if not found or (id(group) in told and found["no"] is None):
            continue
        prop = _earlier(links, group)
        if prop is None:
            continue
        name, turned = prop.label[1], found["no"] is not None
        again = found["yes"] is not None and _AGAIN.search(found["yes"])
        doubt = bool(_DOUBT.search(found[0]))
        place = prop.start if again else group.start
        end = found.end("no") if turned else found.end("yes")
        if name in ("replaced", "changed") and turned:
            # What was not changed is original.
            name, turned = "original", False
        for part in group.parts:
            hit = Hit(("said",), group.start, end)
            for said in said_of(part, name, hit, place):
                flip = said.denied != turned
                yield Said(said.topic, said.value, hit, place, flip, doubt and not flip)


def _without(layout: Layout, groups: Sequence[Group], told: set[int]) -> Iterator[Said]:
    """Yield parts that are not there: "no engine", "neither engine nor gearbox"."""
    text = layout.text
    for group in groups:
        if id(group) in told or not _BEHIND.match(text, group.end):
            continue
        if not _WITHOUT.search(text[max(0, group.start - 30) : group.start]):
            continue
        names = {p.label[1] for p in group.parts}
        if not names <= _CAN_BE_MISSING:
            continue
        hit = Hit(("said",), group.start, group.end, ())
        yield Said("faults", "missing parts", hit, -1)


def _uncertain(
    layout: Layout,
    groups: Sequence[Group],
    told: set[int],
    links: Links,
) -> Iterator[Said]:
    """Yield parts of which nobody is sure: "as to the gearbox, one cannot be sure"."""
    for group in groups:
        found = _UNSURE.match(layout.text, group.end)
        if not found or id(group) in told or group.parts[0].label[1] == "mileage":
            continue
        before = [p for p, _, _ in links if p.end <= group.start]
        numbers = found["number"] or (before and before[-1].label[1] in ("matching", "type"))
        for part in group.parts:
            hit = Hit(("said",), group.start, found.end())
            for said in said_of(part, "matching" if numbers else "original", hit, -1):
                yield Said(said.topic, said.value, hit, -1, False, True)


def _excepted(
    layout: Layout,
    groups: Sequence[Group],
    told: set[int],
) -> Iterator[Said]:
    """Yield exceptions from "all original": what is changed, or what alone is original."""
    for group in groups:
        k = layout.at(group.start)
        if id(group) in told or layout.bounds[k][0] != "except":
            continue
        first, _ = layout.sentence(group.start)
        rule = layout.text[layout.pieces[first][0] : layout.pieces[k][0]]
        if not re.search(
            r"\b(?:original|orig|stock|standard|factory|works|unmodified|modified)\b", rule
        ):
            continue
        alone = (
            bool(re.search(r"\b(?:not|nothing|none|no|never|little)\b", rule))
            and "modif" not in rule
        )
        for part in group.parts:
            name = part.label[1]
            hit = Hit(("said",), group.start, group.end)
            if name == "electrics":
                continue
            if name in MODIFIED and name not in ORIGINALITY:
                if not alone:
                    yield Said("modifications", MODIFIED[name], hit, group.start)
            elif name in ORIGINALITY and name != "paint":
                yield Said("originality", ORIGINALITY[name], hit, group.start, not alone)

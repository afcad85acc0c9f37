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
    r"(?:may|might|could)(?:\s+(?:also|well|be|have|been|done|so))*(?:\s+(?:too|also|as well))?|"
    rf"{_PERHAPS}\s+so|"
    rf"{_BE} (?:thought|believed|said|understood) to be"
)
_ELLIPSIS = re.compile(
    r"\s*,?\s*(?:(?:alone|however|though|itself|apart|nos?\.?|numbers?)\s*,?\s*)?"
    r"(?:(?:certainly|definitely|probably|sadly|clearly)\s+)?"
    rf"(?:(?P<no>{_NOT})|(?P<yes>{_SO}))"
    r"\s*(?:$|[.,;:!?)]|\b(?:and|but|maybe|sadly)\b)"
)
_AGAIN = re.compile(_ALSO)
_THE = r"(?:(?:the|its|his|her|my|their|both|all|an?)\s+)*"
# "So is the gearbox", "nor are the wheels", "the same goes for the axle", "but not the glass".
_INVERTED = re.compile(
    r"(?:\b(?:(?P<nor>nor|neither)|so|as|such)\s+(?:too\s+|also\s+|indeed\s+)?"
    rf"(?P<may>may|might|could|probably\s+)?\s*(?:{_BE}|be|has been|have been|has|have|does|do|"
    rf"did)?"
    rf"(?:\s+also|\s+too)?(?P<doubt>\s+(?:{_PERHAPS}|i think|we believe|it seems))?|"
    r"\b(?:the\s+same|likewise|ditto|similarly)\s+(?:(?:goes|holds|applies|stands|happened|is|"
    r"was|can|may|must|could)"
    r"\s+)?(?:be\s+)?(?:said\s+|true\s+|good\s+|right\s+|the case\s+|also\s+)*(?:for|of|to|with|"
    r"about|as regards)|"
    r"\bas\s+well\s+as|\balong\s+with|\btogether\s+with|"
    r"(?P<turn>\b(?:the\s+same|that|this|as\s+much)\s+(?:cannot|can't|can not|could not|is not|"
    r"isn't|does not|"
    r"doesn't)\s+(?:be\s+)?(?:\w+\s+)?(?:for|of|to|with|about)|\b(?:but\s+|though\s+|just\s+|"
    r"[,;]\s*)not\s+so|"
    r"\bbut\s+not|\bunlike|\bthough\s+not|\bonly\s+not|\bnot\s+so))"
    rf"\s+{_THE}$"
)
_INVERTED_END = re.compile(
    r"\s*(?:$|[.,;:!?)–—-]|\b(?:and|but|which|too|either|also|though|by|if|as|itself)\b)"
)
_I_THINK = re.compile(
    r"\b(?:believe|think|suspect|suppose|imagine|guess|reckon|expect|understand|assume|told|fancy|"
    rf"gather|say|says)\s+(?:that\s+)?{_THE}$"
)
_LEFT_OPEN = re.compile(rf"\b(?:whether|if)\s+{_THE}$")
_LEFT_OPEN_BY = re.compile(
    rf"\s+(?:{_BE}|has|have|does|did)(?:\s+(?:too|also|as well|so))?\s+(?:remains?|is|are|we|i|"
    rf"nobody|no one|"
    r"cannot|can't|could|has|have|must|will|one|isn't|he|she|they)\b"
)
_CLEFT = re.compile(
    r"(?:\bwhat(?:'s|\s+is|\s+are|\s+remains|\s+was)|\b(?:all|the\s+only\s+(?:thing|part|item|"
    r"bit)s?)"
    r"(?:\s+that)?(?:'s|\s+is|\s+are|\s+remains)?)\s+(?:still\s+)?(?P<no>not\s+|no longer\s+|"
    r"non-?)?(?:entirely\s+)?"
    r"(?:original|factory|as built|standard)\s+(?:here\s+|on it\s+|to it\s+)?(?:is|are|"
    r"would be)\s+(?:only\s+)?"
    rf"{_THE}$|\bthe\s+only\s+original\s+\w+\s+(?:left\s+)?(?:is|are)\s+{_THE}$"
)
_HEADED = re.compile(
    r"(?:^|[.;!?\n])\s*(?P<no>not\s+|non-?)?original\s+(?:is|are|parts|items|components|"
    r"pieces)(?:\s+are)?\s*:?"
    r"[\w\s,'-]*$"
)
_YES_NO = re.compile(
    r"\s*[:,-]?\s*(?:(?P<yes>yes|yep|is|does)|(?P<no>no|not|nope|isn't|doesn't)|"
    r"(?P<perhaps>maybe|probably|perhaps|"
    r"possibly|unsure|not sure|unknown))\b\s*(?=[.,;!]|$|\band\b|\bbut\b)"
)
_ASKED_OF = re.compile(
    r"\b(?P<what>matching|original|numbers match|match)\b[^.;?!:]{0,30}[?:][^.;?!]{0,40}$"
)
_DOUBT = re.compile(r"believed|thought|said|prob|maybe|poss|perhaps|may|might|could|presum|appar")
_REPEATED = frozenset({"original", "replaced", "matching", "changed", "rebuilt", "modified"})

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
# "No engine or brake modifications" misses no engine.
_OF_WORK = re.compile(
    r"(?:\s*(?:,|or|and|nor|/)\s*[\w-]+){0,3}\s+(?:modifications?|mods|changes|alterations?|work|"
    r"upgrades?|"
    r"swaps?|problems?|faults?|noises?|leaks?|issues?|troubles?|repairs?|conversions?|damage|"
    r"smoke)\b"
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


# "There's an engine in it but I've no clue if it's the proper one."
_NO_CLUE = re.compile(
    r"[^.;,!?]{0,25}[,;]?\s*(?:but|though|and)?\s*(?:i|we|nobody|no one|he|she|they)(?:'ve|'m|'s|"
    r" have| has| am| are| can| "
    r"could| do| does)?\s*(?:\w+\s+)?(?:no clue|no idea|don't know|do not know|not know|not sure|"
    r"can't say|cannot say|"
    r"couldn't say|can't tell|cannot tell|knows|say|tell)\s+(?:you\s+)?(?:if|whether)\s+(?:it's|"
    r"it is|that's|that is|"
    r"they're|they are|it was|they were)\s+(?:the\s+|its\s+|all\s+)?(?:proper|right|correct|"
    r"original|first|real|"
    r"genuine|same|one|ones|factory)\b"
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
    yield from _inverted(layout, groups, told, links)
    yield from _clefts(layout, groups, told)
    yield from _answers(layout, groups, told)
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
        doubt = bool(_DOUBT.search(found[0])) or bool(
            again and _I_THINK.search(layout.text[max(0, group.start - 40) : group.start])
        )
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


def _of_group(
    group: Group, name: str, end: int, place: int, *, turned: bool = False, doubt: bool = False
) -> Iterator[Said]:
    """Yield a property of every part of a group, turned over or doubted."""
    for part in group.parts:
        hit = Hit(("said",), group.start, max(end, group.end))
        for said in said_of(part, name, hit, place):
            flip = said.denied != turned
            yield Said(said.topic, said.value, hit, place, flip, doubt and not flip)


def _inverted(
    layout: Layout, groups: Sequence[Group], told: set[int], links: Links
) -> Iterator[Said]:
    """Yield what is said by pointing back before a part: "so is the gearbox"."""
    for group in groups:
        prop = None if id(group) in told else _earlier(links, group)
        if prop is None or not _INVERTED_END.match(layout.text, group.end):
            continue
        found = _INVERTED.search(layout.text, max(prop.end, group.start - 70), group.start)
        if not found:
            continue
        turned = bool(found["nor"] or found["turn"])
        doubt = bool(found["may"] or found["doubt"])
        # Said the same way as the earlier part, unless turned.
        place = -1 if turned else prop.start
        yield from _of_group(group, prop.label[1], group.end, place, turned=turned, doubt=doubt)


def _clefts(layout: Layout, groups: Sequence[Group], told: set[int]) -> Iterator[Said]:
    """Yield parts picked out as original: "what is original is the glass", "original are: ..."."""
    for group in groups:
        if id(group) in told:
            continue
        before = layout.text[max(0, group.start - 70) : group.start]
        found = _CLEFT.search(before) or _HEADED.search(before)
        if found:
            turned = bool(found["no"])
            yield from _of_group(group, "original", group.end, -1, turned=turned)


def _answers(layout: Layout, groups: Sequence[Group], told: set[int]) -> Iterator[Said]:
    """Yield parts that answer a question of the whole car: "Matching? Engine yes, gearbox no"."""
    for group in groups:
        found = _YES_NO.match(layout.text, group.end)
        asked = _ASKED_OF.search(layout.text[max(0, group.start - 90) : group.start])
        if id(group) in told or not found or not asked:
            continue
        name = "original" if asked["what"] == "original" else "matching"
        turned, doubt = found["no"] is not None, found["perhaps"] is not None
        yield from _of_group(group, name, found.end(), -1, turned=turned, doubt=doubt)


def _without(layout: Layout, groups: Sequence[Group], told: set[int]) -> Iterator[Said]:
    """Yield parts that are not there: "no engine", "neither engine nor gearbox"."""
    text = layout.text
    for group in groups:
        if id(group) in told or not _BEHIND.match(text, group.end):
            continue
        if _OF_WORK.match(text, group.end):
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
        found = _UNSURE.match(layout.text, group.end) or _NO_CLUE.match(layout.text, group.end)
        if not found and _LEFT_OPEN.search(layout.text[max(0, group.start - 20) : group.start]):
            open_end = _LEFT_OPEN_BY.match(layout.text, group.end)
            prop = _earlier(links, group)
            if open_end and id(group) not in told:
                name = prop.label[1] if prop else "original"
                yield from _of_group(group, name, open_end.end(), -1, doubt=True)
        if not found or id(group) in told or group.parts[0].label[1] == "mileage":
            continue
        before = [p for p, _, _ in links if p.end <= group.start]
        numbers = found.groupdict().get("number") or (
            before and before[-1].label[1] in ("matching", "type")
        )
        for part in group.parts:
            hit = Hit(("said",), group.start, found.end())
            for said in said_of(part, "matching" if numbers else "original", hit, -1):
                yield Said(said.topic, said.value, hit, -1, False, True)


def _is_exception(layout: Layout, piece: int, group: Group) -> bool:
    """Tell whether a piece names an exception: "all original except the wheels"."""
    kind, start, end = layout.bounds[piece]
    if kind == "except":
        return True
    first, _ = layout.sentence(group.start)
    rule = layout.text[layout.pieces[first][0] : start]
    return (
        layout.text[start:end] == "but"
        and re.search(r"\b(?:nothing|none|little|everything|all)\b", rule) is not None
        and not layout.text[end : group.start].strip().removeprefix("the").strip()
        and _BEHIND.match(layout.text, group.end) is not None
    )


def _excepted(
    layout: Layout,
    groups: Sequence[Group],
    told: set[int],
) -> Iterator[Said]:
    """Yield exceptions from "all original": what is changed, or what alone is original."""
    for group in groups:
        k = layout.at(group.start)
        if id(group) in told or not _is_exception(layout, k, group):
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
        of_rule = {
            ORIGINALITY.get(p.label[1])
            for g in groups
            for p in g.parts
            if layout.pieces[first][0] <= g.start < layout.pieces[k][0]
        }
        for part in group.parts:
            name = part.label[1]
            hit = Hit(("said",), group.start, group.end)
            if name == "electrics" or (ORIGINALITY.get(name) in of_rule and not alone):
                # "Interior original apart from one seat" is still original.
                continue
            if name in MODIFIED and name not in ORIGINALITY:
                if not alone:
                    yield Said("modifications", MODIFIED[name], hit, group.start)
            elif name in ORIGINALITY and name != "paint":
                yield Said("originality", ORIGINALITY[name], hit, group.start, not alone)

"""Parts of a car and what is said of them: "engine and gearbox are original, the wheels are not"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit

__all__ = ["Said", "link_parts"]

_ORIGINALITY = {
    "engine": "engine",
    "gearbox": "gearbox",
    "axle": "final drive",
    "chassis": "chassis",
    "body": "body panels",
    "colour": "colour",
    "paint": "paint",
    "interior": "interior",
    "wheels": "wheels",
    "glass": "glass",
}
_MODIFIED = {
    "engine": "engine",
    "gearbox": "gearbox",
    "body": "body",
    "paint": "paint",
    "interior": "interior",
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
        "brakes": "brakes",
        "suspension": "suspension",
        "steering": "suspension",
        "tyres": "tyres",
        "gearbox": "gearbox",
        "clutch": "gearbox",
        "electrics": "electrics",
    },
    "cracked": {"paint": "paint", "interior": "interior", "glass": "glass", "tyres": "tyres"},
    "surface": {"paint": "paint", "exterior": "paint"},
    "cloth": {"interior": "interior"},
    "dead": {"electrics": "electrics"},
    "loud": {"gearbox": "gearbox", "clutch": "gearbox"},
    "rough": {"engine": "engine"},
    "old": {"tyres": "tyres"},
    "missing": {"wheels": "missing parts", "glass": "missing parts", "engine": "missing parts"},
}
_OWN = frozenset({"neg", "hedge"})
_NOT_AS_BUILT = frozenset({"gearbox", "axle", "chassis", "body", "wheels", "glass", "interior"})

_JOIN = re.compile(
    r"\s*(?:(?P<link>,?\s*(?:and|or|nor|plus)\b|&|\+|/)|(?P<comma>,))\s*"
    r"(?:(?:the|its|his|her|my|their|all|of|both|any|even|most|also|a|an)\s+)*"
)
_ATTRIBUTE_GAP = re.compile(r"[\s-]+(?:[\w'-]+[\s-]+){0,3}")
_GAP_STOP = re.compile(
    r"\b(?:is|are|was|were|be|been|and|or|in|with|of|to|the|its|from|but|has|have|had|for|on|at|by|"
    r"that|as|it|not|no|never|believed|thought|when|however|which|still|a|an|too|also|except|i|"
    r"says|said|acc|per|according|apart|by|then|this|throughout)\b"
)
_ATTRIBUTIVE = frozenset(
    {"original", "matching", "changed", "modified", "bad", "cracked", "surface", "cloth", "dead",
     "loud", "rough", "old", "rebuilt", "replaced"}
)  # fmt: skip
# A word behind an adjective with which it is said of the part before it.
_STAYS = re.compile(
    r"\s*(?:$|[.,;:!?()/&+\"'–—-]|\b(?:and|in|with|throughout|as|but|at|from|on|by|or|too|unit|units|"
    r"one|ones|item|items|part|parts|to|though|although|while|when|except|i|we|he|she|it|if|per|"
    r"according|says|acc|apart|save|bar|mostly|is|are|was|were|so|the|for|since|because|inside|"
    r"that|than|according|only|again|of|type|condition|not|never|still|here|now|later|whereas|"
    r"recently|last|some|about|around|under|before|after|maybe|possibly|probably|believed|ditto|"
    r"this|these|there|also|then|which|who|having|having|being|yet|out|all|my|our|his|her|their|"
    r"orig|original|factory|leather|steel|cloth|and|ago|during|first|along|through|like|badly|"
    r"slightly|quite|very|rather|over|off|up|down|between|beyond|right|left|both|each|every|because)\b)"
)
_ELLIPSIS = re.compile(
    r"\s*,?\s*(?:(?:alone|however|though|itself|apart)\s*,?\s*)?"
    r"(?:(?P<no>(?:(?:is|are|was|were|has|have|had|does|do|did)\s+(?:probably |perhaps |likely |definitely "
    r"|certainly |sadly |clearly )?(?:not|n't)|isn't|isnt|aren't|arent|wasn't|wasnt|weren't|hasn't|"
    r"haven't|doesn't|not|(?:believed|thought) not|(?:is|are) (?:believed|thought|said) not(?: to be)?))"
    r"|(?P<yes>(?:is|are|was|were|too|ditto|likewise|also|as well|the same|similarly)"
    r"(?:\s+(?:too|also|likewise|as well|ditto|the same|similarly|believed so|thought to be|probably|maybe|"
    r"possibly|perhaps|apparently))?|(?:probably|maybe|possibly|perhaps|presumably)(?:\s+(?:is|are))?|"
    r"(?:may|might|could)(?:\s+(?:be|well be))?(?:\s+(?:too|also))?|(?:is|are) (?:thought|believed|said|understood) to be))"
    r"\s*(?:$|[.,;:!?)]|\band\b|\bbut\b|\bmaybe\b|\bsadly\b)"
)
_LOST = re.compile(
    r"(?:\s+(?:now|itself|sadly))*\s*,?\s*(?:(?:is|are|was|were|has|have|does|do|did)\s+(?:sadly\s+|now\s+|long\s+)?"
    r"(?:not|no longer|been lost|lost|gone|missing|long gone|been replaced|replaced)\b|isn't\b|doesn't\b|"
    r"(?:is|are)\s+(?:long\s+)?(?:gone|missing|lost)|(?:long\s+)?gone\b|missing\b|lost\b|not included|"
    r"no longer (?:present|available|exists|with|in|fitted|survives))"
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
class _Group:
    parts: tuple[Hit, ...]

    @property
    def start(self) -> int:
        return self.parts[0].start

    @property
    def end(self) -> int:
        return self.parts[-1].end


def groups_of(text: str, parts: Sequence[Hit]) -> list[_Group]:
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
    done: list[_Group] = []
    for group, linked in zip(out, links, strict=True):
        apart = any("," in text[a.end : b.start] for a, b in zip(group, group[1:], strict=False))
        if apart and not linked:
            done += [_Group((p,)) for p in group]
        else:
            done.append(_Group(tuple(group)))
    return done


def _attributive(text: str, prop: Hit, groups: Sequence[_Group], after: int) -> _Group | None:
    """Return the parts that an adjective stands before."""
    if prop.label[1] not in _ATTRIBUTIVE:
        return None
    for group in groups[after:]:
        if group.start < prop.end:
            continue
        gap = text[prop.end : group.start]
        if _ATTRIBUTE_GAP.fullmatch(gap) and not _GAP_STOP.search(gap):
            return group
        return None
    return None


def _subject(layout: Layout, prop: Hit, groups: Sequence[_Group]) -> _Group | None:
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
    for k in range(at + 1, here + 1):
        kind = layout.bounds[k][0]
        if kind == "colon":
            continue
        words = layout.words(k)
        if kind in ("comma", "and", "or", "contrast", "open", "close", "except"):
            own = words[: max(0, prop.start - layout.pieces[k][0])] if k == here else words
            if re.match(r"\s*(?:the|its|a|an|this|there|i|we|he|she|my|our|some|no)\b", own):
                return None
            if len(own.split()) > 6:
                return None
            continue
        if kind == "sub" and re.match(
            r"\s*(?:which|who|whose)\b", layout.text[layout.bounds[k][1] :]
        ):
            continue
        return None
    return best


def _emit(part: Hit, prop: str, hit: Hit, place: int) -> Iterator[Said]:
    """Yield what a property says of a part."""
    name = part.label[1]
    if prop == "original" and name in _ORIGINALITY:
        yield Said("originality", _ORIGINALITY[name], hit, place)
    elif prop == "changed" and name in _ORIGINALITY and name not in ("engine", "paint", "colour"):
        yield Said("originality", _ORIGINALITY[name], hit, place, denied=True)
    elif prop == "replaced" and name == "engine":
        yield Said("numbers", "replacement engine", hit, place)
    elif prop == "replaced" and name in _NOT_AS_BUILT:
        yield Said("originality", _ORIGINALITY[name], hit, place, denied=True)
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
    elif prop in ("modified", "fitted") and name in _MODIFIED:
        yield Said("modifications", _MODIFIED[name], hit, place)
    elif name in _FAULTY.get(prop, {}):
        yield Said("faults", _FAULTY[prop][name], hit, place)


def _linked(
    layout: Layout, props: Sequence[Hit], groups: Sequence[_Group]
) -> Iterator[tuple[Hit, _Group, bool]]:
    """Yield each property with the parts it is said of, and whether it stands before them."""
    text = layout.text
    after = 0
    for prop in props:
        while after < len(groups) and groups[after].start < prop.end:
            after += 1
        before = _attributive(text, prop, groups, after)
        if before is not None:
            yield prop, before, True
            continue
        if prop.label[1] in ("original", "changed", "modified") and not _STAYS.match(
            text, prop.end
        ):
            continue
        subject = _subject(layout, prop, groups)
        if subject is not None:
            yield prop, subject, False


def _elliptic(
    layout: Layout, groups: Sequence[_Group], links: Sequence[tuple[Hit, _Group, bool]]
) -> Iterator[Said]:
    """Yield what is left unsaid: "the wheels are not", "gearbox ditto"."""
    told = {id(g) for _, g, _ in links}
    for group in groups:
        if id(group) in told:
            continue
        found = _ELLIPSIS.match(layout.text, group.end)
        if not found:
            continue
        earlier = [
            (p, g)
            for p, g, _ in links
            if max(p.end, g.end) <= group.start
            and group.start - max(p.end, g.end) < 160
            and p.label[1] in ("original", "replaced", "matching", "changed")
        ]
        if not earlier:
            continue
        prop = earlier[-1][0]
        name = prop.label[1]
        turned = found["no"] is not None
        again = found["yes"] is not None and re.search(
            r"too|ditto|likewise|also|well|same|similarly", found["yes"]
        )
        doubt = bool(
            re.search(
                r"believed|thought|said|prob|maybe|poss|perhaps|may|might|could|presum|appar",
                found[0],
            )
        )
        place = prop.start if again else group.start
        if name in ("replaced", "changed") and turned:
            name, turned = "original", False
        for part in group.parts:
            hit = Hit(("said",), group.start, max(group.end, found.end()), _OWN)
            for said in _emit(part, name, hit, place):
                flip = said.denied != turned
                yield Said(said.topic, said.value, hit, place, flip, doubt and not flip)


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
    for prop, group, before in links:
        lost = before and prop.label[1] == "original" and _LOST.match(layout.text, group.end)
        for part in group.parts:
            start, end = min(prop.start, group.start), max(prop.end, group.end)
            # A negation before the parts reaches them; one between them and the property, it.
            hit = Hit(("said",), prop.start, prop.end)
            for said in _emit(part, prop.label[1], hit, prop.start):
                words = Hit(("said",), start, end, prop.own)
                denied = said.denied or bool(lost)
                out.append(Said(said.topic, said.value, words, prop.start, denied))
    out += _elliptic(layout, groups, links)
    return out, [p for p, _, _ in links]

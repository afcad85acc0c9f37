"""Clauses that only point back: "there isn't any", "the plate says so"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valuation.reading.found import Found
from valuation.reading.phrases import Hit
from valuation.reading.strengths import Scope, strength_at
from valuation.schema.statements import Strength

__all__ = ["Mention", "point_back"]

_DENIES = re.compile(
    r"\b(?:there|mine|this one|this|it|he|she|that one|the car|which it|ours|neither)\s*"
    r"(?:isn't|isnt|is not|hasn't|hasnt|has not|wasn't|wasnt|was not|doesn't|doesnt|does not|"
    r"never was|never has|never did|never has been|has never)\s*(?:got\s+)?"
    r"(?:any(?: on show| here| now| at all)?|one|been|now|so|either)?\s*(?=[.,;!?)–—]|$)"
    r"|\b(?:but|though|yet|and|which)\s+(?:it\s+|she\s+|he\s+)?(?:certainly\s+|definitely\s+|"
    r"sadly\s+)?"
    r"(?:isn't|is not|hasn't|has not|wasn't|was not|doesn't|does not|never was|never has been|"
    r"never did)\s*(?=[.,;!?)–—]|$)"
    r"|\bthis\s+(?:\d{4}\s+)?(?:[\w-]+\s+){1,4}?(?:isn't|is not|hasn't|wasn't|"
    r"has not)\s*(?=[.,;!?)–—]|$)"
    r"|\b(?:but\s+|though\s+)?not\s+(?:this one|this|mine|ours|so this one|this car|with this one|"
    r"in this case|on this one|on mine)\s*(?=[.,;!?)–—]|$)"
    r"|\b(?:it|this|this one|mine|ours|the present car)\s+(?:has|had|shows|showed|displays|knows|"
    r"suffers)\s+(?:none|nothing of the (?:kind|sort)|no such (?:thing|trouble|problem))\b"
    r"|\b(?:they|it|this|that|these|which)\s+(?:is|are|was|were|has been|have been|proved|"
    r"proves)\s+"
    r"(?:\w+ly\s+)?(?:without foundation|unfounded|untrue|false|baseless|groundless|nonsense|"
    r"disproved|mistaken|discredited|fiction|a myth|myths)\b"
    r"|\b(?:it|this|she|he)\s+(?:is|was)\s+(?:anything but|far from it)\s*(?=[.,;!?)–—]|$)"
    r"|\b(?:is|was|are|were)\s+(?:nothing of the (?:kind|sort)|no such thing|far from it|"
    r"not the case|untrue|nonsense|false)\s*(?=[.,;!?)–—]|$)"
)
_OURS = re.compile(
    r"mine|this|ours|they|that|these|is|was|are|were|(?:but |though )?not|but|though|yet|and|it|"
    r"he|she|that one|"
    r"the car|which"
)
_NO_LONGER = re.compile(
    r"(?:\bbut |, )(?:not any ?more|no longer|not now|doesn't now|isn't now|not since|cured|"
    r"since cured|now (?:cured|fixed|sorted|repaired))\b|\bthere is now none\b|"
    r"\bno (?:trace|sign|evidence) of (?:it|any|this|that|such|one)\b|"
    r"(?:[;,.]|\band|\bbut)\s*(?:(?:that|this|it|which|all of which)\s+)?(?:(?:has|have|was|were|"
    r"is)\s+)?(?:(?:now|since|long since|all|long ago)\s+)(?:been\s+)?(?:cured|fixed|sorted|"
    r"repaired|rectified|put right|"
    r"attended to|"
    r"dealt with|cut out|mended|seen to|welded|made good)\b|"
    r"[;,.]\s*(?:that|this|it|which)\s+(?:has|have)\s+been\s+(?:cured|fixed|sorted|rectified|"
    r"put right|"
    r"attended to|dealt with|mended|seen to|made good)\b"
)
_AFFIRMS = re.compile(
    r"\b(?:says?|said|states?|stated|confirms?|confirmed|thinks?|thought|reckons?|believes?|"
    r"lists?)\s+(?:so|the same|as much|it (?:is|was|does|has)|that it (?:is|was|does|has)|"
    r"he (?:is|was)|yes)"
    r"\s*(?=[.,;:!?)–—]|$)"
)
_SAYS_NOT = re.compile(
    r"\b(?:says?|said|insists?|reckons?|maintains?|swears?|swore)\s+(?:not|no|otherwise|"
    r"it (?:isn't|hasn't|"
    r"wasn't|is not|has not|was not|doesn't|never was|never did)|he (?:isn't|"
    r"wasn't))\s*(?=[.,;:!?)–—]|$)"
)
_VAGUE = re.compile(r"\b(?:some|people|others|many|they|folk|locals|everyone)\s+(?:\w+\s+)?$")
_REACH = 170
_OWN = re.compile(r"(?:\b(?:i|we|not|never)|n't)\s+(?:\w+\s+)?$")
# What "it isn't" hardly ever means, though it was spoken of last.
_NO_TURN = frozenset({"owners", "documents", "condition"})
# Such a clause stands by itself: "fast she is not" does not point back.
_JOINED = re.compile(r"(?:is|was|are|were|but|though|yet|and|which|not|this)\b")
# "In my brother's name, not mine" is said of the name.
_NAMES = re.compile(r"\b(?:names?|title|belongs to)\b[^.;!?]*$")
_BEGINS = re.compile(
    r"(?:^|[.,;:!?()\"–—-]|\b(?:but|and|which|though|because|for|as|while|then|yet|so|that))\s*$"
)
_END = re.compile(r"[.;!?]+(?:\s|$)")


@dataclass(frozen=True, slots=True)
class Mention:
    """Something the text speaks of, whether it is said of this car or not."""

    topic: str
    value: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Back:
    """What a clause that points back says, and whether it takes the earlier words back."""

    found: Found
    earlier: Mention
    takes: bool

    def takes_back(self, said: Found) -> bool:
        """Tell whether a statement is the one taken back."""
        if not self.takes or said.group == "denied":
            return False
        same = (said.topic, said.value) == (self.earlier.topic, self.earlier.value)
        return same and said.start == self.earlier.start


def _last(text: str, mentions: Sequence[Mention], place: int) -> Mention | None:
    """Return what was spoken of last, in the same sentence or the one before."""
    before = [
        m
        for m in mentions
        if m.end <= place < m.end + _REACH and len(_END.findall(text, m.end, place)) <= 1
    ]
    return max(before, key=lambda m: (m.start, m.end), default=None)


def point_back(text: str, mentions: Sequence[Mention], scopes: Sequence[Scope]) -> Iterator[Back]:
    """Yield what such clauses say of the last thing before them.

    Parameters
    ----------
    text : str
        The folded text.
    mentions : sequence of Mention
        What the text speaks of.
    scopes : sequence of Scope
        Where doubts and sources hold.
    """
    for found in _DENIES.finditer(text):
        last = _last(text, mentions, found.start())
        joined = _JOINED.match(found.group()) or _BEGINS.search(text, 0, found.start())
        of_name = found.group().startswith("not") and _NAMES.search(text, 0, found.start())
        if last and last.topic not in _NO_TURN and joined and not of_name:
            said = Found(last.topic, last.value, "denied", *found.span())
            yield Back(said, last, bool(_OURS.match(found.group())))
    for found in _SAYS_NOT.finditer(text):
        last = _last(text, mentions, found.start())
        if last and last.topic not in _NO_TURN:
            yield Back(Found(last.topic, last.value, "denied", *found.span()), last, False)
    for found in _NO_LONGER.finditer(text):
        last = _last(text, mentions, found.start())
        if last and last.topic in ("faults", "history"):
            said = Found(last.topic, last.value, "denied", *found.span())
            yield Back(said, last, last.topic == "faults")
    for found in _AFFIRMS.finditer(text):
        last = _last(text, mentions, found.start())
        hit = Hit(("said",), *found.span())
        verdict = strength_at(scopes, hit, found.end() - 1)
        doubted = re.match(r"th[oi]|reck|bel", found.group())
        if (
            verdict
            and verdict.strength == "claimed"
            and (doubted or _OWN.search(text, 0, found.start()))
        ):
            continue
        if last and verdict and verdict.strength != "denied":
            told = verdict.strength if verdict.strength == "documented" else "third-party"
            doubted = doubted or _VAGUE.search(text, 0, found.start())
            how: Strength = "hedged" if doubted else told
            yield Back(Found(last.topic, last.value, how, *found.span()), last, False)

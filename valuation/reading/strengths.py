"""How a thing is said: where negations, doubts and sources hold."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.schema.statements import Strength

__all__ = ["Scope", "Verdict", "forward", "is_clause", "strength_at"]

_FINITE = re.compile(
    r"\b(?:is|are|was|were|has|have|had|does|do|did|will|can|isn't|wasn't|hasn't|doesn't|it's|"
    r"there's|runs|drives|starts|comes|remains|shows|carries|needs|wants|appears|seems|looks|"
    r"wears|retains|bears|came|left|went|stood|sat|i've|he's|she's|we've|that's|says|said|i'm|"
    r"don't|didn't|won't|can't|couldn't|aren't|weren't|haven't|slips|crunches|jumps|works|fails|"
    r"knocks|leaks|smokes|blows|whines|cracks|gets|got|lets|pulls|bind|binds)\b"
)
_SUBJECT = re.compile(
    r"^\s*(?:and |so |then )?(?:it|he|she|i|we|they|there|this|these|those|its|his|her|my|our|"
    r"their|the|a|an|all|it's|i've|everything|some|with|also|only|now|two|three|one)\b"
)
_LISTS = re.compile(r"\s*(?:find|found|see|seen|present|noted|any|here|evident)\s*")
_THIS = re.compile(
    r"\b(?:this (?:one|car|example)|mine|ours|the present|here(?= (?:is|there|we|the|it)\b|,))\b"
)
# A doubt that takes a whole clause: what is joined to it by "and" is doubted too.
_MATRIX = re.compile(r"\bthat\b|\bi (?:think|believe)\b|\btold\b|\bwhether\b|\bunderstand\b")
# Behind what is denied, another subject begins a clause of its own.
_OTHER_SUBJECT = re.compile(r"\b(?:we|i|he|she|they)\s+\w")
# What may stand between a doubt and what it leaves open: "I can't tell you if ...".
_TO_WHOM = re.compile(r"\s*(?:you|us|me|now|really|for sure|for certain|here|myself)?\s*")
_SURELY = re.compile(
    r"\s*(?:without (?:a )?doubt|certainly|definitely|undoubtedly|no doubt|surely)\b"
)
_OVER_AND = frozenset({"without", "hedge", "void"})


@dataclass(frozen=True, slots=True)
class Scope:
    """A cue and the run of text in which it holds.

    Parameters
    ----------
    kind : str
        ``neg``, ``without``, ``hedge``, ``void``, ``third-party`` or ``documented``.
    cue : (int, int)
        Where the words stand that say so.
    start, end : int
        The run in which what is said is said so.
    inside : bool
        Whether the cue holds for a phrase in whose midst it stands.
    asked : bool
        Whether it leaves a question open ("whether ..."): a negation outside the question does
        not turn what is asked.
    """

    kind: str
    cue: tuple[int, int]
    start: int
    end: int
    inside: bool = False
    asked: bool = False

    def covers(self, place: int) -> bool:
        """Tell whether a place of the text lies in the run."""
        return self.start <= place < self.end


def is_clause(words: str) -> bool:
    """Tell whether words begin a clause of their own."""
    return bool(_FINITE.search(words)) or bool(_SUBJECT.match(words))


def _short(words: str) -> bool:
    return len(words.split()) <= 5 and not _FINITE.search(words)


def _list_goes_on(layout: Layout, piece: int, joins: frozenset[str]) -> int | None:
    """Return the last piece of a list "a, b or c" whose second part is `piece`, if it is one."""
    n = len(layout.pieces)
    k = piece
    while k < n:
        kind = layout.bounds[k][0]
        if kind in joins:
            # "..., the radio and the clock don't work" is no list but a clause of its own.
            whole = layout.text[layout.pieces[piece][0] : layout.pieces[k][1]]
            return None if kind == "and" and _CLAUSE.search(whole) else k
        if kind != "comma" or not _short(layout.words(k)) or _OWN_NO.match(layout.words(k)):
            return None
        if not layout.words(k).strip() and k + 1 < n and layout.bounds[k + 1][0] in joins:
            own = layout.bounds[k + 1][0] == "and" and is_clause(layout.words(k + 1))
            return None if own else k + 1
        k += 1
    return None


_CLAUSE = re.compile(
    r"\b(?:don't|didn't|won't|can't|doesn't|aren't|do not|does not|are|work|works|need|get|got|"
    r"slips|jumps)\b"
)
_OWN_NO = re.compile(r"\s*(?:no|not|neither|never|without)\b")
_OR = frozenset({"or"})
_AND_OR = frozenset({"or", "and"})
# Remarks that name another car, which then does or is something.
_LEADS = re.compile(
    r"(?!unlike|as\b|like\b|where\b)(?:\w+ ){0,2}(?:sister|other|another|last|previous|next|"
    r"neighbo|friend|one|two|many|most|few|"
    r"several|some|"
    r"lesser|all|every|its|those|these|his|her|my|our|the)\b"
)


def forward(layout: Layout, cue: Hit, kind: str, hits: Sequence[int]) -> int:
    """Return where the run that begins with a cue ends.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    cue : Hit
        The words that say so.
    kind : str
        Kind of the scope.
    hits : sequence of int
        Where the text speaks of something, in order.
    """
    said = [h for h in hits if h >= cue.end]
    own = (
        _OTHER_SUBJECT.search(layout.text, said[0]) if said and kind in ("neg", "without") else None
    )
    k = layout.at(cue.end - 1)
    listed = False
    while k + 1 < len(layout.pieces):
        bound = layout.bounds[k + 1]
        if bound[0] == "colon":
            if kind == "void" or not _LISTS.fullmatch(layout.text[cue.end : bound[1]]):
                break
            listed, k = True, k + 1
            continue
        if kind == "void":
            step = _void_goes_on(layout, k + 1, cue)
        elif listed and bound[0] in ("comma", "and", "or") and _short(layout.words(k + 1)):
            step = k + 1
        else:
            step = _goes_on(layout, k + 1, cue, kind, hits)
        if step is None:
            break
        k = step
    end = layout.pieces[k][1]
    return min(end, own.start()) if own and layout.at(own.start()) == layout.at(said[0]) else end


def _void_goes_on(layout: Layout, piece: int, cue: Hit) -> int | None:
    """Return how far a remark about other cars goes on with a piece, None if it ends before it."""
    if _THIS.search(layout.words(piece)):
        return None
    kind = layout.bounds[piece][0]
    if kind in ("sub", "and", "or"):
        return piece
    if kind != "comma":
        return None
    if not layout.words(piece).strip() and piece + 1 < len(layout.pieces):
        return piece if layout.bounds[piece + 1][0] in ("sub", "and", "or") else None
    if _LEADS.match(layout.text, cue.start, cue.end) and not _FINITE.search(
        layout.text, cue.end, layout.bounds[piece][1]
    ):
        # The subject still waits for its verb: "a sister car, sold here, had burnt".
        return piece
    return _list_goes_on(layout, piece, _AND_OR)


def _goes_on(layout: Layout, piece: int, cue: Hit, kind: str, hits: Sequence[int]) -> int | None:
    """Return how far a negation or a doubt goes on with a piece, None if it ends before it."""
    bound, at, _ = layout.bounds[piece]
    words = layout.words(piece)
    if bound == "or":
        return piece
    if bound == "and":
        if kind == "hedge" and _SURELY.match(words):
            return None
        if kind == "hedge" and (
            words.lstrip().startswith("that ")
            or (_MATRIX.search(layout.text, cue.start, cue.end + 6) and not _SUBJECT.match(words))
        ):
            return piece
        return piece if kind in _OVER_AND and not is_clause(words) else None
    if bound == "comma":
        return _list_goes_on(layout, piece, _AND_OR if kind in _OVER_AND else _OR)
    empty = kind == "hedge" and _TO_WHOM.fullmatch(layout.text, cue.end, at)
    if bound == "sub" and empty and not any(cue.end <= h < at for h in hits):
        return piece
    return None


def _holds(scope: Scope, hit: Hit, place: int) -> bool:
    """Tell whether a cue holds for a hit: from outside, or in a gap of its phrase."""
    first, last = scope.cue
    if hit.start <= first and last <= hit.end and not scope.inside:
        inside = any(a <= first < b for a, b in hit.gaps)
        return inside and scope.kind in ("neg", "without", "hedge")
    return scope.covers(place)


def _asked(inside: Sequence[Scope], place: int) -> list[Scope]:
    """Leave out negations outside a question left open: "nobody knows whether"."""
    asked = [s.cue[1] for s in inside if s.asked and s.cue[1] <= place]
    if not asked:
        return list(inside)
    since = max(asked)
    return [s for s in inside if s.kind == "hedge" or since <= s.cue[0] < place]


def _negations(inside: Sequence[Scope]) -> list[Scope]:
    """Return what turns a thing over: one negation, or none where it is itself negated."""
    plain = [s for s in inside if s.kind == "neg"]
    other = [s for s in inside if s.kind == "without"]
    if any(p.cue[0] < o.cue[0] for p in plain for o in other):
        return []
    return [*plain, *other]


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a thing is said, and the words that decide it.

    Parameters
    ----------
    strength : str
        How it is said.
    first, last : int
        Where the negation or the doubt stands, -1 where there is none.
    """

    strength: Strength
    first: int = -1
    last: int = -1


def _because(strength: Strength, scopes: Sequence[Scope], hit: Hit) -> Verdict:
    """Return a verdict with the cue next to the words."""
    if not scopes:
        return Verdict(strength)
    near = min(scopes, key=lambda s: abs(s.cue[0] - hit.start))
    return Verdict(strength, *near.cue)


def strength_at(
    scopes: Sequence[Scope], hit: Hit, place: int, *, denied: bool = False, hedged: bool = False
) -> Verdict | None:
    """Return how a thing is said, None if it is not said of this car.

    Parameters
    ----------
    scopes : sequence of Scope
        Where cues hold.
    hit : Hit
        The words that say it; a cue within them is part of them, unless it stands in a gap.
    place : int
        Where the cue has to hold.
    denied, hedged : bool
        Whether the words themselves deny it or doubt it.
    """
    inside = [s for s in scopes if _holds(s, hit, place)]
    if any(s.kind == "void" for s in inside):
        return None
    turning = _negations(_asked(inside, place))
    if bool(turning) != denied:
        return _because("denied", turning, hit)
    doubts = [s for s in inside if s.kind == "hedge"]
    if hedged or doubts:
        return _because("hedged", doubts, hit)
    kinds = {s.kind for s in inside}
    if "documented" in kinds:
        return Verdict("documented")
    return Verdict("third-party" if "third-party" in kinds else "claimed")

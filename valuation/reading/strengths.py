"""How a thing is said: where negations, doubts and sources hold."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.schema.statements import Strength

__all__ = ["Scope", "Verdict", "find_scopes", "forward", "strength_at"]

_FINITE = re.compile(
    r"\b(?:is|are|was|were|has|have|had|does|do|did|will|can|isn't|wasn't|hasn't|doesn't|it's|"
    r"there's|runs|drives|starts|comes|remains|shows|carries|needs|wants|appears|seems|looks|"
    r"wears|retains|bears|came|left|went|stood|sat|i've|he's|she's|we've|that's|says|said|i'm)\b"
)
_SUBJECT = re.compile(
    r"^\s*(?:and |so |then )?(?:it|he|she|i|we|they|there|this|these|those|its|his|her|my|our|"
    r"their|the|a|an|all|it's|i've|everything|some|with|also|only|now|two|three|one)\b"
)
_ANSWER_NO = re.compile(
    r"\s*(?:\bis\b|\bare\b|\.\.\.)\s*(?:no|none|nil|nothing|zero|never|not|nope|absent|"
    r"unlikely|negative)\b(?!\s+(?:longer|idea|doubt|sure|certain|known|checked|verified))"
    r"|\s*[:=–—-]\s*(?:no|none|nil|nothing|zero|never|nope|absent|negative|n/a)\b"
    r"(?=\s*(?:[.,;!?)]|$|found|seen|at all|here))"
)
_PUT = re.compile(r"\s*[:=–—-]")
_NOT_FOUND = re.compile(
    r"[\w\s'-]{0,30}?\b(?:(?:is|are|was|were|has|have|had|could|can|did|does|do|been)\s+(?:not|never)|"
    r"isn't|aren't|wasn't|weren't|hasn't|haven't|couldn't|can't|cannot)\s+(?:\w+\s+){0,2}?"
    r"(?:found|seen|detected|visible|present|evident|problem|issue|noted|discovered|apparent|"
    r"recorded|known|exist|noticed|worry|concern)\b"
)
_ABSENT = re.compile(
    r"\s+(?:(?:is|are|was|were|seems?|appears?)\s+)?(?:to\s+be\s+)?(?:entirely\s+|wholly\s+)?absent\b"
)
_THINGS = frozenset({"faults", "history", "documents", "title"})
_LISTS = re.compile(r"\s*(?:find|found|see|seen|present|noted|any|here|evident)\s*")
_THIS = re.compile(r"\b(?:this (?:one|car|example)|mine|the present|here)\b")
_NO_AFTER = re.compile(r"\s+(?:no\s+(?!longer|doubt)|not at all\b|nothing\b|none\b)")
_GONE = re.compile(
    r"(?:\s+(?:and|or|nor)\s+\w+)?\s*,?\s*"
    r"(?:(?:is|are|was|were|has|have|has been|have been|but)\s+)?"
    r"(?:(?:sadly|now|been|unfortunately|also)\s+)*(?:lost|missing|gone|absent|mislaid|wanting|"
    r"no longer\s+(?:present|with|available|there|in)|not\s+(?:present|with|included|available|"
    r"there|found|offered|in)|isn't\s+(?:with|there))\b"
)
# A doubt that takes a whole clause: what is joined to it by "and" is doubted too.
_MATRIX = re.compile(r"\bthat\b|\bi (?:think|believe)\b|\btold\b|\bwhether\b|\bunderstand\b")
# Doubts of a whole statement, wherever they stand in it.
_BROAD = re.compile(r"(?:as|so) far as|to (?:the best of|my|our|his|her)\b|afaik|by all accounts")
_INSERTED = re.compile(r"\s*(?:we|i|one|it|he|she|they)\b(?: \w+){0,3}\s*$")
# Behind what is denied, another subject begins a clause of its own.
_OTHER_SUBJECT = re.compile(r"\b(?:we|i|he|she|they)\s+\w")
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
    """

    kind: str
    cue: tuple[int, int]
    start: int
    end: int
    inside: bool = False

    def covers(self, place: int) -> bool:
        """Tell whether a place of the text lies in the run."""
        return self.start <= place < self.end


def _is_clause(words: str) -> bool:
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
            return k
        if kind != "comma" or not _short(layout.words(k)) or _OWN_NO.match(layout.words(k)):
            return None
        if not layout.words(k).strip() and k + 1 < n and layout.bounds[k + 1][0] in joins:
            return k + 1
        k += 1
    return None


_OWN_NO = re.compile(r"\s*(?:no|not|neither|never|without)\b")
_OR = frozenset({"or"})
_AND_OR = frozenset({"or", "and"})


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
            step = _void_goes_on(layout, k + 1)
        elif listed and bound[0] in ("comma", "and", "or") and _short(layout.words(k + 1)):
            step = k + 1
        else:
            step = _goes_on(layout, k + 1, cue, kind, hits)
        if step is None:
            break
        k = step
    end = layout.pieces[k][1]
    return min(end, own.start()) if own and layout.at(own.start()) == layout.at(said[0]) else end


def _void_goes_on(layout: Layout, piece: int) -> int | None:
    """Return how far a remark about other cars goes on with a piece, None if it ends before it."""
    if _THIS.search(layout.words(piece)):
        return None
    kind = layout.bounds[piece][0]
    if kind in ("sub", "and", "or"):
        return piece
    return _list_goes_on(layout, piece, _AND_OR) if kind == "comma" else None


def _goes_on(layout: Layout, piece: int, cue: Hit, kind: str, hits: Sequence[int]) -> int | None:
    """Return how far a negation or a doubt goes on with a piece, None if it ends before it."""
    bound, at, _ = layout.bounds[piece]
    words = layout.words(piece)
    if bound == "or":
        return piece
    if bound == "and":
        if kind == "hedge" and (
            words.lstrip().startswith("that ")
            or (_MATRIX.search(layout.text, cue.start, cue.end + 6) and not _SUBJECT.match(words))
        ):
            return piece
        return piece if kind in _OVER_AND and not _is_clause(words) else None
    if bound == "comma":
        return _list_goes_on(layout, piece, _AND_OR if kind in _OVER_AND else _OR)
    empty = kind == "hedge" and at - cue.end <= 2
    if bound == "sub" and empty and not any(cue.end <= h < at for h in hits):
        return piece
    return None


def _alone(layout: Layout, cue: Hit, hits: Sequence[int]) -> bool:
    """Tell whether a cue makes up the whole of its piece."""
    start, end = layout.pieces[layout.at(cue.start)]
    if any(start <= h < end for h in hits):
        return False
    before = layout.text[start : cue.start]
    if _INSERTED.match(before):
        before = ""
    after = layout.text[cue.end : end] if cue.end < end else ""
    return len(before.split()) <= 1 and not after.strip(" \"'")


def _ends_piece(layout: Layout, cue: Hit) -> bool:
    end = layout.pieces[layout.at(cue.start)][1]
    return not layout.text[cue.end : max(end, cue.end)].strip(" \"'")


def _hedge(layout: Layout, cue: Hit, hits: Sequence[int]) -> Iterator[Scope]:
    """Yield where a doubt holds: what follows, or what stands before it at the end of a clause."""
    span = (cue.start, cue.end)
    k = layout.at(cue.start)
    start, end = layout.pieces[k]

    def said_in(a: int, b: int) -> bool:
        return any(a <= h < b for h in hits)

    if _alone(layout, cue, hits):
        first, last = layout.sentence(cue.start)
        back = k - 1
        if back >= first and layout.bounds[k][0] in ("comma", "open", "colon", "sub", "and"):
            s, e = layout.pieces[back]
            if said_in(s, e):
                yield Scope("hedge", span, s, e)
                return
        if k < last and layout.bounds[k + 1][0] in ("comma", "sub", "close"):
            yield Scope("hedge", span, cue.start, layout.pieces[k + 1][1])
        elif first == k == last and k > 0 and back >= 0 and layout.bounds[k][0] == "strong":
            s, e = layout.pieces[back]
            yield Scope("hedge", span, s, e)
        return
    if _BROAD.match(layout.text, cue.start):
        first, last = layout.sentence(cue.start)
        if said_in(start, cue.start):
            yield Scope("hedge", span, start, cue.end)
        elif k > first and said_in(*layout.pieces[k - 1]) and layout.bounds[k][0] != "contrast":
            yield Scope("hedge", span, layout.pieces[k - 1][0], cue.end)
        else:
            yield Scope("hedge", span, cue.start, layout.pieces[min(k + 1, last)][1])
        return
    if _ends_piece(layout, cue) and said_in(start, cue.start) and not said_in(cue.end, end):
        yield Scope("hedge", span, start, cue.end)
        return
    yield Scope("hedge", span, cue.start, forward(layout, cue, "hedge", hits))


def _denied_behind(layout: Layout, hits: Sequence[Hit]) -> Iterator[Scope]:
    """Yield where what is said is denied behind it: "rust: none", "filler was not found"."""
    text = layout.text
    for hit in hits:
        topic = hit.label[1] if hit.label[0] == "say" else ""
        after = (hit.end, hit.end + 1)
        denied = (
            (_ANSWER_NO.match(text, hit.end) and (topic or _PUT.match(text, hit.end)))
            or (topic in _THINGS and _NOT_FOUND.match(text, hit.end))
            or (topic in _THINGS and _ABSENT.match(text, hit.end))
            or (topic == "documents" and _GONE.match(text, hit.end))
            or (topic == "faults" and _NO_AFTER.match(text, hit.end))
        )
        if denied:
            yield Scope("neg", after, hit.start, hit.end)


def _void(layout: Layout, cue: Hit, hits: Sequence[int]) -> Scope:
    """Return where a remark holds that is not about this car."""
    return Scope("void", (cue.start, cue.end), cue.start, forward(layout, cue, "void", hits))


def find_scopes(layout: Layout, cues: Sequence[Hit], said: Sequence[Hit]) -> list[Scope]:
    """Find where negations, doubts and remarks about other cars hold.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    cues : sequence of Hit
        Cues, masked ones left out.
    said : sequence of Hit
        What the text speaks of.
    """
    places = sorted(h.start for h in said)
    out: list[Scope] = []
    for cue in cues:
        kind = cue.label[1]
        if kind in ("neg", "without"):
            end = forward(layout, cue, kind, places)
            out.append(Scope(kind, (cue.start, cue.end), cue.start, end))
        elif kind == "hedge":
            out += _hedge(layout, cue, places)
        elif kind == "void":
            out.append(_void(layout, cue, places))
    return [*out, *_denied_behind(layout, said)]


def _holds(scope: Scope, hit: Hit, place: int) -> bool:
    """Tell whether a cue holds for a hit: from outside, or in a gap of its phrase."""
    first, last = scope.cue
    if hit.start <= first and last <= hit.end and not scope.inside:
        inside = any(a <= first < b for a, b in hit.gaps)
        return inside and scope.kind in ("neg", "without", "hedge")
    return scope.covers(place)


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
    turning = _negations(inside)
    if bool(turning) != denied:
        return _because("denied", turning, hit)
    doubts = [s for s in inside if s.kind == "hedge"]
    if hedged or doubts:
        return _because("hedged", doubts, hit)
    kinds = {s.kind for s in inside}
    if "documented" in kinds:
        return Verdict("documented")
    return Verdict("third-party" if "third-party" in kinds else "claimed")

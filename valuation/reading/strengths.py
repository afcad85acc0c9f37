"""How a thing is said: where negations, doubts and sources hold."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.schema.statements import Strength

__all__ = ["Scope", "find_scopes", "strength_at"]

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
    r"\s*(?:[?:=–—-]|\bis\b|\bare\b|\.\.\.)+\s*(?:no|none|nil|nothing|zero|never|not|nope|absent|"
    r"unlikely|negative|free)\b(?!\s+(?:longer|idea|doubt))"
)
_ANSWER_YES = re.compile(
    r"\s*\?+\s*(?:yes|some|plenty|of course|sure|a little|a bit|minor|definitely|lots|loads|all)\b"
)
_NOT_FOUND = re.compile(
    r"[\w\s'-]{0,30}?\b(?:(?:is|are|was|were|has|have|had|could|can|did|does|do|been)\s+(?:not|never)|"
    r"isn't|aren't|wasn't|weren't|hasn't|haven't|couldn't|can't|cannot)\s+(?:\w+\s+){0,2}?"
    r"(?:found|seen|detected|visible|present|evident|problem|issue|noted|discovered|apparent|"
    r"recorded|known|exist|noticed|worry|concern)\b"
)
_ABSENT = re.compile(
    r"\s+(?:(?:is|are|was|were|seems?|appears?)\s+)?(?:to\s+be\s+)?(?:entirely\s+|wholly\s+)?absent\b"
)
_ONLY_CUE = re.compile(r"[\s,\"']*")
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
    """

    kind: str
    cue: tuple[int, int]
    start: int
    end: int

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
        if kind != "comma" or not _short(layout.words(k)):
            return None
        if not layout.words(k).strip() and k + 1 < n and layout.bounds[k + 1][0] in joins:
            return k + 1
        k += 1
    return None


_OR = frozenset({"or"})
_AND_OR = frozenset({"or", "and"})


def _forward(layout: Layout, cue: Hit, kind: str, hits: Sequence[int]) -> int:
    """Return where the run that begins with a cue ends."""
    k = layout.at(cue.end - 1)
    listed = False
    over_and = kind in _OVER_AND
    while k + 1 < len(layout.pieces):
        bound = layout.bounds[k + 1][0]
        nxt = layout.words(k + 1)
        if bound == "or":
            k += 1
            continue
        if bound == "colon":
            if any(cue.end <= h < layout.bounds[k + 1][1] for h in hits):
                break
            listed, k = True, k + 1
            continue
        if bound == "and":
            if listed or (over_and and not _is_clause(nxt)):
                k += 1
                continue
            break
        if bound == "comma":
            if listed and _short(nxt):
                k += 1
                continue
            last = _list_goes_on(layout, k + 1, _AND_OR if over_and else _OR)
            if last is None:
                break
            k = last
            continue
        if bound == "sub" and not any(cue.end <= h < layout.bounds[k + 1][1] for h in hits):
            if kind in ("hedge", "void") and layout.bounds[k + 1][1] - cue.end <= 2:
                k += 1
                continue
        break
    return layout.pieces[k][1]


def _alone(layout: Layout, cue: Hit, hits: Sequence[int]) -> bool:
    """Tell whether a cue makes up the whole of its piece."""
    start, end = layout.pieces[layout.at(cue.start)]
    if any(start <= h < end for h in hits):
        return False
    before = layout.text[start : cue.start]
    after = layout.text[cue.end : end] if cue.end < end else ""
    return len(before.split()) <= 1 and len(after.split()) <= 1


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
        elif k == first and k > 0 and back >= 0 and layout.bounds[k][0] == "strong":
            s, e = layout.pieces[back]
            yield Scope("hedge", span, s, e)
        return
    if _ends_piece(layout, cue) and said_in(start, cue.start) and not said_in(cue.end, end):
        yield Scope("hedge", span, start, cue.end)
        return
    yield Scope("hedge", span, cue.start, _forward(layout, cue, "hedge", hits))


def _questions(layout: Layout, hits: Sequence[Hit]) -> Iterator[Scope]:
    """Yield answers and question marks behind what is said: "Rust? No", "Frame original?"."""
    text = layout.text
    for hit in hits:
        if (
            _ANSWER_NO.match(text, hit.end)
            or _NOT_FOUND.match(text, hit.end)
            or _ABSENT.match(text, hit.end)
        ):
            yield Scope("neg", (hit.end, hit.end + 1), hit.start, hit.end)
        elif text[hit.end : hit.end + 1] == "?" and not _ANSWER_YES.match(text, hit.end):
            yield Scope("hedge", (hit.end, hit.end + 1), hit.start, hit.end)


def _void(layout: Layout, cue: Hit, hits: Sequence[int]) -> Scope:
    """Return where a remark holds that is not about this car."""
    return Scope("void", (cue.start, cue.end), cue.start, _forward(layout, cue, "void", hits))


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
            end = _forward(layout, cue, kind, places)
            out.append(Scope(kind, (cue.start, cue.end), cue.start, end))
        elif kind == "hedge":
            out += _hedge(layout, cue, places)
        elif kind == "void":
            out.append(_void(layout, cue, places))
    return [*out, *_questions(layout, said)]


def _holds(scope: Scope, hit: Hit, place: int) -> bool:
    """Tell whether a cue holds for a hit: from outside, or in a gap of its phrase."""
    if hit.start <= scope.cue[0] and scope.cue[1] <= hit.end:
        kind = "neg" if scope.kind == "without" else scope.kind
        return kind in ("neg", "hedge") and kind not in hit.own
    return scope.covers(place)


def _negations(scopes: Sequence[Scope], hit: Hit, place: int) -> int:
    """Count what turns a thing over: one negation, or one that is itself negated."""
    found = [s for s in scopes if s.kind in ("neg", "without") and _holds(s, hit, place)]
    if not found:
        return 0
    plain = [s for s in found if s.kind == "neg"]
    other = [s for s in found if s.kind == "without"]
    if plain and other and any(p.cue[0] < o.cue[0] for p in plain for o in other):
        return 2
    return 1


def strength_at(
    scopes: Sequence[Scope], hit: Hit, place: int, *, denied: bool = False, hedged: bool = False
) -> Strength | None:
    """Return how a thing is said, None if it is not said of this car.

    Parameters
    ----------
    scopes : sequence of Scope
        Where cues hold.
    hit : Hit
        The words that say it; a cue within them is part of them.
    place : int
        Where the cue has to hold.
    denied, hedged : bool
        Whether the words themselves deny it or doubt it.
    """
    inside = [s for s in scopes if _holds(s, hit, place)]
    if any(s.kind == "void" for s in inside):
        return None
    if (_negations(scopes, hit, place) % 2 == 1) != denied:
        return "denied"
    if hedged or any(s.kind == "hedge" for s in inside):
        return "hedged"
    if any(s.kind == "documented" for s in inside):
        return "documented"
    return "third-party" if any(s.kind == "third-party" for s in inside) else "claimed"

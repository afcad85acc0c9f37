"""Where negations, doubts and remarks about other cars hold in a text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from valuation.reading.behind import scopes_behind
from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.reading.strengths import Scope, forward

__all__ = ["find_scopes"]

# Doubts of a whole statement, wherever they stand in it.
_BROAD = re.compile(
    r"(?:(?:as|so) )?(?:far|near) as|to (?:the best of|my|our|his|her)\b|afaik|by (?:all|the)\b|"
    r"from what\b|"
    r"for (?:all|aught)\b|if (?:i|we|memory)\b|unless\b|in (?:my|our|all)\b|or so\b|so (?:they|"
    r"he|she|we|i)|"
    r"(?:imho|iirc|afaik|aiui)\b|(?:open|subject) to\b"
)
# Doubts of what comes behind a "but": "don't quote me, but it was raced".
_EXCUSE = re.compile(
    r"quote|hold me|hold us|corrected|salt|swear|vouch|wrong|mistaken|take my|guarantee|prove|"
    r"certain|sure|"
    r"correction|told|guess|know"
)
# What can stand above a list: "what I suspect", "not wrong", "believed but not proved".
_HEADING = re.compile(
    r"\s*(?:and\s+)?(?:(?:my|our)\s+(?:\w+\s+)?(?:guess|hunch|bet|suspicion|theory|feeling)|"
    r"what\b[\w\s']{3,40}|(?:\w+\s+){0,3}(?:believed|suspected|rumoured|rumored|"
    r"unproven|unconfirmed|"
    r"unverified|unknown|uncertain|doubtful|possible|probable|alleged|supposed|"
    r"said)(?:\s+\w+){0,3}|"
    r"(?:not|nothing|no)\s+(?:wrong|broken|missing|found|seen|present|noted)(?:\s+\w+){0,2})\s*$"
)
# Told, but by somebody who is named.
_TOLD_BY = re.compile(
    r"(?:[\w']+\s+){0,4}?(?:told|informed|advised|assured)\s+(?:this\s+|that\s+)?by\s+"
    r"(?:the|my|his|her|its|our|a|an|mr|mrs|dr)\b"
)
# "The story that it was raced is false."
_UNTRUE = re.compile(
    r"\b(?P<tale>story|stories|claims?|rumou?rs?|tales?|suggestions?|idea|notion|belief|legend|"
    r"reports?|assertion|"
    r"theory|allegation)\s+(?:that|of|about)\b[^.;!?]{3,70}?\b(?:is|are|was|were|has been|"
    r"have been|proved|proves|"
    r"turned out)\s+(?:to be\s+)?(?:\w+ly\s+)?(?:false|untrue|nonsense|rubbish|a myth|myth|"
    r"disproved|disproven|"
    r"mistaken|wrong|unfounded|baseless|without foundation|not true|incorrect|discounted|"
    r"discredited|fiction|"
    r"pure invention|an invention|denied)\b"
)
# "If there is rust I have not found it."
_IF_ANY = re.compile(
    r"\bif\s+(?:there's|there is|there are|there was|it has|it had|she has|"
    r"he has)\b[^.;!?]{2,40}?\b(?:i|we|nobody|"
    r"no one|the \w+|it|he)\b[^.;!?,]{0,14}?(?:not|n't|never|nobody|no one|failed to|"
    r"yet to)\b[^.;!?]{0,14}?\b"
    r"(?:found|find|seen|see|noticed|notice|detected|spotted|shown)\b"
)
_TOLD = re.compile(r"\b(?:from the|from my|told me|told us|says|said|according to)\b")
_ASKS = re.compile(
    r"\b(?:whether|if)\b|\b(?:say|state|tell|claim|assert|prove) (?:with|for)\b|\bcan (?:say|"
    r"tell|confirm|prove)$"
)
_OF_ITS_OWN = re.compile(r"\s*(?:it|he|she|we|i|they|there|this|one|you)\b")
_INSERTED = re.compile(r"\s*(?:we|i|one|it|he|she|they)\b(?: \w+){0,3}\s*$")


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


def _clause_end(layout: Layout, piece: int, hits: Sequence[int]) -> int:
    """Return where the first clause of a sentence ends: its list of subjects belongs to it."""
    _, last = layout.sentence(layout.pieces[piece][0])
    k, said = piece, False
    while True:
        start, end = layout.pieces[k]
        said = said or any(start <= h < end for h in hits)
        if k == last or layout.bounds[k + 1][0] == "contrast":
            return end
        kind = layout.bounds[k + 1][0]
        joins = kind in ("or", "and")
        own = joins and _OF_ITS_OWN.match(layout.words(k + 1))
        if own or (said and not joins):
            return end
        k += 1


def _broad(layout: Layout, cue: Hit, hits: Sequence[int]) -> Iterator[Scope]:
    """Yield where a doubt of a whole statement holds: around it, before it or behind it."""
    span, k = (cue.start, cue.end), layout.at(cue.start)
    start, end = layout.pieces[k]
    first, last = layout.sentence(cue.start)

    def said_in(a: int, b: int) -> bool:
        return any(a <= h < b for h in hits)

    if said_in(start, cue.start):
        yield Scope("hedge", span, start, cue.end)
    elif k == first and not layout.text[start : cue.start].strip(" \n\"'"):
        yield Scope("hedge", span, cue.start, _clause_end(layout, k, hits))
    elif said_in(cue.end, end):
        yield Scope("hedge", span, cue.start, forward(layout, cue, "hedge", hits))
    elif k > first and said_in(*layout.pieces[k - 1]) and layout.bounds[k][0] != "contrast":
        yield Scope("hedge", span, layout.pieces[k - 1][0], cue.end)
    else:
        yield Scope("hedge", span, cue.start, layout.pieces[min(k + 1, last)][1])


def _remarked(layout: Layout, cue: Hit, hits: Sequence[int]) -> tuple[int, int] | None:
    """Return where a doubt holds that is a remark of its own: "raced, but I may be wrong".

    Such a remark says hardly anything else, and nothing of the car comes behind it; or it opens
    the sentence and excuses what follows its "but".
    """
    k = layout.at(cue.start)
    start, end = layout.pieces[k]
    first, last = layout.sentence(cue.start)
    if any(start <= h < end for h in hits):
        return None
    around = layout.text[start : cue.start] + " " + layout.text[min(cue.end, end) : end]
    if len(around.split()) > 4:
        return None
    before = [j for j in range(first, k) if layout.words(j).strip()]
    if before:
        since = layout.pieces[before[-1]]
        behind = any(end <= h < layout.pieces[last][1] for h in hits)
        bounds = {layout.bounds[j][0] for j in range(before[-1] + 1, k + 1)}
        if bounds & {"contrast"} and not behind and any(since[0] <= h < since[1] for h in hits):
            return since[0], end
        return None
    after = [j for j in range(k + 1, last + 1) if layout.words(j).strip()]
    if after and _EXCUSE.search(layout.text, cue.start, cue.end):
        bounds = {layout.bounds[j][0] for j in range(k + 1, after[0] + 1)}
        if "contrast" in bounds:
            return cue.start, layout.pieces[after[0]][1]
    return None


def _before_exception(layout: Layout, piece: int, first: int) -> int:
    """Return the piece from which an exception is made: "original, except for one seat"."""
    while piece > first and layout.bounds[piece][0] == "except":
        piece -= 1
        while piece > first and not layout.words(piece).strip():
            piece -= 1
    return piece


def _hedge(layout: Layout, cue: Hit, hits: Sequence[int]) -> Iterator[Scope]:
    """Yield where a doubt holds: what follows, or what stands before it at the end of a clause."""
    span = (cue.start, cue.end)
    k = layout.at(cue.start)
    start, end = layout.pieces[k]

    def said_in(a: int, b: int) -> bool:
        return any(a <= h < b for h in hits)

    told = _remarked(layout, cue, hits)
    if told is not None:
        yield Scope("hedge", span, *told)
        return
    if _alone(layout, cue, hits):
        first, last = layout.sentence(cue.start)
        back = k - 1
        if back >= first and layout.bounds[k][0] in ("comma", "open", "colon", "sub", "and"):
            s, e = layout.pieces[_before_exception(layout, back, first)][0], layout.pieces[back][1]
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
        yield from _broad(layout, cue, hits)
        return
    if _ends_piece(layout, cue) and said_in(start, cue.start) and not said_in(cue.end, end):
        yield Scope("hedge", span, start, cue.end)
        return
    asked = bool(_ASKS.search(layout.text, cue.start, min(cue.end + 12, end + 3)))
    yield Scope("hedge", span, cue.start, forward(layout, cue, "hedge", hits), asked=asked)


def _headed(layout: Layout, cue: Hit, hits: Sequence[int]) -> int | None:
    """Return where a list ends that a heading doubts or denies: "what I suspect: ...; ..."."""
    k = layout.at(cue.start)
    start, end = layout.pieces[k]
    first, last = layout.sentence(cue.start)
    at_colon = k < last and layout.bounds[k + 1][0] == "colon"
    if k != first or not at_colon or any(start <= h < end for h in hits):
        return None
    if not _HEADING.match(layout.text, start, end):
        return None
    while last + 1 < len(layout.pieces) and layout.text[slice(*layout.bounds[last + 1][1:])] == ";":
        _, last = layout.sentence(layout.pieces[last + 1][0])
    return layout.pieces[last][1]


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
        headed = _headed(layout, cue, places)
        if headed is not None and kind in ("neg", "hedge"):
            told = kind == "hedge" and _TOLD.search(layout.words(layout.at(cue.start)))
            span, how = (cue.start, cue.end), "third-party" if told else kind
            out.append(Scope(how, span, cue.start, headed, asked=how == "hedge"))
        elif kind in ("neg", "without"):
            end = forward(layout, cue, kind, places)
            out.append(Scope(kind, (cue.start, cue.end), cue.start, end))
        elif kind == "hedge" and _TOLD_BY.match(layout.text, cue.start):
            end = forward(layout, cue, kind, places)
            out.append(Scope("third-party", (cue.start, cue.end), cue.start, end))
        elif kind == "hedge":
            out += _hedge(layout, cue, places)
        elif kind == "void" and not any(
            d.start < cue.start < d.end for d in cues if d.label[1] == "hedge"
        ):
            # "I don't know if it was" doubts; only by itself is "if it was" idle.
            out.append(_void(layout, cue, places))
    for found in _UNTRUE.finditer(layout.text):
        out.append(Scope("neg", found.span("tale"), found.start(), found.end()))
    for found in _IF_ANY.finditer(layout.text):
        out.append(Scope("neg", found.span(), found.start(), found.end()))
    return [*out, *scopes_behind(layout, said)]

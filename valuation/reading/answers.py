"""Questions and what they are answered with, as in "Rust? None"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.reading.strengths import Scope

__all__ = ["find_answers", "headings_as_colons"]

_LEAD = (
    r"\s*(?:(?:well|er|erm|ah|oh|alas|sadly|happily|honestly|frankly|mercifully|thankfully|"
    r"unfortunately|fortunately|actually|in truth|to be honest|again)\s*[,:]?\s+)?"
)
_NOT_SURE = (
    r"(?!\s+(?:sure|certain|known|idea|clue|checked|verified|proven|confirmed|clear|recorded|doubt|"
    r"question|longer sure|much|many|a lot|enough|too|just|only|least|that bad|bad))"
)
_NO = re.compile(
    rf"{_LEAD}(?:(?:no|none|nope|nah|never|not|neither|nothing|nowhere|nobody){_NOT_SURE}\b|"
    r"(?:nil|zero|absent|negative|unlikely|hardly|far from it|on the contrary|quite the opposite|"
    r"anything but|i (?:don't|do not) (?:think|believe) so|i doubt it|doubtful|it (?:isn't|"
    r"is not|hasn't|"
    r"has not|wasn't|was not|doesn't|does not|never)|there (?:isn't|is not|aren't|wasn't|is none|"
    r"are none)|"
    r"i (?:have|'ve)? ?(?:found|seen|see|know of|noticed) (?:no|none))\b)"
)
_PERHAPS = re.compile(
    rf"{_LEAD}(?:it'?s? |is |that'?s? |they |one |i |we |so |only |very |most |quite |almost )*?"
    r"(?:possibl[ye]|poss|perhaps|maybe|probabl[ye]|prob|presumably|apparently|supposedly|"
    r"reportedly|allegedly|"
    r"seemingly|likely|almost certainly|conceivably|doubtless|could(?: well)?(?: be| have)|"
    r"may(?: well)?"
    r"(?: be| have)|might(?: well)?(?: be| have)|(?:should |would |'d )?(?:think|believe|suspect|"
    r"guess|imagine|reckon|assume|"
    r"hope|suppose|gather|understand|say)(?: so)?|i'm told|i am told|was told|were told|they say|"
    r"he said|he says|"
    r"so they say|said to be|hard to|difficult to|impossible to|who knows|who can|no (?:idea|"
    r"clue)|not "
    r"(?:sure|certain|known|proven|verified|confirmed|checked|clear|recorded)|unknown|unsure|"
    r"uncertain|unverified|"
    r"(?:don't|do not|can't|cannot|could not|couldn't|dare not|wouldn't|would not) "
    r"(?:honestly |really |rightly |now )?(?:know|say|tell|swear|be sure|promise|prove|vouch|"
    r"remember)|depends|"
    r"as far as|so far as|to the best|to my|your guess|anyone's guess|anybody's guess|god knows|"
    r"goodness knows|heaven knows|it (?:is|seems|appears|would)(?: \w+)? ?(?:thought|believed|"
    r"said|so)?$|"
    r"thought|believed|seems|appears|looks|\?)"
)
_YES = re.compile(
    rf"{_LEAD}(?:yes|yep|yeah|aye|mostly|largely|mainly|partly|in part|in the main|"
    rf"for the most part|indeed|certainly|of course|absolutely|some|a (?:little|bit|"
    rf"touch|few|"
    r"small|lot|trace|fair)|plenty|just|only|once|twice|several|there (?:is|are|was|were|"
    r"has)\b(?! no)|"
    r"it (?:is|was|has|does|did)\b(?! no|n't)|lots|loads|minor|slight|slightly|always|definitely|"
    r"naturally|guilty|afraid so|i'm afraid so|i am afraid so|sure|very|quite|oh yes|every|both|"
    r"all|"
    r"no doubt|without doubt|no question|not much|not many|a)\b"
)
_OTHER_SAYS = re.compile(
    r"\b(?:says?|said|swears|swore|confirms?|confirmed|shows?|reckons|insists|lists|states|"
    r"stated|proves?|records?|"
    r"agrees?|thinks?|believes?|found|has it|have it)\s+(?:it (?:is|was|has|does|did)\s+)?"
    r"(?:(?P<no>not|no|otherwise|never|none|nothing|hasn't|isn't|it isn't|it hasn't|it wasn't)|"
    r"(?P<yes>so|yes|as much|the same|it (?:is|was|has|does|did)|that it (?:is|was|has|does|did)|"
    r"some))\b"
)
_NEGATIVE = re.compile(
    r"\b(?:no|not|never|none|nothing|nobody|neither|haven't|hasn't|didn't|don't|doesn't|isn't|"
    r"aren't|wasn't|won't|couldn't|can't)\b"
)
_UNLOOKED = re.compile(
    r"\b(?:never|not|n't) (?:\w+ )?(?:looked|checked|asked|know|known|sure|lifted|opened|counted|"
    r"say|tell|"
    r"remember|measured|tried|swear|idea|clue)\b"
)
_TURNED = re.compile(
    r"\W*(?:(?:and|but|so|or) )?(?:is|are|was|were|has|have|had|did|does|do|can|could|would|"
    r"should|will|may|"
    r"might|shall|must|am|isn't|aren't|wasn't|hasn't|doesn't|didn't|why|how|what|which|where|when|"
    r"who|whose|whom|need|want|fancy|interested|looking)\b"
)
_RELATIVE = re.compile(r"\s*(?:which|who|whose|where|when|what|whom)\b")
_ELSEWHERE = re.compile(
    r"\s*(?:see|ask|call|ring|come|look at|refer|as (?:shown|pictured|seen)|"
    r"check)\b(?! for yourself that)"
)
_PART_BY_PART = re.compile(
    r"\s*(?:the\s+)?\w+(?:\s+\w+)?\s*[:-]?\s*(?:yes|no|not|maybe|probably)\s*(?:[,;.]|and|but)\s*"
    r"(?:the\s+)?\w+(?:\s+\w+)?\s*[:-]?\s*(?:yes|no|not|maybe|probably)\b"
)
_PLAIN_NOT = re.compile(r"\s*not\s+(?:\w+\s+)?\w+")
_HEAD = re.compile(
    r"(?:^|(?<=[.!?;\n]))\s*(?:(?:the|its|any|and|"
    r"as for the) )?[\w'-]+(?: [\w'-]+)?\s*(?P<mark>\?)(?=\s+\w)"
)


def headings_as_colons(text: str, spoken: Sequence[Hit]) -> str:
    """Put a colon for the mark behind a question that only names a part: "Brakes? Spongy".

    Parameters
    ----------
    text : str
        The folded text.
    spoken : sequence of Hit
        What says something by itself: a question that holds such a thing stays one.

    Examples
    --------
    >>> headings_as_colons("brakes? spongy. wheels? no.", ())
    'brakes: spongy. wheels? no.'
    """
    out = text
    for found in _HEAD.finditer(text):
        end = found.end()
        if any(found.start() <= h.start < end for h in spoken):
            continue
        near = any(end < h.start < end + 16 for h in spoken)
        plain = near and _PLAIN_NOT.match(text, end)
        if not plain and (_NO.match(text, end) or _YES.match(text, end)):
            continue
        if _TURNED.match(text[found.start() : found.end()]):
            continue
        mark = found.start("mark")
        out = out[:mark] + ":" + out[mark + 1 :]
    return out


def _questions(layout: Layout) -> Iterator[tuple[int, int]]:
    """Yield the first and the last piece of every question."""
    for k in range(1, len(layout.bounds)):
        kind, at, end = layout.bounds[k]
        if kind == "strong" and "?" in layout.text[at:end]:
            yield layout.sentence(layout.pieces[k - 1][0])[0], k - 1
    kind, at = "", layout.pieces[-1][1]
    if layout.text[at:].strip().startswith("?"):
        yield layout.sentence(layout.pieces[-1][0])[0], len(layout.pieces) - 1


def _last_part(layout: Layout, first: int, last: int) -> tuple[int, bool]:
    """Return where the part of a sentence begins that is asked, and whether it is turned."""
    for k in range(last, first, -1):
        start = layout.bounds[k][1] if layout.bounds[k][0] == "sub" else layout.pieces[k][0]
        if layout.bounds[k][0] in ("comma", "sub", "contrast", "and", "colon", "open") and (
            _TURNED.match(layout.text, layout.pieces[k][0])
            and not _RELATIVE.match(layout.text, start)
        ):
            return k, True
    parts = [k for k in range(first + 1, last + 1) if layout.bounds[k][0] in ("comma", "contrast")]
    return (parts[-1] if parts else first), False


def _answered(text: str, start: int, end: int, own: bool) -> str:
    """Return how an answer goes: ``no``, ``perhaps``, ``yes``, ``told``, or not at all."""
    if _PART_BY_PART.match(text, start) or _ELSEWHERE.match(text, start):
        return "parts"
    if _NO.match(text, start):
        return "no"
    if _PERHAPS.match(text, start, end):
        return "perhaps"
    told = _OTHER_SAYS.search(text, start, end)
    if told and not own:
        return "no" if told["no"] else "told"
    if _YES.match(text, start):
        return "yes"
    if not own and len(text[start:end].split()) <= 14:
        if _UNLOOKED.search(text, start, end):
            return "perhaps"
        if _NEGATIVE.search(text, start, end):
            return "no"
    return ""


_KINDS = {"no": "neg", "perhaps": "hedge", "told": "void"}


def find_answers(layout: Layout, spoken: Sequence[Hit]) -> Iterator[Scope]:
    """Yield how what is asked is said, by its answer.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    spoken : sequence of Hit
        What the text speaks of.

    Notes
    -----
    A question in full that is not answered says nothing ("Is it original? Ask me."); a bare one
    says it with doubt ("Frame original?").
    """
    text = layout.text
    for first, last in _questions(layout):
        start, end = layout.pieces[first][0], layout.pieces[last][1]
        after = last + 1
        while after < len(layout.pieces) and not layout.words(after).strip():
            after += 1
        a, b = (end, end)
        if after < len(layout.pieces):
            a = layout.pieces[after][0]
            b = layout.pieces[layout.sentence(a)[1]][1]
        turned = bool(_TURNED.match(text, start))
        if not turned:
            # Only its end is in question, and that may turn: "..., have you seen the price?"
            first, turned = _last_part(layout, first, last)
            start = layout.pieces[first][0]
        asked = [h for h in spoken if start <= h.start < end]
        replies = {h.label[1:] for h in spoken if a <= h.start < b}
        long = not turned and len(text[start:end].split()) > 4
        answer = _answered(text, a, b, bool(replies)) if b > a and not long else ""
        for hit in asked:
            if answer in ("", "yes", "told") and hit.label[1:] in replies:
                # The answer says it itself, and says it better.
                kind = "void"
            elif answer == "parts":
                kind = "void"
            elif answer:
                kind = _KINDS.get(answer, "")
            else:
                kind = "void" if turned else "hedge"
            if kind:
                cue = (a, min(b, a + 40)) if answer and kind != "void" else (end, end + 1)
                yield Scope(kind, cue, hit.start, max(hit.end, hit.start + 1))

"""What is denied, or not said at all, by the words behind it: "rust: none", "rust is absent"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.reading.strengths import Scope

__all__ = ["scopes_behind"]

_ANSWER_NO = re.compile(
    r"\s*\.\.\.\s*(?:no|none|nil|nothing|zero|never|not|nope|absent|unlikely|negative)\b"
    r"(?!\s+(?:longer|idea|doubt|sure|certain|known|checked|verified))"
    r"|\s*\b(?:is|are)\s+(?:none|nil|zero|nought|not|unlikely|doubtful|"
    r"nowhere)\b(?=\s*(?:[.,;!?)]|$|to be))"
    r"|\s*[:=–—-]\s*(?:no|none|nil|nothing|zero|never|nope|absent|negative|n/a)\b"
    r"(?=\s*(?:[.,;!?)]|$|found|seen|at all|here|known|noted|reported|recorded|declared|visible|"
    r"evident|apparent|present|whatsoever|that\b|to (?:my|our)|as far))"
)
_PUT = re.compile(r"\s*[:=–—-]")
_NOT_FOUND = re.compile(
    r"[\w\s'-]{0,30}?\b(?:(?:is|are|was|were|has|have|had|could|can|did|does|do|been)\s+(?:not|"
    r"never)|"
    r"isn't|aren't|wasn't|weren't|hasn't|haven't|couldn't|can't|cannot)\s+(?:\w+\s+){0,2}?"
    r"(?:found|seen|detected|visible|present|evident|problem|issue|noted|discovered|apparent|"
    r"recorded|known|exist|noticed|worry|concern)\b"
)
_ABSENT = re.compile(
    r"\s+(?:(?:is|are|was|were|seems?|appears?)\s+)?(?:to\s+be\s+)?(?:entirely\s+|"
    r"wholly\s+)?absent\b"
)
# "Of rust there is none", "rust, not a trace".
_THERE_IS_NONE = re.compile(
    r"\s*,?\s*(?:(?:there|it|we|i|one)\s+(?:is|are|was|were|has|have|can|could)?\s*(?:find|see|"
    r"found|saw)?\s*)?"
    r"(?:simply\s+|absolutely\s+|quite\s+)?"
    r"(?:none|nothing|not\s+(?:an?|the\s+\w+est)\s+(?:trace|sign|hint|speck|spot|bit|scrap|whit|"
    r"jot)|"
    r"no\s+(?:sign|trace|evidence|hint|mention|record))\b"
)
_LOOKED_FOR = re.compile(
    r"[\w\s',-]{0,40}?\b(?:and|but|though|yet)\s+(?:(?:we|i|he|she|they|there)\s+)?"
    r"(?:(?:can|could|have|had|has)\s+)?(?:found|saw|seen|find|see|is|are|was|were|there)?\s*"
    r"(?:none|nothing|wasn't any|isn't any|weren't any|aren't any|nowhere)\b"
)
_SOUGHT = re.compile(
    r"\b(?:look|looked|looking|search|searched|hunt|hunted|probed|checked|examined)\b[^.;]{0,30}$"
)
_NOT_BEGUN = re.compile(
    r"\s+(?:(?:work|job|project)\s+)?(?:(?:was|were|has|have|had)\s+)?(?:\w+\s+){0,3}?(?:but\s+)?"
    r"(?:(?:was|has|had|were)\s+)?(?:never|not)\s+(?:been\s+)?(?:actually\s+|quite\s+)?"
    r"(?:begun|started|attempted|undertaken|happened|happen|carried out|took place|taken place|"
    r"materialised|"
    r"materialise|made|done|came about|came off|followed|ensued)\b|"
    r"\s+(?:failed to|did not|didn't)\s+(?:happen|materialise|take place|begin|start|follow)\b"
)
_NOT_SET_IN = re.compile(
    r"\s+(?:has|have|had|did)\s*(?:not|n't|never)\s+(?:\w+\s+)?(?:set in|taken hold|taken root|"
    r"appeared|"
    r"started|begun|broken out|got in|reared|struck|returned|come back|troubled|touched|"
    r"attacked)\b|"
    r"\s+(?:has|have)\s+been\s+(?:kept at bay|kept out|avoided|prevented|staved off)\b"
)
# "A concours car it is not", "rust we did not find": the thing stands before its sentence.
_FRONTED = re.compile(
    r"\s*,?\s+(?:it|he|she|we|i|they|one|you|there|this|this one)\s+(?:certainly\s+|really\s+|"
    r"simply\s+)?"
    r"(?:(?:is|was|has|have|had|did|do|does|could|can|will|are|were|would)\s+(?:not|never)|isn't|"
    r"wasn't|"
    r"hasn't|haven't|hadn't|didn't|don't|doesn't|couldn't|can't|won't|aren't|ain't|not(?= find|"
    r" see))"
    r"(?:\s+(?:find|found|see|seen|have|had|been|got|be|know|show|need))?(?:\s+any)?"
    r"\s*(?=[.,;!?)]|$|\b(?:but|and|so|though|yet|nor|in|on|anywhere)\b)"
)
# "Smoke, on the other hand, has not."
_ELIDED = re.compile(
    r"\s+(?:(?:has|have|had|is|are|was|were|does|do|did)\s+(?:\w+ly\s+)?not|hasn't|haven't|"
    r"hadn't|isn't|aren't|"
    r"wasn't|weren't|doesn't|don't|didn't)\s*(?=[.,;!)]|$)"
)
_PRESENT = (
    r"(?:in|on|at|under|beneath|behind|below|inside|around|present|there|here|somewhere|hiding|"
    r"lurking|found|"
    r"hidden|involved|starting|with|among|a|an|some|again|lost|expected|coming|needed|due|"
    r"available)"
)
# "Rust may be present", "the handbook is believed to be somewhere", "filler maybe in a door".
_DOUBTED = re.compile(
    rf"\s+(?:(?:may|might|could|can)\s+(?:\w+ly\s+|well\s+|also\s+|still\s+|yet\s+)*"
    rf"(?:be(?:\s+{_PRESENT}\b|\s*(?=[.,;!)]|$))|lurk|exist|lie|remain|hide|have (?:occurred|"
    rf"happened|set in|"
    r"begun|started|been (?:present|there|carried|done|a)))"
    r"|(?:(?:is|are|was|were|has been|have been|there|it is|being)\s+)?(?:\w+ly\s+)?(?:possibly|"
    r"probably|perhaps|"
    r"maybe|presumably|apparently|supposedly|reportedly|allegedly|conceivably|seemingly|thought|"
    r"believed|suspected|"
    r"understood|rumoured|rumored|supposed|alleged|assumed|presumed|feared|reputed|claimed|"
    r"likely|possible|"
    r"probable|conceivable|said|reported|mooted)\b(?!\s+(?:not|never|no|original|by)\b)"
    r"|(?:seems?|appears?)\s+(?:to\s+be\s+)?(?:likely|possible|probable|present))"
)
# "A replacement odometer is thought to have been fitted."
_FITTED = re.compile(
    r"\s+(?:(?:is|are|was|were)\s+(?:\w+ly\s+)?(?:thought|believed|said|understood|reported|"
    r"supposed|suspected|"
    r"presumed|assumed|claimed|alleged)\s+to\s+have|(?:seems?|appears?)\s+to\s+have|(?:may|might|"
    r"could)\s+(?:well\s+)?"
    r"have)\s+been\s+(?:\w+ly\s+)?(?:fitted|made|done|carried out|installed|added|changed|"
    r"replaced|swapped|"
    r"undertaken|put in|put on|exchanged|performed|executed)\b"
)
_THINGS = frozenset({"faults", "history", "documents", "title"})
_DOUBTABLE = frozenset({"faults", "history", "documents", "restoration", "owners"})
_NO_AFTER = re.compile(r"\s+(?:no\s+(?!longer|doubt)|not at all\b|nothing\b|none\b|nil\b|zero\b)")
_GONE = re.compile(
    r"(?:\s+(?:and|or|nor)\s+\w+)?\s*,?\s*"
    r"(?:(?:is|are|was|were|has|have|has been|have been|but)\s+)?"
    r"(?:(?:sadly|now|been|unfortunately|also)\s+)*(?:lost|missing|gone|absent|mislaid|wanting|"
    r"(?:never|not)\s+(?:been\s+)?(?:kept|retained|preserved|found|traced|survived|survive)|"
    r"(?:did|do|does)\s+not\s+"
    r"(?:survive|exist)|gone astray|astray|burned|burnt|destroyed|thrown away|discarded|"
    r"no longer\s+exists?|"
    r"no longer\s+(?:present|with|available|there|in)|not\s+(?:present|with|included|available|"
    r"there|found|offered|in)|isn't\s+(?:with|there))\b"
)


def scopes_behind(layout: Layout, hits: Sequence[Hit]) -> Iterator[Scope]:
    """Yield where what is said is denied behind it: "rust: none", "filler was not found"."""
    text = layout.text
    for hit in hits:
        topic = hit.label[1] if hit.label[0] == "say" else ""
        after = (hit.end, hit.end + 1)
        denied = (
            (_ANSWER_NO.match(text, hit.end) and (topic or _PUT.match(text, hit.end)))
            or (topic in _THINGS and _NOT_FOUND.match(text, hit.end))
            or (topic in _THINGS and _ABSENT.match(text, hit.end))
            or (topic and (_FRONTED.match(text, hit.end) or _ELIDED.match(text, hit.end)))
            or (topic == "documents" and _GONE.match(text, hit.end))
            or (topic in ("faults", "history") and _NO_AFTER.match(text, hit.end))
            or (topic in _THINGS and _THERE_IS_NONE.match(text, hit.end))
            or (topic == "faults" and _NOT_SET_IN.match(text, hit.end))
            or (topic in ("restoration", "modifications") and _NOT_BEGUN.match(text, hit.end))
            or (
                topic in _THINGS
                and _LOOKED_FOR.match(text, hit.end)
                and _SOUGHT.search(text, max(0, hit.start - 60), hit.start)
            )
        )
        if denied:
            yield Scope("neg", after, hit.start, hit.end)
        elif _FITTED.match(text, hit.end) or (
            topic in _DOUBTABLE and _DOUBTED.match(text, hit.end)
        ):
            yield Scope("hedge", after, hit.start, hit.end)

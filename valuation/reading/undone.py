"""Work that was meant, wished or feared and never done: "he meant to restore it and never did"."""

from __future__ import annotations

import re
from collections.abc import Iterator

from valuation.reading.found import Found

__all__ = ["undone"]

_VERBS = {
    "restor": ("restoration", "restored"),
    "repaint": ("restoration", "repainted"),
    "respray": ("restoration", "repainted"),
    "paint": ("restoration", "repainted"),
    "retrim": ("restoration", "retrimmed"),
    "reupholster": ("restoration", "retrimmed"),
    "modif": ("modifications", "any"),
    "alter": ("modifications", "any"),
    "tamper": ("modifications", "any"),
    "race": ("history", "racing"),
    "rally": ("history", "racing"),
}
_VERB = (
    r"(?P<verb>restor(?:e|ed|ing|ation)|repaint(?:ed|ing)?|respray(?:ed|ing)?|paint(?:ed|ing)?|"
    r"retrim(?:med|ming)?|reupholster(?:ed|ing)?|modif(?:y|ied|ying)|alter(?:ed|ing)?|"
    r"tamper(?:ed|ing)?|rac(?:e|ed|ing)|rall(?:y|ied|ying))\b"
)
_NOBODY = (
    r"(?:nobody|no one|no owner|none of (?:us|them|its owners|his heirs)|never|not|n't|without|no|"
    r"neither of us|neither)"
)
_PATTERNS = [
    re.compile(pattern)
    for pattern in (
        # "he meant to restore it and never did"
        r"\b(?:meant|intended|planned|hoped|wanted|going|supposed|was|were|about|vowed|promised|"
        r"threatened|bound)"
        r"\s+to\s+(?:be\s+|have\s+(?:it|her|him|the \w+)\s+|get\s+(?:it|her)\s+|start\s+|begin\s+)?"
        rf"{_VERB}[^.!?]{{0,40}}?\bnever\s+(?:\w+ly\s+)?(?:did|was|were|has|have|got|began|begun|"
        rf"started|happened|"
        r"managed|found|had|quite|came|went|could|would|made)\b",
        # "what I have never done is restore it"
        r"\bwhat\s+(?:i|we|he|she|it|they|nobody|no one|none of us)\b(?:'ve|'s|'d)?\s*(?:have|"
        r"has|had)?\s*"
        r"(?:never|not|yet|ever)\s+(?:\w+\s+)?(?:done|did|do|been|tried|dared|needed|"
        r"had)\b[\w\s]{0,12}?"
        rf"\b(?:is|was)\s+(?:to\s+)?{_VERB}",
        # "no attempt has been made to restore it", "nobody has tried to restore it"
        rf"\b{_NOBODY}\b[^.;,!?]{{0,40}}?\b(?:attempt\w*|tr(?:y|ied|ying)|tempted|temptation|"
        rf"dared?|efforts?|bothered|"
        r"needed|need|seen\s+fit|thought\s+fit|chosen|cared|undertaken|presumed|wish(?:ed)?|"
        r"desire)\s+"
        rf"(?:has\s+(?:ever\s+)?been\s+made\s+|was\s+(?:ever\s+)?made\s+|ever\s+made\s+|"
        rf"made\s+)?(?:to|at)\s+{_VERB}",
        # "I have resisted the temptation to restore it"
        r"\bresist\w*\s+(?:the|any|all|every|my|his|her)\s+(?:temptation|urge|advice|offers?|"
        r"suggestions?|"
        rf"impulse|pressure)s?\b[\w\s]{{0,10}}?\s*to\s+{_VERB}",
        # "the restoration never happened"
        r"\b(?P<verb>restoration|repaint|respray|retrim)\b(?:\s+\w+){0,4}?\s+(?:never|"
        r"not)\s+(?:been\s+|actually\s+)?"
        r"(?:begun|started|attempted|undertaken|happened|carried\s+out|took\s+place|taken\s+place|"
        r"materialised|made|done|came\s+about|came\s+off|followed)\b",
        # "it has yet to be restored"
        rf"\b(?:has|have|is|are)\s+yet\s+to\s+be\s+(?:\w+ly\s+)?{_VERB}",
        # "nobody has ever restored it", "I never restored it"
        rf"\b(?:nobody|no one|no owner|none of us|we|i|he|she|they|my \w+)\s+(?:(?:has|have|had|"
        rf"did)\s*)?"
        rf"(?:n't|not|never|ever)?\s*(?:\w+\s+)?(?P<act>{_VERB.replace('?P<verb>', '?:')})\s+"
        r"(?:it|her|him|the car|this one)\b",
    )
]
_DENYING = re.compile(r"\b(?:nobody|no one|no owner|none|never|not)\b|n't")
_LETTING = re.compile(r"\b(?:let|allow|ask|want|wanted|could|can|would|should|need|must)\b")


def undone(text: str) -> Iterator[Found]:
    """Yield what a text says was never done to the car.

    Parameters
    ----------
    text : str
        The folded text.

    Examples
    --------
    >>> [f.value for f in undone("he meant to restore it, but never did.")]
    ['restored']
    """
    for n, pattern in enumerate(_PATTERNS):
        last = n == len(_PATTERNS) - 1
        for found in pattern.finditer(text):
            words = found.group()
            if last and (not _DENYING.search(words) or _LETTING.search(words)):
                continue
            verb = found["act"] if last else found["verb"]
            stem = next((s for s in _VERBS if verb.startswith(s)), "")
            if not stem and verb.startswith(("rac", "ral")):
                stem = "race"
            if stem:
                topic, value = _VERBS[stem]
                yield Found(topic, value, "denied", *found.span())

"""What is said of things other than the car: advice, other people's pursuits, works that burnt."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.reading.strengths import Scope

__all__ = ["find_elsewhere"]

# "Check for rust", "come and look for filler": advice, unless nothing will be found.
_ADVICE = re.compile(
    r"(?:(?:^|[.;!?:\n])\s*|\b(?:and|please|to|should|must|may|then|do|always)\s+)"
    r"(?:check|look|inspect|search|watch|watch out|look out|feel|prod|tap|hunt|probe|examine)\b"
    r"[\w\s]{0,15}?\b(?:for|whether|if)\b(?P<rest>[^.;!?\n]*)"
)
_FOUND_NONE = re.compile(
    r"\b(?:in vain|none|won't|will not|find no|found no|isn't|nothing|never|can't|no)\b"
)
# "I should have had the seats done": it was not.
_UNREAL = re.compile(
    r"\b(?:should|would|ought\s+to|needn't|need\s+not)\s+(?:\w+ly\s+)?have\s+(?:had|got|liked|"
    r"fitted|painted|raced|restored|put|preferred|loved|done|kept|changed|bought)\b[^.;!?,\n]*"
)
# "Were the engine the original, we should ask double."
_WERE_IT = re.compile(
    r"(?:(?:^|[.;!\n])\s*|\bbut\s+|\band\s+)(?:were|had|should)\s+(?:it|the|this|its|she|he|they|"
    r"any|there|we|i|you)\b"
    r"[^.;!?,\n]*(?=,)(?![^.;!\n]*\?)"
)
# Others of the kind, as the subject of a sentence: "three were lost in a fire".
_OF_THE_KIND = re.compile(
    r"(?:^|[.;!?\n])\s*(?:(?:one|two|three|four|five|six|seven|several|some|many|most|half|"
    r"another|a few|a dozen|"
    r"\d+|the (?:others?|rest))(?: others?)?(?: of (?:the|these|those|its|them)[\w\s]{0,20})?\s+"
    r"(?:was|were|had been|have been|are|is)\s+(?:\w+ly\s+)?(?:lost|destroyed|burnt|burned|"
    r"scrapped|written|broken|"
    r"crashed|wrecked|rebodied|cut up|known to|said to|thought to|believed to|raced|restored)\b"
    r"|(?:the|its)\s+(?:factory|works|makers?|model|type|marque|designer|firm|company|dealership|"
    r"showroom|breed|"
    r"archive|museum|town|village)\s+(?:\w+\s+)?(?:had\s+a|burned|burnt|raced|won|"
    r"was\s+(?:bombed|burnt|burned|lost|"
    r"destroyed)|closed|suffered|is\s+(?:known|famous|notorious|prone)|"
    r"has\s+a\s+reputation)\b(?!\s+(?:it|this|her)\b))"
    r"[^.;!?\n]*"
)
_THINGS = (
    r"(?:boats?|motor\s?cycles?|motorbikes?|bicycles?|bikes|horses|dogs|pigeons|yachts|"
    r"aeroplanes|planes|gliders|"
    r"steam|engines|traction|tractors|karts|trains|houses|furniture|clocks|pianos|others?|dozens|"
    r"several|many|these|"
    r"those|them|cars|for\s+a\s+living|another|hers|theirs|ours)"
)
_OTHER_OBJECT = re.compile(
    rf"\s+(?:(?:old|vintage|his|her|their|the|of|with|on|some|a|an|two|three)\s+)?{_THINGS}\b|"
    r"\s+(?:his|mine)\s*(?=[.,;!]|$)|\s+his\s+(?:other|own|next|previous)\b|"
    r"\s+(?:at\s+(?:weekends|school|university))\b"
)
_OTHER_MISHAP = re.compile(
    r"\s+(?:at\s+(?:work|home|sea|the\s+(?:works|factory|dealer|museum|archive|office|depot))|"
    r"in\s+another|"
    r"on\s+(?:his|my|her|a)\s+(?:motor|bi|horse|boat)|put\s+(?:me|him|her)|left\s+(?:me|him|her)|"
    r"to\s+(?:my|his|her)\s+"
    r"(?:back|leg|hip|knee|hand|arm)|of\s+(?:birth|history|fate|offers|calls|new|memories))\b"
)
_ENEMY = re.compile(
    r"\s+(?:is|was|being)\s+(?:the|a|an|what|their)\s+(?:usual|great|common|real|natural|sworn|"
    r"old|known|perennial|"
    r"main|chief|weak)?\s*(?:trouble|enemy|killer|curse|bane|plague|weakness|downfall|kills|"
    r"killed|finishes|point|"
    r"issue with|problem with (?:these|them|the))\b|"
    r"\s+(?:has\s+)?(?:killed|claimed|took|ate|finished|destroyed|accounted for|saw off|"
    r"taken)\s+(?:\w+\s+)?"
    r"(?:most|many|so many|its|them|others|nearly|all|half|more)\b"
)
# What would be done or had, not what was: "restoration would be simple".
_WOULD_BE = re.compile(
    r"\s+(?:(?:of|to|for)\s+(?:it|her|this one|the car)\s+)?(?:would|could|should|will|can|might|"
    r"must|"
    r"ought\s+to)\s+(?:not\s+|\w+ly\s+)?(?:be\s+(?!seen|inspected|viewed|shown|sent|present|found|"
    r"original|there|hiding)|suit|"
    r"improve|help|transform|need|cost|go|benefit|do|make|take|start|begin|require|bring|wait|"
    r"follow|love|pay|reward)"
)
_CALLED_FOR = re.compile(
    r"\s+(?:is|was)\s+(?:needed|required|called for|overdue|recommended|quoted|advised|wanted|"
    r"the next)\b|"
    r"\s+(?:specialists?|shops?|experts?|costs\s+(?:are|would|more|twice)|candidates?|prospects?|"
    r"was\s+quoted)\b"
)
_WORK = frozenset({"restoration", "modifications"})


def _idle(text: str, hit: Hit) -> bool:
    """Tell whether what stands behind shows that a thing is not said of this car."""
    topic, value = (*hit.label, "", "")[1:3]
    end = hit.end
    if topic in _WORK and (_WOULD_BE.match(text, end) or _CALLED_FOR.match(text, end)):
        return True
    if (topic == "restoration" or value == "racing") and _OTHER_OBJECT.match(text, end):
        return True
    if value in ("accident", "fire", "flood") and _OTHER_MISHAP.match(text, end):
        return True
    return topic == "faults" and _ENEMY.match(text, end) is not None


def find_elsewhere(layout: Layout, spoken: Sequence[Hit]) -> Iterator[Scope]:
    """Yield where a text speaks of something other than the state of its car.

    Parameters
    ----------
    layout : Layout
        The text in pieces.
    spoken : sequence of Hit
        What the text speaks of.
    """
    text = layout.text
    for found in _ADVICE.finditer(text):
        if not _FOUND_NONE.search(found["rest"]):
            yield Scope("void", found.span(), found.start(), found.end())
    for found in [*_UNREAL.finditer(text), *_WERE_IT.finditer(text)]:
        yield Scope("void", found.span(), found.start(), found.end())
    for found in _OF_THE_KIND.finditer(text):
        start = found.start() + 1 if found.start() else 0
        k = layout.at(start)
        _, last = layout.sentence(found.end() - 1)
        while k < last and layout.bounds[k + 1][0] != "contrast":
            k += 1
        yield Scope("void", (start, found.end()), start, layout.pieces[k][1])
    for hit in spoken:
        if _idle(text, hit):
            yield Scope("void", (hit.end, hit.end + 1), hit.start, hit.end)

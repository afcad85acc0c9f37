"""Words put in between, which leave the sentence around them whole: "the axle, sadly, is not"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from valuation.reading.clauses import Layout
from valuation.reading.phrases import Hit
from valuation.reading.strengths import Scope, forward

__all__ = ["Aside", "aside_scopes", "find_asides", "smoothed"]

_WE = r"(?:i|we|he|she|they|one|you)"
# What says nothing of how sure the writer is.
_NEUTRAL = (
    r"rather than \w+(?: \w+)?|"
    r"(?:whatever|whoever|however|despite|in spite of|contrary to|notwithstanding)[\w' -]{2,40}|"
    r"in (?:all )?(?:its|his|her|my|our|their|these|those|\w+) (?:\w+ )?(?:years|time|life|"
    r"ownership|hands|care|"
    r"tenure)|"
    r"(?:but|though|although|while|albeit|without)\s+(?:(?:i|we|they|he|she) )?(?:do not|don't|"
    r"cannot|can't|"
    r"could not|have not|haven't|having|ever having|has not|did not)?\s*(?:\w+ly )?(?:warrant|"
    r"warranting|verify|"
    r"verified|verifying|guarantee|guaranteeing|vouch|confirm|confirmed|confirming|prove|proved|"
    r"checked|"
    r"swearing|swear)(?: (?:it|this|that|for it|to it|so))?|"
    r"(?:or|nor|and) (?:has|have|is|was|were|had) (?:n?ever|it ever|it|not)(?: been)?[\w ]{0,30}|"
    r"sadly|alas|regrettably|happily|mercifully|thankfully|fortunately|unfortunately|"
    r"oddly(?: enough)?|"
    r"curiously(?: enough)?|remarkably|unusually|surprisingly|amazingly|incredibly|interestingly|"
    r"naturally|of course|however|though|moreover|furthermore|besides|indeed|in fact|in truth|"
    r"in reality|in fairness|in contrast|by contrast|by comparison|conversely|for once|"
    r"for instance|"
    r"for example|for the record|as it happens|as it were|as such|as usual|as ever|as always|"
    r"as expected|"
    r"as (?:you|one|we) (?:can|may|might|will|would|could|should) (?:see|imagine|expect|hope)|"
    r"as (?:i|we) (?:say|said|write|speak)|mind(?: you)?|mark you|bless (?:it|him|her|them)|"
    r"needless to say|"
    r"on the (?:other hand|contrary|whole|plus side|downside)|to be (?:fair|honest|frank|clear|"
    r"precise|sure)|"
    r"(?:quite |rather )?(?:honestly|frankly|candidly|truthfully|admittedly|crucially|"
    r"importantly|significantly|"
    r"notably|tellingly|strictly speaking|generally speaking|broadly speaking|literally|"
    r"certainly|definitely|"
    r"undoubtedly|unquestionably|without (?:a )?doubt|beyond (?:any )?doubt|no doubt)|"
    r"in (?:all )?(?:honesty|candour|conscience|fairness|good faith)|in (?:other words|short|sum|"
    r"brief|"
    r"conclusion|addition|turn|due course|consequence|the end|the main|general|particular|"
    r"that respect)|"
    r"at (?:least|last|present|all events|any rate|the moment|first|that time)|"
    r"(?:i|we) (?:must|should|have to|ought to|need to|might|may|will|do|can) ?"
    r"(?:be (?:frank|honest|fair|candid)|say|admit|confess|add|stress|own|note|report|concede|"
    r"allow|grant)|"
    r"(?:i|we) (?:admit|confess|regret|fear|concede|grant you|grant|stress|repeat|"
    r"promise(?: you)?|assure you)|"
    r"(?:i'm|i am|we're|we are) (?:afraid|sorry to (?:say|report)|(?:glad|pleased|happy|proud|"
    r"relieved|"
    r"delighted|ashamed|embarrassed) to (?:say|report|admit))|(?:i|we) regret to (?:say|report)|"
    r"(?:let it|it (?:must|should|has to|ought to|may|can|will)) be (?:said|noted|admitted|owned|"
    r"confessed|"
    r"stressed|added|stated|remarked|observed|conceded|remembered)|it is (?:true|fair to say|"
    r"worth noting)|"
    r"to (?:my|our|his|her) (?:regret|shame|relief|surprise|credit|delight|sorrow)|"
    r"if (?:anything|you like|you will)|"
    r"believe it or not|strange to (?:say|tell)|sad to say|truth (?:be )?told|too|also|likewise|"
    r"as well|"
    r"equally|similarly|again|once more|still|now|today|therefore|thus|consequently|accordingly|"
    r"the (?:curse|bane|enemy|plague|scourge|weakness|weak point|weak spot|downfall|usual trouble|"
    r"achilles heel) of [\w' -]{2,30}|like (?:so many|most|all|many|every)[\w' -]{0,30}|"
    r"as (?:so many|most|many|all|they all|these all|others|these) (?:do|are|did|have|were)|"
    r"unlike (?:so many|most|many|others|some)[\w' -]{0,25}|"
    r"(?:how (?:much|bad|badly|many|far|long|deep|old)|where|when|why) (?:exactly )?(?:i|we|he|"
    r"she|one) "
    r"(?:can't|cannot|couldn't|could not|don't|do not|dare not) (?:\w+ ){0,2}?(?:say|tell|know|"
    r"guess|remember|recall)"
)
# What puts a distance between the writer and what is said.
_DOUBTFUL = (
    r"(?:as|so) far as [\w' -]{2,40}|to the best of [\w' -]{2,40}|to (?:my|"
    r"our) (?:certain )?(?:knowledge|belief)|"
    r"(?:or )?so (?:i'm|we're|i've been|we've been) (?:reliably )?(?:told|informed|assured)|"
    r"(?:or )?so (?:it|the \w+|legend|rumour|local \w+|family \w+|i|we|he|she|they)(?: \w+){0,2}? "
    r"(?:seems|appears|goes|has it|runs|gather|believe|am told|are told|was told|were told|hear|"
    r"understand|"
    r"think|thinks|believes|thought|supposes?|imagine|reckon)|"
    rf"(?:or so )?{_WE} (?:\w+ly )?(?:(?:should|would|might|could|may|'d) )?"
    r"(?:think|believe|suspect|understand|imagine|gather|guess|suppose|presume|assume|hear|"
    r"fancy|surmise|infer|conclude|thinks|believes|suspects|supposes|thought|believed|take it|"
    r"feel|expect)(?: so)?|"
    rf"{_WE} (?:am|are|is|was|were|have been|has been) (?:reliably )?(?:told|informed|assured|"
    rf"led to believe|given to understand)|"
    r"(?:i'm|we're|i've been|we've been) (?:reliably )?(?:told|informed|assured|advised|"
    r"led to believe|"
    r"given to understand)|"
    rf"{_WE} (?:should|would) (?:guess|imagine|say|think)|i'd (?:guess|say|imagine|think|reckon|"
    rf"bet)|"
    r"it is (?:thought|believed|said|understood|supposed|claimed|rumoured|assumed|presumed|"
    r"alleged)|"
    r"it (?:seems|appears|would seem|would appear|may be|is possible|is likely)|"
    r"apparently|presumably|possibly|probably|perhaps|maybe|supposedly|reportedly|allegedly|"
    r"seemingly|conceivably|"
    r"reputedly|ostensibly|purportedly|likely|very likely|most likely|in all (?:likelihood|"
    r"probability)|"
    r"quite possibly|very probably|just possibly|by (?:all accounts|repute|tradition|legend)|"
    r"(?:legend|rumour|rumor|tradition|family lore|local lore|gossip|hearsay|the story|the tale|"
    r"the trade) (?:has it|goes|says)|"
    r"if (?:memory serves|i remember(?: rightly)?|i'm not mistaken|i am not mistaken|"
    r"we are not mistaken|"
    r"(?:the|his|her|its|their|our|my) [\w ]{2,30}(?:is|are) (?:to be believed|right|correct|"
    r"to be trusted)|"
    r"\w+ is to be believed)|"
    r"(?:it is|as is|as was|as were|as are|is|are|was|were) (?:thought|believed|said|understood)|"
    r"in (?:my|our) (?:\w+ )?(?:opinion|view|judgement|estimation)|to (?:my|our) (?:eye|eyes|mind)"
)
# Somebody else, or a paper, said in passing.
_TOLD = (
    r"says|said|notes|noted|found|finds|reports|reported|recalls|recalled|tells us|told us|"
    r"tells me|told me|"
    r"insists|insisted|states|stated|adds|added|writes|wrote|confirms|confirmed|maintains|"
    r"attests|records|"
    r"recorded|shows|show|confirm|say|state|record|reveals|observes|observed|remarks|assures us|"
    r"assures me|informs us|informs me|advises us|advises|informed us|reckons|proves|prove"
)
_SOURCE = (
    rf"(?:(?:so|as) )?(?:says|said|according to|reports|notes|writes|adds|acc\.? to|per|as per|"
    rf"going by|on the word of|"
    r"on the evidence of|on the authority of|in the (?:words|opinion|view|"
    r"judgement) of)[\w '.&-]{3,50}?|"
    rf"(?:so |as )?(?:the|its|my|our|his|her|a|an|their|both|all|one|every|dad's|"
    rf"mum's)?[\w'. -]{{2,40}}? (?:\w+ly )?(?:{_TOLD})"
)
_NOT_TOLD = re.compile(
    r"\b(?:and|but|or|which|who|whose|that|it|is|are|was|were|has|have|had|with|been|no|not|"
    r"never)\b"
)
_BETWEEN = re.compile(
    rf"(?P<open>,|\s[–—-]|[–—]|\()\s*(?:(?P<neutral>(?:and |but )?(?:{_NEUTRAL}))|"
    rf"(?P<doubt>{_DOUBTFUL})|"
    rf"(?P<source>{_SOURCE}))\s*(?P<close>,|[–—]|-\s|\))"
)


@dataclass(frozen=True, slots=True)
class Aside:
    """Words put in between.

    Parameters
    ----------
    kind : str
        ``neutral``, ``doubt`` or ``source``.
    start, end : int
        Where they stand, with the commas or dashes around them.
    """

    kind: str
    start: int
    end: int

    def covers(self, place: int) -> bool:
        """Tell whether a place of the text lies within."""
        return self.start <= place < self.end


# The sentence goes on behind it: with its verb, or with what the verb still waits for.
_AUX = (
    r"is|are|was|were|has|have|had|isn't|aren't|wasn't|weren't|hasn't|haven't|does|did|do|"
    r"doesn't|didn't|"
    r"don't|may|might|could|can|cannot|would|will|should|must|been|be|being|not|never"
)
_GOES_ON = re.compile(
    rf"\s*(?:\w+ly )?(?:{_AUX}|no|only|nor|remains?|retains?|looks?|seems?|appears?|shows?|"
    rf"comes?|came|wears?|"
    r"carries|bears|needs?|wants|runs|drives|starts?|leaks?|smokes?|dates|left|went|stood|sat|"
    r"belonged|"
    r"survives?|leans|weeps|keeps|kept|holds|lives|in|on|at|of|by|from|to|with|within|without|"
    r"into|for|as|"
    r"that|than|ever|actual|none|nil|absent|a departure)\b"
)
_WAITED = re.compile(
    rf"\b(?:{_AUX}|it's|he's|she's|that's|they're|that|it|this|which|who|what|and|but|with|of|in|"
    rf"on|by|for|from|"
    r"as|to|than|because|since|so|although|though|while|whereas|seems|appears|looks|remains|"
    r"retains|needs)\s*$"
)


def _named(text: str, raw: str, start: int, end: int, nouns: Sequence[Hit]) -> bool:
    """Tell whether somebody or something is named that can be a source."""
    if any(start <= n.start and n.end <= end for n in nouns):
        return True
    if re.search(r"(?<=\s)[A-Z][a-z]", raw[start:end]):
        return True
    return bool(re.match(r"\W*(?:so |as |or so )?(?:he|she|they|his|her)\b", text[start:end]))


def find_asides(text: str, raw: str, nouns: Sequence[Hit]) -> list[Aside]:
    """Find words put in between, between commas, dashes or brackets.

    Parameters
    ----------
    text, raw : str
        The text folded in place, and as written.
    nouns : sequence of Hit
        The persons and papers that the text names.

    Examples
    --------
    >>> text = "the axle, sadly, is not; the wings are, i think, new"
    >>> [(a.kind, text[a.start : a.end]) for a in find_asides(text, text, ())]
    [('neutral', ', sadly,'), ('doubt', ', i think,')]
    """
    out: list[Aside] = []
    at = 0
    while found := _BETWEEN.search(text, at):
        at = found.end() - 1
        kind = "neutral" if found["neutral"] else "doubt" if found["doubt"] else "source"
        start, end = found.start(), found.end()
        if kind == "source" and (
            _NOT_TOLD.search(found["source"]) or not _named(text, raw, start, end, nouns)
        ):
            continue
        if (
            found.group().startswith(", how ")
            or _GOES_ON.match(text, end)
            or _WAITED.search(text[max(0, start - 14) : start])
        ):
            out.append(Aside(kind, start, end))
    return out


def smoothed(text: str, asides: Iterable[Aside]) -> str:
    """Put spaces for asides, so that the words around them meet.

    Examples
    --------
    >>> smoothed("it is, i think, new", [Aside("doubt", 5, 15)])
    'it is           new'
    """
    for a in asides:
        text = text[: a.start] + " " * (a.end - a.start) + text[a.end :]
    return text


def aside_scopes(
    layout: Layout, asides: Sequence[Aside], nouns: Sequence[Hit], hits: Sequence[int]
) -> Iterator[Scope]:
    """Yield where the doubts and the sources of asides hold: in the clause around them.

    Parameters
    ----------
    layout : Layout
        The text without the asides, in pieces.
    asides : sequence of Aside
        What was put in between.
    nouns : sequence of Hit
        The persons and papers that the text names.
    hits : sequence of int
        Where the text speaks of something, in order.
    """
    for aside in asides:
        if aside.kind == "neutral":
            continue
        paper = any(n.label[1] == "paper" and aside.covers(n.start) for n in nouns)
        told = "documented" if paper else "third-party"
        kind = "hedge" if aside.kind == "doubt" else told
        start, _ = layout.pieces[layout.at(aside.start)]
        end = forward(layout, Hit(("cue", "hedge"), aside.start, aside.end), "hedge", hits)
        yield Scope(kind, (aside.start + 1, aside.end - 1), start, end, inside=True)

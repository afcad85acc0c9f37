"""Statements about the rare version a car is, by the capitals of its name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valuation.reading.phrases import Hit

__all__ = ["Version", "find_versions"]

_NAME = r"(?:[A-Z][\w-]*\+?)(?:[ -](?:[A-Z0-9][\w-]*))*"
_SURELY = r"(?:actually|really|sadly|remotely|now|itself|quite|simply|just|even|in fact|of course)"
_TO_BE = (
    r"(?:sold as|built as|to be|believed to be|thought to be|be mistaken for|been|be|said to be|"
    r"claimed to be|described as|pretending to be|think (?:it's|it is|this is)|"
    r"believe (?:it's|it is)|say (?:it's|it is)|was|is)"
)
_REAL = re.compile(
    r"\b(?:[Gg]enuine|GENUINE|[Rr]eal|REAL|[Tt]rue|TRUE|[Bb]ona fide|[Aa]uthentic|[Pp]roper)"
    rf"(?:ly)? (?:a |an )?(?P<name>{_NAME})"
)
_NOT = re.compile(
    r"(?:\b(?:[Nn]ot|NOT|[Nn]ever|isnt|wasnt|rather than|instead of|than|dont|doubt it's)|n't)"
    rf"(?:,? (?:{_SURELY}|{_TO_BE})| as the \w+ suggests?|, as [\w' ]+)*,? "
    rf"(?:a|an|the|one of the)(?: (?:real|true|genuine|proper|actual|factory|works|original))? "
    rf"(?P<name>{_NAME})"
)
_NO = re.compile(rf"\b(?:[Nn]o|NO)(?: (?:real|true|genuine|proper))? (?P<name>{_NAME})")
_IS = re.compile(
    r"\b(?:is|was|be|been|it|car|one|as|always|it's|maybe|perhaps|possibly|probably|apparently|ever|"
    r"says|reads|born|supposedly|allegedly|of about \d+|called|considers it|actually|1)"
    r" (?:is |was |be |of |about |\d+ |maybe |perhaps |possibly |probably |apparently |always )*"
    r"(?:a|an|one of the|the last of the|of the)?"
    r"(?: (?:last|first|original|few|late|early|works|factory|surviving|\d+))* "
    rf"(?P<name>{_NAME})"
)
_SHORT = re.compile(
    r"\b(?:confirms|confirmed|says|said|reads|shows|lists|states|proves)"
    r"(?: it| it's| it is| that it's)?(?: is| as| to be)?(?: an?| a real| a genuine)? "
    r"(?P<name>[A-Z]{2,}[\d-]*)\b"
)
_PLAINLY = re.compile(r"(?:is|was|be|been|it|car|one) (?!always)")
_NAMED = frozenset({"claimed", "third-party", "documented"})
# After a bare "no": two words or an abbreviation, for "No Reserve" is no version.
_VERSION_NAME = re.compile(r"[A-Z][\w-]*[ -][A-Z\d]|[A-Z]{2,}|\w*\d")
_NO_VERSION = re.compile(
    r"(?:I|I'm|I've|I'd|Mr|Mrs|Dr|Sir|Dame|No|Not|The|It|He|She|They|We|My|And|But|V\d+|A|OK|Ok|"
    r"January|February|March|April|May|June|July|August|September|October|November|December|"
    r"Monday|Saturday|Sunday|Messrs|TV|LED)\b"
)
_OTHER_NOUN = re.compile(
    r"(?:['’]s?\b|s['’]| (?:engine|motor|unit|block|gearbox|box|axle|body|chassis|wheels|badges?|"
    r"emblem|dealer|owner|driver|club|product|invoice|garage|ownership|register|guild|registrar|"
    r"bill|conversion|agent|coast|postal|museum|trial|hill|papers|family|factory|works|show|"
    r"plate|records?)\b)"
)


@dataclass(frozen=True, slots=True)
class Version:
    """Words that say of a car that it is a rare version.

    Parameters
    ----------
    hit : Hit
        Where they stand.
    denied : bool
        Whether they deny it.
    naming : bool
        Whether they only name the car, which says something only with a doubt or a source.
    name : (int, int)
        Where the name stands.
    says_nothing : frozenset of str
        Strengths with which mere naming says nothing: "this is a Torvane" names the make.
    """

    hit: Hit
    denied: bool
    naming: bool
    name: tuple[int, int]
    says_nothing: frozenset[str] = frozenset({"claimed"})


def find_versions(raw: str, others: Sequence[Hit]) -> Iterator[Version]:
    """Yield what a text says about the version by its name.

    Parameters
    ----------
    raw : str
        The text as written.
    others : sequence of Hit
        Parts and statements: after a bare "no", a name that is one of their words is no version.
    """
    shouting: bool | None = None
    for pattern, denied in (
        (_REAL, False),
        (_NOT, True),
        (_NO, True),
        (_IS, False),
        (_SHORT, False),
    ):
        for found in pattern.finditer(raw):
            if shouting is None:
                shouting = sum(map(str.isupper, raw)) > 0.5 * sum(map(str.isalpha, raw))
            if shouting:
                return
            start, end = found.span("name")
            if _NO_VERSION.match(found["name"]) or _OTHER_NOUN.match(raw, end):
                continue
            if pattern is _NO and (
                not _VERSION_NAME.match(found["name"])
                or any(h.start < end and found.start() < h.end for h in others)
            ):
                continue
            # A doubt may stand within: "is maybe a ...".
            gaps = () if denied else ((found.start(), start),)
            hit = Hit(("say", "genuineness", "genuine"), found.start(), end, gaps)
            plain = pattern is _IS and _PLAINLY.match(found.group())
            nothing = _NAMED if plain else frozenset({"claimed"})
            yield Version(hit, denied, pattern in (_IS, _SHORT), (start, end), nothing)

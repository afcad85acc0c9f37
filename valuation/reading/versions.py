"""Statements about the rare version a car is, by the capitals of its name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from valuation.reading.phrases import Hit

__all__ = ["Version", "find_versions"]

_NAME = r"(?:[A-Z][\w-]*\+?)(?:[ -](?:[A-Z0-9][\w-]*))*"
_REAL = re.compile(
    rf"\b(?:[Gg]enuine|GENUINE|[Rr]eal|REAL|[Tt]rue|[Bb]ona fide|[Aa]uthentic|[Pp]roper)(?:ly)? (?:a |an )?(?P<name>{_NAME})"
)
_NOT = re.compile(
    rf"\b(?:[Nn]ot|NOT|n't|isnt|wasnt|[Nn]o|[Nn]ever|rather than|instead of|than)"
    rf"(?: (?:actually|really|sadly|sold as|built as|to be|remotely|believed to be|thought to be|be "
    rf"mistaken for|been|be|now|itself|as the badge suggests,|, as [\w ]+,))*,?"
    rf"(?: (?P<article>a|an|the|one of the)(?: (?:real|true|genuine|proper|actual|factory|works))?)? (?P<name>{_NAME})"
)
_IS = re.compile(
    rf"\b(?:is|was|be|been|it|car|this one|as|always|it's|maybe|perhaps|possibly|probably|apparently|"
    rf"ever|says|reads|born|supposedly|allegedly|of about \d+|called|call it|may be|considers it|actually)"
    rf" (?:is |was |be |maybe |perhaps |possibly |probably |apparently |always )?(?P<article>a|an|one of the|of the)"
    rf"(?: (?:last|first|original|few|late|early|works|factory|surviving|\d+))* (?P<name>{_NAME})"
)
_PLAIN_NAMES = re.compile(
    r"(?:I|I'm|I've|Mr|Mrs|Dr|Sir|No|Not|The|It|He|She|They|We|My|And|But|V\d+|A|January|February|March|April|May|June|July|August|September|October|November|December)\b"
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
    """

    hit: Hit
    denied: bool
    naming: bool


def find_versions(raw: str, others: Sequence[Hit]) -> Iterator[Version]:
    """Yield what a text says about the version by its name.

    Parameters
    ----------
    raw : str
        The text as written.
    others : sequence of Hit
        Parts and statements: a name that is one of their words is no version.
    """
    shouting = sum(c.isupper() for c in raw) > 0.5 * sum(c.isalpha() for c in raw)
    if shouting:
        return
    for pattern, denied, naming in ((_REAL, False, False), (_NOT, True, False), (_IS, False, True)):
        for found in pattern.finditer(raw):
            name = found["name"]
            start, end = found.span("name")
            if _PLAIN_NAMES.match(name):
                continue
            if any(h.start < end and start < h.end for h in others):
                continue
            if denied and not found["article"] and found.group()[:2] not in ("No", "no"):
                if not re.match(
                    r"[Nn]ot? (?:an? |actually|really)", found.group()
                ) and not re.match(r"rather|instead", found.group()):
                    continue
            if re.match(r"['’]s?\b", raw[end:]) or re.match(
                r" (?:engine|motor|unit|block|gearbox|box|axle|body|chassis|wheels|badge|emblem|dealer|"
                r"owner|driver|club|product|invoice|garage|ownership|one\b|register|guild|registrar|bill|emblem)",
                raw[end:],
            ):
                continue
            yield Version(
                Hit(("say", "genuineness", "genuine"), found.start(), end), denied, naming
            )

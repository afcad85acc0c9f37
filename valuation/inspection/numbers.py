"""Numbers compared as they are written on metal; nothing is ever corrected or guessed.

A unit often carries only the last figures of the chassis number, so numbers are laid together from
their ends.  What the reader could not make out is written ``?`` and agrees with anything.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Literal

__all__ = ["ALIKE", "LEAST_READ", "NumberMatch", "NumberOutcome", "bare", "compare_numbers"]

NumberOutcome = Literal["same", "agrees as far as read", "alike", "differs", "can't be compared"]
"""How two numbers go together."""

ALIKE: tuple[frozenset[str], ...] = (
    frozenset("0O"),
    frozenset("1I"),
    frozenset("5S"),
    frozenset("8B"),
)
"""Characters that are easily taken for each other."""

LEAST_READ = 3
"""Fewest characters read on both sides for parts of numbers to agree by more than chance."""


@dataclass(frozen=True, slots=True)
class NumberMatch:
    """How a number on metal goes with the one it is held against.

    Parameters
    ----------
    outcome : {"same", "agrees as far as read", "alike", "differs", "can't be compared"}
        The answer.
    sentence : str
        The answer for people, with both numbers as they were written.
    read, wanted : str
        Both numbers, untouched.
    compared : int
        Characters that were read on both sides and laid together.
    """

    outcome: NumberOutcome
    sentence: str
    read: str
    wanted: str
    compared: int

    @property
    def agrees(self) -> bool:
        """Whether they are the same, or agree as far as they were read."""
        return self.outcome in ("same", "agrees as far as read")


def bare(number: str) -> str:
    """Return the letters, figures and ``?`` of a number, in capitals.

    Blanks, dashes, dots, slashes and the stars that some makers stamp round a number are no part
    of it.

    Examples
    --------
    >>> bare("* 71-0423 / 1?")
    '7104231?'
    """
    plain = unicodedata.normalize("NFKC", number).upper()
    return "".join(c for c in plain if c.isalnum() or c == "?")


def compare_numbers(read: str, wanted: str, *, what: str = "the number wanted") -> NumberMatch:
    """Hold a number as it was read against another.

    Parameters
    ----------
    read : str
        Number on the unit, as read; ``?`` for every character that can't be made out.
    wanted : str
        Number it is held against, such as the chassis number.
    what : str
        What `wanted` is, for the sentence.

    Returns
    -------
    NumberMatch
        The outcome is the same whichever number comes first.

    Examples
    --------
    >>> compare_numbers("7104231", "TV 68 7104231", what="the chassis number").sentence
    'Read 7104231: agrees with the last 7 characters of the chassis number TV 68 7104231.'
    >>> compare_numbers("71O4231", "7104231").outcome
    'alike'
    >>> compare_numbers("7104237", "7104231").outcome
    'differs'
    """
    left, right = bare(read), bare(wanted)
    pairs = list(zip(reversed(left), reversed(right), strict=False))
    known = [(a, b) for a, b in pairs if "?" not in (a, b)]
    apart = [place for place, (a, b) in enumerate(pairs, start=1) if not _may_be(a, b)]
    look = [(a, b) for a, b in known if a != b]
    whole = left == right and "?" not in left

    def match(outcome: NumberOutcome, told: str) -> NumberMatch:
        sentence = f"Read {read.strip() or 'nothing'}: {told}."
        return NumberMatch(outcome, sentence, read, wanted, len(known))

    against = f"{what} {wanted.strip()}".strip()
    if not right:
        return match("can't be compared", f"{what} isn't known, so it can't be held against it")
    if not left:
        return match("can't be compared", f"there is nothing to hold against {against}")
    if apart:
        a, b = pairs[apart[0] - 1]
        return match(
            "differs", f"differs from {against}; {a} stands where {b} does, {_from_end(apart[0])}"
        )
    if len(known) < LEAST_READ and not whole:
        return match(
            "can't be compared",
            f"only {len(known)} of its characters can be held against {against}; "
            f"at least {LEAST_READ} are needed",
        )
    if look:
        taken = ", ".join(f"{a} for {b}" for a, b in reversed(look))
        return match("alike", f"looks like {against} but has {taken}; look again")
    if whole:
        return match("same", f"the same as {against}")
    return match("agrees as far as read", _agreement(left, right, len(known), against))


def _may_be(a: str, b: str) -> bool:
    return a == b or "?" in (a, b) or any({a, b} <= group for group in ALIKE)


def _from_end(place: int) -> str:
    return "at the last place" if place == 1 else f"at place {place} from the end"


def _agreement(left: str, right: str, known: int, against: str) -> str:
    laid = min(len(left), len(right))
    if known < laid:
        return f"agrees with {against} as far as it can be read, in {known} of {laid} characters"
    if len(left) < len(right):
        return f"agrees with the last {laid} characters of {against}"
    return f"its last {laid} characters are {against}"

"""Running numbers at the end of titles, put there to make each title unlike the others."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from valuation.reading.text import compact, fold

__all__ = ["strip_counters"]

_TAIL = re.compile(r"^(.*\S)\s+[#(]?(\d{1,3})\)?$")
_YEAR = re.compile(r"(?<!\d)(?:1[89]\d\d|20\d\d)(?!\d)")


def _stem(text: str) -> str:
    return " ".join(_YEAR.sub(" ", text).split())


def strip_counters(
    titles: Sequence[str], makes: Sequence[str | None] | None = None
) -> tuple[list[str], int]:
    """Take running numbers off the ends of titles.

    Parameters
    ----------
    titles : sequence of str, length n
        Headings of a whole list.
    makes : sequence of (str or None), length n, optional
        Make of each: a number that follows it at once is the model.

    Returns
    -------
    titles : list of str, length n
        The same without counters.
    removed : int
        How many were taken off.

    Notes
    -----
    A trailing number of up to three digits is a counter where

    1. the same words without it, years aside, are the whole of another title, and of at least
       three tenths of the titles with those words and any number or none;
    2. the same words *with* it occur at most twice and in less than a fifth of those titles: a
       number that sets a version apart comes back again and again, a counter does not;
    3. it is not far above the number of those titles: counters count;
    4. it does not follow the make or a single letter, to which a number belongs.

    Examples
    --------
    >>> strip_counters(["1967 kora gt", "1968 kora gt", "1969 kora gt 8", "1970 kora 4"])
    (['1967 kora gt', '1968 kora gt', '1969 kora gt', '1970 kora 4'], 1)
    """
    folded = [fold(t) for t in titles]
    tails = [_TAIL.match(f) for f in folded]
    whole = Counter(_stem(f) for f in folded)
    beginnings = Counter(_stem(m[1]) for m in tails if m)
    out, removed = list(titles), 0
    for i, tail in enumerate(tails):
        if not tail or _is_model(_stem(tail[1]), makes[i] if makes else None):
            continue
        bare = _stem(tail[1])
        same = whole[_stem(folded[i])]
        if _counts(int(tail[2]), whole[bare], whole[bare] + beginnings[bare], same):
            out[i] = re.sub(r"\s+[#(]?\d{1,3}\)?\s*$", "", titles[i].rstrip())
            removed += 1
    return out, removed


def _is_model(bare: str, make: str | None) -> bool:
    words = bare.split()
    return (
        len(words) < 2
        or len(words[-1]) < 2
        or (bool(make) and compact(bare) == compact(make or ""))
    )


def _counts(number: int, whole: int, family: int, same: int) -> bool:
    return (
        number >= 2
        and whole >= max(1, 0.3 * family)
        and same <= 2
        and same < 0.2 * max(family, 2) + 0.7
        and number <= (max(30, 3 * family) if number < 100 else family)
    )

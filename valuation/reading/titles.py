"""Makes and models as a list of sales itself writes them, and how to find them in a title."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from valuation.reading.families import BODY_WORDS
from valuation.reading.text import compact, fold, is_blank, most_common

__all__ = [
    "Makes",
    "learn_from_columns",
    "learn_from_titles",
    "makes_from",
    "name_start",
    "title_tokens",
]

_TOKEN = re.compile(r"[a-z0-9½]+(?:\.[0-9]+)?")
_YEAR = re.compile(r"(?:1[89]\d\d|20\d\d)½?")
_YEAR_BEHIND = re.compile(r"\w\W*[(\[]\s*(?:1[89]\d\d|20\d\d)\s*[)\]]")
_SHORT_YEAR = re.compile(r"\W*'\d\d\b")
_LONGEST = 5


def title_tokens(text: str) -> list[str]:
    """Split a title into folded words, at hyphens too.

    Examples
    --------
    >>> title_tokens("1967½ Torvane GT-4 2.6")
    ['1967½', 'torvane', 'gt', '4', '2.6']
    """
    return _TOKEN.findall(re.sub(r"(?<=\d),(?=\d{3})", "", fold(text)))


@dataclass(frozen=True)
class Makes:
    """The makes and models that are known.

    Parameters
    ----------
    names : mapping of str to str
        Spelling of each make by its letters and digits alone.
    models : mapping of str to mapping of str to str
        Spelling of each model, by the same key of its make and of itself.
    """

    names: Mapping[str, str]
    models: Mapping[str, Mapping[str, str]]

    def make_at(self, tokens: Sequence[str], start: int) -> tuple[str, int]:
        """Return the make that begins at a position, and where it ends; empty if none does."""
        return _longest(self.names, tokens, start)

    def model_at(self, make: str, tokens: Sequence[str], start: int) -> tuple[str, int]:
        """Return the model of `make` that begins at a position, and where it ends."""
        return _longest(self.models.get(compact(make), {}), tokens, start)

    def find(self, tokens: Sequence[str]) -> tuple[str, int]:
        """Return the make and the position behind it: behind the year if one is there, else first.

        Parameters
        ----------
        tokens : sequence of str
            From :func:`title_tokens`.
        """
        years = [i + 1 for i, t in enumerate(tokens) if _YEAR.fullmatch(t)]
        for start in [*years, *range(len(tokens))]:
            make, end = self.make_at(tokens, start)
            if make:
                return make, end
        return "", years[0] if years else 0


def _longest(names: Mapping[str, str], tokens: Sequence[str], start: int) -> tuple[str, int]:
    for end in range(min(len(tokens), start + _LONGEST), start, -1):
        name = names.get("".join(tokens[start:end]).replace(".", ""))
        if name:
            return name, end
    return "", start


def _spellings(words: Iterable[str]) -> dict[str, str]:
    seen: dict[str, Counter[str]] = {}
    for word in words:
        key = compact(word)
        if key and not is_blank(word):
            seen.setdefault(key, Counter())[word] += 1
    return {key: most_common(c.elements()) for key, c in seen.items()}


def makes_from(makes: Mapping[str, Iterable[str]]) -> Makes:
    """Make the vocabulary from a mapping of make to models.

    Examples
    --------
    >>> makes_from({"Torvane": ("GT",)}).find(["1967", "torvane", "gt"])
    ('Torvane', 2)
    """
    return Makes(
        MappingProxyType(_spellings(makes)),
        MappingProxyType({compact(m): _spellings(models) for m, models in makes.items()}),
    )


def learn_from_columns(
    makes: Sequence[str | None], models: Sequence[str | None] | None = None
) -> Makes:
    """Learn makes and models from the columns that hold them.

    Parameters
    ----------
    makes, models : sequence of (str or None), length n
        Cells of the two columns.
    """
    found: dict[str, Counter[str]] = {}
    for make, model in zip(makes, models or [None] * len(makes), strict=True):
        if make and compact(make):
            models_of = found.setdefault(make, Counter())
            if model and compact(model):
                models_of[model] += 1
    spelling = _spellings(m for m in makes if m)
    grouped: dict[str, list[str]] = {}
    for make, counts in found.items():
        grouped.setdefault(compact(make), []).extend(counts.elements())
    return Makes(
        MappingProxyType(spelling),
        MappingProxyType({key: _spellings(words) for key, words in grouped.items()}),
    )


def learn_from_titles(titles: Sequence[str], *, least: int = 3) -> Makes:
    """Learn makes and models from the most frequent words behind the year.

    Parameters
    ----------
    titles : sequence of str, length n
        Headings.
    least : int
        How often a model must occur.

    Notes
    -----
    Two words make one name where the second follows the first in 95 % of at least ten titles,
    holds no digit and is followed by at least three different words beside bodies, and other makes
    are in the list: in a list of one make it is a model.
    """
    heads = [_after_year(title) for title in titles]
    double = _double_names(heads)
    makes: dict[str, Counter[str]] = {}
    for head in heads:
        if head:
            size = 2 if head[0] in double and head[1:2] == [double[head[0]]] else 1
            counts = makes.setdefault(" ".join(head[:size]), Counter())
            counts.update(head[size : size + 1])
    spelling = _written(titles)
    kept = {
        _spelled(make.split(), spelling): [_spelled([m], spelling) for m in c if c[m] >= least]
        for make, c in makes.items()
    }
    return makes_from(kept)


def _double_names(heads: Sequence[Sequence[str]]) -> dict[str, str]:
    """Return the second word of makes of two words, by the first."""
    first = Counter(h[0] for h in heads if h)
    pairs = Counter((h[0], h[1]) for h in heads if len(h) > 1)
    third: dict[tuple[str, str], set[str]] = {}
    for head in heads:
        if len(head) > 2 and head[2] not in BODY_WORDS:
            third.setdefault((head[0], head[1]), set()).add(head[2])
    total = sum(first.values())
    return {
        a: b
        for (a, b), n in pairs.items()
        if n >= 10
        and n >= 0.95 * first[a]
        and first[a] < 0.8 * total
        and b.isalpha()
        and len(third.get((a, b), ())) >= 3
    }


def _after_year(title: str) -> list[str]:
    """Return the words behind the year, or the first ones where the year stands behind them."""
    tokens = title_tokens(title)
    if _SHORT_YEAR.match(fold(title)):
        return tokens[1:4]
    start = name_start(title, tokens)
    years = [i for i, t in enumerate(tokens) if _YEAR.fullmatch(t)]
    end = years[0] if years and start == 0 else len(tokens)
    return [t for t in tokens[start : min(end, start + 3)] if not _YEAR.fullmatch(t)]


def name_start(title: str, tokens: Sequence[str]) -> int:
    """Return where the name of a car begins in a title: behind its year, or at the very start.

    Parameters
    ----------
    title : str
        Heading.
    tokens : sequence of str
        Its words, from :func:`title_tokens`.

    Examples
    --------
    >>> [name_start(t, title_tokens(t)) for t in ("Rare 1967 Torvane GT", "Torvane GT (1967)")]
    [2, 0]
    """
    years = [i for i, t in enumerate(tokens) if _YEAR.fullmatch(t)]
    if not years:
        return 0
    behind = "".join(tokens[years[0] + 1 : years[0] + 2])
    # "Torvane GT (1967)", "Torvane GT 1967, 3.2 litre": no name begins with the size of an engine.
    named_before = years[0] > 0 and (_YEAR_BEHIND.search(title) or not behind[:1].isalpha())
    return 0 if named_before else years[0] + 1


def _written(titles: Sequence[str]) -> dict[str, str]:
    """Return how each word is mostly written where titles use capitals."""
    seen: dict[str, Counter[str]] = {}
    for title in titles:
        for word in re.findall(r"[^\W_]+", title):
            if not word.islower():
                seen.setdefault(fold(word), Counter())[word] += 1
    return {key: c.most_common(1)[0][0] for key, c in seen.items()}


def _spelled(words: Sequence[str], spelling: Mapping[str, str]) -> str:
    """Write words as the titles do; without capitals anywhere, names get one."""
    return " ".join(
        spelling.get(w) or (w.upper() if any(c.isdigit() for c in w) else w.title()) for w in words
    )

r"""Phrases written in a small notation, and where a text holds them.

A phrase is words between spaces.  Between two words of a phrase stand spaces or hyphens.

====================  =========================================================
``rust``              the word
``corro*``            a word that begins so
``rust|rot``          either word
``(oil leak|drips)``  either phrase
``word?``             may be left out; a group in brackets too
``{engine}``          any phrase of that class
``<3>``               up to three words of any kind
``<3,>``              the same, commas between them allowed
``,`` ``:``           a comma, or a colon, dash or equals sign, if there is one
``!(of|to)``          not followed by one of these
``\d+``                a regular expression without spaces
====================  =========================================================
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from functools import cache, lru_cache

__all__ = ["TOKEN", "Hit", "Index", "compile_phrase"]

TOKEN = re.compile(r"#s\b|['#]?\d(?:[\d.,]*\d)?\w*|#?\w+(?:'\w+)?")
_DIGITS = re.compile(r"['(#?]*(?:\\d|\[|\d)")
_GAP = re.compile(r"<(\d+)(,?)>")
_MOST_WORDS = 50_000
_BETWEEN = r"(?:'s)?[\s-]+"
# A gap does not run on behind a word that turns the sentence.
_TURN = r"(?:but|although|though|whereas|while|however|except|bar|save|apart)\b"


@dataclass(frozen=True, slots=True)
class Hit:
    """A phrase found in a text.

    Parameters
    ----------
    label : tuple of str
        What the phrase means.
    start, end : int
        Where it stands.
    gaps : tuple of (int, int)
        Runs within it that the phrase leaves open.
    """

    label: tuple[str, ...]
    start: int
    end: int
    gaps: tuple[tuple[int, int], ...] = ()

    @property
    def open(self) -> int:
        """How many signs its gaps hold."""
        return sum(b - a for a, b in self.gaps)

    def holds(self, other: Hit) -> bool:
        """Tell whether `other` lies within this hit and is shorter."""
        inside = self.start <= other.start and other.end <= self.end
        return inside and (self.end - self.start) > (other.end - other.start)


def _parts(text: str, at: str) -> list[str]:
    """Split at a character where no bracket is open."""
    if "(" not in text and ")" not in text:
        return [w for w in text.split(at) if w.strip()]
    out, depth, word = [], 0, ""
    for c in text:
        depth += (c == "(") - (c == ")")
        if c == at and depth == 0:
            out.append(word)
            word = ""
        else:
            word += c
    return [w for w in [*out, word] if w.strip()]


def _is_expression(word: str) -> bool:
    return "\\" in word or "[" in word


@cache
def _key(first: str) -> str:
    r"""Return what the first word of a match is listed under; empty if it can be any word.

    Examples
    --------
    >>> _key("corro*"), _key("owner's"), _key("o/h"), _key(r"\d+"), _key("&")
    ('corro*', 'owners', 'o', '\\d', '')
    """
    if _is_expression(first):
        return "\\d" if _DIGITS.match(first) else ""
    plain = first.replace("'", "")
    token = TOKEN.match(plain)
    if token is None:
        return ""
    return plain if plain == f"{token.group()}*" else token.group()


@cache
def _word(word: str) -> str:
    if _is_expression(word):
        return word
    stem, star = (word[:-1], r"\w*") if word.endswith("*") else (word, "")
    return re.escape(stem).replace("'", "'?") + star


class _Compiler:
    def __init__(self, classes: Mapping[str, str]) -> None:
        self.classes = classes
        self._done: dict[str, tuple[str, set[str]]] = {}
        self._elements: dict[str, tuple[str, set[str]]] = {}
        self._alternatives: dict[str, tuple[str, set[str]]] = {}

    def named(self, name: str) -> tuple[str, set[str]]:
        """Return the expression of a class, worked out once."""
        if name not in self._done:
            self._done[name] = self.either(self.classes[name])
        return self._done[name]

    def either(self, text: str) -> tuple[str, set[str]]:
        """Return the expression of alternatives and the beginnings of a match."""
        alternatives = [self._alternative(a) for a in _parts(text, "|")]
        firsts = set().union(*(f for _, f in alternatives))
        joined = "|".join(p for p, _ in alternatives)
        return (f"(?:{joined})" if len(alternatives) > 1 else joined), firsts

    def _alternative(self, text: str) -> tuple[str, set[str]]:
        if text not in self._alternatives:
            self._alternatives[text] = self.sequence(text)
        return self._alternatives[text]

    def element(self, text: str) -> tuple[str, set[str]]:
        """Return the expression of one part of a phrase, worked out once."""
        if text not in self._elements:
            self._elements[text] = self._element(text)
        return self._elements[text]

    def _element(self, text: str) -> tuple[str, set[str]]:
        if text.startswith("(") and text.endswith(")"):
            return self.either(text[1:-1])
        if text.startswith("{"):
            name, suffix = text[1:].split("}", 1)
            pattern, firsts = self.named(name)
            return pattern + suffix, firsts
        if len(_parts(text, "|")) > 1:
            return self.either(text)
        return _word(text), {text}

    def sequence(
        self, text: str, needs: list[frozenset[str]] | None = None
    ) -> tuple[str, set[str]]:
        """Return the expression of a phrase and the beginnings of a match.

        What of each further part a text has to hold is added to `needs`.
        """
        out, firsts, begun, before = "", set[str](), False, _BETWEEN
        for part in _parts(text.strip(), " "):
            if part in (",", ":"):
                out += r"\s*,?" if part == "," else r"\s*[:=,-]?"
                before = _BETWEEN if part == "," else r"[\s-]*"
                continue
            if gap := _GAP.fullmatch(part):
                comma = ",?" if gap[2] else ""
                out += rf"((?:{comma}{_BETWEEN}(?!{_TURN})[\w'#&+/%-]+(?:[.,]\w+)*){{0,{gap[1]}}}?)"
                before = comma + _BETWEEN
                continue
            if part.startswith("!"):
                out += rf"(?!{before}{self.either(part[2:-1])[0]}\b)"
                continue
            optional = part.endswith("?") and (part[0] == "(" or not _is_expression(part))
            pattern, first = self.element(part.removesuffix("?"))
            keys = frozenset(map(_key, first))
            if needs is not None and not optional and (begun or firsts) and "" not in keys:
                needs.append(keys)
            if not begun:
                firsts |= first
                out += f"(?:{pattern}{_BETWEEN})?" if optional else pattern
                begun = not optional
            else:
                out += f"(?:{before}{pattern})?" if optional else f"{before}{pattern}"
            before = _BETWEEN
        return out, firsts


def compile_phrase(text: str, classes: Mapping[str, str]) -> tuple[re.Pattern[str], set[str]]:
    """Compile one phrase.

    Parameters
    ----------
    text : str
        The phrase in the notation of this module.
    classes : mapping of str to str
        Phrases by the name of a class.

    Returns
    -------
    pattern : re.Pattern
        To be matched at the beginning of a word.
    firsts : set of str
        The words with which a match can begin, as the phrase writes them.

    Examples
    --------
    >>> pattern, firsts = compile_phrase("no? {rust} free", {"rust": "rust|corro*"})
    >>> bool(pattern.match("rust-free")), sorted(firsts)
    (True, ['corro*', 'no', 'rust'])
    """
    pattern, firsts = _Compiler(classes).sequence(text)
    return re.compile(rf"{pattern}(?!\w)"), firsts


@lru_cache(maxsize=50_000)
def _keys(word: str) -> tuple[str, ...]:
    """Return what a word can be listed under."""
    plain = word.split("'")[0] or word.strip("'")
    digits = ("\\d",) if word.lstrip("#'")[:1].isdigit() else ()
    stems = tuple(f"{plain[:n]}*" for n in range(1, len(plain) + 1))
    return tuple(dict.fromkeys((word, word.replace("'", ""), plain, *stems, *digits)))


def _gaps(found: re.Match[str]) -> tuple[tuple[int, int], ...]:
    """Return what the gaps of a phrase hold: they are its only numbered groups."""
    return tuple(span for span in found.regs[1:] if span[1] > span[0])


class _Listed:
    """Phrases that begin alike, each also under the words of one of its needs.

    A text holds the needed words of few phrases, so that most need not be looked at.
    """

    def __init__(self) -> None:
        self.free: list[int] = []
        self.by_need: dict[str, list[int]] = {}

    def add(self, number: int, need: frozenset[str]) -> None:
        """List a phrase under each word that meets its need; an empty one is no need."""
        for key in need:
            self.by_need.setdefault(key, []).append(number)
        if not need:
            self.free.append(number)

    def all(self) -> set[int]:
        """Return every phrase."""
        return set(self.free).union(*self.by_need.values())

    def among(self, held: AbstractSet[str]) -> list[int]:
        """Return in their order the phrases of which one need is met by what a text holds."""
        met = {n for key in self.by_need.keys() & held for n in self.by_need[key]}
        return sorted(met.union(self.free))


class Index:
    """Many phrases, found in one pass over the words of a text.

    Parameters
    ----------
    phrases : iterable of (str, label)
        Phrases and what they mean.
    classes : mapping of str to str
        Phrases by the name of a class.
    """

    def __init__(
        self, phrases: Iterable[tuple[str, tuple[str, ...]]], classes: Mapping[str, str]
    ) -> None:
        self._entries: list[tuple[str, tuple[str, ...], list[frozenset[str]]]] = []
        self._compiled: list[re.Pattern[str] | None] = []
        self._by_first: dict[str, _Listed] = {}
        self._beginnings: dict[str, tuple[str, ...]] = {}
        self._wanted: dict[str, frozenset[str]] = {}
        self._under: dict[str, frozenset[str]] = {}
        self._listed: dict[tuple[str, frozenset[str]], list[int]] = {}
        compiler = _Compiler(classes)
        for text, label in phrases:
            needs: list[frozenset[str]] = []
            pattern, firsts = compiler.sequence(text, needs)
            # The need that fewest words can meet leaves the fewest phrases to look at.
            need = min(needs, key=len, default=frozenset[str]())
            for key in {_key(first) for first in firsts}:
                self._by_first.setdefault(key, _Listed()).add(len(self._entries), need)
            self._entries.append((pattern, label, needs))
            self._compiled.append(None)
        self._needed = frozenset(key for _, _, needs in self._entries for of in needs for key in of)

    def _pattern(self, number: int) -> re.Pattern[str]:
        """Compile a phrase when it is first tried: most never are."""
        found = self._compiled[number]
        if found is None:
            found = self._compiled[number] = re.compile(rf"{self._entries[number][0]}(?!\w)")
        return found

    def _beginning(self, word: str) -> tuple[str, ...]:
        """Return the keys of a word with which a phrase begins."""
        found = self._beginnings.get(word)
        if found is None:
            found = tuple(key for key in _keys(word) if key in self._by_first)
            if len(self._beginnings) < _MOST_WORDS:
                self._beginnings[word] = found
        return found

    def _meets(self, word: str) -> frozenset[str]:
        """Return the keys of a word that some phrase needs: of most words, none."""
        found = self._wanted.get(word)
        if found is None:
            found = self._needed.intersection(_keys(word))
            if len(self._wanted) < _MOST_WORDS:
                self._wanted[word] = found
        return found

    def _possible(self, tokens: Iterable[str]) -> Callable[[str], list[int]]:
        """Return what lists the phrases under a key of which a text holds every word they need."""
        held = frozenset[str]().union(*map(self._meets, set(tokens)))

        @cache
        def listed(key: str) -> list[int]:
            # Texts of one list use few words over and over: what is possible is worked out once.
            met = (key, held & self._needed_under(key))
            found = self._listed.get(met)
            if found is None:
                found = self._list(*met)
                if len(self._listed) < _MOST_WORDS:
                    self._listed[met] = found
            return found

        return listed

    def _needed_under(self, key: str) -> frozenset[str]:
        """Return every word that a phrase under a key needs."""
        found = self._under.get(key)
        if found is None:
            phrases = self._by_first[key].all()
            found = frozenset(k for n in phrases for need in self._entries[n][2] for k in need)
            self._under[key] = found
        return found

    def _list(self, key: str, held: frozenset[str]) -> list[int]:
        return [
            n
            for n in self._by_first[key].among(held)
            if not any(held.isdisjoint(need) for need in self._entries[n][2])
        ]

    def find(self, text: str) -> list[Hit]:
        """Return every phrase in a folded text, by where it begins."""
        out: dict[tuple[tuple[str, ...], int], Hit] = {}
        listed = self._possible(TOKEN.findall(text))
        for token in TOKEN.finditer(text):
            start = token.start()
            for key in self._beginning(token.group()):
                for number in listed(key):
                    found = self._pattern(number).match(text, start)
                    if not found:
                        continue
                    label = self._entries[number][1]
                    old = out.get((label, start))
                    if old is None or old.end <= found.end():
                        hit = Hit(label, start, found.end(), _gaps(found))
                        # Of two equally long, the one that leaves less open says more.
                        if old is None or old.end < hit.end or hit.open < old.open:
                            out[label, start] = hit
        return list(out.values())

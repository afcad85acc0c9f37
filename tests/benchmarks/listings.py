"""How well the reader of listings finds what people labelled: recall and precision.

A found statement counts if topic, value and group (affirmed, hedged, denied) are those of a label
of the same listing and the words of both overlap; a label is found once.

    python tests/benchmarks/listings.py tests/reference/listings/built_on.jsonl [--errors]
        [--part built|held]
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from valuation.reading.statements import read_statements
from valuation.schema.statements import GROUPS, Statement, Strength

Reader = Callable[[str], Sequence[Statement]]


@dataclass(frozen=True)
class Label:
    """One labelled statement."""

    topic: str
    value: str
    strength: Strength
    words: str

    @property
    def group(self) -> str:
        return GROUPS[self.strength]


@dataclass(frozen=True)
class Listing:
    """One listing with what people found in it."""

    id: str
    style: str
    text: str
    labels: tuple[Label, ...]


@dataclass
class Score:
    """Counts of one kind of statement."""

    found: int = 0
    missed: int = 0
    false: int = 0

    @property
    def recall(self) -> float:
        return self.found / max(1, self.found + self.missed)

    @property
    def precision(self) -> float:
        return self.found / max(1, self.found + self.false)


@dataclass
class Comparison:
    """One listing read and held against its labels."""

    listing: Listing
    pairs: list[tuple[Label, Statement]] = field(default_factory=list)
    missed: list[Label] = field(default_factory=list)
    false: list[Statement] = field(default_factory=list)


def read_listings(path: Path) -> list[Listing]:
    """Read a file of labelled listings."""
    out = []
    for line in path.read_text(encoding="utf-8").splitlines():
        row = json.loads(line)
        labels = tuple(Label(**s) for s in row["statements"])
        out.append(Listing(row["id"], row["style"], row["text"], labels))
    return out


def _places(text: str, words: str) -> Iterator[tuple[int, int]]:
    start = text.find(words)
    while start >= 0:
        yield start, start + len(words)
        start = text.find(words, start + 1)


def _meet(text: str, label: Label, said: Statement) -> bool:
    same = (label.topic, label.value, label.group) == (said.topic, said.value, said.group)
    return same and any(s < said.end and said.start < e for s, e in _places(text, label.words))


def compare(listing: Listing, reader: Reader = read_statements) -> Comparison:
    """Pair labels with found statements one to one, equal strengths first."""
    out = Comparison(listing)
    rest = list(reader(listing.text))
    waiting = list(listing.labels)
    for strict in (True, False):
        for label in list(waiting):
            for said in rest:
                if (said.strength == label.strength or not strict) and _meet(
                    listing.text, label, said
                ):
                    out.pairs.append((label, said))
                    rest.remove(said)
                    waiting.remove(label)
                    break
    out.missed, out.false = waiting, rest
    return out


def score_by(
    compared: Iterable[Comparison], key: Callable[[Listing, Label | Statement], str]
) -> dict[str, Score]:
    """Count found, missed and false statements by any key of them."""
    scores: dict[str, Score] = {}
    for c in compared:
        for label, _ in c.pairs:
            scores.setdefault(key(c.listing, label), Score()).found += 1
        for label in c.missed:
            scores.setdefault(key(c.listing, label), Score()).missed += 1
        for said in c.false:
            scores.setdefault(key(c.listing, said), Score()).false += 1
    return scores


def by_group(compared: Iterable[Comparison]) -> dict[str, Score]:
    """Scores of affirmed, hedged and denied statements."""
    return score_by(compared, lambda _, s: s.group)


def strengths_right(compared: Iterable[Comparison]) -> float:
    """Share of the pairs whose strength is the very one labelled."""
    right = Counter(label.strength == said.strength for c in compared for label, said in c.pairs)
    return right[True] / max(1, right.total())


def built_part(listings: Sequence[Listing], part: str) -> list[Listing]:
    """Return every listing, or all but every fourth (``built``), or every fourth (``held``)."""
    if part == "all":
        return list(listings)
    return [x for i, x in enumerate(listings) if (i % 4 == 3) == (part == "held")]


def _table(title: str, scores: dict[str, Score]) -> None:
    print(f"{title:28}{'labels':>8}{'recall':>9}{'precision':>11}")
    for name in sorted(scores):
        s = scores[name]
        print(f"  {name:26}{s.found + s.missed:8}{s.recall:9.1%}{s.precision:11.1%}")


def _errors(compared: Iterable[Comparison]) -> None:
    for c in compared:
        if not c.missed and not c.false:
            continue
        print(f"\n{c.listing.id}: {c.listing.text}")
        for label in c.missed:
            print(f"  missed  {label.topic}/{label.value} {label.strength} | {label.words}")
        for said in c.false:
            print(f"  false   {said.topic}/{said.value} {said.strength} | {said.words}")


def main(argv: Sequence[str] | None = None) -> int:
    """Print the scores of one file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--part", choices=("all", "built", "held"), default="all")
    parser.add_argument("--errors", action="store_true")
    asked = parser.parse_args(argv)
    compared = [compare(x) for x in built_part(read_listings(asked.file), asked.part)]
    _table("by group", by_group(compared))
    _table("by style and group", score_by(compared, lambda x, s: f"{x.style}, {s.group}"))
    _table("by strength", score_by(compared, lambda _, s: s.strength))
    _table("by topic", score_by(compared, lambda _, s: s.topic))
    print(f"strength as labelled among the found: {strengths_right(compared):.1%}")
    if asked.errors:
        _errors(compared)
    return 0


if __name__ == "__main__":
    sys.exit(main())

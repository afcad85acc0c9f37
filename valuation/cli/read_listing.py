"""``valuation read-listing``: say what an advert or a catalogue entry states about a car."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path
from typing import Any

from valuation.cli.output import print_json, print_notes
from valuation.errors import ListingError
from valuation.importing.listing_car import read_listing_text, write_listing_car
from valuation.reading.evidence import Evidence, attributes_of
from valuation.reading.statements import read_statements
from valuation.schema.attributes import BY_NAME
from valuation.schema.statements import Statement

__all__ = ["run"]

_CAUTION = "Words of an advert are claims, not proof: have documents, numbers and metal checked."


def run(arguments: Namespace) -> None:
    """Read the text, print what it says or its JSON, write the car file that was asked for."""
    text = _text_of(arguments.listing)
    said = read_statements(text)
    evidence = attributes_of(said)
    if arguments.out:
        write_listing_car(text, said, arguments.out)
    if arguments.json:
        print_json(_content(said, evidence))
        return
    _print(said, evidence)
    if arguments.out:
        print(f"Car file to correct: {arguments.out}")


def _text_of(given: str) -> str:
    """Return the text itself, what a file of that name holds, or standard input for ``-``."""
    if _is_file(given):
        return read_listing_text(given)
    text, where = (sys.stdin.read(), "standard input") if given == "-" else (given, "the text")
    if not text.strip():
        raise ListingError(where, "it is empty", remedy="Give the words of a listing")
    return text.strip()


def _is_file(given: str) -> bool:
    try:
        return Path(given).is_file()
    except (OSError, ValueError):
        # Too long for the name of a file, or with signs no name can hold: it is the text.
        return False


def _shown(value: object) -> str:
    return (", ".join(value) or "none") if isinstance(value, tuple) else str(value)


def _print(said: tuple[Statement, ...], evidence: Evidence) -> None:
    if not said:
        print("The text says nothing that the reader knows.")
    else:
        rows = [("what it says", "how", "words")]
        rows += [(s.key, s.strength, " ".join(s.words.split())) for s in said]
        first, second = (max(len(r[i]) for r in rows) for i in (0, 1))
        for what, how, words in rows:
            print(f"{what:{first}}  {how:{second}}  {words}")
    if evidence.values:
        print("\nAttributes it fills:")
        for name, value in evidence.values.items():
            print(f"  {BY_NAME[name].label}: {_shown(value)}")
    print_notes(evidence.notes)
    print(f"\n{_CAUTION}")


def _content(said: tuple[Statement, ...], evidence: Evidence) -> dict[str, Any]:
    statements = [
        {
            "topic": s.topic,
            "value": s.value,
            "strength": s.strength,
            "group": s.group,
            "words": s.words,
            "start": s.start,
            "end": s.end,
        }
        for s in said
    ]
    attributes = [
        {
            "name": name,
            "value": list(value) if isinstance(value, tuple) else value,
            "rests_on": [s.words for s in evidence.rests_on[name]],
        }
        for name, value in evidence.values.items()
    ]
    return {
        "format": 1,
        "statements": statements,
        "attributes": attributes,
        "notes": list(evidence.notes),
        "caution": _CAUTION,
    }

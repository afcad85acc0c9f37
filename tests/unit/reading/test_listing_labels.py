"""The hand-labelled listings keep the format their README states, whoever wrote them."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).parents[2] / "reference" / "listings"
FILES = sorted(FOLDER.glob("*.jsonl"))

STYLES = ("catalogue", "seller", "terse")
STRENGTHS = ("claimed", "hedged", "denied", "third-party", "documented")
GROUPS = {
    "claimed": "affirmed",
    "third-party": "affirmed",
    "documented": "affirmed",
    "hedged": "hedged",
    "denied": "denied",
}
VALUES = {
    "originality": "car|engine|gearbox|final drive|chassis|body panels|colour|paint|interior"
    "|wheels|glass",
    "numbers": "matching numbers|matching engine|matching gearbox|matching final drive"
    "|date-correct engine|correct type engine|works replacement engine|replacement engine",
    "restoration": "restored|partly restored|older restoration|fresh restoration|repainted"
    "|retrimmed",
    "modifications": "engine|fuel system|gearbox|brakes|suspension|steering|wheels|body|paint"
    "|interior|electrics|exhaust|any|re-engineered",
    "documents": "build record|first bill of sale|ownership chain|restoration photographs|bills"
    "|handbook|any",
    "genuineness": "genuine|tribute|replica",
    "owners": "one owner|two owners|three or more owners|long ownership",
    "mileage": "actual|unknown|exempt|odometer replaced|odometer not working|rolled over",
    "title": "clear|not in the seller's name|lien|missing|bill of sale only"
    "|foreign, duty unpaid|branded|number differs",
    "faults": "rust|filler|leak|does not run|smoke|overheating|paint|dents|glass|interior"
    "|electrics|brakes|gearbox|engine|suspension|tyres|missing parts",
    "condition": "project|tired|driver|sharp|show",
    "history": "accident|fire|flood|racing|well-known owner|long stored"
    "|running and maintained|major service due|major service done",
}

# What ``built_on.jsonl`` held when the test was written, as (affirmed, hedged, denied): a later
# edit may add statements, but may not lose a kind of them unseen.
AT_LEAST = {
    "originality": (181, 80, 111),
    "numbers": (82, 29, 18),
    "restoration": (104, 15, 46),
    "modifications": (155, 9, 23),
    "documents": (150, 2, 32),
    "genuineness": (51, 16, 25),
    "owners": (95, 17, 7),
    "mileage": (65, 32, 10),
    "title": (81, 5, 13),
    "faults": (257, 24, 144),
    "condition": (54, 2, 13),
    "history": (168, 32, 66),
}


def read(path: Path) -> list[dict[str, Any]]:
    """Return the listings of one file, one a line."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def statements(path: Path) -> list[dict[str, str]]:
    """Return every statement of one file."""
    return [s for listing in read(path) for s in listing["statements"]]


def format_faults(listing: dict[str, Any]) -> list[str]:
    """Say what is wrong with the shape of one listing."""
    faults = []
    if list(listing) != ["id", "style", "text", "statements"]:
        faults.append("keys")
    if listing["style"] not in STYLES:
        faults.append("style")
    if not listing["statements"]:
        faults.append("no statements")
    return [f"{listing['id']}: {fault}" for fault in faults]


def statement_faults(listing: dict[str, Any]) -> list[str]:
    """Say what is wrong with the statements of one listing."""
    faults = []
    seen: set[tuple[str, str, str]] = set()
    for s in listing["statements"]:
        key = (s["topic"], s["value"], s["strength"])
        if list(s) != ["topic", "value", "strength", "words"]:
            faults.append(f"keys {list(s)}")
        if s["value"] not in VALUES.get(s["topic"], "").split("|"):
            faults.append(f"value {s['topic']}/{s['value']}")
        if s["strength"] not in STRENGTHS:
            faults.append(f"strength {s['strength']}")
        if not s["words"].strip() or s["words"] not in listing["text"]:
            faults.append(f"words {s['words']!r}")
        if key in seen:
            faults.append(f"twice {key}")
        seen.add(key)
    return [f"{listing['id']}: {fault}" for fault in faults]


def grouped(rows: list[dict[str, str]]) -> dict[str, tuple[int, int, int]]:
    """Count the statements of each topic as (affirmed, hedged, denied)."""
    n = Counter((s["topic"], GROUPS[s["strength"]]) for s in rows)
    return {t: (n[t, "affirmed"], n[t, "hedged"], n[t, "denied"]) for t in VALUES}


def test_there_are_listings() -> None:
    assert "built_on.jsonl" in [path.name for path in FILES]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_format(path: Path) -> None:
    listings = read(path)
    ids = Counter(x["id"] for x in listings)
    assert [i for i, n in ids.items() if n > 1] == []
    assert [fault for x in listings for fault in format_faults(x)] == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_statements_are_of_the_closed_lists_and_verbatim(path: Path) -> None:
    assert [fault for x in read(path) for fault in statement_faults(x)] == []


def test_a_wrong_statement_is_found() -> None:
    good = {"topic": "faults", "value": "rust", "strength": "denied", "words": "no rust"}
    listing = {"id": "T-1", "style": "terse", "text": "no rust", "statements": [good]}
    assert statement_faults(listing) == []
    wrong = {**good, "value": "rot", "strength": "maybe", "words": "No rust"}
    assert statement_faults({**listing, "statements": [good, good, wrong]}) == [
        "T-1: twice ('faults', 'rust', 'denied')",
        "T-1: value faults/rot",
        "T-1: strength maybe",
        "T-1: words 'No rust'",
    ]


def test_nothing_was_lost() -> None:
    now = grouped(statements(FOLDER / "built_on.jsonl"))
    short = {
        t: (now[t], least)
        for t, least in AT_LEAST.items()
        if any(n < m for n, m in zip(now[t], least, strict=True))
    }
    assert short == {}


def test_every_value_occurs_three_times() -> None:
    n = Counter((s["topic"], s["value"]) for s in statements(FOLDER / "built_on.jsonl"))
    rare = [f"{t}/{v}" for t in VALUES for v in VALUES[t].split("|") if n[t, v] < 3]
    assert rare == []


def test_the_table_of_the_readme_is_counted() -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    n = Counter((s["topic"], s["strength"]) for s in statements(FOLDER / "built_on.jsonl"))
    for topic in VALUES:
        row = [n[topic, strength] for strength in STRENGTHS]
        cells = " | ".join(str(c) for c in [*row, sum(row)])
        assert f"| {topic} | {cells} |" in text

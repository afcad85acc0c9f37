"""The reader is held to what it was measured to find in the labelled listings."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from valuation.schema.statements import Statement

ROOT = Path(__file__).parents[3]
FILE = ROOT / "tests" / "reference" / "listings" / "built_on.jsonl"


def tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "listings", ROOT / "tests" / "benchmarks" / "listings.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["listings"] = module
    spec.loader.exec_module(module)
    return module


LISTINGS = tool()

# Measured, in whole per cent rounded down: recall and precision over all 200 listings.
AT_LEAST = {"affirmed": (92, 92), "denied": (93, 93), "hedged": (87, 91)}


@pytest.fixture(scope="module")
def scores() -> dict[str, Any]:
    listings = LISTINGS.read_listings(FILE)
    return dict(LISTINGS.by_group([LISTINGS.compare(x) for x in listings]))


@pytest.mark.parametrize("group", AT_LEAST)
def test_recall_and_precision(scores: dict[str, Any], group: str) -> None:
    recall, precision = AT_LEAST[group]
    score = scores[group]
    assert score.recall >= recall / 100
    assert score.precision >= precision / 100


def listing(text: str, *labels: tuple[str, str, str, str]) -> object:
    return LISTINGS.Listing("X", "terse", text, tuple(LISTINGS.Label(*x) for x in labels))


def reader(*found: Statement) -> object:
    return lambda text: found


RUST = ("faults", "rust", "denied", "no rust")
TEXT = "Well, no rust. Some rust in the boot."


def test_a_statement_counts_if_topic_value_group_and_place_agree() -> None:
    good = Statement("faults", "rust", "denied", "rust", 9, 13)
    done = LISTINGS.compare(listing(TEXT, RUST), reader(good))
    assert ([label.value for label, _ in done.pairs], done.missed, done.false) == (["rust"], [], [])


@pytest.mark.parametrize(
    "found",
    [
        Statement("faults", "filler", "denied", "rust", 9, 13),
        Statement("history", "rust", "denied", "rust", 9, 13),
        Statement("faults", "rust", "claimed", "rust", 9, 13),
        Statement("faults", "rust", "denied", "rust", 20, 24),
    ],
)
def test_it_does_not_count_otherwise(found: Statement) -> None:
    done = LISTINGS.compare(listing(TEXT, RUST), reader(found))
    assert (len(done.pairs), len(done.missed), len(done.false)) == (0, 1, 1)


def test_strengths_of_one_group_match_and_a_label_is_found_once() -> None:
    label = ("faults", "rust", "claimed", "Some rust")
    found = [
        Statement("faults", "rust", strength, "rust", 20, 24)
        for strength in ("documented", "claimed")
    ]
    done = LISTINGS.compare(listing(TEXT, label), reader(*found))
    assert [said.strength for _, said in done.pairs] == ["claimed"]
    assert [said.strength for said in done.false] == ["documented"]
    assert LISTINGS.strengths_right([done]) == 1.0


def test_parts_of_the_listings_do_not_meet() -> None:
    every = LISTINGS.read_listings(FILE)
    built = {x.id for x in LISTINGS.built_part(every, "built")}
    held = {x.id for x in LISTINGS.built_part(every, "held")}
    assert (len(built), len(held), built & held) == (150, 50, set())


def test_it_prints_tables_and_errors(capsys: pytest.CaptureFixture[str]) -> None:
    assert LISTINGS.main([str(FILE), "--part", "held", "--errors"]) == 0
    shown = capsys.readouterr().out
    for heading in ("by group", "by style and group", "by strength", "by topic", "missed", "false"):
        assert heading in shown

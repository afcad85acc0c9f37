"""Words put in between leave the sentence around them whole."""

from __future__ import annotations

import pytest

from valuation.reading.asides import find_asides, smoothed
from valuation.reading.statements import read_statements

CASES = [
    # nothing but manners
    ("The rear axle, regrettably, is not original.", "not originality: final drive"),
    ("The invoices, by contrast, have been lost.", "not documents: bills"),
    ("Mileage, we must be frank, cannot be verified.", "mileage: unknown"),
    ("It has, I'm glad to say, never been restored.", "not restoration: restored"),
    ("It has – mercifully – never been raced.", "not history: racing"),
    ("The engine (to be fair) is not original.", "not originality: engine"),
    ("Rust, the curse of this marque, is absent.", "not faults: rust"),
    ("There's rust, how much I couldn't say, in the sills.", "faults: rust"),
    # doubts
    ("The gearbox is, I think, original.", "perhaps originality: gearbox"),
    ("It was, as far as we know, never raced.", "not history: racing"),
    ("The car has, so the story goes, been raced.", "perhaps history: racing"),
    ("The paint is, we believe, original.", "perhaps originality: paint"),
    ("The engine was, it is said, rebuilt.", "perhaps history: major service done"),
    ("The engine, I'd guess, is original.", "perhaps originality: engine"),
    ("The glass – or so I'm told – is original.", "perhaps originality: glass"),
    ("It has, in all likelihood, been repainted.", "perhaps restoration: repainted"),
    # sources
    ("The engine, says the last owner, was rebuilt.", "history: major service done"),
    ("The car was, her son tells us, never raced.", "not history: racing"),
    ("The paint, according to the registrar, is original.", "originality: paint"),
]


@pytest.mark.parametrize(("text", "expected"), CASES, ids=[c[0] for c in CASES])
def test_the_sentence_goes_on_behind_it(text: str, expected: str) -> None:
    assert {s.text for s in read_statements(text)} == set(expected.split("; "))


STRONG = [
    ("The engine, says the last owner, was rebuilt.", "third-party"),
    ("The engine, as the invoices show, was rebuilt.", "documented"),
    ("The engine, happily, was rebuilt.", "claimed"),
]


@pytest.mark.parametrize(("text", "strength"), STRONG)
def test_on_whose_word_it_rests(text: str, strength: str) -> None:
    found = {s.key: s.strength for s in read_statements(text)}
    assert found["history: major service done"] == strength


def test_a_paper_named_in_passing_is_there() -> None:
    found = {s.text for s in read_statements("It was never, as the bills show, restored.")}
    assert found == {"not restoration: restored", "documents: bills"}


@pytest.mark.parametrize(
    "text",
    [
        "rust, probably filler, dents",
        "engine rebuilt, sadly no bills",
        "the seats, the wheels, the glass",
        "old tyres, worn brakes, tired paint",
    ],
)
def test_a_list_has_none(text: str) -> None:
    assert find_asides(text, text, ()) == []


def test_every_sign_stays_in_its_place() -> None:
    text = "it is, i think, original; it was (sadly) raced"
    smooth = smoothed(text, find_asides(text, text, ()))
    assert len(smooth) == len(text)
    assert smooth.split() == ["it", "is", "original;", "it", "was", "raced"]

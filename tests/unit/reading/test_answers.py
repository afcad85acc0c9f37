"""Questions are said the way they are answered."""

from __future__ import annotations

import pytest

from valuation.reading.answers import headings_as_colons
from valuation.reading.statements import read_statements

CASES = [
    ("Rust? None.", "not faults: rust"),
    ("Rust? None that I've found.", "not faults: rust"),
    ("Rust? Some.", "faults: rust"),
    ("Rust? Not that I know of.", "not faults: rust"),
    ("Rust? Hard to say.", "perhaps faults: rust"),
    ("Rust? You won't find any.", "not faults: rust"),
    ("Rust? I've never looked.", "perhaps faults: rust"),
    ("Rust? Only in the boot floor.", "faults: rust"),
    ("Any filler? No.", "not faults: filler"),
    ("Any filler? Possibly.", "perhaps faults: filler"),
    ("Ever raced? Not by me.", "not history: racing"),
    ("Ever raced? So I'm told.", "perhaps history: racing"),
    ("Was it restored? Yes.", "restoration: restored"),
    ("Was it restored? No.", "not restoration: restored"),
    ("Was it restored? Well, no.", "not restoration: restored"),
    ("Was it restored? I couldn't tell you.", "perhaps restoration: restored"),
    ("Has it been repainted? I don't think so.", "not restoration: repainted"),
    ("Has it been repainted? I think so.", "perhaps restoration: repainted"),
    ("Is it a genuine Works Special? I believe so.", "perhaps genuineness: genuine"),
    ("Is it a genuine Works Special? No: a plain saloon.", "not genuineness: genuine"),
    ("Does it smoke? It doesn't.", "not faults: smoke"),
    ("Does it leak? A little.", "faults: leak"),
    ("Is the chassis original? The registrar says it is.", "originality: chassis"),
    ("Is the chassis original? The registrar says not.", "not originality: chassis"),
    ("Frame original?", "perhaps originality: chassis"),
    ("Frame original? Tyres old.", "perhaps originality: chassis; faults: tyres"),
    # a question in full with no answer says nothing
    ("Would you like it restored?", ""),
    ("Is it original? See for yourself.", ""),
    # headings
    ("Gearbox? Original.", "originality: gearbox"),
    ("Gearbox? Probably original.", "perhaps originality: gearbox"),
    ("Paint? Not original.", "not originality: paint"),
    ("Brakes? Seized.", "faults: brakes"),
]


@pytest.mark.parametrize(("text", "expected"), CASES, ids=[c[0] for c in CASES])
def test_the_answer_decides(text: str, expected: str) -> None:
    assert {s.text for s in read_statements(text)} == {e for e in expected.split("; ") if e}


def test_the_words_run_on_into_the_answer() -> None:
    (found,) = read_statements("Any filler? Possibly, in one wing.")
    assert found.words.startswith("filler? Possibly")


def test_only_a_heading_becomes_one() -> None:
    text = "brakes? worn. wheels? no. is it good? it is. why? ask."
    assert headings_as_colons(text, ()) == "brakes: worn. wheels? no. is it good? it is. why? ask."

"""Figures that no rule looks at: texts that differ in them are read alike."""

import json
import re
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.reading.alike import written_alike
from valuation.reading.lexicon import index
from valuation.reading.statements import _read, read_statements

REFERENCE = Path(__file__).parents[2] / "reference" / "listings"
TEXTS = [
    json.loads(line)["text"]
    for name in ("built_on", "further", "held_out")
    for line in (REFERENCE / f"{name}.jsonl").read_text(encoding="utf-8").splitlines()
]
WITH_FIGURES = [t for t in TEXTS if written_alike(t) != t]
KINDS = {
    "1933": [str(y) for y in range(1900, 1990)],
    "1993": [str(y) for y in range(1990, 2000)],
    "133": [str(n) for n in range(101, 200)],
    "333": [str(n) for n in range(200, 1000)],
    "3.3": [f"{n / 10:.1f}" for n in range(100)],
    "3.3l": [f"{n / 10:.1f}l" for n in range(100)],
    "'33": [f"'{n}" for n in range(30, 100)],
}


def _said(text: str) -> list[tuple[str, str, str, int, int]]:
    return [(s.topic, s.value, s.strength, s.start, s.end) for s in _read(text)]


def test_reference_listings_hold_enough_figures() -> None:
    assert len(WITH_FIGURES) > 100


@settings(deadline=None)
@given(st.sampled_from(WITH_FIGURES), st.randoms(use_true_random=False))
def test_other_figures_of_the_kind_change_nothing(text: str, random: Random) -> None:
    """Read the text as it is, with figures alike, and with any others of the same kind."""
    alike = written_alike(text)
    other = re.sub(
        r"(?<![\w.,'’])(?:1933|133|333|3\.3|'33)(?![\w.,])",
        lambda m: random.choice(KINDS[m.group()]),
        alike,
    )
    assert _said(alike) == _said(text)
    if written_alike(other) == alike:
        assert _said(other) == _said(text)


@pytest.mark.parametrize("kind", KINDS)
def test_phrases_do_not_tell_figures_of_a_kind_apart(kind: str) -> None:
    """Every phrase of the reader that can hold one figure of a kind can hold every other."""
    around = ("{}", "since {}", "{} engine", "the {} owners", "about {} miles", "{} point car")
    for frame in around:
        expected = {h.label for h in index().find(frame.format(kind))}
        for figure in KINDS[kind][::7]:
            assert {h.label for h in index().find(frame.format(figure))} == expected, figure


def test_words_are_those_of_the_text() -> None:
    (said,) = read_statements("1967 Torvane GT, restored in 1984, 2.6 litre")
    assert said.words == "restored in 1984"


@pytest.mark.parametrize(
    "text",
    [
        "12,345 miles",
        "100 point car",
        "one of 42",
        "2005 coupe",
        "the 1960s",
        "1960/61",
        "£395",
        "5-speed",
        "A1 condition",
        "'20 tourer",
        "60k",
    ],
)
def test_figures_that_can_tell_something_stay(text: str) -> None:
    assert written_alike(text) == text

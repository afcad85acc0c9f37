"""The phrases of the reader: each can be read and means something of the contract."""

from __future__ import annotations

import pytest

from valuation.reading.lexicon import _load, index, lexicon_phrases
from valuation.reading.phrases import Hit, Index, compile_phrase
from valuation.schema.statements import TOPICS

PHRASES = lexicon_phrases()
CLASSES = _load("classes")["classes"]


def test_every_phrase_compiles_and_begins_with_a_word() -> None:
    for phrase, label in PHRASES:
        _, firsts = compile_phrase(phrase, CLASSES)
        assert firsts, (phrase, label)
        assert "" not in firsts, (phrase, label)


def test_labels_are_topics_and_values_of_the_contract() -> None:
    for phrase, label in PHRASES:
        if len(label) == 3 and label[1] != "part":
            assert label[2] in TOPICS[label[1]].values, phrase


def test_every_value_can_be_said() -> None:
    flat = {label[1:] for _, label in PHRASES if label[0] == "say"}
    of_parts = {"engine", "gearbox", "final drive", "chassis", "body panels", "paint", "interior"}
    of_parts |= {"wheels", "glass", "matching final drive"}
    for topic in TOPICS.values():
        for value in topic.values:
            assert (topic.name, value) in flat or value in of_parts, (topic.name, value)


@pytest.mark.parametrize(
    ("phrase", "text", "found"),
    [
        ("no rust", "no rust", "no rust"),
        ("no rust", "no-rust", "no-rust"),
        ("rust*", "rusting away", "rusting"),
        ("rust|rot", "rot", "rot"),
        ("(oil leak|drips) here?", "oil leak here", "oil leak here"),
        ("(oil leak|drips) here?", "drips", "drips"),
        ("{part} original", "engine original", "engine original"),
        ("engine <2> original", "engine is quite original", "engine is quite original"),
        ("engine <2> original", "engine original", "engine original"),
        ("engine <1,> original", "engine, still original", "engine, still original"),
        ("mileage , true", "mileage, true", "mileage, true"),
        ("rust : none", "rust: none", "rust: none"),
        ("bill !(of sale)", "bill for work", "bill"),
        ("\\d+ owners", "12 owners", "12 owners"),
        ("owner's book", "owners book", "owners book"),
        ("paint original", "paint's original", "paint's original"),
    ],
)
def test_the_notation_of_phrases(phrase: str, text: str, found: str) -> None:
    pattern, _ = compile_phrase(phrase, {"part": "engine|gear box"})
    matched = pattern.match(text)
    assert matched is not None
    assert matched.group() == found


@pytest.mark.parametrize(
    ("phrase", "text"),
    [
        ("rust", "rusty"),
        ("engine <2> original", "engine one two three original"),
        ("engine <2> original", "engine, original"),
        ("engine <2> original", "engine but original"),
        ("bill !(of sale)", "bill of sale"),
        ("no rust", "no. rust"),
    ],
)
def test_what_a_phrase_does_not_match(phrase: str, text: str) -> None:
    pattern, _ = compile_phrase(phrase, {})
    assert pattern.match(text) is None


def test_an_index_finds_the_longest_of_each_meaning() -> None:
    made = Index([("rust", ("a",)), ("rust free", ("a",)), ("free", ("b",))], {})
    assert made.find("rust free") == [Hit(("a",), 0, 9), Hit(("b",), 5, 9)]


def test_bundles_of_phrases_find_what_single_ones_find() -> None:
    words = ["rust " + "abcdefghijkl"[i] * 2 for i in range(12)]
    many = Index([(w, (w,)) for w in words], {})
    for w in words:
        assert [h.label for h in many.find(w)] == [(w,)]


def test_the_index_is_made_once() -> None:
    assert index() is index()

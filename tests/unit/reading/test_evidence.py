"""From statements to the attributes of the contract."""

from __future__ import annotations

import pytest

from valuation.reading.evidence import attribute_of, attributes_of
from valuation.reading.statements import read_statements
from valuation.schema import BY_NAME
from valuation.schema.statements import TOPICS, Statement

CASES = [
    ("Matching-numbers engine.", "engine_originality", "numbers-matching"),
    ("Matching numbers.", "engine_originality", "numbers-matching"),
    ("The engine is original.", "engine_originality", "numbers-matching"),
    ("Date-correct block.", "engine_originality", "date-correct"),
    ("Correct type engine.", "engine_originality", "correct type"),
    ("The engine was exchanged by the works.", "engine_originality", "maker's service replacement"),
    ("The engine was replaced.", "engine_originality", "later replacement"),
    ("The engine was replaced, correct type.", "engine_originality", "correct type"),
    ("Bills and the build record.", "documents", ("bills", "build record")),
    ("No paperwork.", "documents", ()),
    ("Never restored.", "restoration", "unrestored, preserved"),
    ("Never restored. Some rust.", "restoration", "unrestored, worn"),
    ("Partly restored.", "restoration", "partly restored"),
    ("Restored in 1988.", "restoration", "older restoration"),
    ("Freshly restored.", "restoration", "fresh restoration"),
    ("Freshly restored. Bills.", "restoration", "fresh restoration, documented"),
    ("Unmodified.", "modifications", ()),
    ("Re-engineered.", "re_engineered", "yes"),
    ("5-speed conversion.", "transmission_origin", "converted later"),
    ("Genuine, per build sheet.", "genuineness", "genuine, documented"),
    ("A genuine Works Special.", "genuineness", "claimed, not documented"),
    ("It may be a Works Special.", "genuineness", "claimed, not documented"),
    ("Not a HO.", "genuineness", "tribute"),
    ("A Works Special tribute.", "genuineness", "tribute"),
    ("A replica.", "genuineness", "replica"),
    ("The mileage is documented by service bills.", "mileage_status", "proven"),
    ("41,000 genuine miles.", "mileage_status", "stated"),
    ("True mileage unknown.", "mileage_status", "unknown"),
    ("Speedo replaced.", "mileage_status", "unknown"),
    ("Mileage exempt.", "mileage_status", "exempt"),
    ("Clear title.", "title_status", "clear"),
    ("No title, bill of sale only.", "title_status", "bill of sale only"),
    ("Clear title, lien to be settled.", "title_status", "lien"),
    ("Raced, with an accident in 1971.", "history", ("accident", "racing")),
    ("In its original colour.", "colour_origin", "as it left the works"),
    ("Colour changed.", "colour_origin", "changed"),
]


@pytest.mark.parametrize(("text", "name", "value"), CASES, ids=[c[0] for c in CASES])
def test_words_fill_an_attribute(text: str, name: str, value: object) -> None:
    found = attributes_of(read_statements(text))
    assert found.values[name] == value
    assert found.rests_on[name]
    assert found.notes == ()


@pytest.mark.parametrize(
    "text",
    [
        "The engine may be original.",
        "Perhaps restored in 1988.",
        "Some say it was raced?",
        "A car.",
    ],
)
def test_what_is_doubted_fills_nothing(text: str) -> None:
    assert dict(attributes_of(read_statements(text)).values) == {}


def test_what_is_said_and_denied_fills_nothing_and_is_told() -> None:
    torn = [Statement("history", "racing", "claimed"), Statement("history", "racing", "denied")]
    found = attributes_of(torn)
    assert dict(found.values) == {}
    assert found.notes == ('The words both say and deny "history: racing".',)


def test_two_levels_of_one_attribute_fill_nothing_and_are_told() -> None:
    said = [
        Statement("restoration", "older restoration", "claimed"),
        Statement("restoration", "fresh restoration", "claimed"),
    ]
    found = attributes_of(said)
    assert dict(found.values) == {}
    assert found.notes == (
        'Restoration is left open: the words say "older restoration" and "fresh restoration", '
        "which do not agree.",
    )


def test_every_value_it_fills_is_one_of_the_contract() -> None:
    for topic in TOPICS.values():
        for value in topic.values:
            for strength in ("claimed", "documented", "denied"):
                found = attributes_of([Statement(topic.name, value, strength)])
                for name, filled in found.values.items():
                    words = filled if isinstance(filled, tuple) else (filled,)
                    assert set(words) <= set(BY_NAME[name].levels), (topic.name, value, strength)


def test_a_statement_names_the_attribute_it_speaks_of() -> None:
    assert attribute_of(Statement("documents", "handbook", "claimed")) == ""
    assert attribute_of(Statement("documents", "bills", "claimed")) == "documents"
    assert attribute_of(Statement("documents", "any", "denied")) == "documents"
    assert attribute_of(Statement("history", "racing", "denied")) == ""
    assert attribute_of(Statement("restoration", "restored", "denied")) == "restoration"
    assert attribute_of(Statement("restoration", "restored", "claimed")) == ""

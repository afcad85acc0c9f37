"""Statements in listings: one small text at a time, everything it says and nothing else."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.reading.statements import _read, read_statements
from valuation.schema.statements import GROUPS, STRENGTHS, TOPICS, Statement

FILE = Path(__file__).parents[2] / "reference" / "listings" / "built_on.jsonl"
LISTINGS = [json.loads(line)["text"] for line in FILE.read_text(encoding="utf-8").splitlines()]

# Each text with everything it says: "not" before what it denies, "perhaps" before what it hedges.
CASES: dict[str, list[tuple[str, str]]] = {
    "plain": [
        ("Some rust in the sills.", "faults: rust"),
        ("The handbook is with the car.", "documents: handbook"),
        ("Clear title.", "title: clear"),
        ("A lien is recorded.", "title: lien"),
        ("It was raced at Kettle Bend.", "history: racing"),
        ("Matching numbers.", "numbers: matching numbers"),
        ("Repainted.", "restoration: repainted"),
        ("The seats were retrimmed.", "restoration: retrimmed"),
        ("Restored in 1988.", "restoration: older restoration"),
        ("Freshly restored.", "restoration: fresh restoration"),
        ("Partly restored.", "restoration: partly restored"),
        ("It smokes.", "faults: smoke"),
        ("It overheats in traffic.", "faults: overheating"),
        ("There is filler in one wing.", "faults: filler"),
        ("True mileage unknown.", "mileage: unknown"),
        ("Mileage exempt.", "mileage: exempt"),
        ("One owner from new.", "owners: one owner"),
        ("Two owners.", "owners: two owners"),
        ("Five owners.", "owners: three or more owners"),
        ("In the same family since 1961.", "owners: long ownership"),
        ("Barn find.", "history: long stored"),
        ("Salvage title.", "title: branded"),
        ("Import duty has not been paid.", "title: foreign, duty unpaid"),
        ("Sold on a bill of sale only.", "title: bill of sale only"),
        ("Show-winning car.", "condition: show"),
    ],
    "negation": [
        ("No rust.", "not faults: rust"),
        ("Rust-free.", "not faults: rust"),
        ("Free of rust and filler.", "not faults: rust; not faults: filler"),
        ("Without dents or rust.", "not faults: dents; not faults: rust"),
        ("No rust, dents or filler.", "not faults: rust; not faults: dents; not faults: filler"),
        ("No rust, clear title.", "not faults: rust; title: clear"),
        ("No dents, no rust.", "not faults: dents; not faults: rust"),
        ("Never restored.", "not restoration: restored"),
        ("Unrestored.", "not restoration: restored"),
        ("It has not been raced, rallied or repainted.",
         "not history: racing; not restoration: repainted"),
        ("It has been neither restored nor modified.",
         "not restoration: restored; not modifications: any"),
        ("No bills.", "not documents: bills"),
        ("It has no handbook.", "not documents: handbook"),
        ("The handbook is missing.", "not documents: handbook"),
        ("Its handbook has been lost.", "not documents: handbook"),
        ("No corrosion was found.", "not faults: rust"),
        ("Rust? None.", "not faults: rust"),
        ("Rust: none.", "not faults: rust"),
        ("Filler was not found.", "not faults: filler"),
        ("It doesn't leak.", "not faults: leak"),
        ("It leaks no oil.", "not faults: leak"),
        ("It does not smoke or overheat.", "not faults: smoke; not faults: overheating"),
        ("Not a project.", "not condition: project"),
        ("Not a one-owner car.", "not owners: one owner"),
        ("No longer raced.", "not history: racing"),
        ("No sign of accident damage.", "not history: accident"),
        ("They didn't find: rust, filler.", "not faults: rust; not faults: filler"),
        ("Unmodified.", "not modifications: any"),
        ("No modifications other than a sports exhaust.",
         "not modifications: any; modifications: exhaust"),
        ("No one has ever restored it.", "not restoration: restored"),
    ],
    "no negation after all": [
        ("Not without rust.", "faults: rust"),
        ("It isn't rust free.", "faults: rust"),
        ("The floors are not free of corrosion.", "faults: rust"),
        ("No doubt the original engine.", "originality: engine"),
        ("No expense spared, matching numbers.", "numbers: matching numbers"),
        ("Not only the engine is original.", "originality: engine"),
        ("No reserve, no time wasters.", ""),
        ("It never misses a beat.", ""),
        ("Not a dent, but some rust.", "not faults: dents; faults: rust"),
        ("It does not run.", "faults: does not run"),
        ("No title.", "title: missing"),
        ("The odometer does not work.", "mileage: odometer not working"),
        ("The mileage cannot be warranted.", "mileage: unknown"),
    ],
    "doubt": [
        ("Believed to be the original engine.", "perhaps originality: engine"),
        ("The engine is thought to be original.", "perhaps originality: engine"),
        ("Engine original I think.", "perhaps originality: engine"),
        ("Frame orig?", "perhaps originality: chassis"),
        ("Probably resprayed once.", "perhaps restoration: repainted"),
        ("Resprayed, apparently.", "perhaps restoration: repainted"),
        ("It may have been raced.", "perhaps history: racing"),
        ("Two owners, as far as I know.", "perhaps owners: two owners"),
        ("As far as I know, it was never raced.", "not history: racing"),
        ("Said to have belonged to a film star.", "perhaps history: well-known owner"),
        ("Retrim likely.", "perhaps restoration: retrimmed"),
        ("Possibly the original gearbox.", "perhaps originality: gearbox"),
        ("The paint is, one supposes, original.", "perhaps originality: paint"),
        ("Unverified 31,000 miles.", "perhaps mileage: actual"),
        ("It is not known whether the engine is original.", "perhaps originality: engine"),
        ("Gearbox said to be original.", "perhaps originality: gearbox"),
                ("The gearbox is probably not original.", "not originality: gearbox"),
        ("I don't think the engine is original.", "not originality: engine"),
        ("Believed original, never restored.", "not restoration: restored"),
        ("Some rust, and possibly filler.", "faults: rust; perhaps faults: filler"),
        ("The wheels are believed original but the exhaust is modified.",
         "perhaps originality: wheels; modifications: exhaust"),
        ("Flood car? Unlikely.", "not history: flood"),
    ],
    "parts": [
        ("The engine and gearbox are original, the wheels are not.",
         "originality: engine; originality: gearbox; not originality: wheels"),
        ("Neither engine nor gearbox is original.",
         "not originality: engine; not originality: gearbox"),
        ("Original engine, gearbox and axle.",
         "originality: engine; originality: gearbox; originality: final drive"),
        ("Matching-numbers engine and gearbox.",
         "numbers: matching engine; numbers: matching gearbox"),
        ("Engine believed original, box ditto.",
         "perhaps originality: engine; perhaps originality: gearbox"),
        ("The engine is original. The gearbox isn't.",
         "originality: engine; not originality: gearbox"),
        ("The body, the club chap says, is original.", "originality: body panels"),
        ("The gearbox has been replaced.", "not originality: gearbox"),
        ("The engine was replaced.", "numbers: replacement engine"),
        ("The engine was exchanged by the works.", "numbers: works replacement engine"),
        ("The engine was never changed.", "originality: engine"),
        ("Wheels are reproductions.", "not originality: wheels"),
        ("The original engine is gone.", "not originality: engine"),
        ("Engine rebuilt.", "history: major service done"),
        ("The axle is stamped with the correct number.", "numbers: matching final drive"),
        ("Correct type engine.", "numbers: correct type engine"),
        ("Date-correct block.", "numbers: date-correct engine"),
        ("Brakes spongy.", "faults: brakes"),
        ("Headlining torn, dash cracked.", "faults: interior"),
        ("Fuel gauge dead.", "faults: electrics"),
        ("The windscreen is cracked.", "faults: glass"),
        ("Paint faded.", "faults: paint"),
        ("Steering has play.", "faults: suspension"),
        ("Gearbox jumps out of third.", "faults: gearbox"),
        ("Engine knocks.", "faults: engine"),
        ("Tyres perished.", "faults: tyres"),
        ("No engine, no gearbox.", "faults: missing parts"),
        ("Wide wheels, lowered suspension, disc brakes.",
         "modifications: wheels; modifications: suspension; modifications: brakes"),
        ("All original except the wheels.", "originality: car; not originality: wheels"),
        ("Speedo replaced.", "mileage: odometer replaced"),
        ("The odometer, which was renewed in 1990, reads low.", "mileage: odometer replaced"),
        ("The mileage is supported by service stamps.", "mileage: actual"),
    ],
    "versions": [
        ("A genuine Works Special.", "genuineness: genuine"),
        ("This is not a Works Special.", "not genuineness: genuine"),
        ("Not a HO.", "not genuineness: genuine"),
        ("It may be a Twin Choke.", "perhaps genuineness: genuine"),
        ("The build record lists it as a Works Special.",
         "genuineness: genuine; documents: build record"),
        ("A Works Special tribute.", "genuineness: tribute"),
        ("It is not a clone.", "not genuineness: tribute"),
        ("A replica.", "genuineness: replica"),
        ("A real Hill Climb.", "genuineness: genuine"),
        ("This is a Torvane GT.", ""),
    ],
    "not about this car": [
        ("Most were scrapped for rust.", ""),
        ("Would suit restoration.", ""),
        ("Rust is the enemy of these cars.", ""),
        ("Ask us for bills.", ""),
        ("It could easily be returned to original.", ""),
        ("It should be restored.", ""),
        ("Original owner's tools.", ""),
        ("Original handbook.", "documents: handbook"),
        ("The original air cleaner is fitted.", ""),
    ],
    "pointing back": [
        ("They rust, but mine hasn't got any.", "not faults: rust"),
        ("It used to overheat, doesn't now.", "not faults: overheating"),
        ("A fire was mentioned but no trace of it was seen.", "history: fire; not history: fire"),
        ("Possibly a works exchange engine; the guild says so.",
         "perhaps numbers: works replacement engine; numbers: works replacement engine"),
    ],
    "terse": [
        ("1-own, #s match, TMU.", "owners: one owner; numbers: matching numbers; mileage: unknown"),
        ("Orig eng / orig trans.", "originality: engine; originality: gearbox"),
        ("Trans. poss. orig., wheels repro.",
         "perhaps originality: gearbox; not originality: wheels"),
        ("Box no. doesn't match.", "not numbers: matching gearbox"),
        ("No filler/rot.", "not faults: filler; not faults: rust"),
        ("BOS only.", "title: bill of sale only"),
        ("Older resto, clear t.", "restoration: older restoration; title: clear"),
        ("5spd.", ""),
        ("5spd, lowered.", "modifications: gearbox; modifications: suspension"),
        ("179k, true.", "mileage: actual"),
        ("Stored 30y.", "history: long stored"),
        ("Not #s matching.", "not numbers: matching numbers"),
    ],
}  # fmt: skip


def said(text: str) -> set[str]:
    return {s.text for s in read_statements(text)}


@pytest.mark.parametrize(
    ("text", "expected"),
    [pytest.param(*case, id=case[0][:50]) for cases in CASES.values() for case in cases],
)
def test_what_a_text_says(text: str, expected: str) -> None:
    assert said(text) == {e for e in expected.split("; ") if e}


def test_there_are_many_of_them() -> None:
    assert sum(map(len, CASES.values())) >= 120


STRONG = [
    ("Engine rebuilt, bills on file.", "history: major service done", "documented"),
    ("The build record confirms the colour is original.", "originality: colour", "documented"),
    ("According to the last owner the gearbox was rebuilt.",
     "history: major service done", "third-party"),
    ("The registrar says the engine is original.", "originality: engine", "third-party"),
    ("Inspector: panels orig.", "originality: body panels", "third-party"),
    ("The mileage is documented by service stamps.", "mileage: actual", "documented"),
    ("The gearbox was overhauled, according to an invoice.",
     "history: major service done", "documented"),
    ("Genuine, per build sheet.", "genuineness: genuine", "documented"),
    ("The engine is original.", "originality: engine", "claimed"),
    ("The registrar says it was never raced.", "history: racing", "denied"),
    ("The registrar thinks the engine is original.", "originality: engine", "hedged"),
    ("All receipts from the last owner.", "documents: bills", "claimed"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key", "strength"), STRONG, ids=[s[0] for s in STRONG])
def test_on_whose_word(text: str, key: str, strength: str) -> None:
    assert {s.strength for s in read_statements(text) if s.key == key} == {strength}


WORDS = [
    ("There is no rust, dents or filler.", "faults: filler", "no rust, dents or filler"),
    ("Believed to be the original engine.",
     "originality: engine", "Believed to be the original engine"),
    ("Unrestored, says he.", "restoration: restored", "Unrestored"),
    ("Engine and gearbox are original.", "originality: engine", "Engine and gearbox are original"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key", "words"), WORDS)
def test_the_words_begin_at_the_negation_or_the_doubt(text: str, key: str, words: str) -> None:
    assert [s.words for s in read_statements(text) if s.key == key] == [words]


@pytest.mark.parametrize("text", LISTINGS[::5])
def test_words_stand_in_the_text(text: str) -> None:
    found = read_statements(text)
    assert found
    for s in found:
        assert text[s.start : s.end] == s.words != ""
        assert s.value in TOPICS[s.topic].values
        assert s.strength in STRENGTHS
    assert list(found) == sorted(found, key=lambda s: (s.start, s.end))
    assert len({(s.topic, s.value, s.strength) for s in found}) == len(found)


@pytest.mark.parametrize("text", LISTINGS[::5])
def test_saying_it_twice_says_nothing_new(text: str) -> None:
    assert said(f"{text}\n\n{text}") == said(text)


def test_it_reads_the_same_again() -> None:
    first = read_statements(LISTINGS[0])
    _read.cache_clear()
    assert read_statements(LISTINGS[0]) == first


BITS = st.sampled_from(
    [
        *(
            "no ",
            "rust",
            "not ",
            "engine",
            " is ",
            "original",
            ", ",
            "; ",
            ".",
            "?",
            "(",
            ")",
            "\n",
        ),
        *("believed ", "and ", "or ", "never ", "said to be ", "'s ", "isn't", " - ", "é", "½"),
        "A Works Special",
    ]
)


@given(st.one_of(st.text(max_size=200), st.lists(BITS, max_size=40).map("".join)))
@settings(max_examples=300, deadline=None)
def test_no_text_breaks_it(text: str) -> None:
    for s in read_statements(text):
        assert text[s.start : s.end] == s.words


def test_a_statement_tells_its_group_and_key() -> None:
    made = Statement("faults", "rust", "third-party")
    assert (made.group, made.key, made.text) == ("affirmed", "faults: rust", "faults: rust")
    assert Statement("faults", "rust", "hedged").text == "perhaps faults: rust"
    assert set(GROUPS.values()) == {"affirmed", "hedged", "denied"}


def test_an_empty_text_says_nothing() -> None:
    assert read_statements("") == ()
    assert read_statements("1967 Torvane GT Coupe 4-Speed") == ()

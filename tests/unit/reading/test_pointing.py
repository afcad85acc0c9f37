"""Clauses that leave out what they mean, or point back to it: "so is the gearbox"."""

from __future__ import annotations

import pytest

from valuation.reading.statements import read_statements
from valuation.reading.undone import undone

CASES = [
    (
        "The engine is original; the differential may be too.",
        "originality: engine; perhaps originality: final drive",
    ),
    (
        "The engine is original; the gearbox may well be.",
        "originality: engine; perhaps originality: gearbox",
    ),
    (
        "The engine is original. The gearbox might be as well.",
        "originality: engine; perhaps originality: gearbox",
    ),
    (
        "The engine did not leave the works with it; the differential may have done.",
        "not originality: engine; perhaps originality: final drive",
    ),
    (
        "The wings are original; whether the bonnet is remains unverified.",
        "originality: body panels; perhaps originality: body panels",
    ),
    ("The engine is original. So is the gearbox.", "originality: engine; originality: gearbox"),
    (
        "The engine is original and so are the wheels.",
        "originality: engine; originality: wheels",
    ),
    (
        "The engine is not original. Neither is the gearbox.",
        "not originality: engine; not originality: gearbox",
    ),
    (
        "The engine isn't original, nor is the gearbox.",
        "not originality: engine; not originality: gearbox",
    ),
    (
        "The engine isn't original and neither are the wheels.",
        "not originality: engine; not originality: wheels",
    ),
    (
        "The engine is not original, and the same goes for the gearbox.",
        "not originality: engine; not originality: gearbox",
    ),
    (
        "The engine is original. The same goes for the gearbox.",
        "originality: engine; originality: gearbox",
    ),
    (
        "The engine is original; the same is true of the glass.",
        "originality: engine; originality: glass",
    ),
    (
        "The engine is original. The same can be said of the wheels.",
        "originality: engine; originality: wheels",
    ),
    (
        "The engine is original, the same cannot be said of the wheels.",
        "originality: engine; not originality: wheels",
    ),
    (
        "The engine is original; not so the wheels.",
        "originality: engine; not originality: wheels",
    ),
    (
        "The engine is original, unlike the wheels.",
        "originality: engine; not originality: wheels",
    ),
    ("The engine is original, as is the gearbox.", "originality: engine; originality: gearbox"),
    ("The engine is original, as are the wheels.", "originality: engine; originality: wheels"),
    (
        "The engine is original, and I believe the gearbox is too.",
        "originality: engine; perhaps originality: gearbox",
    ),
    (
        "The engine is original; the gearbox likewise.",
        "originality: engine; originality: gearbox",
    ),
    ("The engine is original; the gearbox, too.", "originality: engine; originality: gearbox"),
    (
        "The engine is original; the gearbox, I fear, not.",
        "originality: engine; not originality: gearbox",
    ),
    (
        "The engine is original but not the gearbox.",
        "originality: engine; not originality: gearbox",
    ),
    (
        "The engine is original, the gearbox probably so.",
        "originality: engine; perhaps originality: gearbox",
    ),
    (
        "The engine is believed original, as is the gearbox.",
        "perhaps originality: engine; perhaps originality: gearbox",
    ),
    ("What is original is the glass.", "originality: glass"),
    ("What is not original is the interior.", "not originality: interior"),
    ("What remains original is the glass.", "originality: glass"),
    ("The only thing not original is the exhaust.", ""),
    ("The only original part is the glass.", "originality: glass"),
    (
        "Original: glass, seats, wheels.",
        "originality: glass; originality: interior; originality: wheels",
    ),
    (
        "Original are: glass, seats and wheels.",
        "originality: glass; originality: interior; originality: wheels",
    ),
    (
        "Not original: the gearbox, the seats.",
        "not originality: gearbox; not originality: interior",
    ),
    (
        "Is it matching? Engine yes, gearbox no.",
        "numbers: matching engine; not numbers: matching gearbox",
    ),
    (
        "Is it original? Engine yes, gearbox no.",
        "originality: engine; not originality: gearbox",
    ),
    ("What isn't wrong: no smoke, no rust.", "not faults: smoke; not faults: rust"),
    ("What is not wrong: oil leaks, rust.", "not faults: leak; not faults: rust"),
    (
        "What I suspect: that it was repainted; that it was raced.",
        "perhaps restoration: repainted; perhaps history: racing",
    ),
    (
        "What I can't tell you: whether it was raced, nor whether it was repainted.",
        "perhaps history: racing; perhaps restoration: repainted",
    ),
    ("What I do not know: whether the engine is original.", "perhaps originality: engine"),
    ("Unknown: whether it was raced.", "perhaps history: racing"),
    (
        "Believed original: glass, wheels.",
        "perhaps originality: glass; perhaps originality: wheels",
    ),
    ("People ask if it was restored. It wasn't.", "not restoration: restored"),
    ("Some will say it has been repainted. It has not.", "not restoration: repainted"),
    ("They all rust. This one doesn't.", "not faults: rust"),
    ("They all rust. This one does not.", "not faults: rust"),
    ("They all leak; ours doesn't.", "not faults: leak"),
    ("Most of them have been restored. This has not.", "not restoration: restored"),
    ("Most were raced; not this one.", "not history: racing"),
    ("Others were raced. Not this.", "not history: racing"),
    ("It was sold to me as original, which it is not.", "not originality: car"),
    ("It was described as unrestored, which it is.", "not restoration: restored"),
    ("It looks restored, but it isn't.", "not restoration: restored"),
    ("It might look restored but it is not.", "not restoration: restored"),
    ("You'd think it was restored. It never was.", "not restoration: restored"),
    ("He meant to restore it and never did.", "not restoration: restored"),
    ("I meant to restore it but never got round to it.", "not restoration: restored"),
    (
        "I always intended to have it restored, but it never happened.",
        "not restoration: restored",
    ),
    ("She planned to restore it but never began.", "not restoration: restored"),
    ("It was to be restored but never was.", "not restoration: restored"),
    ("It has yet to be restored.", "not restoration: restored"),
    ("No attempt has been made to restore it.", "not restoration: restored"),
    ("No one has tried to restore it.", "not restoration: restored"),
    ("Nobody has ever attempted to restore it.", "not restoration: restored"),
    ("What I've never done is restore it.", "not restoration: restored"),
    ("I never restored it.", "not restoration: restored"),
    ("We have not restored it.", "not restoration: restored"),
    ("I have resisted the temptation to restore it.", "not restoration: restored"),
    ("I did not restore it.", "not restoration: restored"),
    ("Never let anyone restore it.", ""),
    ("It used to smoke but no longer does.", "not faults: smoke"),
    ("It used to leak; that has been cured.", "not faults: leak"),
    ("There was some rust, since cut out.", "not faults: rust"),
    (
        "The gearbox came out of another car, so that isn't original.",
        "not originality: gearbox",
    ),
    ("The engine? Not the one it was born with.", "not originality: engine"),
    (
        "Nothing has been altered save the exhaust.",
        "not modifications: any; modifications: exhaust",
    ),
    ("Nothing on it is modified.", "not modifications: any"),
    ("Everything is original except the wheels.", "originality: car; not originality: wheels"),
]


@pytest.mark.parametrize(("text", "expected"), CASES, ids=[c[0][:60] for c in CASES])
def test_what_is_left_out_is_read(text: str, expected: str) -> None:
    assert {s.text for s in read_statements(text)} == {e for e in expected.split("; ") if e}


UNDONE = [
    ("he meant to restore it and never did", "restored"),
    ("she always planned to repaint it but never found the time", "repainted"),
    ("what nobody has ever dared do is modify it", "any"),
    ("i was never tempted to race it", "racing"),
    ("no attempt was made to restore it", "restored"),
    ("he resisted all offers to respray it", "repainted"),
    ("nobody ever altered it", "any"),
]


@pytest.mark.parametrize(("text", "value"), UNDONE)
def test_what_was_never_done(text: str, value: str) -> None:
    assert {f.value for f in undone(text)} == {value}


@pytest.mark.parametrize(
    "text",
    [
        "he meant to restore it and did",
        "never let anybody restore it",
        "i restored it",
        "nobody should race it",
    ],
)
def test_what_was_done_or_is_only_advice(text: str) -> None:
    assert list(undone(text)) == []

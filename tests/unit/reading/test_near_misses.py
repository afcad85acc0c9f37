"""Words that nearly say it, and plain words in shortened or unusual dress."""

from __future__ import annotations

import pytest

from valuation.reading.statements import read_statements

# Of the seller, of other things, of the future: nothing is said of the car.
NOTHING = [
    "It is no accident that this car won so often.",
    "She hesitates at nothing.",
    "The owner hesitates to sell.",
    "A handbook would be nice.",
    "Handbooks for these are rare.",
    "My back is worn out so it must go.",
    "My knees are worn and rusty.",
    "The garage roof leaks, so it must go.",
    "It was going to be blue.",
    "The motor car is offered from an estate.",
    "I would like to see it restored one day.",
    "The rubber seals have perished.",
    "The seats are trimmed in red leather.",
    "The engine is a unit of 1.6 litres with twin carburettors.",
    "No accident that we were so pleased with it.",
]

SAID = [
    # Parts, and what stands behind a colon.
    ("Engine original: build record on file.", "originality: engine; documents: build record"),
    ("Original: carpets, wheels.", "originality: interior; originality: wheels"),
    ("This motor car is original.", "originality: car"),
    ("The gearbox is a little noisy in first.", "faults: gearbox"),
    # A part of another kind is a change; one without a further word is just not original.
    ("A later gearbox is fitted.", "not originality: gearbox"),
    ("A later automatic gearbox is fitted.", "modifications: gearbox"),
    ("A five-speed gearbox from a later model.", "modifications: gearbox"),
    ("The wheels are of a later pattern.", "modifications: wheels"),
    ("Incorrect seats.", "not originality: interior"),
    ("The engine has been changed for a larger one from the same maker.", "modifications: engine"),
    ("Coil springs in place of leaves.", "modifications: suspension"),
    ("An unaltered body.", "not modifications: body"),
    # Doubts.
    ("The exhaust looks home-made.", "perhaps modifications: exhaust"),
    ("Said to be restored.", "perhaps restoration: restored"),
    ("Possibly the genuine works barchetta.", "perhaps genuineness: genuine"),
    ("AFAIK real GT-4.", "perhaps genuineness: genuine"),
    ("Gearbox is original, far as I know.", "perhaps originality: gearbox"),
    ("Original interior, except for one seat, I think.", "perhaps originality: interior"),
    ("Original paint apart from the bumper, I think.", "perhaps originality: paint"),
    # Denials that lost their "not" or kept one too many.
    ("It shows 41,000, which isn't the true figure.", "not mileage: actual"),
    ("No accident that I know of.", "not history: accident"),
    ("It has never failed to start.", "not faults: does not run"),
    ("There are no outstanding loans.", "not title: lien"),
    ("No history with it whatsoever.", "not documents: any"),
    ("The body is not original.", "not originality: body panels"),
    ("The speedometer has never worked.", "mileage: odometer not working"),
    ("The title is not in my name.", "title: not in the seller's name"),
    ("It isn't in my name yet.", "title: not in the seller's name"),
    (
        "Brakes are stuck. Title is in the family's name, not ours.",
        "faults: brakes; title: not in the seller's name",
    ),
    ("It's all original and unrestored.", "originality: car; not restoration: restored"),
    (
        "One repaint in its original colour.",
        "restoration: repainted; originality: colour",
    ),
    ("The gearbox was replaced by one of the same type.", "not originality: gearbox"),
    # Work wanted is not work done.
    ("The engine is tired and will want a rebuild.", "faults: engine"),
    ("The motor is not the first.", "not originality: engine"),
    (
        "A factory-fitted engine and transmission.",
        "originality: engine; originality: gearbox",
    ),
    # Miles.
    ("What I can't tell you: the true mileage.", "mileage: unknown"),
    ("We have not been able to verify the mileage.", "mileage: unknown"),
    ("A mere 18,400 miles, a figure which test certificates bear out.", "mileage: actual"),
    ("Its clock of miles has stopped.", "mileage: odometer not working"),
    # Owners and years.
    ("Which I have owned for nineteen years.", "owners: long ownership"),
    ("Its keeper kept it for twenty-two years.", "owners: long ownership"),
    ("In whose hands the car has been since 1971.", "owners: long ownership"),
    ("For forty years it sat in a museum.", "history: long stored"),
    ("It stood in a flood in 2005.", "history: flood"),
    ("Partly restored in the last decade.", "restoration: partly restored"),
    ("It's a driver and I've priced it as one.", "condition: driver"),
    # Shortened words.
    ("Orig. paint/int.", "originality: paint; originality: interior"),
    ("Eng. & box orig.", "originality: engine; originality: gearbox"),
    ("elec. ignition", "modifications: electrics"),
    ("Orig. pnt, exch. eng.", "originality: paint; numbers: replacement engine"),
    ("Col change.", "not originality: colour"),
    ("V. good overall.", "condition: sharp"),
    ("9+ owners", "owners: three or more owners"),
    # Papers and titles.
    ("The title is held by the bank.", "title: lien"),
    ("A standard car rebodied as a Sprint.", "genuineness: tribute"),
    (
        "The number on the frame is different from the one on the title.",
        "title: number differs",
    ),
]


@pytest.mark.parametrize("text", NOTHING)
def test_nothing_is_said_of_the_car(text: str) -> None:
    assert read_statements(text) == ()


@pytest.mark.parametrize(("text", "expected"), SAID, ids=[c[0][:60] for c in SAID])
def test_it_is_said_all_the_same(text: str, expected: str) -> None:
    assert {s.text for s in read_statements(text)} == set(expected.split("; "))


def test_the_fuller_words_for_a_long_ownership_are_kept() -> None:
    (said,) = read_statements("It came to me in 1978. I have owned it for forty years.")
    assert said.text == "owners: long ownership"
    assert said.words == "I have owned it for forty years"

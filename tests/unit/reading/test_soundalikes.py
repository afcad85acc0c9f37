"""Words that only sound like a statement, and phrases that are not even tried."""

from __future__ import annotations

import pytest

from valuation.reading.lexicon import index
from valuation.reading.phrases import Index
from valuation.reading.statements import read_statements

SAYS_NOTHING = [
    "Most of them were scrapped for rust.",
    "There is room to stand in the boot.",
    "I hit on the idea of selling it.",
    "He paid tribute to his mechanic.",
    "Rust converter and spare paint go with it.",
    "The oil filler cap is chromed.",
    "Two tickets to the motor show are included.",
    "Ready to race home in it.",
    "The firemen of the village used to wave.",
    "Our barn is full, so it must go.",
    "Second to none on the road.",
    "No problem to post the keys.",
    "A lovely drive through the hills.",
    "Blue chip company pension.",
    "Collect any weekday after six.",
    "It was first seen at the harbour.",
    "Genuine reason for sale.",
    "The original dealer went out of business.",
    "A book of stamps was in the glovebox.",
    "Come and stand in the drive and listen.",
    "Tyre kickers need not apply.",
    "Price lowered again.",
    "Won a raffle for it.",
    "The paint shop next door is noisy.",
    "I am tired of storing it.",
    "Works every time with my wife.",
    "Call in at the showroom.",
    "Her name is Mildred.",
    "Would make a fine wedding car.",
    "Bidding ends on Sunday.",
    "We accept bank transfers only.",
    "Number of seats: four.",
    "Engine: 2.3 litres, six cylinders.",
    "Gearbox: manual, four speeds.",
    "Colour: dark green.",
    "Delivery can be arranged at cost.",
    "Built in 1962.",
    "Left-hand drive, four doors, tan leather.",
    "It turns heads wherever it goes.",
    "The hood folds flat.",
    "Fitted with overdrive, a heater and a radio.",
    "Photographs by our own photographer.",
    "More photographs on request.",
    "Viewing by appointment near the old station.",
    "Three of these were sold here last year.",
    "The marque built its last car in 1971.",
    "One owner of a similar car wrote a book.",
    "Buyers should satisfy themselves as to condition.",
    "The factory closed in 1974 after a fire.",
    "I need the garage space for a new project.",
    "My previous car had a rotten floor.",
    "Happy to answer questions about history.",
    "Low tax and cheap insurance.",
    "It is a pleasure to own.",
    "The boot takes two large suitcases.",
    "The chauffeur lived above the stable.",
    "Windows wind, doors shut.",
    "Spare engine available separately.",
    "Reserve price on application.",
    "It comes from a good home.",
    "A sister car with matching numbers sold last spring.",
    "We would happily restore it if we had the time.",
    "Ideal for hill climbs.",
    "Perfect for club rallies.",
    "These cars are known for cracking their blocks.",
    "Others have been cut up to make replicas.",
    "No car of its kind ever left a nicer impression.",
    "You will need a title check in your state.",
    "Please ask for invoices.",
    "He meant to fit a bigger engine.",
    "The club publishes a fine handbook.",
    "Drums were standard on this model.",
    "The model was sold with a choice of two engines.",
    "Gold was an optional colour.",
    "The catalogue of 1958 lists six colours.",
    "It won't disappoint.",
    "Not many left.",
    "The last owner was a keen angler.",
    "The dealer who sold it closed in 1980.",
    "An ambulance version was also built.",
    "Its seats are of blue leather.",
    "It has a heater, a radio and two spare wheels.",
    "A four-speed gearbox with overdrive.",
    "Wire wheels.",
    "It is finished in metallic blue.",
    "Green with tan hide.",
    "The wheels are painted body colour.",
    "Tool kit and jack included.",
    "New tyres all round.",
    "New battery last year.",
    "Brakes recently overhauled.",
    "Fresh coolant and oil.",
    "I paid too much for it.",
]


@pytest.mark.parametrize("text", SAYS_NOTHING)
def test_words_that_only_sound_like_it(text: str) -> None:
    assert read_statements(text) == ()


@pytest.mark.parametrize(
    ("phrase", "text", "found"),
    [
        ("u/s", "clock u/s", ["u/s"]),
        ("re-made doors", "the re-made doors", ["re-made doors"]),
        ("(a|the)? coat of paint", "a coat of paint", ["a coat of paint", "coat of paint"]),
        ("paint {hue}? coat", "paint coat", ["paint coat"]),
        ("(rust|rot) (holes|patches)", "rust patches", ["rust patches"]),
        ("(rust|rot) (holes|patches)", "rust holds", []),
        ("{n} owners", "7 owners", ["7 owners"]),
        ("coat <2> paint", "coat without", []),
    ],
)
def test_only_phrases_whose_every_word_is_there_are_tried(
    phrase: str, text: str, found: list[str]
) -> None:
    made = Index([(phrase, ("x",))], {"hue": "red|blue", "n": "\\d+|two"})
    assert [text[h.start : h.end] for h in made.find(text)] == found


def test_no_phrase_is_tried_in_vain() -> None:
    made = Index([("rust <1> holes", ("a",)), ("rust", ("b",))], {})
    assert [h.label for h in made.find("rust everywhere")] == [("b",)]
    assert made._compiled[0] is None


def test_every_phrase_can_be_found_by_its_first_word() -> None:
    assert "" not in index()._by_first

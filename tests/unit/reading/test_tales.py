"""What sellers tell rather than state: the turns of phrase of people who talk."""

from __future__ import annotations

import pytest

from valuation.reading.statements import read_statements

TOLD = [
    ("Dad bought it off the showroom floor and nobody has driven it but him.", "owners: one owner"),
    ("We've had her since our honeymoon in 1978.", "owners: long ownership"),
    ("There's been just me and the old boy who bought it new.", "owners: two owners"),
    ("I make it six of us, all told.", "owners: three or more owners"),
    ("Don't ask me how far it's been, I couldn't tell you.", "mileage: unknown"),
    ("It has been right round and is on its second lap.", "mileage: rolled over"),
    ("The miles have stood still since the cable snapped.", "mileage: odometer not working"),
    ("I'd stake my house on the 61,000 being right.", "mileage: actual"),
    ("I've turned the house over and can't find the title.", "title: missing"),
    ("It's still registered to my ex-wife.", "title: not in the seller's name"),
    ("There's still some finance on it.", "title: lien"),
    ("It's all paid for.", "not title: lien"),
    ("The tinworm has been at the arches.", "faults: rust"),
    ("There's always a puddle under it in the morning.", "faults: leak"),
    ("She turns over but won't catch.", "faults: does not run"),
    ("You get a bit of a haze behind you.", "faults: smoke"),
    ("It'll boil if you sit in traffic.", "faults: overheating"),
    ("You want to plan your stops well ahead, the brakes are that poor.", "faults: brakes"),
    ("Finding second takes patience.", "faults: gearbox"),
    ("It's rattling like a tin of nails at tickover.", "faults: engine"),
    ("It wallows because the dampers have had it.", "faults: suspension"),
    ("The wipers have a mind of their own.", "faults: electrics"),
    ("The dog has had the back seat.", "faults: interior"),
    ("The paint is thin enough to read through in places.", "faults: paint"),
    ("There's a star in the windscreen.", "faults: glass"),
    ("Someone has parked a trolley in the door and left a dent.", "faults: dents"),
    ("Someone has had the radio away.", "faults: missing parts"),
    ("The tyres are old enough to vote.", "faults: tyres"),
    ("My brother put it through a hedge in 1984.", "history: accident"),
    ("It's had a thump up the back.", "history: accident"),
    ("It had a small fire under the bonnet.", "history: fire"),
    ("Uncle Fred used to sprint it.", "history: racing"),
    ("It's been sat under a cover since Mum died.", "history: long stored"),
    ("Starts on the button and goes like a train.", "history: running and maintained"),
    ("I've just had the engine out and rebuilt.", "history: major service done"),
    ("The belts want doing.", "history: major service due"),
    ("I gave it a coat of paint myself.", "restoration: repainted"),
    ("The wife re-covered the seats.", "restoration: retrimmed"),
    ("I put the bigger engine in it.", "modifications: engine"),
    ("I changed the front brakes to discs.", "modifications: brakes"),
    ("I've made a few changes over the years.", "modifications: any"),
    ("I haven't changed a thing.", "not modifications: any"),
    ("It's still got the engine it was born with.", "originality: engine"),
    ("That's not the gearbox it came with.", "not originality: gearbox"),
    ("She's seen better days.", "condition: tired"),
    ("You could drive it to the coast tomorrow.", "condition: driver"),
    ("She's in lovely order.", "condition: sharp"),
    ("I've a carrier bag full of receipts.", "documents: bills"),
    ("It's got its little book.", "documents: handbook"),
    ("There's no paperwork with it.", "not documents: any"),
    ("It's a proper one.", "genuineness: genuine"),
    ("It isn't a real one.", "not genuineness: genuine"),
]


@pytest.mark.parametrize(("text", "expected"), TOLD, ids=[t for t, _ in TOLD])
def test_what_is_told(text: str, expected: str) -> None:
    assert "; ".join(sorted({s.text for s in read_statements(text)})) == expected

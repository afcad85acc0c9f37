"""Wishes, offers, advice and other cars: nothing of it is said of this one."""

from __future__ import annotations

import pytest

from valuation.reading.others import car_names
from valuation.reading.statements import read_statements

IDLE = """
Would suit restoration.
It would make a fine restoration project for somebody.
It wants restoring.
It deserves to be restored.
It cries out to be restored.
It is crying out for restoration.
It could be restored.
It could be restored in a winter.
It should be restored.
It ought to be restored.
It needs to be restored.
It needs restoring.
It is ripe for restoration.
Ideal for restoration.
Worth restoring.
Restore it or leave it.
Restore it or drive it, your choice.
Restoration would be simple.
Restoration would not be difficult.
I had hoped to restore it.
I wanted to restore it.
I was tempted to restore it.
My son wishes to restore it.
My nephew offered to restore it.
We thought of restoring it.
I've been quoted for restoration.
A restored one sold last year for more.
A restored example would cost you double.
Restored examples fetch twice as much.
Others have been restored.
Most have been restored.
Most of them were restored.
So many have been restored.
Unlike most, which were restored.
Its sister car was restored in 2010.
A sister car, sold here last year, had been restored.
My neighbour's car was restored.
My neighbour's is restored.
My other car is restored.
My other one, a saloon, was restored.
My last one was restored.
My father's was restored.
The next car in the sale was restored.
The one in the museum was restored.
The car in the museum has been restored.
The last one we sold had been restored.
We sold a restored one in May.
We have seen restored ones that were worse.
You could have it restored.
You might have it restored.
You may wish to restore it.
You may want to restore it.
If it were restored it would be worth double.
If restored it would be worth double.
Once restored it will be superb.
When restored it will be superb.
Were it restored, it would win prizes.
Had it been restored it would be worth more.
Whoever restores it will be happy.
Someone will restore it one day.
The next owner will want to restore it.
The new owner can decide whether to restore it.
Please ask if you want it restored.
Imagine it restored.
Picture it restored.
What a car it would be restored.
Ask me about restoration.
Restoration specialists will love it.
Better than a restored one.
Not to be compared with restored cars.
A man wanted to buy it and restore it.
Someone offered me a restored one in exchange.
Buyers should ask about restoration.
Bidders may wish to ask about restoration.
We can arrange restoration.
We offer restoration at our workshops.
Our workshop can restore it for you.
People always ask whether it was restored.
""".strip().splitlines()


@pytest.mark.parametrize("text", IDLE)
def test_it_says_nothing_of_this_car(text: str) -> None:
    assert [s.text for s in read_statements(text) if s.topic == "restoration"] == []


NAMED = [
    ("1962 Tern saloon. Peter's Tern caught fire.", ""),
    ("1962 Tern saloon. A buddy's Tern overheats in every parade.", ""),
    ("1962 Tern saloon. Second Tern, run 8, is rusty.", ""),
    ("1962 Tern saloon. A complete Tern, fully restored, took the prize.", ""),
    ("1962 Tern saloon. My father's Tern was never raced.", "not history: racing"),
    ("1962 Tern saloon. The Tern was raced.", "history: racing"),
    ("We have also another one, with rust.", ""),
    ("My neighbour has got one with rust.", ""),
]


@pytest.mark.parametrize(("text", "expected"), NAMED, ids=[n[0] for n in NAMED])
def test_another_car_of_the_name_is_another_car(text: str, expected: str) -> None:
    assert "; ".join(s.text for s in read_statements(text)) == expected


def test_names_stand_behind_the_year_or_an_owner() -> None:
    assert car_names("1962 Halvern Tessel Coupe. Selling my Duchess, May 3rd.") == (
        "Duchess",
        "Halvern",
        "Tessel",
    )
    assert car_names("A saloon with no rust.") == ()

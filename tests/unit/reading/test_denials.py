"""The ways of English to deny a thing, and to deny that denial: each is heard."""

from __future__ import annotations

import pytest

from valuation.reading.statements import read_statements

RUST = """
No rust.
Not a trace of rust.
Not a spot of rust.
Not a speck of rust anywhere.
Not a hint of rust.
Not any rust.
No rust whatsoever.
Rust is absent.
Rust is nowhere to be found.
Rust is nowhere to be seen.
Rust there is none.
Of rust there is none.
Of rust there is no sign.
Of rust, not a trace.
Rust: nil.
Rust - none.
Rust none.
Rust has never been a problem.
Rust is not an issue here.
Rust was never found.
Rust could not be found.
Rust has not set in.
Zero rust.
Nil rust.
It lacks rust.
It has no rust.
It hasn't any rust.
It hasn't got any rust.
It has not a bit of rust.
It has escaped rust.
It is free of rust.
It is free from rust.
It is wholly free of rust.
It is devoid of rust.
It is innocent of rust.
It is without rust.
It is utterly without rust.
It is rust-free.
It is untroubled by rust.
It is untouched by rust.
It is unmarked by rust.
The absence of rust is remarkable.
The total absence of rust surprised us.
A complete lack of rust.
There is no rust.
There isn't any rust.
There's no rust to speak of.
There's not an ounce of rust.
There is nothing by way of rust.
There are no signs of rust.
There is no evidence of any rust.
Nothing in the way of rust.
Nobody has found rust.
No one has ever found any rust.
We found no rust.
We could find no rust.
We could not find any rust.
I can't find any rust.
I have never seen rust on it.
I've yet to find any rust.
We have yet to find rust.
You will not find rust.
You won't find any rust.
You'd struggle to find any rust.
You'll look in vain for rust.
We searched in vain for rust.
We looked for rust and found none.
We looked for rust, but there is none.
I looked for rust and there wasn't any.
The inspector failed to find any rust.
The inspector did not find rust.
Never any rust.
At no point has it had rust.
At no time has rust been found.
In no place is there rust.
Nowhere is there rust.
Nowhere did we find rust.
Neither rust nor dents.
It has neither dents nor rust.
Hardly any rust.
Little or no rust.
Scarcely any rust.
Barely any rust.
Rust has been kept at bay.
I doubt there is rust.
I don't think it has rust.
I do not believe there is any rust.
I don't suppose there's any rust.
It is not thought to have rust.
It does not appear to have any rust.
It doesn't seem to have any rust.
It's unlikely to have rust.
It is hardly likely that there is rust.
Anything but rusty.
Far from rusty.
It is by no means rusty.
It is in no way rusty.
It is not at all rusty.
It isn't rusty.
It ain't rusty.
It's not rusty in the least.
Not in the least rusty.
It never rusted.
It has not rusted.
It hasn't rusted.
It refuses to rust.
It has yet to rust.
It did not rust.
None of the panels has rust.
None of it has rusted.
No panel shows rust.
No part of the car shows rust.
No rust has been found.
No rust found.
No rust seen.
No known rust.
Not one bit of rust.
Nary a spot of rust.
Minus the rust.
Sans rust.
""".strip().splitlines()

RESTORED = """
Never restored.
Unrestored.
Not restored.
Has never been restored.
Has never once been restored.
At no time has it been restored.
At no time was restoration attempted.
At no point was it restored.
It escaped restoration.
It has been spared restoration.
Nobody has restored it.
Nobody has ever restored it.
No one ever restored it.
No restoration has been attempted.
No restoration was ever carried out.
It has never seen a restoration.
It has not undergone restoration.
It remains unrestored.
He meant to restore it and never did.
The restoration never happened.
A restoration was planned but never begun.
What it has never been is restored.
Preserved rather than restored.
It is preserved, not restored.
Cleaned, but not restored.
It is not a restored car.
This is no restored car.
Far from being restored, it is as found.
It stopped short of restoration.
Restored? Never.
Without ever having been restored.
Nothing has been restored.
It has not been subjected to restoration.
It has been denied a restoration.
I don't think it was ever restored.
I don't believe it has been restored.
I doubt it was ever restored.
It is not believed to have been restored.
It is doubtful that it was restored.
It was never, to my knowledge, restored.
It has not, so far as we know, been restored.
Nor has it been restored.
""".strip().splitlines()

# What denies the denial affirms.
RUSTY = """
Not without rust.
It isn't without rust.
It is not free of rust.
It isn't free from rust.
It is not entirely rust-free.
It is far from rust-free.
It is hardly rust-free.
It's not exactly rust-free.
It has not escaped rust.
I can't say there's no rust.
I won't pretend there is no rust.
It would be wrong to say it has no rust.
There is no denying the rust.
There is no hiding the rust.
You can't miss the rust.
You could not miss the rust.
No shortage of rust.
There's no lack of rust.
There is no mistaking the rust.
Nobody could overlook the rust.
Nothing worse than some rust.
Nothing but some rust.
Apart from some rust it is sound.
Other than some rust in the sill it is fine.
Save for a little rust.
Except for rust in the boot.
Bar some rust.
Not much rust.
Not a lot of rust.
Not only rust but dents.
Rust, but not much.
Rust, but nothing terrible.
There is rust, not in the sills but in the floor.
The rust is not structural.
The rust isn't bad.
The rust has not been treated.
""".strip().splitlines()


@pytest.mark.parametrize("text", RUST)
def test_no_rust(text: str) -> None:
    assert {s.text for s in read_statements(text) if s.value == "rust"} == {"not faults: rust"}


@pytest.mark.parametrize("text", RESTORED)
def test_never_restored(text: str) -> None:
    said = {s.text for s in read_statements(text) if s.value == "restored"}
    assert said == {"not restoration: restored"}


@pytest.mark.parametrize("text", RUSTY)
def test_rust_after_all(text: str) -> None:
    assert {s.text for s in read_statements(text) if s.value == "rust"} == {"faults: rust"}


BEHIND = [
    ("Concours car it is not.", "not condition: show"),
    ("Rust we did not find.", "not faults: rust"),
    ("It ran hot; smoke, on the other hand, has not.", "not faults: smoke"),
    ("Not without rust, nor yet without filler.", "faults: rust; faults: filler"),
    ("Rust may be present.", "perhaps faults: rust"),
    ("Rust is possibly present under the carpets.", "perhaps faults: rust"),
    ("Filler could be in one door.", "perhaps faults: filler"),
    ("The handbook is believed to be somewhere.", "perhaps documents: handbook"),
    ("Handbook maybe in the other house.", "perhaps documents: handbook"),
    ("Restoration would be simple.", ""),
]


@pytest.mark.parametrize(("text", "expected"), BEHIND, ids=[b[0] for b in BEHIND])
def test_what_stands_behind_turns_it(text: str, expected: str) -> None:
    keys = {e.removeprefix("not ").removeprefix("perhaps ") for e in expected.split("; ")}
    said = [s.text for s in read_statements(text) if s.key in keys or not expected]
    assert said == [e for e in expected.split("; ") if e]


def test_anything_but_takes_back_what_it_is_called() -> None:
    said = [s.text for s in read_statements("Described as restored, it is anything but.")]
    assert said == ["not restoration: restored"]

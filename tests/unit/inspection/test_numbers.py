"""Numbers as they are written on metal."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.inspection.numbers import ALIKE, LEAST_READ, bare, compare_numbers


@pytest.mark.parametrize(
    ("read", "wanted", "outcome", "told"),
    [
        ("104231", "104231", "same", "the same as the chassis number 104231"),
        ("* 10-42 31 *", "104231", "same", "the same as the chassis number 104231"),
        ("tv 68", "TV/68", "same", "the same as the chassis number TV/68"),
        ("7", "7", "same", "the same as the chassis number 7"),
        ("104231", "TV68C 104231", "agrees as far as read",
         "agrees with the last 6 characters of the chassis number TV68C 104231"),
        ("GT104231", "104231", "agrees as far as read",
         "its last 6 characters are the chassis number 104231"),
        ("10?231", "104231", "agrees as far as read",
         "agrees with the chassis number 104231 as far as it can be read, in 5 of 6 characters"),
        ("1O4231", "104231", "alike",
         "looks like the chassis number 104231 but has O for 0; look again"),
        ("IO42S8", "10425B", "alike", "looks like the chassis number 10425B but has I for 1, O "
         "for 0, S for 5, 8 for B; look again"),
        ("104237", "104231", "differs", "differs from the chassis number 104231; 7 stands where "
         "1 does, at the last place"),
        ("194231", "104231", "differs", "differs from the chassis number 104231; 9 stands where "
         "0 does, at place 5 from the end"),
        ("?9", "104231", "differs", "differs from the chassis number 104231; 9 stands where 1 "
         "does, at the last place"),
        ("31", "104231", "can't be compared", "only 2 of its characters can be held against the "
         "chassis number 104231; at least 3 are needed"),
        ("????31", "104231", "can't be compared", "only 2 of its characters can be held against "
         "the chassis number 104231; at least 3 are needed"),
        ("", "104231", "can't be compared",
         "there is nothing to hold against the chassis number 104231"),
        ("104231", " - ", "can't be compared",
         "the chassis number isn't known, so it can't be held against it"),
    ],
)  # fmt: skip
def test_cases(read: str, wanted: str, outcome: str, told: str) -> None:
    match = compare_numbers(read, wanted, what="the chassis number")
    assert match.outcome == outcome
    assert match.sentence == f"Read {read.strip() or 'nothing'}: {told}."
    assert (match.read, match.wanted) == (read, wanted)
    assert match.agrees == (outcome in ("same", "agrees as far as read"))


def test_a_number_is_never_corrected() -> None:
    assert bare("o1I5S8B?") == "O1I5S8B?"


numbers = st.text("0123456789OISBTV? -", max_size=10)


@given(numbers, numbers)
def test_the_outcome_is_the_same_either_way(one: str, other: str) -> None:
    there, back = compare_numbers(one, other), compare_numbers(other, one)
    assert (there.outcome, there.compared) == (back.outcome, back.compared)


@given(numbers, numbers)
def test_blanks_and_dashes_change_nothing(one: str, other: str) -> None:
    spaced = " - ".join(bare(one))
    assert compare_numbers(spaced, other).outcome == compare_numbers(one, other).outcome


@given(st.text("0123456789OISBTV", min_size=LEAST_READ, max_size=12), st.data())
def test_a_number_agrees_with_its_own_end(number: str, data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(number) - LEAST_READ))
    assert compare_numbers(number[start:], number).agrees
    assert compare_numbers(number, number).outcome == "same"


@given(st.text("0123456789OISBTV", min_size=1, max_size=12), numbers, st.data())
def test_a_doubtful_character_never_makes_two_numbers_differ(
    one: str, other: str, data: st.DataObject
) -> None:
    place = data.draw(st.integers(0, len(one) - 1))
    doubtful = one[:place] + "?" + one[place + 1 :]
    if compare_numbers(one, other).outcome != "differs":
        assert compare_numbers(doubtful, other).outcome != "differs"
    assert compare_numbers(doubtful, other).outcome != "same"


@given(st.text("23467", min_size=4, max_size=8), st.data())
def test_characters_that_look_alike_are_never_the_same(plain: str, data: st.DataObject) -> None:
    one, other = data.draw(st.sampled_from([tuple(sorted(g)) for g in ALIKE]))
    assert compare_numbers(plain + one, plain + other).outcome == "alike"

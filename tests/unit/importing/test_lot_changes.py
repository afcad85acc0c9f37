"""A revised catalogue against an earlier one, and the buyer's notes carried over."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.importing.lot_changes import LotChange, carry_notes, compare_lots
from valuation.importing.lot_list import LotList
from valuation.importing.lots import read_lots

HEADER = "Lot\tDay\tTitle\tChassis\tEstimate\tReserve\tMileage\tText\tMy notes"
MAKES = {"Torvane": ("GT", "Oakrise", "Strandling"), "Kora": ("Zephyr",)}
ROWS = (
    ("1", "Friday", "1961 Torvane GT", "TO61-1001", "40-50k EUR", "", "41000", "No rust.", ""),
    ("2", "Friday", "1962 Torvane Oakrise", "TO62-1002", "20-25k EUR", "yes", "42000", "", "loud"),
    ("3", "Friday", "1963 Kora Zephyr", "", "30-35k EUR", "", "", "", ""),
    ("4", "Saturday", "1964 Torvane Strandling", "TO64-1004", "60-70k EUR", "", "", "", "wet"),
    ("5", "Saturday", "1965 Torvane GT", "", "41-51k EUR", "", "", "", ""),
)


def listed(rows: Sequence[Sequence[str]]) -> LotList:
    return read_lots("\n".join([HEADER, *("\t".join(r) for r in rows)]), known_makes=MAKES)


def changed(i: int, **cells: str) -> list[tuple[str, ...]]:
    names = [n.lower().replace(" ", "_") for n in HEADER.split("\t")]
    rows = list(ROWS)
    rows[i] = tuple(cells.get(n, old) for n, old in zip(names, ROWS[i], strict=True))
    return rows


def differences(rows: Sequence[Sequence[str]]) -> list[tuple[str, str, tuple[str, ...]]]:
    return [(c.kind, c.number, c.sentences) for c in compare_lots(listed(ROWS), listed(rows))]


def only(rows: Sequence[Sequence[str]]) -> tuple[str, ...]:
    ((kind, _, sentences),) = differences(rows)
    assert kind == "changed"
    return sentences


def test_the_same_list_has_no_changes() -> None:
    assert differences(ROWS) == []


def test_estimate_reserve_and_day() -> None:
    assert only(changed(0, estimate="35-45k EUR")) == (
        "Estimate: now 35,000 to 45,000 EUR (before: 40,000 to 50,000 EUR).",
    )
    assert only(changed(0, estimate="")) == ("Estimate: now none (before: 40,000 to 50,000 EUR).",)
    assert only(changed(1, reserve="no reserve")) == (
        "Reserve: now no reserve (before: a reserve).",
    )
    assert only(changed(0, reserve="35,000 EUR")) == (
        "Reserve: now 35,000 EUR (before: not stated).",
    )
    assert only(changed(2, day="Saturday")) == ("Day: now Saturday (before: Friday).",)


def test_what_is_stated_of_the_car() -> None:
    assert only(changed(0, mileage="71000")) == ("Mileage: now 71,000 (before: 41,000).",)
    assert only(changed(0, chassis="TO61-1007")) == (
        "Chassis number: now TO61-1007 (before: TO61-1001).",
    )
    assert only(changed(2, title="1964 Kora Zephyr")) == (
        "Year: now 1964 (before: 1963).",
        'Title: now "1964 Kora Zephyr" (before: "1963 Kora Zephyr").',
    )
    assert only(changed(0, text="Bills on file.")) == (
        "Documents: now bills (before: not stated).",
        "Its text changed: it now says documents: bills; it no longer says not faults: rust.",
    )
    assert only(changed(0, text="No rust! Come and see.")) == ("Its text changed.",)


def test_new_and_withdrawn_lots() -> None:
    new = ("6", "Saturday", "1966 Torvane GT", "", "", "", "", "", "")
    assert differences([*ROWS[:2], *ROWS[3:], new]) == [
        ("new", "6", ("New in the list.",)),
        ("withdrawn", "", ("Lot 3, 1963 Kora Zephyr: no longer in the list.",)),
    ]
    assert differences(changed(2, title="WITHDRAWN", chassis="")) == [
        ("withdrawn", "", ("Lot 3, 1963 Kora Zephyr: withdrawn.",))
    ]


def test_lots_that_can_no_longer_be_read_and_those_that_now_can() -> None:
    worse = changed(2, title="Kora Zephyr")
    assert differences(worse) == [
        ("changed", "", ("Lot 3, 1963 Kora Zephyr: can no longer be priced (no year).",))
    ]
    (change,) = compare_lots(listed(worse), listed(ROWS))
    assert (change.kind, change.number) == ("new", "3")
    assert change.sentences == ("It could not be priced in the earlier list (no year).",)


def test_another_car_under_the_number_is_one_gone_and_one_new() -> None:
    other = changed(2, title="1951 Torvane Strandling", chassis="TO51-9")
    assert [d[:2] for d in differences(other)] == [("new", "3"), ("withdrawn", "")]


def test_a_lot_is_known_by_its_chassis_or_title_under_another_number() -> None:
    assert only(changed(0, lot="17")) == ("It was lot 1.",)
    assert only(changed(2, lot="18")) == ("It was lot 3.",)
    swapped = [
        ("2", *ROWS[0][1:]), ("1", *ROWS[1][1:]), *ROWS[2:],
    ]  # fmt: skip
    assert differences(swapped) == [
        ("changed", "2", ("It was lot 1.",)),
        ("changed", "1", ("It was lot 2.",)),
    ]


def test_only_the_lot_that_moved_is_said_to_have_moved() -> None:
    assert differences([*ROWS[1:4], ROWS[0], ROWS[4]]) == [
        ("changed", "1", ("Running order: now behind lot 4 (before: behind no other lot).",))
    ]
    assert differences([ROWS[4], *ROWS[:4]]) == [
        ("changed", "5", ("Running order: now behind no other lot (before: behind lot 4).",))
    ]


def test_changes_as_data_and_text() -> None:
    (change,) = compare_lots(listed(ROWS), listed(changed(0, lot="17")))
    assert isinstance(change, LotChange)
    assert json.loads(json.dumps(change.to_dict())) == {
        "kind": "changed",
        "number": "17",
        "sentences": ["It was lot 1."],
        "number_before": "1",
    }
    assert change.summary() == "changed: It was lot 1."


def test_notes_are_carried_over_and_none_is_lost() -> None:
    rows = [
        (*ROWS[0][:8], "mine"),
        ("22", *ROWS[1][1:8], "quiet now"),
        (*ROWS[2][:8], ""),
        (*ROWS[4][:8], ""),
    ]
    kept = carry_notes(listed(ROWS), listed(rows))
    assert [x.notes for x in kept.lots] == ["mine", "quiet now\nloud", "", ""]
    assert kept.notes[-1] == (
        "Your note on lot 4, 1964 Torvane Strandling, which is no longer in the list: wet"
    )
    again = carry_notes(kept, kept)
    assert [x.notes for x in again.lots] == [x.notes for x in kept.lots]


_ORDER = st.permutations(range(len(ROWS)))


@settings(max_examples=40, deadline=None)
@given(_ORDER, st.integers(0, len(ROWS)))
def test_every_lot_is_in_one_list_or_the_other_or_in_both(order: list[int], keep: int) -> None:
    before = listed(ROWS)
    lots = tuple(before.lots[i] for i in order[:keep])
    now = replace(before, lots=lots, rows=len(lots), set_aside=(), aside_places=())
    changes = compare_lots(before, now)
    assert sum(c.kind == "withdrawn" for c in changes) == len(ROWS) - keep
    assert not [c for c in changes if c.kind == "new"]
    assert all(c.sentences for c in changes)
    back = compare_lots(now, before)
    assert sum(c.kind == "new" for c in back) == len(ROWS) - keep

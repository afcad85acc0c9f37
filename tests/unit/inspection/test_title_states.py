"""What stops the purchase of a car, and what its cure takes."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from valuation.inspection.title_states import (
    NUMBERS_STOP,
    TITLE_STOPS,
    stops_of,
    title_note,
)
from valuation.records import Car, Cure, OpenFact
from valuation.results.bid_parts import Stop
from valuation.schema import BY_NAME

CURE = Cure(14.0, Decimal(300), Decimal(800), "EUR")
NOT_SEEN = "Title not seen: see it before you bid."


def car(status: str = "", **entries: Any) -> Car:
    return Car({"title_status": status} if status else {}, **entries)


def open_title(*levels: str, **entries: Any) -> Car:
    return Car({}, open=(OpenFact("title_status", levels),), **entries)


@pytest.mark.parametrize("status", BY_NAME["title_status"].levels)
def test_every_state_but_a_clear_one_stops_the_purchase(status: str) -> None:
    found = stops_of(car(status, cure=CURE))
    assert bool(found) == (status != "clear")
    for stop in found:
        assert stop.reason == f"Title: {status}. This stops the purchase: {TITLE_STOPS[status]}."
        assert (stop.days, stop.low, stop.high, stop.currency) == (14.0, 300, 800, "EUR")
        assert stop.sentence == f"{stop.reason} Cure: 14 days; 300 to 800 EUR."
    assert title_note(car(status)) == ""


def test_an_unknown_cure_is_asked_for() -> None:
    (stop,) = stops_of(car("lien"))
    assert stop.sentence.endswith("Cure: ask how long it takes and what it costs.")
    (stop,) = stops_of(car("lien", cure=Cure(1.0)))
    assert stop.sentence.endswith("released. Cure: 1 day.")
    assert stop.to_dict() == {
        "reason": stop.reason, "days": 1.0, "low": None, "high": None, "currency": "",
    }  # fmt: skip
    cheap = Stop("Why.", None, Decimal("90.50"), Decimal("90.50"))
    assert cheap.sentence == "Why. Cure: 90.50."
    assert cheap.to_dict()["low"] == "90.50"


def test_the_cure_is_that_of_the_title() -> None:
    title, other = stops_of(car("lien", cure=CURE, stops=("Two numbers.",)))
    assert (title.days, other.days, other.low) == (14.0, None, None)
    assert other.reason == "Two numbers."


def test_where_the_title_stops_nothing_the_cure_is_that_of_the_first_other_stop() -> None:
    first, second = stops_of(car("clear", cure=CURE, stops=("Two numbers.", "No key.")))
    assert (first.reason, first.days, first.high) == ("Two numbers.", 14.0, 800)
    assert (second.reason, second.days) == ("No key.", None)


@pytest.mark.parametrize(
    "entries",
    [
        {},
        {"not_looked_at": frozenset({"title_status"})},
        {"cannot_be_told": frozenset({"title_status"})},
    ],
)
def test_a_title_that_nobody_saw_is_a_note_and_no_stop(entries: dict[str, Any]) -> None:
    assert stops_of(car(**entries, cure=CURE)) == ()
    assert title_note(car(**entries)) == NOT_SEEN


def test_a_title_that_is_not_settled() -> None:
    unsettled = open_title("clear", "lien")
    assert stops_of(unsettled) == ()
    assert title_note(unsettled) == (
        "Title not settled, it may be clear or lien: see it before you bid."
    )
    assert title_note(open_title()) == "Title not settled: see it before you bid."
    assert stops_of(open_title()) == ()


def test_a_title_that_stops_the_purchase_whatever_it_is() -> None:
    (stop,) = stops_of(open_title("lien", "missing", cure=CURE))
    assert stop.reason == (
        f"Title: lien or missing. This stops the purchase: lien: {TITLE_STOPS['lien']}; "
        f"missing: {TITLE_STOPS['missing']}."
    )
    assert stop.days == 14.0


def test_numbers_that_differ_are_told_once() -> None:
    title, numbers = stops_of(
        open_title("lien", "number differs", stops=(NUMBERS_STOP,), cure=CURE)
    )
    assert title.reason.startswith("Title: lien. This stops the purchase: ")
    assert numbers.reason == NUMBERS_STOP
    (alone,) = stops_of(open_title("clear", "number differs", stops=(NUMBERS_STOP,), cure=CURE))
    assert (alone.reason, alone.days) == (NUMBERS_STOP, 14.0)

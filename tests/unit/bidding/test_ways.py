"""Which way of buying a car takes."""

from __future__ import annotations

import pytest

from valuation.bidding.costs import Costs, WayOfBuying
from valuation.bidding.ways import unknown_venue, way_for, way_named
from valuation.errors import CostsError
from valuation.records import Car

NAMES = ("default", "Harbour Rooms", "online auction", "private purchase")
COSTS = Costs("EUR", {name: WayOfBuying(name, "EUR") for name in NAMES}, where="c.toml")


@pytest.mark.parametrize(
    ("sale", "venue", "name"),
    [
        ({}, "", "default"),
        ({"venue": "harbour rooms"}, "", "Harbour Rooms"),
        ({"venue": "Elsewhere"}, "", "default"),
        ({"venue": "Elsewhere"}, "Harbour Rooms", "Harbour Rooms"),
        ({"venue": "Elsewhere", "channel": "online auction"}, "", "online auction"),
        ({"channel": "private"}, "", "private purchase"),
        ({"venue": "Harbour Rooms", "channel": "online auction"}, "", "Harbour Rooms"),
    ],
)
def test_venue_before_channel_before_the_default(
    sale: dict[str, str], venue: str, name: str
) -> None:
    assert way_for(COSTS, Car({}, sale=sale), venue).name == name


def test_a_name_that_is_not_there_is_refused_with_those_that_are() -> None:
    assert way_named(COSTS, "PRIVATE PURCHASE").name == "private purchase"
    with pytest.raises(CostsError) as error:
        way_named(COSTS, "the moon")
    assert str(error.value) == (
        "c.toml: no such way of buying (got: the moon). "
        "Name one of: default, Harbour Rooms, online auction, private purchase."
    )


def test_a_venue_that_the_settings_don_t_know_is_told() -> None:
    assert unknown_venue(COSTS, Car({}, sale={"venue": "Harbour Rooms"})) == ()
    assert unknown_venue(COSTS, Car({})) == ()
    assert unknown_venue(COSTS, Car({}, sale={"venue": "Harbor Rooms"})) == (
        "The cost settings don't know Harbor Rooms: those of default are taken. "
        "The nearest name is Harbour Rooms.",
    )
    assert unknown_venue(COSTS, Car({}), "The Moon") == (
        "The cost settings don't know The Moon: those of default are taken.",
    )

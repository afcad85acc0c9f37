"""Which way of buying a car takes."""

from __future__ import annotations

import pytest

from valuation.bidding.costs import Costs, WayOfBuying
from valuation.bidding.ways import way_for, way_named
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

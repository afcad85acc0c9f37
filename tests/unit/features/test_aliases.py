"""Effects that the sales can't tell apart."""

from __future__ import annotations

from collections.abc import Callable

from valuation.features.aliases import aliased, joined_names
from valuation.features.table import FeatureTable

Make = Callable[..., FeatureTable]


def test_a_venue_of_one_channel_each_is_tied_to_it(by_hand: Make) -> None:
    table = by_hand(4, channel=["dealer", "dealer", "live", "live"], venue=["a", "b", "c", "c"])
    assert aliased(table, "channel", "venue")


def test_one_venue_of_both_channels_unties_them(by_hand: Make) -> None:
    table = by_hand(
        5, channel=["dealer", "dealer", "live", "live", "live"], venue=["a", "b", "c", "c", "a"]
    )
    assert not aliased(table, "channel", "venue")


def test_silence_counts_as_a_level(by_hand: Make) -> None:
    """Dealers name no venue: whether silence or the dealer lowers the price is not known."""
    table = by_hand(4, channel=["dealer", "dealer", "live", "live"], venue=[None, None, "c", "d"])
    assert aliased(table, "channel", "venue")


def test_tied_names_make_one_line(by_hand: Make) -> None:
    table = by_hand(
        4,
        channel=["dealer", "dealer", "live", "live"],
        basis=["asking price", "asking price", "hammer price", "hammer price"],
        region=["north", "south", "north", "south"],
    )
    found = joined_names(table, ["channel", "region", "basis"])
    assert found == {
        "channel": "channel and basis", "region": "region", "basis": "channel and basis",
    }  # fmt: skip


def test_ties_go_on(by_hand: Make) -> None:
    table = by_hand(
        4,
        channel=["dealer", "dealer", "live", "live"],
        basis=["asking price", "asking price", "hammer price", "hammer price"],
        venue=["a", "b", "c", "d"],
    )
    found = joined_names(table, ["channel", "basis", "venue"])
    assert set(found.values()) == {"channel and basis and venue"}


def test_names_without_ties_keep_their_own(by_hand: Make) -> None:
    table = by_hand(2, channel=["dealer", "dealer"], venue=["a", "b"])
    assert joined_names(table, ["channel", "venue"]) == {"channel": "channel", "venue": "venue"}
    assert joined_names(table, []) == {}

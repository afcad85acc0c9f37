"""Auctions among bidders of equal skill: without the correction winners are disappointed."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from valuation.bidding.costs import (
    CostLine,
    Costs,
    Fee,
    Increment,
    Selling,
    Target,
    WayOfBuying,
)
from valuation.errors import CostsError, SettingsError
from valuation.premium import PremiumSlice
from valuation.results.replay import AuctionResult
from valuation.study.auction import AuctionSettings, auctions_among_equals

D = Decimal
ROOMS = WayOfBuying(
    "default",
    "EUR",
    increments=(Increment(D(250), D(20_000)), Increment(D(500))),
    premium=(PremiumSlice(D(15), D(50_000)), PremiumSlice(D(10))),
    lines=(CostLine("transport", D(300), D(600)),),
)
COSTS = Costs(
    "EUR",
    {"default": ROOMS},
    Target(margin=D(1_000), loss_probability=D("0.3")),
    selling=Selling(warranty=Fee(D(1), D(150))),
)
SETTINGS = AuctionSettings(lots=700, seed=11)


@pytest.fixture(scope="module")
def held() -> dict[tuple[int, bool], AuctionResult]:
    found = auctions_among_equals(COSTS, SETTINGS, rivals=(1, 4))
    return {(r.rivals, r.corrected): r for r in found}


@pytest.mark.parametrize("rivals", [1, 4])
def test_without_the_correction_won_lots_make_less_than_expected(
    held: dict[tuple[int, bool], AuctionResult], rivals: int
) -> None:
    difference = held[rivals, False].difference
    sigma = (difference.high - difference.low) / (2 * 1.96)
    assert difference.value < -3 * sigma
    assert held[rivals, False].sold == SETTINGS.lots


@pytest.mark.parametrize("rivals", [1, 4])
def test_with_it_they_make_what_was_expected(
    held: dict[tuple[int, bool], AuctionResult], rivals: int
) -> None:
    difference = held[rivals, True].difference
    sigma = (difference.high - difference.low) / (2 * 1.96)
    assert abs(difference.value) < 3 * sigma


def test_more_rivals_disappoint_more_and_the_correction_keeps_the_risk(
    held: dict[tuple[int, bool], AuctionResult],
) -> None:
    assert held[4, False].difference.value < held[1, False].difference.value
    assert held[4, False].realised_loss.low > held[4, False].predicted_loss
    assert held[4, True].realised_loss.low < held[4, True].predicted_loss
    assert held[4, True].realised.value > held[4, False].realised.value


def test_the_same_seed_gives_the_same_result() -> None:
    few = replace(SETTINGS, lots=40)
    one, again = (auctions_among_equals(COSTS, few, rivals=(2,)) for _ in range(2))
    other = auctions_among_equals(COSTS, replace(few, seed=12), rivals=(2,))
    assert one == again
    assert one != other
    assert [(r.rivals, r.corrected, r.lots) for r in one] == [(2, False, 40), (2, True, 40)]
    assert one[0].summary().startswith("2 rivals, winning not corrected: expected ")
    assert one[1].to_dict()["difference"]["value"] == one[1].difference.value


def test_what_cannot_be_held_is_said() -> None:
    with pytest.raises(SettingsError, match=r"at least one rival is needed \(got: 0, 2\)"):
        auctions_among_equals(COSTS, SETTINGS, rivals=(0, 2))
    with pytest.raises(SettingsError, match=r"amounts above zero are needed \(got: luck 0\)"):
        AuctionSettings(luck=0.0)
    with pytest.raises(SettingsError, match=r"\(got: 1 lots\)"):
        AuctionSettings(lots=1)
    greedy = replace(COSTS, target=Target(margin=D(10_000_000)))
    with pytest.raises(SettingsError, match=r"nobody bids \(got: 0 of 20 lots sold\)"):
        auctions_among_equals(greedy, replace(SETTINGS, lots=20), rivals=(1,))
    with pytest.raises(CostsError, match="no such way of buying"):
        auctions_among_equals(COSTS, SETTINGS, way="Elsewhere")

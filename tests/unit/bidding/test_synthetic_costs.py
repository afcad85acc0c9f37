"""The invented dealer's cost settings fit the market they stand beside, and so does the example."""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.bidding.costs import Costs
from valuation.bidding.costs_file import costs_from_toml, example_costs, read_costs
from valuation.premium import with_premium
from valuation.synthetic.costs import costs_toml
from valuation.synthetic.world import VENUES

FOLDER = Path(__file__).parents[3] / "data_synthetic"
NOT_VENUES = {"default", "private purchase", "part-exchange"}
ABROAD = "Saltglass Rooms"


@pytest.fixture(scope="module")
def dealer() -> Costs:
    return read_costs(FOLDER / "costs.toml")


def test_the_file_is_what_the_market_writes() -> None:
    assert (FOLDER / "costs.toml").read_text(encoding="utf-8") == costs_toml("EUR")


def test_every_house_charges_what_the_market_has_it_charge(dealer: Costs) -> None:
    houses = [v for v in VENUES if v.premium_low]
    assert {v.name for v in houses} == set(dealer.ways) - NOT_VENUES
    for venue in houses:
        low, high = (Decimal(str(p)) for p in (venue.premium_low, venue.premium_high))
        limit = Decimal(venue.limit)
        for hammer in (Decimal(12_500), Decimal(64_000), Decimal(180_000)):
            due = low * min(hammer, limit) + high * max(hammer - limit, Decimal(0))
            assert with_premium(hammer, dealer.ways[venue.name].premium) == hammer + due


def test_names_and_currency_are_those_of_the_sales(dealer: Costs) -> None:
    rows = list(csv.DictReader((FOLDER / "sales.csv").read_text(encoding="utf-8").splitlines()))
    seen = {key: {row[key] for row in rows} for key in ("channel", "venue", "basis", "currency")}
    example = costs_from_toml(example_costs(), where="costs.toml", folder=FOLDER)
    for costs in (dealer, example):
        assert {costs.currency} == seen["currency"]
        assert set(costs.ways) - NOT_VENUES - {ABROAD} <= seen["venue"]
        assert costs.selling.channel in seen["channel"]
        assert costs.selling.basis in seen["basis"]
    assert (dealer.selling.channel, dealer.selling.venue) in {
        (row["channel"], row["venue"]) for row in rows
    }

"""The sale that a customer's car is valued for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.records import Car
from valuation.selling.selling_sale import customers_sale

CAR = Car(
    {"make": "Torvane", "year": 1967.0},
    sale={"channel": "live auction", "venue": "Harbour Rooms", "region": "North Shore"},
)


def without_dealers(market: MarketModel) -> MarketModel:
    frame = market.frame[market.frame["channel"] != "dealer"].reset_index(drop=True)
    return replace(market, frame=frame)


def test_a_dealer_sells_wherever_the_evidence_has_dealers(tiny_market: MarketModel) -> None:
    sale = customers_sale(tiny_market, CAR)
    assert sale == tiny_market.sale_of({"channel": "dealer"})
    assert sale["channel"] == "dealer"


def test_where_a_car_was_bought_says_nothing_of_where_it_is_sold(tiny_market: MarketModel) -> None:
    assert customers_sale(tiny_market, CAR) == customers_sale(tiny_market, replace(CAR, sale={}))


def test_the_region_of_the_same_channel_counts(tiny_market: MarketModel) -> None:
    sale = customers_sale(tiny_market, CAR, "Live Auction")
    assert (sale["channel"], sale["region"]) == ("live auction", "North Shore")
    assert sale["venue"] == tiny_market.sale_of({"channel": "live auction"})["venue"]


def test_without_dealers_it_is_the_usual_sale(tiny_market: MarketModel) -> None:
    market = without_dealers(tiny_market)
    assert customers_sale(market, CAR)["channel"] == market.usual["channel"] != "dealer"


def test_a_channel_without_sales_is_refused_with_those_that_have_some(
    tiny_market: MarketModel,
) -> None:
    with pytest.raises(SettingsError) as fault:
        customers_sale(without_dealers(tiny_market), CAR, "dealer")
    assert str(fault.value) == (
        "channel: no sale of the evidence was made there (got: dealer). "
        "Name one of live auction, online auction, private."
    )

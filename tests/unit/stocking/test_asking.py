"""What to ask: by hand for a constant rate of sales, and what may never happen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as given_settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from valuation.bidding.costs import Costs, Fee, Holding, SaleTax, Selling, WayOfBuying
from valuation.results.stock_ask import MoneyElsewhere
from valuation.stocking.asking import Asking, OnOffer, days_on_offer, try_asks
from valuation.stocking.asking_choice import choose
from valuation.stocking.asking_money import PaidBelow, holding_a_day, left_of_sales
from valuation.stocking.settings import AskingSettings, AuctionSettings

Floats = NDArray[np.float64]

WAY = WayOfBuying("default", "EUR")
COSTS = Costs(
    "EUR",
    {"default": WAY},
    holding=Holding(finance=Decimal(9), insurance=Decimal(1), storage=Decimal(60)),
    selling=Selling(
        commission=Fee(percent=Decimal(2)), tax=SaleTax(percent=Decimal(20), on="margin")
    ),
)
NOTHING = MoneyElsewhere(None, 0)


class Steady:
    """Sells at a rate that is `rate` at the estimate and falls by `pull` of the log price."""

    def __init__(self, rate: float = 0.01, pull: float = 8.0) -> None:
        self.rate, self.pull = rate, pull

    def sold_by(
        self,
        log_asks: Floats,
        days: Sequence[int],
        *,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
        asked: Sequence[tuple[int, float]] = (),
    ) -> Floats:
        rates = self.rate * np.exp(-self.pull * log_asks)
        chances: Floats = -np.expm1(-np.outer(rates, days))[None]
        return chances


def firm(**changes: Any) -> Asking:
    made = Asking(
        Steady(),
        COSTS,
        AskingSettings(90, 50.0, 365, -20.0, 40.0, 1.0),
        AuctionSettings(Decimal(10), 28),
        PaidBelow(0.03),
        NOTHING,
    )
    return replace(made, **changes)


def car(**changes: Any) -> OnOffer:
    made = OnOffer(
        "roadsters", 60.0, date(2025, 3, 1), 0, 20, math.log(30_000), np.zeros(1),
        np.array([math.log(24_000)]), 2_000_000, 2_500_000,
    )  # fmt: skip
    return replace(made, **changes)


def test_a_constant_rate_by_hand() -> None:
    """0.01 a day at the estimate of 30,000; every figure below is worked out with a pen.

    Sold within 90 days: 1 - e^-0.9.  Days on offer up to 365: (1 - e^-3.65) / 0.01.  A customer
    pays 29,100; commission 582, tax on the margin over 20,000 is 9,100 / 6.  The hammer falls at
    24,000: commission 2,400, tax 4,000 / 6.  A day costs (10% of 25,000 + 720) / 365.
    """
    tried = try_asks(car(), firm(), target_days=90)
    at = int(np.flatnonzero(tried.asks == 3_000_000)[0])
    sold = 1 - math.exp(-3.65)
    assert tried.chance[0, at] == pytest.approx(1 - math.exp(-0.9))
    assert tried.days[0, at] == pytest.approx(sold / 0.01)
    assert tried.received[at] == 2_910_000
    tied = 20 + sold / 0.01 + (1 - sold) * 28
    assert tried.tied[0, at] == pytest.approx(tied)
    sale, rooms = 29_100 - 582 - 9_100 / 6, 24_000 - 2_400 - 4_000 / 6
    assert tried.auction == pytest.approx(100 * rooms, abs=1)
    net = sold * sale + (1 - sold) * rooms - 25_000 - (2_500 + 720) / 365 * tied
    assert tried.net[0, at] == pytest.approx(100 * net, abs=2)


def test_costs_of_selling_are_those_of_a_bid() -> None:
    prices = np.array([2_910_000, 1_500_000, 2_910_000])
    left = left_of_sales(prices, 2_000_000, COSTS)
    assert left.tolist() == [2_910_000 - 58_200 - 151_667, 1_500_000 - 30_000, left[0]]
    assert holding_a_day(COSTS, 2_500_000) == pytest.approx(100 * 3_220 / 365)


def test_days_on_offer_hold_where_nothing_sells_and_where_all_sells_at_once() -> None:
    days = np.array([7, 14, 20])
    assert days_on_offer(np.zeros((1, 3)), days) == pytest.approx([20])
    assert days_on_offer(np.ones((1, 3)), days)[0] < 0.1


def test_money_that_earns_elsewhere_makes_haste() -> None:
    tried = try_asks(car(), firm(), target_days=90)
    places = [
        choose(tried, 2_500_000, MoneyElsewhere(a, 30), target=None).recommended
        for a in (0.0, 0.0005, 0.001, 0.003)
    ]
    assert places == sorted(places, reverse=True)
    assert places[0] > places[-1]


def test_a_target_that_no_price_meets_is_told() -> None:
    tried = try_asks(car(), firm(chance=Steady(1e-5)), target_days=5)
    choice = choose(tried, 2_500_000, NOTHING, target=0.5)
    assert not choice.reached
    assert choice.recommended == 0


def test_a_value_below_the_estimate_sells_slower_and_brings_less_at_auction() -> None:
    doubtful = car(log_off=np.array([-0.1, 0.1]), log_hammer=np.log([22_000, 26_000]))
    low, high = (try_asks(doubtful, firm(), target_days=90, off=i) for i in (0, 1))
    assert (low.chance < high.chance).all()
    assert low.auction < high.auction


RATES = st.floats(0.001, 0.05)
PULLS = st.floats(1.0, 16.0)
EARNS = st.floats(0.0, 0.004)


@given_settings(max_examples=30)
@given(RATES, PULLS, EARNS, st.integers(0, 30), st.integers(1, 30))
def test_a_higher_cost_of_holding_never_raises_the_price(
    rate: float, pull: float, earns: float, finance: int, more: int
) -> None:
    places = []
    for percent in (finance, finance + more):
        held = replace(COSTS.holding, finance=Decimal(percent))
        now = firm(chance=Steady(rate, pull), costs=replace(COSTS, holding=held))
        tried = try_asks(car(), now, target_days=90)
        places.append(choose(tried, 2_500_000, MoneyElsewhere(earns, 30), target=None).recommended)
    assert places[1] <= places[0]


@given_settings(max_examples=30)
@given(RATES, PULLS, EARNS, st.integers(1, 300), st.integers(1, 60))
def test_a_shorter_target_never_raises_the_price(
    rate: float, pull: float, earns: float, days: int, more: int
) -> None:
    places = []
    for target in (days, days + more):
        tried = try_asks(car(), firm(chance=Steady(rate, pull)), target_days=target)
        places.append(choose(tried, 2_500_000, MoneyElsewhere(earns, 30), target=0.5).recommended)
    assert places[0] <= places[1]

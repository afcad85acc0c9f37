"""Bids, steps, dates and words of the market."""

from __future__ import annotations

import re

import numpy as np
import pytest

from valuation.synthetic.levels import MarketLevels, as_days
from valuation.synthetic.market import SyntheticMarket
from valuation.synthetic.trading import round_bid, student
from valuation.synthetic.words import chassis_numbers


@pytest.mark.parametrize(
    ("amount", "bid"),
    [
        (40, 100),
        (1_249, 1_200),
        (5_130, 5_250),
        (20_240, 20_000),
        (123_400, 123_000),
        (502_600, 505_000),
        (1_014_000, 1_010_000),
    ],
)
def test_bids_come_in_steps(amount: float, bid: float) -> None:
    assert round_bid(np.array([float(amount)])).tolist() == [bid]


def test_steps_shift_nothing_on_average() -> None:
    amounts = np.exp(np.random.default_rng(1).normal(10, 1, 20_000))
    assert np.mean(np.log(round_bid(amounts) / amounts)) == pytest.approx(0, abs=2e-4)


def test_noise_has_unit_variance(market: SyntheticMarket) -> None:
    noise = student(400_000, market.truth.world, np.random.default_rng(1))
    assert np.std(noise) == pytest.approx(1, abs=0.02)


def test_level_is_straight_between_months_and_held_beyond() -> None:
    levels = MarketLevels(np.array([0, 10]), np.array([[0.0, 0.0], [0.2, -0.1]]))
    segment, day = np.array([0, 1, 0, 1]), np.array([5, 5, 99, -3])
    assert levels.at(segment, day).tolist() == pytest.approx([0.1, -0.05, 0.2, 0.0])


def test_days_are_counted_from_1970(market: SyntheticMarket) -> None:
    day = market.table["sale_date"].iloc[5]
    assert as_days(day.date()) == market.truth.sale["day"][5]


def test_headings_come_from_three_kinds_of_writers(market: SyntheticMarket) -> None:
    kinds = (
        r"(19|20)\d\d [A-Z][a-z]+ .+",
        r"[A-Z][a-z]+ .+ \((19|20)\d\d\), \d\d?\.\d litre.*",
        r"'\d\d [A-Z]+ .+ \d\d?\.\dL.*",
    )
    titles = market.table["title"].tolist()
    counts = [sum(bool(re.fullmatch(kind, t)) for t in titles) for kind in kinds]
    assert sum(counts) == len(titles)
    assert all(count > 0.15 * len(titles) for count in counts)


def test_headings_name_a_tribute_only_where_the_seller_does(market: SyntheticMarket) -> None:
    for title, stated in zip(market.table["title"], market.table["genuineness"], strict=True):
        assert ("tribute" in title.lower()) == (stated == "tribute")


def test_numbers_before_1981_are_serials_and_of_17_characters_after() -> None:
    cars = np.arange(4)
    numbers = chassis_numbers(
        cars, ["Quorrel"] * 4, np.full(4, 9), np.array([1950, 1980, 1981, 2004])
    )
    assert numbers[:2] == ["QU50-1000", "QU80-1001"]
    assert all(re.fullmatch(r"[A-HJ-NPR-Z0-9]{17}", n) for n in numbers[2:])

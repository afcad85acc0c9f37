"""The true chance of a sale: what raises it, what lowers it, and that its own luck comes true."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.synthetic.world import SEGMENTS
from valuation.synthetic.yard_demand import TASTES, Demand, days_to_sell, sell_chance

README = Path(__file__).parents[3] / "data_synthetic" / "README.md"
DEMAND = Demand()
MAY, NOVEMBER = 19_858, 20_041  # 2024-05-15 and half a year later


def rate(segment: str, over: float, **changed: float) -> float:
    """The sales a day on one day, everything else in the middle."""
    at = {"day": MAY, "listed_days": 30, "condition": 60.0, "eager": 0.0} | changed
    found = DEMAND.hazard(
        segment,
        np.array([over]),
        day=np.array([at["day"]]),
        listed_days=np.array([at["listed_days"]]),
        condition=at["condition"],
        eager=at["eager"],
    )
    return float(found[0])


def test_every_segment_of_the_world_has_its_buyers() -> None:
    assert set(TASTES) == set(SEGMENTS)


def test_at_the_value_the_mean_over_a_year_is_the_stated_chance_a_month() -> None:
    days = np.arange(MAY, MAY + 1461)
    for segment, taste in TASTES.items():
        rates = DEMAND.hazard(
            segment,
            np.zeros(len(days)),
            day=days,
            listed_days=np.full(len(days), 30),
            condition=60.0,
        )
        log_mean = float(np.exp(np.log(rates).mean()))
        assert 1 - math.exp(-log_mean * 30.4375) == pytest.approx(taste.chance_a_month, rel=1e-3)


def test_the_table_of_the_readme_is_that_of_the_truth() -> None:
    text = README.read_text(encoding="utf-8")
    for name, taste in TASTES.items():
        e, far = taste.elasticity, DEMAND.far
        over = (-e + math.sqrt(e * e + 4 * far * math.log(2))) / (2 * far)
        assert rate(name, over) == pytest.approx(rate(name, 0.0) / 2)
        chance, turn = 100 * taste.chance_a_month, math.exp(2 * taste.season)
        row = f"| {chance:.0f} % | {100 * math.expm1(over):.0f} % over | {turn:.1f} times |"
        assert f"| {name} {row}" in text


def test_each_thing_moves_the_chance_by_what_the_truth_says() -> None:
    for name, taste in TASTES.items():
        base = rate(name, -0.2)
        assert math.log(rate(name, -0.3) / base) == pytest.approx(0.1 * taste.elasticity)
        above = taste.elasticity * 0.3 + DEMAND.far * 0.01
        assert math.log(base / rate(name, 0.1)) == pytest.approx(above)
        season = math.log(rate(name, 0.0) / rate(name, 0.0, day=NOVEMBER))
        assert season == pytest.approx(2 * taste.season, abs=0.01)
        assert math.log(rate(name, -0.2, condition=70.0) / base) == pytest.approx(0.12)
        assert math.log(rate(name, -0.2, eager=0.4) / base) == pytest.approx(0.4)
    fresh, stale = rate("exotics", 0.0, listed_days=0), rate("exotics", 0.0, listed_days=200)
    assert math.log(fresh / stale) == pytest.approx(0.85)


def test_draws_of_patience_come_true_as_often_as_the_chance_says() -> None:
    rng = np.random.default_rng(5)
    rates = 0.02 * np.exp(0.3 * np.sin(np.arange(200) / 20))
    waited = [days_to_sell(rates, p) for p in rng.exponential(1.0, 20_000)]
    chance = sell_chance(rates)
    for day in (10, 60, 150):
        share = np.mean([w is not None and w <= day for w in waited])
        # Four standard errors of a share of 20,000.
        assert abs(share - chance[day]) < 4 * math.sqrt(chance[day] * (1 - chance[day]) / 20_000)


@given(
    st.lists(st.floats(-0.3, 0.5), min_size=1, max_size=60),
    st.lists(st.floats(0.0, 0.3), min_size=60, max_size=60),
    st.floats(0.001, 6.0),
    st.sampled_from(SEGMENTS),
)
def test_a_lower_price_never_sells_later(
    over: list[float], less: list[float], patience: float, segment: str
) -> None:
    days = np.arange(len(over))
    at = {"day": MAY + days, "listed_days": days, "condition": 70.0}
    dear = DEMAND.hazard(segment, np.array(over), **at)
    cheap = DEMAND.hazard(segment, np.array(over) - np.array(less[: len(over)]), **at)
    assert (sell_chance(cheap) >= sell_chance(dear)).all()
    late, soon = days_to_sell(dear, patience), days_to_sell(cheap, patience)
    assert late is None or (soon is not None and soon <= late)


@given(st.floats(1_000, 500_000), st.floats(-0.6, 0.6), st.floats(-4, 4))
def test_a_buyer_pays_the_asking_price_or_somewhat_less(
    ask: float, over: float, luck: float
) -> None:
    paid = DEMAND.paid(ask, math.log(ask) - over, luck)
    assert ask * (1 - DEMAND.haggle_cap) <= paid * (1 + 1e-12)
    assert paid <= ask
    assert paid >= DEMAND.paid(ask, math.log(ask) - over - 0.1, luck)

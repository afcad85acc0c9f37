"""Policies on the same cars: money adds up, luck stays with the car, one rule won't do."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from valuation.errors import SettingsError
from valuation.synthetic.yard import Habit, Yard, make_yard
from valuation.synthetic.yard_demand import TASTES, Demand
from valuation.synthetic.yard_informed import informed
from valuation.synthetic.yard_outcomes import Played
from valuation.synthetic.yard_play import (
    AUCTION,
    LONGEST,
    KnownCar,
    chance_by,
    estimate_plus,
    play,
)


@pytest.fixture(scope="module")
def yard() -> Yard:
    return make_yard(seed=2)


@pytest.fixture(scope="module")
def plus_ten(yard: Yard) -> Played:
    return yard.play(estimate_plus(0.1))


def test_the_history_is_the_habit_played(yard: Yard) -> None:
    again = yard.play(yard.habit.policy(yard.cars))
    assert again == yard.history
    assert again.above(yard.history) == (0.0, 0.0)


def test_money_adds_up_car_by_car(yard: Yard, plus_ten: Played) -> None:
    ways = {o.by for o in plus_ten.outcomes}
    assert ways == {"sale", "auction"}
    for car, done in zip(yard.cars, plus_ten.outcomes, strict=True):
        days = (done.sold - car.bought).days
        costs = yard.costs
        left = costs.left_of_sale if done.by == "sale" else costs.left_of_auction
        year = car.outlay * 0.083 + 90 * 12
        assert done.holding == pytest.approx(year * days / 365)
        assert done.net == pytest.approx(left(done.price, car.paid) - car.outlay - done.holding)
    total = sum(o.net for o in plus_ten.outcomes)
    assert plus_ten.net_a_car == pytest.approx(total / len(yard.cars))
    tied = sum(o.outlay * o.days for o in plus_ten.outcomes)
    assert plus_ten.net_a_day == pytest.approx(1000 * total / tied)


def test_a_policy_knows_what_the_firm_knows_on_that_day(yard: Yard) -> None:
    seen: list[KnownCar] = []

    def policy(known: KnownCar) -> float:
        seen.append(known)
        return known.estimate if known.listed_days < 21 else known.estimate * 0.8

    car = max(yard.cars, key=lambda c: c.patience)
    done = yard.play(policy, stocks=[car.stock]).outcomes[0]
    assert [k.listed_days for k in seen[:4]] == [0, 7, 14, 21]
    assert seen[0].ask is None
    assert seen[4].ask == pytest.approx(seen[3].estimate * 0.8)
    for known in seen:
        assert known.day == car.ready + timedelta(days=known.listed_days)
        assert known.estimate == pytest.approx(math.exp(car.log_idea[car.at(known.day)]))
        assert all(day < known.day for day, _ in known.asks)
        assert known.day <= done.sold
    assert not {"log_value", "patience", "eager"} & set(KnownCar.__slots__)


def test_a_dearer_rule_never_sells_sooner(yard: Yard, plus_ten: Played) -> None:
    dear = yard.play(estimate_plus(0.2))
    pairs = list(zip(plus_ten.outcomes, dear.outcomes, strict=True))
    assert all(a.listed_days <= b.listed_days for a, b in pairs)
    later = [a.listed_days < b.listed_days for a, b in pairs if a.by == "sale"]
    assert np.mean(later) > 0.8


def test_cars_sold_by_a_day_are_as_many_as_the_true_chance_says(yard: Yard) -> None:
    """Each car with its own chance; the count within four standard deviations of its mean."""
    rng = np.random.default_rng(8)
    cars = [replace(car, patience=float(rng.exponential())) for car in yard.cars * 2]
    done = play(cars, estimate_plus(0.05), demand=yard.demand, costs=yard.costs).outcomes
    for day in (30, 120):
        p = np.array(
            [
                chance_by(car, np.full(day + 1, o.asks[0][1]), demand=yard.demand)[-1]
                for car, o in zip(cars, done, strict=True)
            ]
        )
        sold = sum(o.by == "sale" and o.listed_days <= day for o in done)
        assert 0.1 < p.mean() < 0.9
        assert abs(sold - p.sum()) < 4 * math.sqrt((p * (1 - p)).sum())


def test_to_auction_at_once_and_never_by_itself(yard: Yard) -> None:
    at_once = yard.play(lambda _: AUCTION)
    assert at_once.sold_at_auction == 1.0
    assert all(not o.asks and o.listed_days == 0 for o in at_once.outcomes)
    assert all((o.sold - o.given_up).days == 28 for o in at_once.outcomes if o.given_up)
    never = yard.play(lambda known: 20 * known.estimate)
    assert {o.listed_days for o in never.outcomes} == {LONGEST}


def test_the_habit_cuts_and_gives_up() -> None:
    quiet = Demand(tastes={n: replace(t, chance_a_month=1e-6) for n, t in TASTES.items()})
    habit = Habit(cut=0.05, cut_every=70, most_cuts=2, give_up=280)
    yard = make_yard(seed=5, sales=800, a_month=2, demand=quiet, habit=habit)
    for car, done in zip(yard.cars, yard.history.outcomes, strict=True):
        assert done.given_up == car.ready + timedelta(days=280)
        days = [(day - car.ready).days for day, _ in done.asks]
        assert days == [0, 70, 140]
        asks = [ask for _, ask in done.asks]
        assert asks[1] / asks[0] == pytest.approx(0.95, abs=0.04)


def test_no_single_share_on_top_suits_every_segment(yard: Yard) -> None:
    """Known buyers and unknown luck: more a car, and more a day of capital, than plain rules."""
    patient = yard.play(informed(yard.demand, yard.costs, capital=0.0))
    quick = yard.play(informed(yard.demand, yard.costs, capital=1.2))
    for share in (0.0, 0.1, 0.2):
        plain = yard.play(estimate_plus(share))
        gain, error = patient.above(plain)
        assert gain > error
        assert quick.net_a_day > 1.1 * plain.net_a_day
        assert quick.net_a_car > plain.net_a_car
    assert quick.net_a_day > yard.history.net_a_day
    first = {o.stock: o.asks[0][1] for o in quick.outcomes if o.asks}
    over: dict[str, list[float]] = {}
    for car in yard.cars:
        if car.stock in first:
            worth = math.exp(car.log_idea[car.at(car.ready)])
            over.setdefault(car.segment, []).append(first[car.stock] / worth - 1)
    means = {name: float(np.mean(v)) for name, v in over.items()}
    assert means["luxury saloons"] - means["everyday classics"] > 0.1


def test_what_is_no_price_is_refused(yard: Yard) -> None:
    for wrong in (0.0, -5.0, math.nan, math.inf, "sell"):
        with pytest.raises(SettingsError, match="asks something that is no price"):
            yard.play(lambda _, said=wrong: said)
    with pytest.raises(SettingsError, match="no such stock number"):
        yard.play(estimate_plus(0.1), stocks=["Y-1"])
    some = yard.play(estimate_plus(0.1), stocks=[yard.cars[0].stock])
    with pytest.raises(SettingsError, match="on different cars"):
        some.above(yard.history)


def test_words_and_plain_data_say_the_same(plus_ten: Played) -> None:
    data = plus_ten.to_dict()
    assert f"{data['cars']} cars: net {plus_ten.net_a_car:,.0f} a car" in plus_ten.summary()
    assert data["net_a_day_of_1000"] == pytest.approx(plus_ten.net_a_day, abs=1e-5)
    assert len(data["outcomes"]) == data["cars"]
    assert {o["by"] for o in data["outcomes"]} == {"sale", "auction"}

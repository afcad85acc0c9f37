"""Which car is called the better buy, and when nothing is said."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from valuation.models.ranges import GRID
from valuation.results.beside_parts import BesideCar, WorthTelling
from valuation.results.beside_words import better_buy_words
from valuation.results.valuation import NoRange, PriceRange
from valuation.selling.better_buy import Spread, chance_of_other, worth_telling

NORMAL = norm.ppf(GRID)
CAR = BesideCar(
    "1968 Torvane GT", 50_000, PriceRange(0.8, 40_000, 62_000), "fair", "model line", 40
)


def spread(price: float, sd: float) -> Spread:
    return Spread(float(np.log(price)), sd * NORMAL)


def chance(ours: Spread, theirs: Spread, apart: float) -> float:
    found = chance_of_other(ours, theirs, apart)
    assert found is not None
    return found


def test_a_car_beside_itself_is_as_likely_one_as_the_other() -> None:
    assert chance(spread(50_000, 0.2), spread(50_000, 0.2), 0.0) == pytest.approx(0.5, abs=1e-12)


def test_both_ways_the_chances_add_up_to_one() -> None:
    ours, theirs = spread(60_000, 0.25), spread(48_000, 0.15)
    assert chance(ours, theirs, 7_000) + chance(theirs, ours, -7_000) == pytest.approx(
        1.0, abs=1e-9
    )


def test_the_chance_is_that_of_two_independent_distributions() -> None:
    rng = np.random.default_rng(1)
    ours = 60_000 * np.exp(0.2 * rng.standard_normal(400_000))
    theirs = 45_000 * np.exp(0.3 * rng.standard_normal(400_000))
    for apart in (0.0, 15_000.0, 40_000.0):
        drawn = float((ours - theirs < apart).mean())
        found = chance(spread(60_000, 0.2), spread(45_000, 0.3), apart)
        assert found == pytest.approx(drawn, abs=0.004)


def test_the_dearer_this_car_is_the_likelier_the_other_is_the_better_buy() -> None:
    found = [chance(spread(60_000, 0.2), spread(45_000, 0.3), a) for a in range(0, 60_000, 5_000)]
    assert found == sorted(found)
    assert found[0] < 0.3
    assert found[-1] > 0.9


def test_knowing_less_of_the_other_car_brings_the_chance_nearer_to_even() -> None:
    sure, unsure = (chance(spread(60_000, 0.1), spread(45_000, s), 30_000) for s in (0.1, 0.5))
    assert sure > unsure > 0.5


def test_no_distribution_gives_no_chance() -> None:
    assert chance_of_other(Spread(10.0, np.zeros(0)), spread(50_000, 0.2), 0.0) is None


@pytest.mark.parametrize(
    ("chance", "answer"),
    [(0.9, "other"), (0.75, "other"), (0.74, "open"), (0.5, "open"), (0.26, "open"),
     (0.25, "this"), (0.02, "this")],
)  # fmt: skip
def test_a_car_is_called_the_better_buy_at_odds_of_three_to_one(chance: float, answer: str) -> None:
    assert worth_telling(CAR, CAR, chance) == WorthTelling(answer, chance)


def test_it_is_said_plainly_in_both_directions() -> None:
    other = better_buy_words(worth_telling(CAR, CAR, 0.84))
    this = better_buy_words(worth_telling(CAR, CAR, 0.16))
    assert other == (
        "At its price the other car is the better buy, as far as the sales tell. "
        "The chance that it is so is 84 in 100."
    )
    assert this == other.replace("the other car", "this car")


def test_where_it_cannot_be_told_that_is_said_with_the_chance() -> None:
    assert better_buy_words(worth_telling(CAR, CAR, 0.44)) == (
        "Which of the two is the better buy can't be told. "
        "The chance that it is the other car is 44 in 100."
    )


def test_thin_evidence_is_said_beside_the_answer() -> None:
    thin = replace(CAR, strength="thin")
    told = worth_telling(CAR, thin, 0.9)
    assert told.answer == "other"
    assert told.reason == "Few sales speak of the other car: take it with care."


def test_no_range_a_hardly_known_car_and_a_clouded_title_leave_it_open() -> None:
    unknown = replace(CAR, range=NoRange("The year 1927 lies outside the evidence."))
    told = worth_telling(CAR, unknown, None)
    assert told == WorthTelling(
        "open",
        None,
        "There is no range for the other car, so nothing says how far its estimate may be off.",
    )
    assert worth_telling(CAR, replace(CAR, strength="none"), 0.95).answer == "open"
    lien = "The title of the other car has to be looked into before any money moves: lien."
    assert worth_telling(CAR, replace(CAR, stopped=lien), 0.95) == WorthTelling("open", 0.95, lien)

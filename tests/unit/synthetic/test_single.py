"""The true price of one car: what it is made of, and which questions have no answer."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from valuation.errors import SettingsError
from valuation.synthetic.market import SyntheticMarket
from valuation.synthetic.single import true_parts

DAY = date(2024, 6, 1)
PLAIN = {"make": "Torvane", "model": "GT", "year": 1968.0}
FULL = {
    **PLAIN,
    "variant": "Standard",
    "generation": "Series 2",
    "body": "coupe",
    "engine_size": 3.2,
    "transmission": "manual",
    "gears": 4.0,
    "transmission_origin": "as it left the works",
    "steering_side": "left",
    "original_market": "home",
    "colour": "grey",
    "interior_colour": "black",
    "colour_origin": "as it left the works",
    "originality_score": 60.0,
    "engine_originality": "correct type",
    "condition_grade": 60.0,
    "documents": (),
    "restoration": "older restoration",
    "restorer": "Ambry Body Shop",
    "modifications": (),
    "re_engineered": "no",
    "mileage": 245.0**2,
    "mileage_status": "stated",
    "history": (),
    "equipment": (),
    "title_status": "clear",
}


def parts_of(
    market: SyntheticMarket, values: dict[str, object], **occasion: str
) -> dict[str, float]:
    usual = {"channel": "live auction", "venue": "", "region": "", "basis": "hammer price"}
    truth = market.truth
    return true_parts(truth.world, truth.silent, values, DAY, usual | occasion)


@pytest.fixture(scope="module")
def ordinary(market: SyntheticMarket) -> dict[str, float]:
    return parts_of(market, FULL)


def test_an_ordinary_car_is_its_line_its_year_and_its_market(ordinary: dict[str, float]) -> None:
    moving = {"model", "generation", "year", "body", "colour", "engine_size", "market level"}
    others = {name: part for name, part in ordinary.items() if name not in moving}
    assert others == pytest.approx(dict.fromkeys(others, 0.0))


def test_line_and_market_are_those_of_the_truth(
    market: SyntheticMarket, ordinary: dict[str, float]
) -> None:
    lines = market.truth.lines_table()
    row = lines[(lines["make"] == "Torvane") & (lines["model"] == "GT")].iloc[0]
    assert ordinary["model"] == pytest.approx(row["intercept"])
    levels = market.truth.levels_table().set_index("day")
    assert ordinary["market level"] == pytest.approx(levels["grand tourers"]["2024-06-01"])


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("engine_originality", "numbers-matching"),
        ("restoration", "fresh restoration, documented"),
        ("colour_origin", "changed"),
        ("title_status", "number differs"),
        ("steering_side", "right"),
        ("restorer", "Weir & Daughters"),
    ],
)
def test_a_level_moves_the_price_by_its_effect(
    market: SyntheticMarket, ordinary: dict[str, float], name: str, value: str
) -> None:
    moved = parts_of(market, {**FULL, name: value})
    assert moved[name] == pytest.approx(market.truth.world.effects.levels[name][value])
    assert sum(moved.values()) - sum(ordinary.values()) == pytest.approx(moved[name])


def test_words_of_a_set_add_up(market: SyntheticMarket) -> None:
    items = market.truth.world.effects.items["documents"]
    moved = parts_of(market, {**FULL, "documents": ("bills", "build record")})
    assert moved["documents"] == pytest.approx(items["bills"] + items["build record"])


def test_condition_is_convex(market: SyntheticMarket) -> None:
    effects = [
        parts_of(market, {**FULL, "condition_grade": grade})["condition_grade"]
        for grade in (20.0, 60.0, 100.0)
    ]
    assert effects[0] < effects[1] == 0 < effects[2]
    assert effects[2] > -effects[0]


@pytest.mark.parametrize("name", ["condition_grade", "originality_score"])
def test_more_is_never_worth_less(market: SyntheticMarket, name: str) -> None:
    effects = [parts_of(market, {**FULL, name: float(v)})[name] for v in range(0, 101, 5)]
    assert (np.diff(effects) > 0).all()


def test_condition_is_worth_two_to_six_times(market: SyntheticMarket) -> None:
    poor, show = (
        parts_of(market, {**FULL, "condition_grade": grade})["condition_grade"]
        for grade in (10.0, 95.0)
    )
    assert 2 < np.exp(show - poor) < 7


def test_mileage_matters_more_in_modern_lines(market: SyntheticMarket) -> None:
    modern = {"make": "Torvane", "model": "Lanternier", "year": 1998.0}

    def drop(car: dict[str, object]) -> float:
        low, high = (
            parts_of(market, {**car, "mileage": miles, "mileage_status": "stated"})["mileage"]
            for miles in (10_000.0, 120_000.0)
        )
        return low - high

    assert drop(PLAIN) > 0
    assert drop(modern) > 2 * drop(PLAIN)


def test_a_mileage_nobody_believes_moves_nothing(market: SyntheticMarket) -> None:
    doubted = {**FULL, "mileage": 9_000.0, "mileage_status": "unknown"}
    assert parts_of(market, doubted)["mileage"] == 0


def test_young_cars_lose_until_they_are_25(market: SyntheticMarket) -> None:
    values = {"make": "Torvane", "model": "Lanternier", "year": 2002.0}
    age = [
        true_parts(
            market.truth.world,
            market.truth.silent,
            values,
            date(year, 6, 1),
            {"channel": "dealer", "venue": "", "region": "", "basis": "price paid"},
        )["age at sale"]
        for year in (2019, 2022, 2026)
    ]
    assert age[0] > age[1] > age[2] > 0
    assert parts_of(market, FULL)["age at sale"] == 0


def test_a_converted_engine_counts_by_its_size(market: SyntheticMarket) -> None:
    curves = market.truth.world.effects.curves
    size = np.log(4.0 / 2.5)
    expected = curves["engine_size, straight"] * size + curves["engine_size, curve"] * size**2
    assert parts_of(market, {**FULL, "engine_size": 4.0})["engine_size"] == pytest.approx(expected)


def test_premium_of_the_venue_is_added(market: SyntheticMarket) -> None:
    occasion = {"venue": "Harbour Rooms", "basis": "hammer price plus buyer's premium"}
    hammer = parts_of(market, {**FULL, "condition_grade": 60.0}, venue="Harbour Rooms")
    loaded = parts_of(market, {**FULL, "condition_grade": 60.0}, **occasion)
    price = np.exp(sum(hammer.values()))
    premium = 0.15 * min(price, 50_000) + 0.1 * max(price - 50_000, 0)
    assert np.exp(sum(loaded.values())) == pytest.approx(price + premium)


def test_an_ask_is_above_the_price_paid(market: SyntheticMarket) -> None:
    asked = parts_of(market, FULL, channel="dealer", basis="asking price")
    curves = market.truth.world.effects.curves
    assert asked["basis"] == curves["asking price over price paid"] > 0


def test_generation_follows_from_the_year(market: SyntheticMarket) -> None:
    without = {k: v for k, v in FULL.items() if k != "generation"}
    assert parts_of(market, without) == parts_of(market, FULL)
    early = parts_of(market, {**without, "year": 1961.0})
    named = parts_of(market, {**FULL, "year": 1961.0, "generation": "Series 1"})
    assert early["generation"] == named["generation"]


def test_genuineness_is_silent_only_for_versions_that_are_imitated(
    market: SyntheticMarket,
) -> None:
    rare = parts_of(market, {**FULL, "variant": "High Output"})
    assert rare["genuineness"] == market.truth.silent["genuineness"] < 0
    assert parts_of(market, FULL)["genuineness"] == 0


@pytest.mark.parametrize(
    ("values", "occasion", "message"),
    [
        (
            {"make": "Torvane", "model": "GT"},
            {},
            "synthetic market: the car has no year. State its year.",
        ),
        (
            {**PLAIN, "variant": "Hill Climb"},
            {},
            "synthetic market: no such variant (got: Hill Climb). "
            "Use one of Standard, Touring, High Output.",
        ),
        (
            PLAIN,
            {"basis": "hammer price plus buyer's premium"},
            "synthetic market: a price with the buyer's premium needs a venue, since each has its "
            "own. Name the venue.",
        ),
        (
            PLAIN,
            {"basis": "unknown"},
            "synthetic market: no such basis (got: unknown). Use one of hammer price, "
            "hammer price plus buyer's premium, asking price, price paid.",
        ),
        (
            PLAIN,
            {"channel": "raffle"},
            "synthetic market: no such channel (got: raffle). "
            "Use one of live auction, online auction, dealer, private.",
        ),
        (
            {**PLAIN, "documents": ("poem",)},
            {},
            "synthetic market: no such documents (got: poem). Use one of build record, "
            "first bill of sale, ownership chain, restoration photographs, bills.",
        ),
    ],
)
def test_questions_without_an_answer(
    market: SyntheticMarket, values: dict[str, object], occasion: dict[str, str], message: str
) -> None:
    with pytest.raises(SettingsError) as caught:
        parts_of(market, values, **occasion)
    assert str(caught.value) == message

"""What sellers state: silence is information, and can be made none."""

from __future__ import annotations

from dataclasses import replace

import pytest

from valuation.schema import BY_NAME
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

SELECTIVE = (
    "condition_grade",
    "originality_score",
    "engine_originality",
    "documents",
    "restoration",
    "modifications",
    "mileage",
    "colour_origin",
)
SETTINGS = MarketSettings(sales=4000)


def gap(market: SyntheticMarket, name: str) -> float:
    """Return how much more the stated values add than the unstated, in standard deviations."""
    part = market.truth.parts[name]
    stated = market.table[name].notna()
    return float((part[stated].mean() - part[~stated].mean()) / part.std())


@pytest.mark.parametrize("name", SELECTIVE)
def test_what_helps_is_stated_more_often(market: SyntheticMarket, name: str) -> None:
    assert gap(market, name) > 0.2


@pytest.mark.parametrize("name", ["condition_grade", "originality_score", "colour_origin"])
def test_silence_tells_nothing_at_strength_zero(name: str) -> None:
    market = make_market(replace(SETTINGS, silence_strength=0.0), seed=2)
    assert gap(market, name) == pytest.approx(0, abs=0.1)


def test_silence_tells_more_at_twice_the_strength() -> None:
    usual = make_market(SETTINGS, seed=2)
    strong = make_market(replace(SETTINGS, silence_strength=2.0), seed=2)
    assert gap(strong, "condition_grade") > 1.3 * gap(usual, "condition_grade")


def test_adverse_history_is_mostly_passed_over(market: SyntheticMarket) -> None:
    actual = market.truth.actual()["history"]
    told = market.table["history"]

    def share(word: str) -> float:
        there = [word in words for words in actual]
        said = [words is not None and word in words for words in told]
        return sum(said) / sum(there)

    assert share("accident") < 0.6 * share("major service done")


def test_open_sellers_state_everything(open_market: SyntheticMarket) -> None:
    for name in SELECTIVE:
        assert open_market.table[name].notna().all(), name


def test_genuineness_is_asked_only_of_versions_that_are_imitated(
    open_market: SyntheticMarket,
) -> None:
    table = open_market.table
    rare = open_market.truth.state["genuineness"] >= 0
    assert (table["genuineness"].notna() == rare).all()
    assert 0.02 < rare.mean() < 0.2
    shares = table["genuineness"].value_counts(normalize=True)
    assert shares["tribute"] == pytest.approx(0.25, abs=0.08)


def test_a_tribute_has_the_plain_engine(open_market: SyntheticMarket) -> None:
    table, lines = open_market.table, open_market.truth.world.lines
    tribute = table["genuineness"].isin(["tribute", "replica"])
    sizes = [lines.specs[i].size for i in open_market.truth.state["line"][tribute]]
    assert table["engine_size"][tribute].tolist() == sizes


def test_stated_words_are_true(market: SyntheticMarket) -> None:
    actual = market.truth.actual()
    for name in actual.columns:
        if BY_NAME[name].kind == "category":
            stated = market.table[name].notna()
            assert (market.table[name][stated] == actual[name][stated]).all(), name


def test_set_stated_to_be_empty_is_an_empty_tuple(market: SyntheticMarket) -> None:
    assert (market.table["modifications"].dropna() == ()).any()
    assert not any(v == () for v in market.table["history"].dropna())

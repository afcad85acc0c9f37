"""Fitted effects against the truth: what the truth is, what plain means are, what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.results.true_effects import TrueEffects
from valuation.schema import BY_NAME
from valuation.study.change_effects import attribute_changes
from valuation.study.true_effects import true_effects, true_versions
from valuation.synthetic.market import SyntheticMarket


@pytest.fixture(scope="module")
def effects(small_market: MarketModel, small_world: SyntheticMarket) -> TrueEffects:
    return true_effects(small_market, small_world)


@pytest.fixture(scope="module")
def versions(small_market: MarketModel, small_world: SyntheticMarket) -> TrueEffects:
    return true_versions(small_market, small_world)


def true_of(effects: TrueEffects, name: str) -> float:
    (found,) = (e for e in effects.effects if e.name == name)
    return found.true


def test_the_truth_of_a_word_is_that_of_the_world(
    effects: TrueEffects, small_world: SyntheticMarket
) -> None:
    levels = small_world.truth.world.effects.levels["engine_originality"]
    said = true_of(effects, "Engine originality: numbers-matching against correct type")
    assert said == pytest.approx(levels["numbers-matching"] - levels["correct type"])
    items = small_world.truth.world.effects.items["documents"]
    said = true_of(effects, "Documents: build record against none")
    assert said == pytest.approx(items["build record"])


def test_what_never_moves_a_price_has_no_true_effect(effects: TrueEffects) -> None:
    idle = [e for e in effects.effects if e.attribute in ("engine_layout", "aspiration")]
    assert idle
    assert all(e.true == 0 for e in idle)


def test_a_tribute_is_compared_where_the_question_makes_sense(
    effects: TrueEffects, small_world: SyntheticMarket, small_market: MarketModel
) -> None:
    found = [e for e in effects.effects if e.attribute == "genuineness"]
    rare = small_market.frame["genuineness"].notna()
    lost = small_world.truth.world.effects.curves
    for e in found:
        word = e.contrast.split(" ", 1)[0].rstrip(",").replace("claimed", "claim")
        share = lost[f"genuineness, share of the premium lost by a {word}"]
        # The premium of those cars, not of all: plain ones have none to lose.
        premium = -e.true / share
        assert 0.3 < premium < 1.3
    assert rare.sum() < 0.2 * len(rare)


def test_silence_is_what_silent_cars_have(
    effects: TrueEffects, small_world: SyntheticMarket, small_market: MarketModel
) -> None:
    (found,) = (e for e in effects.effects if (e.attribute, e.kind) == ("colour_origin", "silence"))
    world = small_world.truth
    silent = small_world.table["colour_origin"].isna().to_numpy()
    assert len(small_market.frame) == len(silent)
    levels = world.world.effects.levels["colour_origin"]
    mean = float(np.mean(world.parts["colour_origin"].to_numpy()[silent]))
    assert found.true == pytest.approx(mean - levels["as it left the works"])
    assert found.sales == silent.sum()
    asked = {e.attribute for e in effects.effects if e.kind == "silence"}
    assert asked
    assert all(BY_NAME[name].when_silent == "effect" for name in asked)


def test_plain_means_are_means_of_what_is_stated(
    effects: TrueEffects, small_market: MarketModel
) -> None:
    frame = small_market.frame
    log = np.log(frame["price"].to_numpy(dtype=float))
    (body,) = (e for e in effects.effects if e.contrast == "roadster against coupe")
    one, other = (log[(frame["body"] == word).to_numpy()].mean() for word in ("roadster", "coupe"))
    assert body.plain == pytest.approx(one - other)
    grade = next(
        e for e in effects.effects if (e.attribute, e.kind) == ("condition_grade", "stated")
    )
    stated = frame["condition_grade"].notna().to_numpy()
    slope = np.polyfit(frame["condition_grade"][stated].to_numpy(dtype=float), log[stated], 1)[0]
    low, high = np.quantile(frame["condition_grade"].dropna(), [0.25, 0.75])
    assert grade.plain == pytest.approx(slope * (high - low))


def test_fitted_effects_are_those_of_the_comparison_of_models(
    effects: TrueEffects, small_market: MarketModel
) -> None:
    changes = {(c.attribute, c.contrast): c for c in attribute_changes(small_market, small_market)}
    for e in effects.effects:
        if e.attribute != "genuineness":
            there = changes[e.attribute, e.contrast]
            assert 100 * np.expm1(e.fitted) == pytest.approx(there.new, abs=1e-9)
            assert 100 * np.expm1(e.low) == pytest.approx(there.new_low, abs=1e-9)
    assert not {"make", "model", "variant", "year"} & {e.attribute for e in effects.effects}


def test_the_model_comes_nearer_to_the_truth_than_plain_means(
    effects: TrueEffects, versions: TrueEffects
) -> None:
    for found in (effects, versions):
        assert found.fitted_error < 0.5 * found.plain_error
        assert found.inside > 0.6 * len(found)


def test_versions_differ_by_what_the_world_says(
    versions: TrueEffects, small_world: SyntheticMarket, small_market: MarketModel
) -> None:
    lines = small_world.truth.world.lines
    frame = small_market.frame
    assert len({(e.label, e.contrast) for e in versions.effects}) == len(versions)
    for e in versions.effects:
        version = e.contrast.removesuffix(" against Standard")
        line = next(i for i, s in enumerate(lines.specs) if f"{s.make} {s.model}" == e.label)
        sold = (frame["make"] + " " + frame["model"] == e.label) & (frame["variant"] == version)
        assert e.sales == sold.sum() >= 1
        place = [v.name for v in lines.specs[line].variants].index(version)
        if lines.specs[line].variants[place].size == 1:
            names = np.flatnonzero(np.isclose(lines.variant_effect[line], e.true))
            assert len(names) == 1


def test_sales_of_another_market_are_refused(
    small_market: MarketModel, small_world: SyntheticMarket
) -> None:
    stranger = small_market.frame.assign(sale_id="elsewhere")
    for study in (true_effects, true_versions):
        with pytest.raises(SettingsError, match="a sale of the market is none of the invented"):
            study(replace(small_market, frame=stranger), small_world)

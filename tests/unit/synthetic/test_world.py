"""The invented world holds together."""

from __future__ import annotations

import numpy as np
import pytest

from valuation.schema import BY_NAME
from valuation.synthetic.catalogue import FIRST_YEAR, LAST_YEAR, draw_lines
from valuation.synthetic.effects import CURVES, LEVELS, SETS, draw_effects
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import BODIES, CHANNELS, LINES, MARQUES, SEGMENTS, VENUES


def test_every_line_belongs_to_a_marque_and_a_segment() -> None:
    makes = {m.name for m in MARQUES}
    assert {line.make for line in LINES} == makes
    assert {line.segment for line in LINES} <= set(SEGMENTS)


def test_names_of_lines_tell_them_apart() -> None:
    assert len({(line.make, line.model) for line in LINES}) == len(LINES) == 33


@pytest.mark.parametrize("line", LINES, ids=lambda line: f"{line.make} {line.model}")
def test_plan_of_a_line_is_sound(line) -> None:
    assert FIRST_YEAR <= line.first < line.last <= LAST_YEAR
    assert sum(share for _, share in line.bodies) == pytest.approx(1)
    assert {name for name, _ in line.bodies} <= set(BODIES)
    assert line.generations[0][1] == line.first
    assert [y for _, y in line.generations] == sorted({y for _, y in line.generations})
    assert line.generations[-1][1] <= line.last
    assert line.variants[0].premium == 0
    assert not line.variants[0].rare
    assert all(v.premium >= 0.5 for v in line.variants if v.rare)


def test_each_make_was_building_cars_when_its_lines_were_sold() -> None:
    open_years = {m.name: (m.founded, m.closed) for m in MARQUES}
    for line in LINES:
        founded, closed = open_years[line.make]
        assert founded <= line.first
        assert line.last <= closed


def test_every_channel_has_venues() -> None:
    assert {v.channel for v in VENUES} == set(CHANNELS)


def test_levels_are_those_of_the_contract() -> None:
    for name, levels in LEVELS.items():
        closed = BY_NAME[name].levels if name in BY_NAME else ()
        assert not closed or set(levels) <= set(closed), name
    for name, words in SETS.items():
        assert not BY_NAME[name].levels or set(words) == set(BY_NAME[name].levels), name


@pytest.mark.parametrize("seed", range(5))
def test_drawn_effects_keep_their_sign(seed: int) -> None:
    effects = draw_effects(np.random.default_rng(seed))
    assert effects.levels["colour_origin"]["changed"] < 0
    assert effects.levels["restoration"]["older restoration"] == 0
    assert all(e > 0 for e in effects.items["documents"].values())
    assert set(effects.curves) == set(CURVES)
    assert effects.levels["venue"][""] == 0


def test_effects_of_codes_and_masks() -> None:
    effects = draw_effects(np.random.default_rng(0))
    changed = LEVELS["colour_origin"].index("changed")
    assert effects.of_codes("colour_origin", np.array([changed, -1])).tolist() == [
        effects.levels["colour_origin"]["changed"],
        0.0,
    ]
    documents = effects.items["documents"]
    both = documents["build record"] + documents["ownership chain"]
    mask = sum(1 << SETS["documents"].index(w) for w in ("build record", "ownership chain"))
    assert effects.of_masks("documents", np.array([mask, 0])) == pytest.approx([both, 0])


def test_a_larger_market_has_more_lines_of_the_same_makes() -> None:
    settings = MarketSettings(sales=100_000)
    lines = draw_lines(settings, np.random.default_rng(1))
    assert len(lines) == settings.number_of_lines == pytest.approx(200, abs=5)
    assert {s.make for s in lines.specs} == {m.name for m in MARQUES}
    assert len({(s.make, s.model) for s in lines.specs}) == len(lines)
    assert lines.specs[33].model == "Pattern 101"
    assert (lines.first >= FIRST_YEAR).all()
    assert (lines.last <= LAST_YEAR).all()
    assert (lines.generation_start.min(axis=1) == lines.first).all()


def test_originality_counts_more_in_dear_lines_and_condition_less() -> None:
    lines = draw_lines(MarketSettings(sales=200_000), np.random.default_rng(2))
    assert np.corrcoef(lines.intercept, lines.originality_slope)[0, 1] > 0.5
    assert np.corrcoef(lines.intercept, lines.condition_slope)[0, 1] < -0.2
    assert (lines.originality_slope > 0).all()


def test_without_spread_all_lines_have_the_same_slopes() -> None:
    lines = draw_lines(MarketSettings(line_spread=0), np.random.default_rng(2))
    assert lines.originality_slope == pytest.approx(np.full(33, 0.004))
    assert np.ptp(lines.condition_slope) == pytest.approx(0)

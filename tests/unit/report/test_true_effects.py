"""Charts and tables of fitted and true effects, from a handful written by hand."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import pytest

from valuation.errors import SettingsError
from valuation.report.true_effects_chart import cloud_figure, effects_figure
from valuation.report.true_effects_section import (
    all_effects_section,
    effects_section,
    show_all_effects,
    show_beside,
    show_effects,
)
from valuation.results.true_effects import TrueEffect, TrueEffects, off_by, percent_of

COUPE = TrueEffect(
    "body", "Body", "coupe against sedan", "stated",
    true=0.1, fitted=0.08, low=0.0, high=0.2, plain=0.7, sales=40,
)  # fmt: skip
RACED = TrueEffect(
    "history", "History", "racing against none", "stated",
    true=0.12, fitted=0.0, low=-0.05, high=0.05, plain=None, sales=11,
)  # fmt: skip
SILENT = TrueEffect(
    "colour_origin", "Colour origin", "not stated against as it left the works", "silence",
    true=-0.03, fitted=0.0, low=0.0, high=0.0, plain=0.02, sales=1278,
)  # fmt: skip
RARE = TrueEffect(
    "variant", "Torvane GT", "High Output against Standard", "version",
    true=0.9, fitted=1.0, low=0.7, high=1.3, plain=0.2, sales=1,
)  # fmt: skip
ALL = TrueEffects((COUPE, RACED, SILENT, RARE), 2000)


def test_what_is_counted() -> None:
    assert (ALL.inside, len(ALL)) == (2, 4)
    assert ALL.fitted_error == pytest.approx((0.03 + 0.1) / 2)
    assert ALL.plain_error == pytest.approx(0.6)
    assert ALL.summary() == (
        "2 of 4 true effects (50%) lie inside their 90% interval, learned from 2,000 sales. Half "
        "of the fitted effects are off by less than 6.7%, half of the plain means by less than 82%."
    )
    assert ALL.where(lambda e: e.plain is None).summary().endswith("off by less than 13%.")
    assert ALL.where(lambda e: e.sales == 0).summary() == (
        "No effect can be held against the truth."
    )
    assert math.isnan(ALL.where(lambda e: e.sales == 0).fitted_error)


def test_the_thinnest_and_the_most_misleading_come_first() -> None:
    assert [e.sales for e in ALL.thinnest(3).effects] == [1, 11, 40]
    assert [e.label for e in ALL.most_misleading(9).effects] == [
        "Torvane GT", "Body", "Colour origin",
    ]  # fmt: skip
    assert ALL.thinnest(1).sales == 2000


def test_the_ends_of_an_interval_belong_to_it() -> None:
    at_the_end = TrueEffects((COUPE, RACED), 1).effects[0]
    assert at_the_end.inside
    assert not RACED.inside
    assert not SILENT.sure


def test_the_form_for_machines_has_every_effect() -> None:
    told = ALL.to_dict()
    assert (told["format"], told["sales"], told["inside"]) == (1, 2000, 2)
    assert [e["inside"] for e in told["effects"]] == [True, False, False, True]
    assert told["effects"][1]["plain"] is None


def test_words_say_all_that_the_chart_shows() -> None:
    assert RARE.words() == (
        "Torvane GT: High Output against Standard: true +146%, fitted +172% (+101% to +267%), "
        "plain means +22%; 1 sale."
    )
    assert "fitted 0%, plain means +2%" in SILENT.words()
    assert (percent_of(-0.004), off_by(0.0)) == ("0%", "0.0%")


@pytest.mark.parametrize("narrow", [False, True])
def test_a_row_has_fit_interval_truth_and_plain_mean(narrow: bool) -> None:
    axes = effects_figure(ALL, narrow=narrow).axes[0]
    tall = [line for line in axes.lines if line.get_markersize() == 17]
    assert [(line.get_xdata()[0], line.get_ydata()[0]) for line in tall] == [
        (e.true, -row) for row, e in enumerate(ALL.effects)
    ]
    shapes = [line.get_marker() for line in axes.lines]
    assert (shapes.count("o"), shapes.count("D"), shapes.count("s")) == (2, 2, 3)
    low, high = axes.get_xlim()
    assert low < -0.05
    assert high > 1.0
    words = {t.get_text() for t in axes.texts}
    assert {"Body: coupe against sedan", "Torvane GT High Output"} <= words
    assert {"true +13%", "true +146%; 1 sale", "Colour origin not stated"} <= words


@pytest.mark.parametrize("effects", [ALL, ALL.where(lambda e: e is COUPE or e is SILENT)])
def test_ticks_of_a_row_chart_stand_apart(effects: TrueEffects) -> None:
    axes = effects_figure(effects).axes[0]
    ticks = [x for x in axes.get_xticks() if axes.get_xlim()[0] <= x <= axes.get_xlim()[1]]
    low, high = axes.get_xlim()
    assert len(ticks) >= 2
    assert 0.0 in ticks
    assert all(b - a >= 0.07 * (high - low) for a, b in pairwise(ticks))


@pytest.mark.parametrize("narrow", [False, True])
def test_the_cloud_shows_all_and_enlarges_the_small_ones(narrow: bool) -> None:
    whole, near = cloud_figure(ALL, narrow=narrow).axes
    drawn = [sum(line.get_marker() in "oD" for line in axes.lines) for axes in (whole, near)]
    assert drawn == [4, 3]
    assert whole.get_xlim() == whole.get_ylim()
    assert near.get_xlim() == (-math.log(1.16), math.log(1.16))
    assert len(whole.patches) == 1
    # An interval is cut where the chart ends.
    assert all(max(line.get_ydata()) <= near.get_ylim()[1] for line in near.lines)


def test_a_section_of_rows_can_be_read_without_its_picture() -> None:
    html = show_effects(ALL, heading="Rare & <few>")._repr_html_()
    assert html.count("<svg") == 2
    assert 'id="rare-few"' in html
    assert "Rare &amp; &lt;few&gt;</h2>" in html
    (first, _) = re.findall(r"<desc[^>]*>(.*?)</desc>", html, re.DOTALL)
    for e in ALL.effects:
        assert f"{e.name}: true" in first
    assert "1,278 sales." in first
    assert "Square: what plain means say." in html
    alone = effects_section(TrueEffects((RACED,), 9), heading="One")
    assert "Square" not in str(alone.blocks[1])
    assert effects_section(TrueEffects((), 9), heading="None").blocks[1:] == ()


def test_the_section_of_all_names_what_is_missed_worst_first() -> None:
    html = show_all_effects(ALL)._repr_html_()
    assert "2 of 4 (50%)" in html
    assert "2 effects outside the interval, the furthest off first:" in html
    assert re.findall(r"<li>(\w+)", html) == ["History", "Colour"]
    many = TrueEffects((RACED,) * 10, 5)
    assert "and 2 more." in str(all_effects_section(many))
    good = all_effects_section(TrueEffects((COUPE,), 5))
    assert "outside the interval" not in str(good)
    assert len(all_effects_section(TrueEffects((), 5)).blocks) == 1


def test_two_markets_stand_side_by_side() -> None:
    shown = show_beside({"One": ALL, "Other": ALL}, heading="Both")
    html = shown._repr_html_()
    assert html.count("no interval") == 2
    assert html.count('<strong class="mark">outside</strong>') == 4
    assert repr(shown).splitlines()[1].startswith("Other: 2 of 4 true effects")
    with pytest.raises(SettingsError, match="only be set side by side if they are the same"):
        show_beside({"One": ALL, "Other": ALL.thinnest(2)}, heading="Both")

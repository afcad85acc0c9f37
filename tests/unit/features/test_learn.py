"""Which columns the sales can carry."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from valuation.features.assumptions import (
    NO_ASSUMPTIONS,
    Assumed,
    Assumptions,
    default_assumptions,
)
from valuation.features.calendar import Stretches, Walk
from valuation.features.encoders import Crossed, Curve, Members, Silent
from valuation.features.learn import learn_spec
from valuation.features.settings import FeatureSettings
from valuation.features.table import FeatureTable, day_number
from valuation.features.terms import FeatureSpec, Term
from valuation.schema import ATTRIBUTES, BY_FIELD, BY_NAME

Make = Callable[..., FeatureTable]


def learn(
    table: FeatureTable, *, assumptions: Assumptions = NO_ASSUMPTIONS, **options: Any
) -> FeatureSpec:
    return learn_spec(table, settings=FeatureSettings(**options), assumptions=assumptions)


def names(spec: FeatureSpec) -> set[str]:
    return {t.name for t in spec.terms}


def term(spec: FeatureSpec, name: str) -> Term:
    return next(t for t in spec.terms if t.name == name)


@pytest.fixture(scope="module")
def rich(market: Any) -> FeatureSpec:
    return learn(market.table, assumptions=default_assumptions())


# The whole


def test_every_name_occurs_once(rich: FeatureSpec) -> None:
    assert len(names(rich)) == len(rich.terms)


def test_every_line_of_the_explanation_is_known(rich: FeatureSpec) -> None:
    known = {*BY_NAME, *BY_FIELD, "start", "market", "wording", "specification", "statements"}
    for attribute in rich.attributes:
        assert set(attribute.split(" and ")) <= known, attribute


def test_the_level_is_free_and_blocks_are_held(rich: FeatureSpec) -> None:
    assert rich.terms[0].name == "level of prices"
    assert rich.terms[0].penalty == "free"
    for t in rich.terms:
        if isinstance(t.encoder, Crossed | Curve | Walk | Silent):
            assert t.penalty == "estimated", t.name


def test_lines_are_those_of_the_sales(market: Any, rich: FeatureSpec) -> None:
    assert set(rich.lines) == set(market.table.factors["line"].text())


def test_no_attribute_is_left_out(market: Any, rich: FeatureSpec) -> None:
    """Every attribute that varies among the sales has a column."""
    said = {t.attribute for t in rich.terms} | {t.encoder.source for t in rich.terms}
    for a in ATTRIBUTES:
        if a.name in ("make", "model", "generation"):
            continue
        if a.kind == "number":
            x = market.table.numbers[a.name]
            varies = len(np.unique(x[~np.isnan(x)])) > 1
            enough = int((~np.isnan(x)).sum()) >= 10
        elif a.kind == "category":
            counts = np.bincount(np.maximum(market.table.factors[a.name].codes + 1, 0))[1:]
            varies, enough = (counts >= 2).sum() > 1, True
        else:
            varies, enough = len(market.table.bags[a.name].levels) > 0, True
        if varies and enough:
            assert a.name in said, a.name


# Switches


def test_without_words(market: Any) -> None:
    found = learn(market.table, words=False)
    assert "wording" not in found.attributes
    assert not any("word" in t.name and t.attribute == "wording" for t in found.terms)
    assert "wording" in learn(market.table).attributes


def test_without_effects_of_model_lines(market: Any) -> None:
    found = learn(market.table, local=False)
    assert not found.is_local.any()
    assert learn(market.table).is_local.any()
    assert {t.name for t in learn(market.table).terms if not t.local} == names(found)


@pytest.fixture(scope="module")
def young(market: Any) -> FeatureTable:
    """Return the cars of the market a generation earlier, when many were under 25 years."""
    return market.table.at(day_number(date(1992, 1, 1)))


def test_without_age_at_sale(young: FeatureTable) -> None:
    aged = {n for n in names(learn(young)) if n.startswith("age at sale")}
    assert {"age at sale", "age at sale by model line"} <= aged
    assert names(learn(young)) - names(learn(young, age=False)) == aged


def test_old_cars_alone_have_no_age_at_sale(market: Any) -> None:
    old = market.table.at(day_number(date(2060, 1, 1)))
    assert not any(n.startswith("age at sale") for n in names(learn(old)))


def test_without_dates_there_is_no_market_level(market: Any) -> None:
    numbers = {**market.table.numbers, "day": np.full(market.table.n, np.nan)}
    numbers["age"] = numbers["day"]
    found = learn(replace(market.table, numbers=numbers))
    assert "market" not in found.attributes
    assert "age at sale" not in names(found)


def test_fewer_columns_when_more_sales_are_wanted(market: Any) -> None:
    sizes = [
        learn(market.table, min_level=k, min_pair=k, min_word=2 * k).n_columns for k in (1, 3, 8)
    ]
    assert sizes == sorted(sizes, reverse=True)
    assert sizes[0] > 1.5 * sizes[2]


def test_the_most_frequent_words_have_columns(market: Any) -> None:
    found = term(learn(market.table, max_words=5), "wording").encoder
    assert isinstance(found, Members)
    bag = market.table.bags["wording"]
    counts = np.bincount(bag.codes, minlength=len(bag.levels))
    least = min(counts[bag.levels.index(w)] for w in found.levels)
    assert len(found.levels) == 5
    assert least >= np.sort(counts)[-5]


# Assumptions


def test_evidence_alone(market: Any) -> None:
    """Only the market's own term is held at zero; no attribute is."""
    found = learn(market.table)
    assert {t.attribute for t in found.terms if t.penalty == "assumed"} == {"market"}
    assert term(found, "condition_grade").penalty == "free"


def test_assumed_effects_by_step(market: Any, rich: FeatureSpec) -> None:
    """A step of ten points moves the price by what is assumed of ten points."""
    defaults = default_assumptions()
    for name, (step, effect) in defaults.numbers.items():
        t = term(rich, name)
        spread = t.encoder.spread
        assert t.penalty == "assumed"
        assert t.mean[0] * step / spread == pytest.approx(effect.mean)
        assert t.sd[0] * step / spread == pytest.approx(effect.sd)


def test_a_step_on_another_scale_is_taken_at_the_typical_value(market: Any) -> None:
    held = Assumptions(numbers={"mileage": (10_000.0, Assumed(-0.05, 0.02))})
    t = term(learn(market.table, assumptions=held), "mileage")
    typical = BY_NAME["mileage"].typical
    step = np.sqrt(typical + 10_000.0) - np.sqrt(typical)
    assert t.mean[0] * step / t.encoder.spread == pytest.approx(-0.05)


def test_assumed_levels_and_the_rest(rich: FeatureSpec) -> None:
    assumed = default_assumptions().words["engine_originality"]
    t = term(rich, "engine_originality")
    assert t.encoder.levels == tuple(assumed)
    assert t.mean == tuple(a.mean for a in assumed.values())
    assert t.sd == tuple(a.sd for a in assumed.values())
    # All other levels are the baseline: nothing is left for evidence alone.
    assert "engine_originality level" not in names(rich)


def test_a_level_without_an_assumption_is_left_to_evidence(market: Any) -> None:
    held = Assumptions(words={"restoration": {"partly restored": Assumed(-0.1, 0.1)}})
    found = learn(market.table, assumptions=held)
    rest = term(found, "restoration level").encoder.levels
    assert "partly restored" not in rest
    assert "older restoration" not in rest  # the baseline
    assert "fresh restoration" in rest


def test_what_nobody_states_is_still_assumed(by_hand: Make) -> None:
    table = by_hand(20, make=["Torvane"] * 20, year=[1960.0 + i for i in range(20)])
    found = learn(table, assumptions=default_assumptions())
    for name in ("condition_grade", "genuineness", "documents", "modifications"):
        assert term(found, name).penalty == "assumed"
    assert not any(isinstance(t.encoder, Silent) for t in found.terms)
    assert not any(t.name.startswith("condition_grade ") for t in found.terms)


def test_modifications_have_kinds_manners_and_pairs(by_hand: Make) -> None:
    sets = [("brakes/reversible/period",), ("engine/permanent/later",), ()] * 5
    table = by_hand(
        15, make=["Torvane"] * 15, year=[1960.0 + i for i in range(15)],
        modifications=pd.Series(sets, dtype=object),
    )  # fmt: skip
    found = learn(table, assumptions=default_assumptions())
    manners = term(found, "modifications").encoder
    kinds = term(found, "modifications word").encoder
    whole = term(found, "modifications of a kind and manner").encoder
    assert isinstance(manners, Members)
    assert isinstance(kinds, Members)
    assert isinstance(whole, Members)
    assert set(manners.levels) == {
        "reversible/period", "reversible/later", "permanent/period", "permanent/later",
    }  # fmt: skip
    assert kinds.levels == ("brakes", "engine")
    assert whole.levels == ("brakes/reversible/period", "engine/permanent/later")
    assert (kinds.parts, manners.parts, whole.parts) == (True, True, False)


# Single kinds of columns


def test_a_number_that_does_not_vary_has_no_slope(by_hand: Make) -> None:
    table = by_hand(20, make=["Torvane"] * 20, year=[1960.0] * 20, gears=[4.0] * 20)
    assert not {"year", "gears"} & names(learn(table))


def test_ten_sales_that_state_a_number_are_wanted(by_hand: Make) -> None:
    gears = pd.Series([3.0, 4.0, 5.0] * 3 + [np.nan] * 11)
    table = by_hand(20, make=["Torvane"] * 20, year=[1960.0 + i for i in range(20)], gears=gears)
    assert "gears" not in names(learn(table))
    more = by_hand(20, make=["Torvane"] * 20, year=table.numbers["year"], gears=gears.fillna(4.0))
    assert "gears" in names(learn(more))


def test_silence_is_a_column_where_some_state_and_some_do_not(by_hand: Make) -> None:
    mileage = pd.Series([np.nan] * 6 + [10_000.0 * i for i in range(14)])
    table = by_hand(
        20, make=["Torvane"] * 20, year=[1960.0 + i for i in range(20)], mileage=mileage
    )
    silent = [t.encoder.source for t in learn(table).terms if isinstance(t.encoder, Silent)]
    assert silent == ["mileage"]


def test_silences_that_coincide_make_one_line(by_hand: Make) -> None:
    mileage = pd.Series([np.nan] * 8 + [10_000.0 * i for i in range(12)])
    score = pd.Series([np.nan] * 7 + [50.0 + i for i in range(13)])
    grade = pd.Series([50.0 + i for i in range(12)] + [np.nan] * 8)
    table = by_hand(
        20, make=["Torvane"] * 20, year=[1960.0 + i for i in range(20)],
        mileage=mileage, originality_score=score, condition_grade=grade,
    )  # fmt: skip
    found = learn(table)
    line = {t.encoder.source: t.attribute for t in found.terms if isinstance(t.encoder, Silent)}
    assert line["mileage"] == line["originality_score"]
    assert line["condition_grade"] == "condition_grade"


def test_straight_effects_of_a_line_are_centred_within_it(market: Any, rich: FeatureSpec) -> None:
    """Over the sales they were learned from, slope and level don't trade places."""
    t = term(rich, "condition_grade by model line")
    at = rich.terms.index(t)
    X = rich.transform(market.table).X[:, rich.starts[at] : rich.starts[at + 1]].toarray()
    np.testing.assert_allclose(X.sum(0), 0.0, atol=1e-9)
    assert (X**2).sum(0).min() > 0


def test_market_level_ends_on_the_last_day(market: Any, rich: FeatureSpec) -> None:
    day = market.table.numbers["day"]
    level = term(rich, "market level").encoder
    assert isinstance(level, Walk)
    assert (level.nodes[0], level.nodes[-1]) == (day.min(), day.max())
    assert np.diff(level.nodes).max() - np.diff(level.nodes).min() < 1e-6
    at = rich.terms.index(term(rich, "market level"))
    last = rich.transform(market.table.at(float(day.max()))).X
    assert not last[:, rich.starts[at] : rich.starts[at + 1]].nnz


def test_a_thin_stretch_has_more_room(rich: FeatureSpec) -> None:
    stretches = term(rich, "selection of sales")
    assert isinstance(stretches.encoder, Stretches)
    assert stretches.penalty == "assumed"
    assert set(stretches.mean) == {0.0}
    assert min(stretches.encoder.sizes) >= 1.0
    assert max(stretches.encoder.sizes) > 1.0


def test_age_at_sale_ends_where_a_car_is_old(young: FeatureTable) -> None:
    spec = learn(young)
    at = spec.terms.index(term(spec, "age at sale"))
    X = spec.transform(young).X[:, spec.starts[at] : spec.starts[at + 1]].toarray()
    age = young.numbers["age"]
    assert (age >= 25.0).sum() > 30
    np.testing.assert_allclose(X[age >= 25.0], 0.0, atol=1e-12)
    assert X[age < 24.5].any(axis=1).all()


def test_the_outcome_has_no_effect_of_its_own(market: Any, rich: FeatureSpec) -> None:
    assert len(market.table.factors["outcome"].levels) > 1
    assert "outcome" not in rich.attributes


def test_tied_effects_of_the_sale_make_one_line(by_hand: Make) -> None:
    table = by_hand(
        20, make=["Torvane"] * 20, year=[1960.0 + i for i in range(20)],
        channel=["dealer", "live"] * 10, basis=["asking price", "hammer price"] * 10,
        region=["north", "north", "south", "south"] * 5,
    )  # fmt: skip
    found = learn(table)
    assert term(found, "channel").attribute == "channel and basis"
    assert term(found, "basis").attribute == "channel and basis"
    assert term(found, "region").attribute == "region"


def test_a_line_in_which_a_number_never_varies_has_no_slope(by_hand: Make) -> None:
    gears = np.where(np.arange(30) < 10, 4.0, 3.0 + np.arange(30) % 3)
    table = by_hand(
        30, make=np.repeat(["Corbel", "Torvane", "Ystrix"], 10),
        year=[1960.0 + i for i in range(30)], gears=gears,
    )  # fmt: skip
    cross = term(learn(table), "gears by model line").encoder
    assert isinstance(cross, Crossed)
    assert [cross.groups[p] for p in cross.pairs] == ["torvane |", "ystrix |"]


# Least effects, and the level of a model line


def test_words_have_a_least_effect_and_numbers_have_none(rich: FeatureSpec) -> None:
    least = {t.name: t.least for t in rich.terms}
    assert (
        least["colour level"]
        == least["modifications of a kind and manner"]
        == least["region"]
        == 0.02
    )
    assert {least[n] for n in ("wording", "year", "year curve", "colour by make")} == {0.0}


def test_a_model_line_moves_by_years_of_its_own(market: Any) -> None:
    spec = learn(market.table)
    own = term(spec, "market level by model line")
    assert isinstance(own.encoder, Crossed)
    assert isinstance(own.encoder.inner, Walk)
    assert float(np.diff(own.encoder.inner.nodes).mean()) <= 365.0
    assert own.local
    assert own.attribute == "market"
    assert "market level by model line" not in names(learn(market.table, line_days=0.0))

"""What moved between two models: the exact update, sales matched, effects, panel in money."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from random import Random

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import sparse

from valuation.appraisal.appraise import appraise
from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import Fitted
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.appraisal.settling import Start, settle
from valuation.errors import SettingsError
from valuation.features.assumptions import Assumptions
from valuation.features.settings import FeatureSettings
from valuation.records import Car, SalesBook
from valuation.results.change import ModelChange
from valuation.study.change import model_changes
from valuation.study.change_causes import contributions_to, moves_between
from valuation.study.change_panel import typical_panel
from valuation.study.sale_matching import match_sales
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

PLAIN = ModelSettings(
    features=FeatureSettings(words=False, statements=False),
    robust_df=None,
    monotone=False,
    origins=1,
)
"""Normal noise and no direction held: with kept penalties the fit is one linear solve."""


@pytest.fixture(scope="module")
def book() -> SalesBook:
    return make_market(MarketSettings(sales=260, lines=4), seed=12).book()


@pytest.fixture(scope="module")
def old(book: SalesBook) -> MarketModel:
    return fit_market(book, as_of=date(2024, 8, 31), settings=PLAIN, assumptions=Assumptions())


@pytest.fixture(scope="module")
def new(book: SalesBook) -> MarketModel:
    return fit_market(book, settings=PLAIN, assumptions=Assumptions())


@pytest.fixture(scope="module")
def change(old: MarketModel, new: MarketModel) -> ModelChange:
    car = Car({"make": "Torvane", "model": "GT", "year": 1966.0}, label="The red one")
    return model_changes(old, new, panel=[car], typical=2)


def kept(market: MarketModel, book: SalesBook) -> MarketModel:
    """Fit other sales with the columns and the penalties of a market, and nothing learned anew."""
    fitted, data = market.fitted, market_data(book, unsold="as bids")
    # An assumed effect is held by the noise, and that is learned anew: without such blocks
    # nothing but the sales differs.
    names = {t.name for t in fitted.spec.terms if t.penalty != "assumed"}
    start = Start({n: fitted.penalties[n] for n in names}, None, fitted.sigma)
    spec, design, model, _ = settle(fitted.spec.only(names), data, PLAIN, start, keep=True)
    sales = replace(fitted.sales, residuals=model.residuals_, line=design.line)
    made: Fitted = replace(
        fitted,
        spec=spec,
        coef=model.coef_,
        sigma=model.sigma_,
        posterior=model.posterior_,
        sales=sales,
        penalties={n: fitted.penalties[n] for n in names},
    )
    return replace(market, fitted=made, frame=data.frame)


def test_with_all_else_kept_the_sales_that_came_make_the_whole_change(
    old: MarketModel, book: SalesBook
) -> None:
    early = book.subset((book.table["sale_date"] <= pd.Timestamp("2024-08-31")).to_numpy())
    before, after = kept(old, early), kept(old, book)
    found, moves = moves_between(before, after)
    assert (len(found.went), found.corrected) == (0, ())
    assert len(found.came) == len(book) - len(early) > 5
    X = after.fitted.spec.transform(market_data(book, unsold="as bids").table).X
    causes = contributions_to(after.fitted, moves, X)
    whole = X @ (after.fitted.coef - before.fitted.coef)
    assert np.abs(whole).max() > 1e-3
    np.testing.assert_allclose(causes.sum(axis=1), whole, atol=1e-6)


def test_the_same_holds_for_sales_that_went_or_were_corrected(
    old: MarketModel, book: SalesBook
) -> None:
    table = book.table.copy()
    table.loc[[10, 40], "price"] *= 1.4
    table.loc[90, "body"] = "wagon"
    changed = replace(book, table=table.drop(index=[3, 77, 150]).reset_index(drop=True))
    before, after = kept(old, book), kept(old, changed)
    found, moves = moves_between(before, after)
    assert (len(found.came), len(found.went), len(found.corrected)) == (0, 3, 3)
    assert moves.kinds == ("gone",) * 3 + ("corrected",) * 3
    X = after.fitted.spec.transform(market_data(changed, unsold="as bids").table).X
    causes = contributions_to(after.fitted, moves, X)
    whole = X @ (after.fitted.coef - before.fitted.coef)
    assert np.abs(whole).max() > 1e-3
    np.testing.assert_allclose(causes.sum(axis=1), whole, atol=1e-6)
    dearer = [moves.frame["price"].tolist().index(p) for p in table.loc[[10, 40], "price"]]
    own = [int(np.flatnonzero(after.frame["price"] == p)[0]) for p in table.loc[[10, 40], "price"]]
    assert all(causes[i, k] > 0 for i, k in zip(own, dearer, strict=True))


def test_nothing_moves_where_nothing_came(old: MarketModel) -> None:
    found = model_changes(old, old, typical=1, levels=False)
    assert found.index is None
    assert (found.came, found.went, found.corrected) == (0, 0, 0)
    assert [(c.step, c.from_sales, c.closest_sales, c.rest) for c in found.cars] == [(0, 0, 0, 0)]
    assert (found.cars[0].up, found.cars[0].down) == ((), ())
    assert not any(a.step or a.moved for a in found.attributes)


def test_steps_add_up_to_the_unit(change: ModelChange, new: MarketModel) -> None:
    assert [c.typical for c in change.cars] == [True, True, False]
    for car in change.cars:
        assert car.step == car.from_sales + car.closest_sales + car.rest
        assert car.step == sum(line.step for line in car.lines)
        assert car.lines[0].attribute == "start"
        assert sum(line.new for line in car.lines) == car.new
        assert [c.amount for c in car.up] == sorted((c.amount for c in car.up), reverse=True)
        assert all(c.amount > 0 for c in car.up)
        assert all(c.amount < 0 for c in car.down)
        assert len(car.up) <= 5 >= len(car.down)
    red = change.cars[-1]
    assert red.car == "The red one"
    car = Car({"make": "Torvane", "model": "GT", "year": 1966.0})
    assert red.new == appraise(new, car, as_of=change.new_as_of).central


def test_a_cause_can_be_found_again(change: ModelChange, book: SalesBook) -> None:
    for cause in (c for car in change.cars for c in (*car.up, *car.down)):
        assert cause.kind == "new"
        row = book.table[(book.table["row"] == cause.row) & (book.table["file"] == cause.file)]
        assert float(row["price"].iloc[0]) == cause.price
        assert row["sale_date"].iloc[0].date() == cause.sale_date > date(2024, 8, 31)
        assert cause.where == f"{cause.file}, row {cause.row}"
        assert cause.expected > 0
        assert replace(cause, sale_key="abc:3").where == "abc:3"


def test_effects_are_those_of_the_columns_averaged_over_cars(
    change: ModelChange, new: MarketModel
) -> None:
    by_name = {(a.attribute, a.contrast): a for a in change.attributes}
    a = next(a for a in change.attributes if a.attribute == "channel")
    assert a.new_low < a.new < a.new_high
    level = a.contrast.split(" against ")
    labels = new.fitted.spec.labels
    coef = dict(zip(labels, new.fitted.coef, strict=True))
    step = coef.get(f"channel = {level[0]}", 0.0) - coef.get(f"channel = {level[1]}", 0.0)
    assert a.new == pytest.approx(100 * np.expm1(step), abs=1e-9)
    assert len(by_name) == len(change.attributes) > 20
    order = [(not a.moved, -abs(a.step)) for a in change.attributes]
    assert order == sorted(order)


def test_levels_are_compared_on_one_base(change: ModelChange) -> None:
    assert change.index is not None
    assert change.index.against == date(2024, 8, 31)
    told = [m for s in change.index.segments for m in s.months if m.revised_by is not None]
    assert {m.was_held for m in told} == {True, False}


def test_the_typical_car_states_what_most_of_its_sales_state(book: SalesBook) -> None:
    (car,) = typical_panel(book.table, most=1)
    counts = book.table.groupby(["make", "model"]).size()
    make, model = counts.idxmax()
    assert car.label == f"Typical {make} {model}"
    own = book.table[(book.table["make"] == make) & (book.table["model"] == model)]
    stated = dict(car.values)
    assert stated["year"] == round(own["year"].median())
    assert set(stated) <= {n for n in own if 2 * own[n].notna().sum() >= len(own)}


def test_sales_are_matched_by_content_then_by_origin() -> None:
    base = make_market(MarketSettings(sales=60, lines=2), seed=4).table
    later = base.copy()
    later["row"] += 5
    assert match_sales(base, later).came.tolist() == []
    later.loc[3, "price"] += 1.0
    found = match_sales(base, later)  # its row is another sale's of the old file: no origin left
    assert (found.came.tolist(), found.went.tolist(), found.corrected) == ([3], [3], ())
    keyed = [f.assign(sale_key=[f"k:{i}" for i in range(60)]) for f in (base, later)]
    found = match_sales(*keyed)
    assert (found.came.tolist(), found.went.tolist(), found.corrected) == ([], [], ((3, 3),))
    twice = pd.concat([base, base.iloc[[7]]], ignore_index=True)
    assert match_sales(base, twice).came.tolist() == [60]
    assert match_sales(twice, base).went.tolist() == [60]


@settings(max_examples=30, deadline=None, derandomize=True)
@given(st.randoms(use_true_random=False))
def test_the_order_of_two_books_changes_no_match(random: Random) -> None:
    base = make_market(MarketSettings(sales=60, lines=2), seed=4).table
    later = base.drop(index=[5, 9]).reset_index(drop=True)
    later.loc[[20, 30], "price"] *= 2.0
    places = list(range(len(later)))
    random.shuffle(places)
    found = match_sales(base, later.iloc[places].reset_index(drop=True))
    assert found.came.tolist() == []
    assert found.went.tolist() == [5, 9]
    assert sorted(i for i, _ in found.corrected) == [22, 32]


def test_models_that_cannot_be_compared_are_refused(
    old: MarketModel, undate: Callable[[SalesBook], SalesBook]
) -> None:
    with pytest.raises(SettingsError, match=r"different currencies \(got: EUR and USD\)"):
        model_changes(old, replace(old, currency="USD"))
    with pytest.raises(SettingsError, match="one of them is of an undated list"):
        model_changes(old, replace(old, dated=False))


def test_other_estimands_and_a_wrong_order_are_told(old: MarketModel, new: MarketModel) -> None:
    later = replace(old, estimand="price if sold")
    said = model_changes(new, later, typical=0, levels=False).notes
    assert any("The earlier model estimates the market bid" in note for note in said)
    assert any("used later sales" in note for note in said)


def test_the_answer_as_text_and_as_data(change: ModelChange) -> None:
    plain = change.to_dict()
    assert next(iter(plain)) == "format"
    assert plain["cars"][0]["up"][0]["sale_date"] >= "2024-09-01"
    said = change.summary()
    assert said.startswith("From the model of 2024-08-31 (")
    assert "re-estimated" in said
    assert "The red one" in said


def test_no_move_is_an_empty_sum(old: MarketModel) -> None:
    _, moves = moves_between(old, old)
    X = sparse.csr_array((2, old.fitted.spec.n_columns))
    assert contributions_to(old.fitted, moves, X).shape == (2, 0)

"""Statements of adverts that no attribute expresses have a price of their own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.records import Car, SalesBook
from valuation.schema.statements import Statement, Strength
from valuation.store.modelfile import load_model, save_model
from valuation.synthetic.market import SyntheticMarket

RUST, NO_LEAK = "faults: rust", "not faults: leak"
CAR = {"make": "Torvane", "model": "GT", "generation": "Series 2", "year": 1966.0}


@pytest.fixture(scope="module")
def rusty(small_world: SyntheticMarket, lean: ModelSettings) -> MarketModel:
    """Return a market in which a third of the adverts own up to rust, 20 % below the rest."""
    book = small_world.book()
    rng = np.random.default_rng(2)
    rust = rng.random(len(book)) < 1 / 3
    dry = rng.random(len(book)) < 1 / 4
    said = np.empty(len(book), dtype=object)
    for i in range(len(book)):
        said[i] = tuple(t for t, yes in ((RUST, rust[i]), (NO_LEAK, dry[i])) if yes)
    price = book.table["price"] * np.where(rust, 0.8, 1.0)
    table = book.table.assign(statements=pd.Series(said, dtype=object), price=price)
    return fit_market(SalesBook(table, book.currency, True), settings=lean)


def say(*said: tuple[str, str, Strength]) -> Car:
    return Car(CAR, said=tuple(Statement(*s) for s in said))


def test_what_an_advert_owns_up_to_is_priced(rusty: MarketModel) -> None:
    plain, bad = appraise(rusty, say()), appraise(rusty, say(("faults", "rust", "claimed")))
    assert bad.central / plain.central == pytest.approx(0.8, abs=0.04)
    line = next(x for x in bad.contributions if x.label == "Statements of the advert")
    assert line.value == RUST
    assert line.amount < -0.1 * bad.central


def test_a_denial_and_a_doubt_are_no_affirmation(rusty: MarketModel) -> None:
    plain = appraise(rusty, say()).central
    doubts: tuple[Strength, ...] = ("denied", "hedged")
    for strength in doubts:
        other = appraise(rusty, say(("faults", "rust", strength)))
        assert other.central == pytest.approx(plain, rel=0.002)


def test_what_an_attribute_expresses_is_not_priced_twice(rusty: MarketModel) -> None:
    lien = Statement("title", "lien", "claimed")
    once = appraise(rusty, Car({**CAR, "title_status": "lien"}))
    again = appraise(rusty, Car({**CAR, "title_status": "lien"}, said=(lien,)))
    assert again.central == once.central


def test_a_model_file_keeps_what_was_said(rusty: MarketModel, tmp_path: Path) -> None:
    save_model(rusty, tmp_path / "m.zip")
    again = load_model(tmp_path / "m.zip")
    car = say(("faults", "rust", "claimed"))
    assert appraise(again, car) == appraise(rusty, car)


def test_statements_can_be_left_out(
    small_world: SyntheticMarket, rusty: MarketModel, lean: ModelSettings
) -> None:
    assert any(t.name == "statements" for t in rusty.fitted.spec.terms)
    plain = fit_market(small_world.book(), settings=lean)
    assert not any(t.name == "statements" for t in plain.fitted.spec.terms)

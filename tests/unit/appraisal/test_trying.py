"""Cars with one attribute stated otherwise have the columns of cars that were read so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from valuation.appraisal.data import cars_table, market_data
from valuation.appraisal.settings import ModelSettings
from valuation.appraisal.stated import StatedValues
from valuation.appraisal.trying import Asked, Tries, try_values
from valuation.features.assumptions import default_assumptions
from valuation.features.learn import learn_spec
from valuation.features.table import FOLLOWED
from valuation.features.terms import FeatureSpec
from valuation.records import Car, SalesBook, Value
from valuation.schema import ATTRIBUTES, BY_NAME
from valuation.schema.statements import Statement
from valuation.synthetic.market import SyntheticMarket

DAY = 20_000.0
NEW: dict[str, Value] = {"category": "never heard of", "set": ("never heard of",), "number": 7.0}
GT = Car({"make": "Torvane", "model": "GT", "year": 1966.0})
LIEN = Statement("title", "lien", "claimed", "a lien", 0, 6)


@pytest.fixture(scope="module")
def spec(small_world: SyntheticMarket) -> FeatureSpec:
    """Return every column that can be learned of a market in which some adverts speak of a lien."""
    book = small_world.book()
    told = book.table["statements"].copy()
    told[::9] = [(LIEN.text,)] * len(told[::9])
    heard = SalesBook(book.table.assign(statements=told), book.currency, book.dated)
    data = market_data(heard, unsold="as bids")
    return learn_spec(
        data.table, settings=ModelSettings().features, assumptions=default_assumptions()
    )


@pytest.fixture(scope="module")
def stated(small_world: SyntheticMarket) -> StatedValues:
    """Return what its sales state."""
    table = small_world.table
    return StatedValues({str(name): table[name].to_numpy() for name in table})


def tried(spec: FeatureSpec, *asked: Asked) -> Tries:
    return try_values(spec, asked, DAY, coef(spec))


def coef(spec: FeatureSpec) -> np.ndarray:
    return np.random.default_rng(1).normal(size=spec.n_columns)


def read_so(spec: FeatureSpec, car: Car, name: str, values: Sequence[Value]) -> np.ndarray:
    """Return the columns of the car with each value, each made into a car of its own."""
    cars = [replace(car, values={**car.values, name: v}) for v in values]
    return spec.transform(cars_table(cars, DAY)).X.toarray()


@pytest.mark.parametrize("name", [a.name for a in ATTRIBUTES])
def test_the_columns_and_prices_are_those_of_cars_read_so(
    spec: FeatureSpec, stated: StatedValues, sold_cars: list[Car], name: str
) -> None:
    known = stated.counts(name, "").values
    values = [*known[:: max(len(known) // 5, 1)], NEW[BY_NAME[name].kind]]
    silent = ("mileage_status", "mileage_status", name, "fuel", "", "")
    cars = [
        replace(car, values={k: v for k, v in car.values.items() if k != s}, said=(LIEN,))
        for car, s in zip(sold_cars[::7], silent, strict=True)
    ]
    found = tried(spec, *((car, [(name, values)]) for car in cars))
    rows = {f.car: (g, s) for g in found.groups for f, s in zip(g.facts, g.starts, strict=True)}
    now = spec.transform(cars_table(cars, DAY)).X @ coef(spec)
    for i, car in enumerate(cars):
        group, start = rows[i]
        want = read_so(spec, car, name, values)
        got = group.X[start : start + len(values)].toarray()
        np.testing.assert_array_equal(got, want)
        table = cars_table([replace(car, values={**car.values, name: v}) for v in values], DAY)
        price = spec.transform(table).X @ coef(spec)
        np.testing.assert_array_equal(found.steps[i][0], price - now[i])


def test_a_value_that_says_what_words_said_takes_their_place(spec: FeatureSpec) -> None:
    """What an attribute says is no statement of its own any more, so the words' column empties."""
    (words,) = [k for k, label in enumerate(spec.labels) if label == f"statements: {LIEN.text}"]
    car = replace(GT, said=(LIEN,))
    found = tried(spec, (car, [("title_status", ["clear"]), ("body", ["coupe"])]))
    by_name = {g.facts[0].name: g.X.toarray()[0] for g in found.groups}
    assert "title_status" not in FOLLOWED
    assert found.base.toarray()[0, words] == 1.0
    assert (by_name["title_status"][words], by_name["body"][words]) == (0.0, 1.0)


def test_a_fact_without_values_moves_nothing(spec: FeatureSpec) -> None:
    found = tried(spec, (GT, [("restorer", [])]))
    assert found.groups == []
    assert found.steps[0][0].tolist() == []
    assert found.mixed([[None]]) == [None]


def test_a_mixture_is_the_mean_of_its_values(spec: FeatureSpec) -> None:
    other = Car({"make": "Torvane", "year": 1960.0})
    gearbox: tuple[str, list[Value]] = ("transmission", ["manual", "automatic"])
    grade: tuple[str, list[Value]] = ("condition_grade", [40.0, 60.0, 80.0])
    found = tried(spec, (other, [gearbox]), (GT, [gearbox, grade]))
    none, mixed = found.mixed([[None], [np.array([0.5, 0.5]), np.array([0.2, 0.0, 0.8])]])
    assert none is None
    assert mixed is not None
    manual, automatic = read_so(spec, GT, *gearbox)
    low, _, high = read_so(spec, GT, *grade)
    base = spec.transform(cars_table([GT], DAY)).X.toarray()[0]
    want = (manual + automatic) / 2 + 0.2 * low + 0.8 * high - base
    np.testing.assert_allclose(mixed.toarray()[0], want, atol=1e-12)
    assert np.abs(mixed.data).min() > 1e-9

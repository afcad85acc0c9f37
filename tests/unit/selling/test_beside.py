"""Two cars of an invented market side by side."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.contrast import contrast
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import CarFileError, SettingsError
from valuation.evidence.own_book import OWN
from valuation.records import Car, OpenFact, SalesBook
from valuation.results.beside import Beside
from valuation.selling.beside import beside
from valuation.selling.beside_prices import asked_against_sold
from valuation.selling.beside_silence import left_out_names
from valuation.selling.customers_market import customers_market
from valuation.selling.selling_sale import customers_sale
from valuation.synthetic.market import SyntheticMarket


@pytest.fixture(scope="module")
def known(small_market: MarketModel) -> Car:
    """Return a car of the most frequent model line of which a lot is known."""
    frame = small_market.frame
    make, model = frame.groupby(["make", "model"]).size().idxmax()
    line = frame[(frame["make"] == make) & (frame["model"] == model)]
    return Car(
        {
            "make": make,
            "model": model,
            "year": float(line["year"].median()),
            "body": line["body"].mode().iloc[0],
            "transmission": "manual",
            "condition_grade": 81.0,
            "originality_score": 80.0,
            "engine_originality": "numbers-matching",
            "documents": ("bills", "build record"),
            "title_status": "clear",
        }
    )


@pytest.fixture(scope="module")
def advert(known: Car) -> Car:
    """Return another car of the line whose seller says little."""
    names = ("make", "model", "year", "body", "transmission")
    return Car({n: known.values[n] for n in names}, title="A lovely thing, call 555-1234")


@pytest.fixture(scope="module")
def tiny_undated(
    small_world: SyntheticMarket,
    undate: Callable[[SalesBook], SalesBook],
    lean: ModelSettings,
) -> MarketModel:
    """Return a market of the same sales without their dates."""
    return fit_market(undate(small_world.book()), settings=lean)


def sums_up(found: Beside) -> bool:
    return sum(line.amount for line in found.lines) == found.difference


def sold_here(market: MarketModel, car: Car) -> Car:
    return replace(car, sale=customers_sale(market, car))


def test_lines_add_up_to_the_difference_of_two_valuations(
    small_market: MarketModel, known: Car, advert: Car, sold_cars: list[Car]
) -> None:
    for ours, theirs in ((known, advert), (known, sold_cars[3]), (sold_cars[5], sold_cars[9])):
        found = beside(small_market, ours, theirs)
        assert sums_up(found)
        assert found.lines
        market, sale = customers_market(small_market, ours), customers_sale(small_market, ours)
        for car, side in ((ours, found.ours), (theirs, found.theirs)):
            assert side.central == appraise(market, replace(car, sale=sale)).central


def test_swapping_the_cars_turns_every_sign(
    small_market: MarketModel, known: Car, sold_cars: list[Car]
) -> None:
    # What tells one car from all others is left out: its own sale would be taken from the market.
    kept = {"make", "model", "year", "body", "condition_grade", "engine_originality"}
    values = {n: v for n, v in sold_cars[3].values.items() if n in kept}
    other = Car({**values, "title_status": "clear", "condition_grade": 47.0})
    there, back = beside(small_market, known, other), beside(small_market, other, known)
    assert [(x.attribute, x.amount) for x in there.lines] == [
        (x.attribute, -x.amount) for x in back.lines
    ]
    assert [(x.ours, x.theirs) for x in there.lines] == [(x.theirs, x.ours) for x in back.lines]
    assert there.lower == pytest.approx(-back.upper, abs=1)


def test_a_car_beside_itself_is_nothing_apart(small_market: MarketModel, known: Car) -> None:
    found = beside(small_market, known, known, our_price=50_000, their_price=50_000)
    assert found.lines == ()
    assert (found.difference, found.lower, found.upper) == (0, 0, 0)
    assert found.left_out == ()
    assert found.gap is not None
    assert (found.gap.apart, found.gap.unexplained) == (0, 0)
    assert found.told is not None
    assert found.told.answer == "open"
    assert found.told.chance == pytest.approx(0.5)


def test_one_attribute_is_one_line_with_the_interval_of_its_contrast(
    small_market: MarketModel, known: Car
) -> None:
    worse = replace(known, values={**known.values, "condition_grade": 40.0})
    found = beside(small_market, known, worse)
    line = next(x for x in found.lines if x.attribute == "condition_grade")
    fitted = small_market.fitted
    step = contrast(
        fitted,
        sold_here(small_market, worse),
        sold_here(small_market, known),
        day=fitted.last_day,
    )
    spread = found.ours.central - found.theirs.central
    factor = spread / math.log(found.ours.central / found.theirs.central)
    assert line.exact == pytest.approx(step.effect * factor, rel=1e-3)
    assert line.upper is not None
    assert line.upper - line.exact == pytest.approx(1.645 * step.sd * factor, rel=1e-3)
    assert (line.theirs, line.ours) == ("40 of 100 points", "81 of 100 points")


def test_two_model_lines_are_set_apart_by_their_typical_cars(
    small_market: MarketModel, known: Car, sold_cars: list[Car]
) -> None:
    other = next(c for c in sold_cars if c.values["model"] != known.values["model"])
    found = beside(small_market, known, other)
    model = next(x for x in found.lines if x.attribute == "model")
    assert str(known.values["model"]) in model.ours
    assert str(other.values["model"]) in model.theirs
    assert model.lower is not None
    assert model.lower < model.exact
    years = [x.label for x in found.lines if x.attribute == "year"]
    assert years in ([], ["Year, for its model"])
    silent = replace(other, values={n: other.values[n] for n in ("make", "model", "year")})
    left = {x.attribute for x in beside(small_market, known, silent).left_out}
    assert "condition_grade" in left
    assert "transmission" not in left  # what this car has says nothing of another model
    bare = replace(silent, values={n: known.values[n] for n in ("make", "model", "year")})
    assert "transmission" in {x.attribute for x in beside(small_market, known, bare).left_out}


def test_what_is_left_out_is_priced_as_if_it_were_stated(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    found = beside(small_market, known, advert)
    left = {x.attribute: x for x in found.left_out}
    assert {"condition_grade", "engine_originality"} <= left.keys()
    assert "transmission" not in left
    stakes = [x.stake for x in found.left_out]
    assert stakes == sorted(stakes, reverse=True)
    fitted, silent = small_market.fitted, sold_here(small_market, advert)
    for name, x in left.items():
        told = replace(silent, values={**silent.values, name: known.values[name]})
        step = contrast(fitted, silent, told, day=fitted.last_day)
        assert x.today == found.theirs.central
        assert x.as_ours == pytest.approx(found.theirs.central * math.exp(step.effect), rel=1e-4)
        assert x.question.endswith("?")
    names = ("condition_grade", "originality_score", "engine_originality", "documents")
    all_told = {n: known.values[n] for n in (*names, "title_status")}
    told = replace(silent, values={**silent.values, **all_told})
    step = contrast(fitted, silent, told, day=fitted.last_day)
    assert found.all_as_ours == pytest.approx(
        found.theirs.central * math.exp(step.effect), rel=1e-4
    )


def test_what_is_bad_is_worse_than_what_is_said_of_this_car(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    grade = next(
        x for x in beside(small_market, known, advert).left_out if x.attribute == "condition_grade"
    )
    assert grade.bad is not None
    assert grade.bad < grade.today < grade.as_ours
    assert grade.bad_chance is not None
    assert 0 < grade.bad_chance < 0.3


def test_a_fact_of_the_other_car_that_is_open_is_measured_from_its_mean(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    fact = OpenFact("engine_originality", levels=("correct type", "later replacement"))
    found = beside(small_market, known, replace(advert, open=(fact,)))
    left = next(x for x in found.left_out if x.attribute == "engine_originality")
    assert left.bad is not None
    assert left.bad < left.today == found.theirs.central
    told = replace(advert, values={**advert.values, "engine_originality": "numbers-matching"})
    assert left.as_ours == pytest.approx(beside(small_market, known, told).theirs.central, rel=0.02)


def test_not_knowing_a_car_makes_the_chance_less_sure(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    bare = replace(known, values=dict(advert.values))
    prices = {"our_price": 60_000.0, "their_price": 20_000.0}
    full, empty = (beside(small_market, car, advert, **prices) for car in (known, bare))
    assert empty.left_out == ()
    assert full.left_out
    assert empty.told is not None
    assert empty.told.chance is not None
    assert empty.told.chance > 0.5


def test_the_gap_of_asked_prices_is_split_by_the_cars(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    found = beside(small_market, known, advert, our_price=70_000, their_price=52_000)
    assert found.gap is not None
    assert found.gap.apart == 18_000
    assert found.gap.explained == found.difference
    assert found.gap.unexplained == 18_000 - found.difference


def test_the_better_buy_is_called_in_both_directions(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    at = beside(small_market, known, advert)
    cheap = beside(
        small_market, known, advert, our_price=2.5 * at.ours.central, their_price=at.theirs.central
    )
    dear = beside(
        small_market, known, advert, our_price=at.ours.central, their_price=5 * at.theirs.central
    )
    even = beside(
        small_market, known, advert, our_price=at.ours.central, their_price=at.theirs.central
    )
    assert [f.told.answer for f in (cheap, dear, even) if f.told] == ["other", "this", "open"]


def test_a_price_that_was_paid_is_brought_to_what_is_asked(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    found = beside(
        small_market, known, advert, our_price=70_000, their_price=50_000, price_kind="sold"
    )
    step = asked_against_sold(
        small_market, sold_here(small_market, advert), day=small_market.fitted.last_day
    )
    assert step is not None
    assert found.their_price is not None
    assert found.their_price.converted == round(50_000 * math.expm1(step.effect))
    assert found.their_price.converted != 0
    assert found.gap is not None
    assert found.gap.apart == 70_000 - found.their_price.compared


def test_without_both_kinds_of_sale_paid_and_asked_are_not_compared(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    frame = small_market.frame.assign(
        basis=small_market.frame["basis"].replace("asking price", "unknown")
    )
    market = replace(small_market, frame=frame)
    found = beside(market, known, advert, our_price=70_000, their_price=50_000, price_kind="sold")
    assert found.gap is None
    assert found.told is not None
    assert found.told.answer == "open"
    assert "can't be told. The other car's price was paid" in found.summary()
    asked = beside(market, known, advert, our_price=70_000, their_price=50_000)
    assert asked.gap is not None


def test_an_older_price_is_moved_by_the_level_of_the_market(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    day = small_market.as_of
    assert day is not None
    then = day - timedelta(days=700)
    found = beside(
        small_market, known, advert, our_price=70_000, their_price=50_000, price_day=then
    )
    line = small_market.levels.of(*_line_of(small_market, advert))
    days = np.array([float((d - date(1970, 1, 1)).days) for d in (then, day)])
    before, after = line.at(days)
    assert found.their_price is not None
    assert found.their_price.moved == pytest.approx(50_000 * math.expm1(after - before), abs=1)
    assert found.their_price.moved != 0
    today = beside(small_market, known, advert, our_price=1, their_price=50_000, price_day=day)
    assert today.their_price is not None
    assert today.their_price.moved == 0


def _line_of(market: MarketModel, car: Car) -> tuple[str, str]:
    names = (str(car.values["make"]).casefold(), str(car.values["model"]).casefold())
    lines = [n for n in market.fitted.spec.lines if all(part in n for part in names)]
    return names[0], lines[0]


def test_a_car_outside_the_evidence_is_compared_but_not_judged(
    small_market: MarketModel, known: Car
) -> None:
    old = Car({"make": "Vessamir", "model": "Chancel", "year": 1901.0})
    found = beside(small_market, known, old, our_price=60_000, their_price=10_000)
    assert sums_up(found)
    assert found.told is not None
    assert (found.told.answer, found.told.chance) == ("open", None)
    assert "no range for the other car" in found.told.reason
    new = Car({"make": known.values["make"], "model": "Nonesuch", "year": known.values["year"]})
    unseen = beside(small_market, known, new)
    assert sums_up(unseen)
    assert any("No sale of the model of the other car" in n for n in unseen.notes)


def test_an_undated_list_compares_but_moves_no_price(tiny_undated: MarketModel, known: Car) -> None:
    other = replace(known, values={**known.values, "condition_grade": 50.0})
    assert sums_up(beside(tiny_undated, known, other, our_price=9, their_price=8))
    with pytest.raises(SettingsError, match="undated list"):
        beside(tiny_undated, known, other, their_price=8, price_day=date(2024, 1, 1))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"our_price": 0}, "our_price: a price is above zero"),
        ({"their_price": -5}, "their_price: a price is above zero"),
        ({"their_price": 5, "price_kind": "estimate"}, "price_kind: a price is asked"),
        ({"price_day": date(2024, 1, 1)}, "price_day: there is no price"),
    ],
)
def test_prices_that_make_no_sense_are_refused(
    small_market: MarketModel, known: Car, asked: dict[str, object], said: str
) -> None:
    with pytest.raises(SettingsError, match=said):
        beside(small_market, known, known, **asked)


def test_a_car_without_year_or_make_says_which_of_the_two(
    small_market: MarketModel, known: Car
) -> None:
    with pytest.raises(CarFileError, match="the other car: it can't be valued without year"):
        beside(small_market, known, Car({"make": "Torvane"}))


def test_neither_words_of_the_advert_nor_a_chassis_number_come_out(
    small_market: MarketModel, known: Car, advert: Car
) -> None:
    told = replace(
        advert,
        title="Lovely TO68-90412 555-1234",
        description="Ask for Hildegard",
        chassis="TO68-90412",
        notes=("Make is read from the title: Lovely.",),
        values={**advert.values, "colour": "red TO68-90412"},
    )
    found = beside(small_market, replace(known, chassis="AB12-77777"), told, our_price=9)
    words = f"{found.summary()} {found.to_dict()}"
    for secret in ("Lovely", "555-1234", "Hildegard", "90412", "77777"):
        assert secret not in words


def brought_before(found: Beside) -> tuple[str, str]:
    """Return what earlier sales of the other car and of this one brought."""
    lines = [x for x in found.lines if x.attribute == "earlier sale"]
    return (lines[0].theirs, lines[0].ours) if lines else ("nothing", "nothing")


def test_what_the_firm_paid_for_either_car_is_in_no_line(
    small_market: MarketModel, known: Car, sold_cars: list[Car]
) -> None:
    car = replace(next(c for c in sold_cars if c.chassis), sale={})
    assert brought_before(beside(small_market, car, known)) == ("nothing", "nothing")
    assert brought_before(beside(small_market, known, car))[0] != "nothing"
    mine = small_market.columns["chassis"] == car.chassis
    frame = small_market.frame.assign(**{OWN: np.where(mine, "bought", None)})
    found = beside(replace(small_market, frame=frame), known, car)
    assert brought_before(found) == ("nothing", "nothing")
    assert sums_up(found)


def test_what_a_model_is_known_by_is_asked_for_within_one_model_alone() -> None:
    built = {"generation": "Series 2", "variant": "Touring", "engine_size": 3.2}
    ours = Car({"make": "A", "model": "B", "year": 1968.0, "documents": ("bills",), **built})
    same = Car({"make": "a", "model": "b", "year": 1969.0})
    assert {"generation", "documents"} <= set(left_out_names(ours, same))
    other = Car({"make": "A", "model": "C", "year": 1969.0})
    assert set(left_out_names(ours, other)) & built.keys() == set()
    assert "documents" in left_out_names(ours, other)

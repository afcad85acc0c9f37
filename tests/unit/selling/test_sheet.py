"""The customer's sheet from a market: sums, ranks, what may be shown, and what never is."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import CarFileError, SettingsError
from valuation.inspection.inspection import read_sheet
from valuation.records import Car, Cure, OpenFact, SalesBook, Work
from valuation.report.sheet_page import sheet_page
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import NoCourse
from valuation.results.valuation import NoRange, PriceRange
from valuation.selling.customers_market import customers_market
from valuation.selling.sheet import customer_sheet
from valuation.selling.sheet_rounding import rounded_price
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

Row = Callable[..., Car]
PRIVATE = "zzsecret"
"""Stands wherever a car file has room for words that are no customer's business."""


@pytest.fixture
def car(tiny_market: MarketModel, as_car: Row) -> Car:
    """Return a car like one that was sold, and none of those that were."""
    like = as_car(tiny_market.frame.iloc[100])
    values = {**like.values, "mileage": 12_345.0, "colour": "pink"}
    made = replace(like, chassis="", title="", values=values)
    assert customers_market(tiny_market, made) is tiny_market
    return made


sheet = customer_sheet


def marked(market: MarketModel, rows: list[int], mark: str) -> MarketModel:
    own = np.full(len(market.frame), None, dtype=object)
    own[rows] = mark
    return replace(market, frame=market.frame.assign(own=own))


def changed(market: MarketModel, row: int, **cells: object) -> MarketModel:
    frame = market.frame.copy()
    for name, value in cells.items():
        frame.loc[row, name] = value
    return replace(market, frame=frame)


def row_of(market: MarketModel, found: CustomerSheet, number: int = 1) -> int:
    """Return the row of a sale that is shown, found by its day and price."""
    sale = next(s for s in found.sales if s.number == number)
    point = next(p for p in found.points if p.number == number)
    frame = market.frame
    here = (frame["price"].round() == sale.price) & (
        frame["sale_date"] == np.datetime64(point.on, "s")
    )
    (row,) = np.flatnonzero(here.to_numpy())
    return int(row)


def test_the_lines_lead_from_the_typical_car_to_the_central_estimate(
    tiny_market: MarketModel, sold_cars: list[Car]
) -> None:
    for one in sold_cars[:8]:
        found = sheet(tiny_market, one)
        assert found.start + sum(x.amount for x in found.lines) == found.central
        assert len(found.lines) <= 14
        names = [x.name for x in found.lines]
        assert len(names) == len(set(names))
        sizes = [abs(x.amount) for x in found.lines if x.name not in LAST]
        assert sizes == sorted(sizes, reverse=True)


LAST = ("silent", "smaller", "earlier sale", "closest sales", "correction")


def test_each_sale_adds_up_and_all_have_the_same_rows(tiny_market: MarketModel, car: Car) -> None:
    found = sheet(tiny_market, car)
    assert 3 <= len(found.sales) <= 6
    rows = [[s.name for s in sale.steps] for sale in found.sales]
    assert all(r == rows[0] for r in rows)
    assert rows[0][0] == "market"
    assert rows[0][-1] == "smaller"
    points = {p.number: p.adjusted for p in found.points}
    for sale in found.sales:
        assert sale.price + sum(s.amount for s in sale.steps) == sale.adjusted
        assert points[sale.number] == sale.adjusted
        assert sale.net == pytest.approx(100 * (sale.adjusted - sale.price) / sale.price)
        assert sale.gross >= abs(sale.net) - 1e-9


def test_the_rank_counts_the_points_of_the_chart(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    car = sold_cars[20]
    plain = sheet(small_market, car)
    asked = plain.central + 1_234
    found = sheet(small_market, car, asking=asked)
    assert found.asking is not None
    assert found.asking.above == 1_234
    assert found.asking.lower == sum(p.adjusted < asked for p in found.points)
    assert found.asking.sales == len(found.points) >= 12
    assert isinstance(found.range, PriceRange)
    assert found.asking.inside == (found.range.lower <= asked <= found.range.upper)
    dear = sheet(small_market, car, asking=10 * asked).asking
    assert dear is not None
    assert (dear.inside, dear.higher) == (False, 0)
    assert replace(found, asking=None) == plain


def test_what_does_not_count_as_a_sale_is_not_shown(tiny_market: MarketModel, car: Car) -> None:
    found = sheet(tiny_market, car)
    for outcome in ("not sold", "offered"):
        row = row_of(tiny_market, found)
        again = sheet(changed(tiny_market, row, outcome=outcome), car)
        assert len(again.points) <= len(found.points)
        assert found.sales[0].title, found.sales[0].price not in [
            (s.title, s.price) for s in again.sales
        ]
        adjusted = next(p.adjusted for p in found.points if p.number == 1)
        assert adjusted not in [p.adjusted for p in again.points]


def test_other_cars_that_the_firm_bought_speak_but_are_never_shown(
    tiny_market: MarketModel, car: Car
) -> None:
    car = replace(car, chassis="QQ-99999-Z")
    found = sheet(tiny_market, car)
    rows = [row_of(tiny_market, found, n) for n in (1, 2)]
    again = sheet(marked(tiny_market, rows, "bought"), car)
    gone = {p.adjusted for p in found.points if p.number in (1, 2)}
    assert not gone & {p.adjusted for p in again.points}
    assert (again.central, again.lines) == (found.central, found.lines)


def test_no_sale_after_the_day_of_the_sheet_is_shown(tiny_market: MarketModel, car: Car) -> None:
    last = tiny_market.frame["sale_date"].iloc[-30].date()
    found = sheet(tiny_market, car, as_of=last)
    assert max(p.on for p in found.points if p.on) <= last
    assert "The model knows sales made after the day of this sheet." in found.notes


def former(market: MarketModel, row: int, *, price: float, day: date) -> MarketModel:
    """Return a market in which a sale is the firm's own, with another price and day."""
    return marked(
        changed(market, row, price=price, sale_date=np.datetime64(day, "s")), [row], "sold"
    )


def test_a_former_customer_s_price_and_day_can_t_be_told(
    tiny_market: MarketModel, car: Car
) -> None:
    row = row_of(tiny_market, sheet(tiny_market, car))
    price = float(tiny_market.frame["price"].iloc[row])
    day = tiny_market.frame["sale_date"].iloc[row].date()
    first = date(day.year, 3 * ((day.month - 1) // 3) + 1, 1)
    told = rounded_price(price)
    others = [told - 1, told + 3, price]
    assert {rounded_price(p) for p in others} == {told}
    sheets = [
        sheet(former(tiny_market, row, price=p, day=first + timedelta(days=d)), car, asking=40_000)
        for p, d in zip(others, (0, 40, 85), strict=True)
    ]
    # The band of the course is one of all sales of the line, as the fit is.
    bare = [replace(s, course=NoCourse("")) for s in sheets]
    assert bare[0] == bare[1] == bare[2]
    (ours,) = [s for s in sheets[0].sales if s.ours]
    assert ours.price == told
    assert ours.when.endswith(f"quarter {day.year}")
    assert ours.how == "sold by us, price rounded"
    (point,) = [p for p in sheets[0].points if p.ours]
    assert (point.adjusted, point.on) == (ours.adjusted, date(day.year, first.month + 1, 16))


def test_the_steps_of_a_former_customer_s_sale_follow_from_the_rounded_price(
    tiny_market: MarketModel, car: Car
) -> None:
    row = row_of(tiny_market, sheet(tiny_market, car))
    price = float(tiny_market.frame["price"].iloc[row])
    day = tiny_market.frame["sale_date"].iloc[row].date()
    middle = date(day.year, 3 * ((day.month - 1) // 3) + 2, 16)
    (ours,) = [
        s for s in sheet(former(tiny_market, row, price=price, day=day), car).sales if s.ours
    ]
    open_one = changed(
        tiny_market, row, price=float(rounded_price(price)), sale_date=np.datetime64(middle, "s")
    )
    step = sheet(marked(open_one, [row], "sold"), car)
    assert ours in step.sales
    before = sheet(tiny_market, car).sales
    (same,) = [s for s in before if s.title == ours.title and s.number == ours.number]
    assert ours.price / same.price == pytest.approx(ours.adjusted / same.adjusted, rel=0.02)


def test_the_market_step_is_what_the_course_shows(tiny_market: MarketModel, as_car: Row) -> None:
    line = tiny_market.frame.groupby(["make", "model"]).size().idxmax()
    rows = tiny_market.frame[
        (tiny_market.frame["make"] == line[0]) & (tiny_market.frame["model"] == line[1])
    ]
    found = sheet(tiny_market, replace(as_car(rows.iloc[-1]), chassis=""))
    assert not isinstance(found.course, NoCourse)
    level = {m.month: m.amount / found.start for m in found.course.months}
    checked = 0
    for sale, point in ((s, p) for s in found.sales for p in found.points if p.number == s.number):
        if point.on is None or f"{point.on:%Y-%m}" not in level:
            continue
        factor = (sale.adjusted - sale.price) / np.log(sale.adjusted / sale.price)
        market = sale.steps[0].amount / factor
        assert market == pytest.approx(-np.log(level[f"{point.on:%Y-%m}"]), abs=0.02)
        checked += 1
    assert checked


def private_car(car: Car) -> Car:
    """Return a car with a secret word wherever somebody may write words."""
    return replace(
        car,
        title=f"{car.title} {PRIVATE}",
        description=f"a {PRIVATE} gem, cast later, {PRIVATE}",
        label=f"stock 12 {PRIVATE}",
        notes=(f"The owner, {PRIVATE}, is in a hurry.",),
        asking=77_123.0,
        statements={"mileage": f"title: {PRIVATE}"},
        sale={"channel": "live auction", "venue": PRIVATE, "region": PRIVATE},
        work=(Work(f"weld {PRIVATE}", Decimal(7_123), Decimal(9_123), "EUR"),),
        cure=Cure(3.0, Decimal(7_123), Decimal(9_123), "EUR"),
        stops=(f"Number differs, says {PRIVATE}.",),
        open=(
            OpenFact(
                "engine_originality",
                ("date-correct", "correct type"),
                claim=f"original, swears {PRIVATE}",
                contradiction=f"{PRIVATE} says the block is later.",
                where=PRIVATE,
                tool=PRIVATE,
                how=PRIVATE,
            ),
        ),
        values={k: v for k, v in car.values.items() if k != "engine_originality"},
    )


def test_no_word_and_no_figure_of_the_firm_s_own_business_gets_out(
    tiny_market: MarketModel, car: Car
) -> None:
    found = sheet(tiny_market, private_car(car), asking=40_000)
    written = json.dumps(found.to_dict()) + found.summary() + repr(sheet_page(found).sections)
    assert PRIVATE not in written.lower()
    for figure in ("77,123", "77123", "7,123", "7123", "9123"):
        assert figure not in written
    (question,) = found.questions
    assert (question.state, question.claim) == ("contradicted", "")
    assert question.possible == "date-correct or correct type"
    assert [f.standing for f in found.basics if f.label == "Mileage"] in ([], ["stated"])


def test_no_words_of_adverts_and_no_numbers_of_other_cars_get_out(
    tiny_market: MarketModel, car: Car
) -> None:
    frame = tiny_market.frame.copy()
    frame["title"] = [f"{PRIVATE} {t}" for t in frame["title"]]
    frame["sale_id"] = [f"{PRIVATE}{i}" for i in range(len(frame))]
    number = [f"XQ{i:03d}-77-K" for i in range(len(frame))]
    frame["variant"] = [f"Special {n}" for n in number]
    market = replace(tiny_market, frame=frame.assign(chassis=number))
    found = sheet(market, car)
    written = json.dumps(found.to_dict()) + found.summary()
    assert PRIVATE not in written
    assert "77-K" not in written
    assert "77K" not in written


def test_the_car_is_named_by_what_it_is(tiny_market: MarketModel, car: Car) -> None:
    values = {**car.values, "year": 1968.0, "make": "Torvane", "model": "GT", "body": "coupe"}
    values.pop("variant", None)
    found = sheet(tiny_market, replace(car, values=values, label="the red one"))
    assert found.heading == "1968 Torvane GT coupe"


def test_it_is_valued_for_a_dealer_and_says_so(tiny_market: MarketModel, car: Car) -> None:
    found = sheet(tiny_market, car)
    assert found.meaning == "sold by a dealer, the price paid"
    assert not any("live auction" in note for note in found.notes)
    auction = sheet(tiny_market, car, channel="live auction")
    assert auction.meaning.startswith("sold at a live auction")
    assert auction.central != found.central
    (note,) = [n for n in auction.notes if n.startswith("The figures are those of a car")]
    assert "at a live auction" in note


def test_a_car_outside_the_evidence_has_no_range_and_the_sheet_says_why(
    tiny_market: MarketModel, car: Car
) -> None:
    old = replace(car, values={**car.values, "year": 1905.0})
    found = sheet(tiny_market, old, asking=40_000)
    assert isinstance(found.range, NoRange)
    assert "1905" in found.range.reason
    assert found.asking is not None
    assert found.asking.inside is None
    assert found.evidence.outside
    assert any("is a guess" in note for note in found.notes)


def test_a_model_never_seen_has_no_course(tiny_market: MarketModel, car: Car) -> None:
    found = sheet(tiny_market, replace(car, values={**car.values, "model": "Farthingale"}))
    assert isinstance(found.course, NoCourse)
    assert "No sale of this model is known" in found.course.reason
    assert found.evidence.level == "make"
    assert any("other models of its make" in note for note in found.notes)


def test_an_undated_list_gives_a_sheet_without_days(
    undate: Callable[[SalesBook], SalesBook], lean: ModelSettings, car: Car
) -> None:
    world = make_market(MarketSettings(sales=150, lines=3), seed=8)
    market = fit_market(undate(world.book()), settings=lean)
    found = sheet(market, car, asking=40_000)
    assert found.as_of is None
    assert {p.on for p in found.points} == {None}
    assert {s.when for s in found.sales} <= {""}
    assert isinstance(found.course, NoCourse)
    assert "no dates" in found.course.reason
    page = sheet_page(found)
    assert page.subtitle.endswith("from an undated list")


def test_a_gap_since_the_last_sale_is_told(tiny_market: MarketModel, car: Car) -> None:
    assert tiny_market.as_of is not None
    later = sheet(tiny_market, car, as_of=tiny_market.as_of + timedelta(days=200))
    assert any("more than two months older" in note for note in later.notes)


def test_an_inspected_and_contradicted_car_says_what_was_seen_and_what_does_not_fit(
    tiny_market: MarketModel,
) -> None:
    found = sheet(tiny_market, read_sheet("data_synthetic/sheets/contradicted.xlsx").to_car())
    states = [q.state for q in found.questions]
    assert states[0] == "contradicted"
    assert states == sorted(states, key=lambda s: s != "contradicted")
    engine = next(q for q in found.questions if q.label.startswith("Engine"))
    assert engine.claim == "numbers-matching"
    assert engine.low is not None
    assert engine.high is not None
    assert engine.low < engine.high
    condition = next(f for f in found.findings if f.label == "Condition")
    assert condition.standing == "checked"
    papers = {f.label: (f.value, f.standing) for f in found.papers}
    assert papers["Bills"] == ("with the car", "checked")
    assert papers["Build record"] == ("said to be with the car, not seen", "stated")


@pytest.mark.parametrize("asking", [0.0, -5.0, 0.2, float("nan"), float("inf")])
def test_an_asking_price_that_is_none_is_refused(
    tiny_market: MarketModel, car: Car, asking: float
) -> None:
    with pytest.raises(SettingsError, match="asking price: it is no amount of 1 or more"):
        sheet(tiny_market, car, asking=asking)


def test_a_car_without_a_make_is_refused(tiny_market: MarketModel) -> None:
    with pytest.raises(CarFileError, match="without make"):
        sheet(tiny_market, Car({"year": 1968.0}))

"""Foretold chances against sales that came: on a known truth, and when the truth changes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest
from scipy.stats import binom

from valuation.results.chance_check import ChanceCheck, ChanceRow
from valuation.results.ledger import CarMark, StockCar, StockEvent
from valuation.results.stock_chance import MONTH_DAYS
from valuation.stocking.chance import fit_chance
from valuation.stocking.chance_check import check_chances
from valuation.stocking.settings import default_stock_settings
from valuation.stocking.spells import OfferedCar, spells_of
from valuation.synthetic.yard_demand import Demand, Taste, days_to_sell

USUAL = default_stock_settings()
UNTIL = date(2024, 12, 31)
EPOCH = date(1970, 1, 1)
TRUTH = Demand(
    {"roadsters": Taste(0.5, 9.0, 0.3), "saloons": Taste(0.2, 4.0, 0.1)},
    steps=((0, 0.0), (30, -0.2), (90, -0.4), (180, -0.6)),
    eager_sd=0.0,
)
VALUE = 20_000.0
Lull = Callable[[np.ndarray], np.ndarray]


def never(days: np.ndarray) -> np.ndarray:
    return np.zeros(len(days))


def event(kind: str, on: date, amount: float | None = None) -> StockEvent:
    money = None if amount is None else Decimal(round(amount))
    return StockEvent(kind, on, money, "" if amount is None else "EUR")


def a_car(number: int, rng: np.random.Generator, lull: Lull) -> OfferedCar:
    """Return a car with a cut after some weeks, withdrawn after eight months if it stays."""
    kind = "roadsters" if rng.random() < 0.5 else "saloons"
    first = UNTIL - timedelta(days=int(rng.integers(5, 900)))
    # What the firm sees in a car that its estimate doesn't know, buyers see too.
    seen = 0.08 * rng.standard_normal()
    ask, cut = 0.08 + seen + 0.08 * rng.standard_normal(), int(rng.integers(20, 70))
    days = np.arange(min((UNTIL - first).days + 1, 240))
    at = (first - EPOCH).days + days
    asks = ask - 0.06 * (days >= cut)
    rates = TRUTH.hazard(kind, asks - seen, day=at, listed_days=days, condition=60.0)
    rates = rates * np.exp(lull(at))
    sold = days_to_sell(rates, float(rng.exponential()))
    events = [event("listed", first), event("asking price", first, VALUE * math.exp(ask))]
    end = len(days) if sold is None else sold
    if cut < end:
        lower = VALUE * math.exp(ask - 0.06)
        events.append(event("asking price", first + timedelta(days=cut), lower))
    if sold is not None:
        events.append(event("sold", first + timedelta(days=sold), VALUE))
    elif len(days) == 240:
        events.append(event("withdrawn", first + timedelta(days=240)))
    car = StockCar(CarMark(stock=f"A-{number}"), tuple(events), UNTIL)
    return OfferedCar(car, kind, 60.0, lambda _: math.log(VALUE))


def firm(seed: int, *, cars: int = 300, lull: Lull = never) -> list[OfferedCar]:
    rng = np.random.default_rng(seed)
    return [a_car(n, rng, lull) for n in range(cars)]


@pytest.fixture(scope="module")
def cars() -> list[OfferedCar]:
    return firm(3)


@pytest.fixture(scope="module")
def honest(cars: list[OfferedCar]) -> ChanceCheck:
    return check_chances(cars, USUAL, currency="EUR", as_of=UNTIL)


def rows(check: ChanceCheck, by: str) -> tuple[ChanceRow, ...]:
    found = check.groups(by)
    assert found is not None
    return found.rows


def test_chances_of_a_steady_truth_come_true(honest: ChanceCheck) -> None:
    whole = honest.overall
    assert whole is not None
    assert (honest.first, honest.months, honest.assumed_months) == (date(2024, 1, 1), 12, 0)
    assert whole.sold > 80
    assert whole.inside
    assert "within the" in honest.headline()
    assert honest.p_value is not None
    assert honest.p_value > 0.05
    chances = rows(honest, "chance")
    assert len(chances) == 6
    assert [r.told for r in chances] == sorted(r.told for r in chances)
    # Foretold chances part the quick from the slow: from the first to the last group sales rise.
    assert chances[-1].came > 3 * chances[0].came


def test_every_kind_holds_every_sale_once(honest: ChanceCheck) -> None:
    whole = honest.overall
    assert whole is not None
    for kind in honest.kinds:
        if kind.by != "ahead":
            assert sum(r.sold for r in kind.rows) == whole.sold, kind.by
            assert sum(r.days for r in kind.rows) == whole.days, kind.by
            assert math.fsum(r.expected for r in kind.rows) == pytest.approx(whole.expected)
    assert [r.name for r in rows(honest, "kind")] == ["roadsters", "saloons"]
    assert [r.name for r in rows(honest, "ahead")] == [
        "1 month ahead", "2 months ahead", "3 months ahead",
    ]  # fmt: skip
    assert rows(honest, "month")[0].name == "January 2024"
    assert honest.groups("basis") is None  # own sales spoke in every month


def test_days_count_as_they_were_and_not_as_whole_months(cars: list[OfferedCar]) -> None:
    """A car sold on the 3rd was on offer for three days: whole months would expect far more."""
    start = date(2024, 6, 1)
    check = check_chances(cars, USUAL, currency="EUR", as_of=date(2024, 6, 30), months=1)
    row = check.overall
    assert row is not None
    before = spells_of(cars, currency="EUR", as_of=start - timedelta(days=1))
    chance = fit_chance(before, USUAL)
    known = spells_of(cars, currency="EUR", as_of=date(2024, 6, 30)).spells
    of_june = [s for s in known if s.first >= start]
    assert (row.times, row.days) == (len(of_june), sum(s.days for s in of_june))
    expected, whole_months = 0.0, 0.0
    for s in of_june:
        asked = tuple(
            (o.days, o.log_ask_over_value) for o in known if o.car == s.car and o.first < s.first
        )
        told = [
            chance.chance(
                days, s.log_ask_over_value, s.segment, s.first, s.condition, s.listed_days,
                asked=asked or ((0, s.log_ask_over_value),),
            ).chance
            for days in (s.days, round(MONTH_DAYS))
        ]  # fmt: skip
        expected -= math.log1p(-told[0])
        whole_months += told[1]
    assert row.expected == pytest.approx(expected)
    assert whole_months > 1.2 * expected


def test_what_came_later_foretells_nothing(cars: list[OfferedCar]) -> None:
    november = check_chances(cars, USUAL, currency="EUR", as_of=date(2024, 11, 30), months=1)
    both = check_chances(cars, USUAL, currency="EUR", as_of=UNTIL, months=2)
    assert november.overall is not None
    same = rows(both, "month")[0]
    assert replace(same, name=november.overall.name) == november.overall


def test_a_market_that_stops_buying_is_found() -> None:
    broke = (date(2024, 10, 1) - EPOCH).days
    stopped = firm(5, lull=lambda at: np.where(at >= broke, math.log(0.3), 0.0))
    check = check_chances(stopped, USUAL, currency="EUR", as_of=UNTIL, months=3)
    assert check.overall is not None
    assert check.overall.verdict == "fewer than foretold"
    assert "fewer than chance and what was not known explain" in check.headline()
    calm = check_chances(stopped, USUAL, currency="EUR", as_of=date(2024, 9, 30), months=3)
    assert calm.overall is not None
    assert calm.overall.inside


def test_assumptions_alone_are_named() -> None:
    check = check_chances(firm(7, cars=12), USUAL, currency="EUR", as_of=UNTIL)
    assert check.assumed_months == check.months > 0
    assert any("starting assumptions spoke alone" in s for s in check.sentences())


def test_nothing_on_offer_is_an_answer() -> None:
    bought = StockCar(CarMark(stock="B-1"), (event("bought", date(2024, 5, 1), 9000),), UNTIL)
    car = OfferedCar(bought, "saloons", None, lambda _: math.log(VALUE))
    check = check_chances([car], USUAL, currency="EUR", as_of=UNTIL)
    assert check.overall is None
    assert check.months == 0
    assert check.headline() == (
        "No car of the ledger was on offer at a known price in these months."
    )
    assert check.to_dict()["overall"] is None
    with pytest.raises(ValueError, match="months have to be 1 or more"):
        check_chances([car], USUAL, currency="EUR", as_of=UNTIL, months=0)


def test_limits_are_binomial(honest: ChanceCheck) -> None:
    for row in (honest.overall, *rows(honest, "kind")):
        assert row is not None
        low, high = binom.interval(0.95, row.times, row.expected / row.times)
        assert (row.lower, row.upper) == (low, high)
        assert row.widest_lower <= row.lower
        assert row.upper <= row.widest_upper


@pytest.mark.parametrize(
    ("sold", "said"),
    [
        (20, "as foretold"),
        (13, "fewer, within what was not known"),
        (29, "more, within what was not known"),
        (9, "fewer than foretold"),
        (36, "more than foretold"),
    ],
)
def test_verdicts(sold: int, said: str) -> None:
    row = ChanceRow("all", 200, 3000, 20.0, sold, 14, 28, 10, 34)
    assert row.verdict == said
    assert row.to_dict()["verdict"] == said
    assert said in row.words()


def test_few_sales_tell_nothing() -> None:
    row = ChanceRow("all", 40, 600, 3.0, 0, 1, 7, 0, 8)
    assert row.verdict == "too few to tell"
    assert row.told == pytest.approx(1 - math.exp(-3 / 600 * MONTH_DAYS))
    assert row.came == 0.0

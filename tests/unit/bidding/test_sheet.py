"""The bid sheet: every answer, an account that adds up, and what moves the bid."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from statistics import NormalDist

import numpy as np
import pytest

from valuation.bidding.costs import (
    CostLine,
    Costs,
    Fee,
    Holding,
    Increment,
    LandingLine,
    PurchaseTax,
    SaleTax,
    Selling,
    Target,
    WayOfBuying,
    Winning,
)
from valuation.bidding.prospect import Course, FactAtStake, Prospect, stated_prospect
from valuation.bidding.sheet import Preparation, bid_sheet
from valuation.premium import PremiumSlice
from valuation.records import Work
from valuation.results.bid_parts import Stop

D = Decimal
HALL = WayOfBuying(
    "hall",
    "EUR",
    increments=(Increment(D(250), D(10_000)), Increment(D(500))),
    premium=(PremiumSlice(D(15), D(50_000)), PremiumSlice(D(10))),
    surcharge=Fee(D("1.5"), cap=D(900)),
    tax=PurchaseTax(D(20), "premium"),
    lines=(CostLine("transport", D(300), D(700)),),
)
COSTS = Costs(
    "EUR",
    {"default": HALL},
    Target(D(3000), D("0.08"), D("0.25")),
    Holding(30, 120, D(9), D(1), D(90)),
    Selling(card_fee=Fee(D("1.2")), warranty=Fee(D(1), D(200)), tax=SaleTax(D(20), "margin")),
    Winning(2, D("0.3")),
    (CostLine("service", D(600), D(1200)),),
)
FACT = FactAtStake(
    "Engine", "open", "later replacement", "numbers-matching", -0.3, 0.1, 0.4, 0.6, "", "Look.", 10
)


def prospect(median: int = 60_000, deviation: float = 0.15) -> Prospect:
    z = [NormalDist().inv_cdf((k + 0.5) / 200) for k in range(200)]
    amounts = [D(round(median * float(np.exp(deviation * x)))) for x in z]
    return stated_prospect([(a, Fraction(1, 200)) for a in amounts])


def test_the_account_adds_up_to_the_margin_of_the_ladder() -> None:
    sheet = bid_sheet(prospect(), car="car", way=HALL, costs=COSTS)
    assert sheet.answer == "bid"
    assert sheet.walk_away is not None
    rung = next(r for r in sheet.ladder if r.bid == sheet.walk_away)
    assert sum(x.expected for x in sheet.account) == rung.expected_margin
    paid = -sum(x.expected for x in sheet.account if x.part in ("purchase", "work"))
    assert abs(paid - rung.outlay) <= D("0.02")
    assert all(x.low <= x.expected <= x.high for x in sheet.account)
    assert not rung.breaks
    higher = [r for r in sheet.ladder if r.bid > sheet.walk_away]
    assert all(r.breaks for r in higher)
    assert set(sheet.binds) == set(higher[0].breaks)


def test_the_account_adds_up_abroad_too() -> None:
    way = replace(
        HALL,
        currency="GBP",
        rate_low=D("1.12"),
        rate_high=D("1.2"),
        landing=(
            LandingLine("freight", D(900), D(1500)),
            LandingLine("duty", percent=D("2.5"), on="price"),
            LandingLine("import tax", percent=D(20)),
        ),
    )
    sheet = bid_sheet(prospect(), car="car", way=way, costs=COSTS)
    rung = next(r for r in sheet.ladder if r.bid == sheet.walk_away)
    assert sum(x.expected for x in sheet.account) == rung.expected_margin
    freight = next(x for x in sheet.account if x.what == "freight")
    assert freight.low < freight.expected - 250
    assert freight.high > freight.expected + 250
    at_home = bid_sheet(prospect(), car="car", way=HALL, costs=COSTS)
    assert (sheet.currency, sheet.resale_currency) == ("GBP", "EUR")
    assert sheet.walk_away is not None
    assert at_home.walk_away is not None
    assert sheet.walk_away < at_home.walk_away
    assert any(s.what == "exchange rate" for s in sheet.swings)


def test_courses_and_open_facts_move_the_bid_as_they_move_the_resale() -> None:
    stakes = replace(
        prospect(),
        courses=(Course("held", "as it is", 0.0), Course("fall", "as once", -0.2)),
        facts=(FACT, replace(FACT, label="Gearbox", bad=-0.05)),
    )
    sheet = bid_sheet(stakes, car="car", way=HALL, costs=COSTS)
    held, fall = sheet.courses
    assert held.walk_away == sheet.walk_away
    assert fall.walk_away is not None
    assert fall.walk_away < held.walk_away
    assert fall.percent == pytest.approx(-18.13, abs=0.01)
    assert [c.label for c in sheet.checks] == ["Engine", "Gearbox"]
    engine = sheet.checks[0]
    assert engine.bad_bid is not None
    assert engine.good_bid is not None
    assert engine.bad_bid < sheet.walk_away < engine.good_bid


def test_a_sheet_without_what_moves_it_is_the_same_otherwise() -> None:
    stakes = replace(prospect(), courses=(Course("fall", "as once", -0.2),), facts=(FACT,))
    whole = bid_sheet(stakes, car="car", way=HALL, costs=COSTS)
    assert whole.courses
    assert whole.swings
    lean = bid_sheet(stakes, car="car", way=HALL, costs=COSTS, moves=False)
    assert lean == replace(whole, courses=(), swings=())


def test_a_stop_names_days_and_cost_and_the_bid_once_cured() -> None:
    stop = Stop("Title: lien.", 20, D(150), D(250), "EUR")
    sheet = bid_sheet(
        prospect(), car="car", way=HALL, costs=COSTS, preparation=Preparation(stops=(stop,))
    )
    free = bid_sheet(prospect(), car="car", way=HALL, costs=COSTS)
    assert sheet.answer == "no bid until cured"
    assert sheet.walk_away is None
    assert sheet.once_cured is not None
    assert free.walk_away is not None
    assert sheet.once_cured <= free.walk_away
    assert sheet.reasons[0] == (
        "No bid until this is cured (20 days; 150 to 250 EUR). Title: lien."
    )
    assert any(x.what == "cure of the title" and x.expected == -200 for x in sheet.account)


def test_no_bid_makes_sense_is_an_answer_with_a_reason() -> None:
    sheet = bid_sheet(prospect(1500), car="car", way=HALL, costs=COSTS)
    assert (sheet.answer, sheet.walk_away) == ("no bid makes sense", None)
    assert sheet.reasons[0].startswith(
        "No bid makes sense: even at the lowest bid of 250 EUR the margin of"
    )
    assert "misses the target of 3,000 EUR" in sheet.reasons[0]
    cheap = bid_sheet(prospect(1), car="car", way=HALL, costs=COSTS)
    assert cheap.reasons == (
        "No bid makes sense: even the lowest bid costs more than the car can bring.",
    )


def test_thin_evidence_is_an_answer_with_a_reason() -> None:
    thin = replace(prospect(), thin="Only 4 past forecasts can be checked.")
    sheet = bid_sheet(thin, car="car", way=HALL, costs=COSTS)
    assert sheet.answer == "evidence too thin to bid on"
    assert sheet.reasons == ("Only 4 past forecasts can be checked.",)
    assert sheet.ladder == ()


def test_private_offers_have_no_premium_no_increments_and_nobody_to_overbid() -> None:
    private = WayOfBuying("private purchase", "EUR")
    sheet = bid_sheet(prospect(), car="car", way=private, costs=COSTS)
    assert sheet.resale is not None
    assert sheet.resale.winning_percent == 0.0
    assert sheet.walk_away is not None
    assert sheet.walk_away % 1 == 0
    assert sheet.walk_away % 500 != 0
    steps = np.diff([float(r.bid) for r in sheet.ladder])
    assert set(steps) == {200.0}


def test_bids_below_that_break_a_limit_are_named() -> None:
    whole = "on the whole price"
    way = WayOfBuying(
        "hall",
        "EUR",
        increments=(Increment(D(500)),),
        premium=(PremiumSlice(D(15), D(50_000), whole), PremiumSlice(D(10), None, whole)),
    )
    costs = Costs("EUR", {"default": way}, Target(outlay=D(56_000)))
    sheet = bid_sheet(stated_prospect([(D(70_000), Fraction(1))]), car="c", way=way, costs=costs)
    assert sheet.walk_away == 50_500
    assert sheet.binds == ("outlay",)
    assert sheet.broken == ((D(49_000), D(50_000)),)
    assert sheet.reasons[-1].startswith("Bids of 49,000 to 50,000 EUR break a limit although")


def test_what_winning_says_stands_apart() -> None:
    sheet = bid_sheet(prospect(), car="car", way=HALL, costs=COSTS)
    alone = replace(COSTS, winning=Winning())
    free = bid_sheet(prospect(), car="car", way=HALL, costs=alone)
    assert sheet.resale is not None
    assert free.resale is not None
    assert sheet.resale.before_winning == free.resale.mean
    assert sheet.resale.winning_percent == pytest.approx(
        100 * np.expm1(-0.3 * 0.15 * 0.84628), abs=0.05
    )
    assert sheet.resale.mean < free.resale.mean
    assert "2 rivals of equal skill" in sheet.resale.winning_source


def test_work_on_the_car_is_paid_and_the_sheet_is_the_same_every_time() -> None:
    done = Preparation(work=(Work("paint", D(2000), D(4000)),))
    first, again = (
        bid_sheet(prospect(), car="car", way=HALL, costs=COSTS, preparation=done) for _ in range(2)
    )
    assert json.dumps(first.to_dict()) == json.dumps(again.to_dict())
    plain = bid_sheet(prospect(), car="car", way=HALL, costs=COSTS)
    assert first.walk_away is not None
    assert plain.walk_away is not None
    assert first.walk_away <= plain.walk_away - 2000
    assert any(x.what == "paint" and x.expected == -3000 for x in first.account)


def test_json_holds_numbers() -> None:
    found = bid_sheet(prospect(), car="car", way=HALL, costs=COSTS).to_dict()
    assert found["format"] == 1
    assert isinstance(found["walk_away"], int)
    names = {"bid", "outlay", "expected_margin", "margin_p10", "margin_p90", "loss_probability"}
    assert names <= set(found["ladder"][0])
    assert set(found["binds"].split(" and ")) <= {"margin", "risk"}

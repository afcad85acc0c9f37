"""The form of a bid: each slider moves the bid as the bid sheet itself says."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from statistics import NormalDist
from typing import Any

import ipywidgets
import numpy as np
import pytest

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs import (
    CostLine,
    Costs,
    Increment,
    PurchaseTax,
    Target,
    WayOfBuying,
    Winning,
)
from valuation.bidding.from_market import Candidate, market_prospects
from valuation.bidding.prospect import FactAtStake, Prospect, stated_prospect
from valuation.bidding.sheet import Preparation, bid_sheet
from valuation.errors import CostsError
from valuation.forms import BidForm, bid_form
from valuation.forms.asked import Asked
from valuation.records import Car, Work
from valuation.results.bid_parts import Stop, WorkStep
from valuation.results.bid_sheet import BidSheet

D = Decimal
DAY = date(2025, 3, 1)
HALL = WayOfBuying("hall", "EUR", increments=(Increment(D(250)),))
OFFER = WayOfBuying("private purchase", "EUR", tax=PurchaseTax(D(20), "price and premium"))
COSTS = Costs(
    "EUR",
    {"hall": HALL, "private purchase": OFFER},
    Target(D(3000), D("0.08"), D("0.125")),
    winning=Winning(2, D("0.3")),
    work=(CostLine("service", D(600), D("1200.60")),),
)
WORK = Preparation(
    (Work("respray", D(4000), D(6500), zone="paint", mark=8.5),),
    (WorkStep("respray", "Paint", "from 5 to 8.5", D(4000), D(6500)),),
)
FACT = FactAtStake(
    "Engine", "open", "later replacement", "born with it", -0.3, 0.1, 0.4, 0.6, "", "Look.", 10
)
PROSPECT = stated_prospect(
    [
        (D(round(60_000 * float(np.exp(0.15 * NormalDist().inv_cdf((k + 0.5) / 200))))),
         Fraction(1, 200))
        for k in range(200)
    ]
)  # fmt: skip
OPEN = replace(PROSPECT, facts=(FACT,))


def form(
    prospect: Prospect = OPEN,
    preparation: Preparation = WORK,
    costs: Costs = COSTS,
) -> BidForm:
    candidate = Candidate(Car({}, label="a blue car"), prospect, preparation, None)
    return BidForm(candidate, costs, way="hall", as_of=DAY)


def sheet(
    costs: Costs = COSTS, way: WayOfBuying = HALL, preparation: Preparation = WORK
) -> BidSheet:
    return bid_sheet(
        OPEN,
        car="a blue car", way=way, costs=costs, as_of=DAY, preparation=preparation,
    )  # fmt: skip


def html(shown: BidForm) -> str:
    return str(shown._repr_mimebundle_()["text/html"])


def shown_bid(shown: BidForm) -> str:
    return html(shown).split('<dd class="value">')[1].split("<")[0]


def lines(margin: int) -> Costs:
    return replace(COSTS, target=replace(COSTS.target, margin=D(margin), share=D(0)))


def test_it_starts_with_the_cost_settings_to_the_cent() -> None:
    made = form()
    usual = sheet()
    assert made.asked == Asked()
    assert made.sheet == usual
    assert made.margin.value == round(usual.target_margin)
    assert made.margin.value != usual.target_margin
    assert (made.loss_probability.value, made.work.value) == (12.5, 6150)
    assert made.way.value == "hall"
    assert shown_bid(made) == f"{usual.walk_away:,.0f} EUR"
    assert "These are the cost settings as they stand." in html(made)


@pytest.mark.parametrize("margin", [0, 7600, 12_000])
def test_the_margin_is_the_amount_and_no_share(margin: int) -> None:
    made = form()
    made.margin.value = margin
    asked = sheet(lines(margin))
    assert made.sheet == asked
    assert shown_bid(made) == f"{asked.walk_away:,.0f} EUR"
    assert f"Asked here: a margin of at least {margin:,} EUR." in html(made)
    assert f"With the cost settings as they stand: {sheet().walk_away:,.0f} EUR." in html(made)


@pytest.mark.parametrize(("risk", "said"), [(5.0, "5"), (33.3, "33.3"), (0.0, "0"), (40.0, "40")])
def test_the_largest_risk_of_loss_is_in_per_cent(risk: float, said: str) -> None:
    made = form()
    made.margin.value = 0
    made.loss_probability.value = risk
    target = replace(lines(0).target, loss_probability=D(said) / 100)
    asked = sheet(replace(COSTS, target=target))
    assert made.sheet == asked
    assert shown_bid(made) == f"{asked.walk_away:,.0f} EUR"
    assert f"a risk of loss of at most {said}%" in html(made)


def test_work_takes_the_place_of_all_work_and_is_known() -> None:
    made = form()
    made.work.value = 10_000
    line = CostLine("work on the car, as asked", D(10_000), D(10_000))
    step = WorkStep(line.what, "", "Paint from 5 to 8.5", line.low, line.high)
    asked = sheet(replace(COSTS, work=(line,)), preparation=Preparation((), (step,)))
    assert made.sheet == asked
    assert sum(x.expected for x in asked.account if x.part == "work") == -10_000
    assert asked.walk_away < sheet().walk_away


def test_each_answer_moves_the_way_it_must() -> None:
    made = form()
    bids = []
    for margin in (0, 6000, 9000, 15_000):
        made.margin.value = margin
        bids.append(made.sheet.walk_away)
    assert bids == sorted(bids, reverse=True)
    assert bids[-1] < bids[0]


def test_another_way_of_buying_brings_its_own_target_unless_one_was_asked() -> None:
    made = form()
    first = made.margin.value
    made.way.value = "private purchase"
    offer = sheet(way=OFFER)
    assert made.sheet == offer
    # Nobody bids against the firm, so the resale is not corrected, and a share of it is more.
    assert made.margin.value == round(offer.target_margin) > first
    assert made.asked == Asked()
    made.margin.value = 2000
    made.way.value = "hall"
    assert made.margin.value == 2000
    assert made.sheet == sheet(lines(2000))


def test_a_target_beyond_the_end_of_the_slider_moves_the_end() -> None:
    target = replace(COSTS.target, share=D("0.3"))
    costs = replace(COSTS, winning=Winning(percent=D(60)), target=target)
    made = form(costs=costs)
    beyond = round(sheet(costs, way=OFFER).target_margin)
    assert made.margin.max < beyond
    made.way.value = "private purchase"
    assert made.margin.value == beyond <= made.margin.max
    assert made.asked == Asked()


def test_back_to_the_settings() -> None:
    made = form()
    for slider, value in ((made.margin, 0), (made.loss_probability, 3.0), (made.work, 0)):
        slider.value = value
    (back,) = (w for w in made.box.children if isinstance(w, ipywidgets.Button))
    back.click()
    assert made.sheet == sheet()
    assert "These are the cost settings as they stand." in html(made)


def test_it_is_worked_out_once_for_a_move(monkeypatch: pytest.MonkeyPatch) -> None:
    made = form()
    count = 0

    def counted(*given: Any, **options: Any) -> BidSheet:
        nonlocal count
        count += 1
        return bid_sheet(*given, **options)

    monkeypatch.setattr(sys.modules[BidForm.__module__], "bid_sheet", counted)
    made.margin.value = 1000
    assert count == 1
    made.reset()
    assert count == 1


def test_every_widget_is_labelled_and_tells_only_where_a_move_ends() -> None:
    made = form()
    said = {w.description for w in (made.margin, made.loss_probability, made.work, made.way)}
    assert said == {
        "Target margin", "Largest risk of loss", "Work on the car", "Way of buying"
    }  # fmt: skip
    for slider in (made.margin, made.loss_probability, made.work):
        assert slider.continuous_update is False
    rows = [w for w in made.box.children if isinstance(w, ipywidgets.HBox)]
    assert [row.children[1].value for row in rows] == ["EUR", "%", "EUR"]


def test_sections_are_named_apart_from_those_of_the_sheet_beside_it() -> None:
    said = html(form())
    names = ["form-bid", "form-ladder", "form-checks"]
    assert [n for n in names if f'<section id="{n}"' in said] == names
    assert said.index('id="form-bid"') < said.index('id="form-ladder"')
    assert 'id="bid"' not in said
    assert "Internal: not for customers." in said


def test_without_a_front_end_the_bid_is_shown_all_the_same() -> None:
    made = form()
    bundle = made._repr_mimebundle_(include=None, exclude=None)
    assert bundle["text/plain"].startswith("a blue car on 2025-03-01, bought as: hall")
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert "<svg" in bundle["text/html"]
    made.margin.value = 14_000
    asked = sheet(lines(14_000)).walk_away
    assert f"walk-away bid  {asked:,.0f} EUR" in made._repr_mimebundle_()["text/plain"]


def test_thin_evidence_is_said_and_nothing_can_be_moved() -> None:
    made = form(replace(PROSPECT, thin="Only 2 sales of this make are known."))
    assert "the evidence is too thin to bid on. Only 2 sales" in html(made)
    assert "<svg" not in html(made)
    for widget in (made.margin, made.loss_probability, made.work, made.way):
        assert widget.disabled


def test_a_stop_is_shown_with_the_bid_once_cured() -> None:
    stop = Stop("The title is missing.", 30, D(300), D(900), "EUR")
    made = form(preparation=replace(WORK, stops=(stop,)))
    assert made.sheet.once_cured is not None
    assert "Stop: no bid until this is cured." in html(made)
    made.margin.value = 0
    assert "With the cost settings as they stand: No bid until cured." in html(made)


def test_a_market_is_asked_once_and_the_way_fits_the_car(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    costs = replace(COSTS, ways={"default": replace(HALL, name="default"), **COSTS.ways})
    car = replace(sold_cars[0], sale={"channel": "private"})
    made = bid_form(small_market, car, costs)
    (candidate,) = market_prospects(small_market, [car], costs)
    assert made.way.value == "private purchase"
    assert made.sheet == bid_sheet(
        candidate.prospect,
        car=car.name, way=OFFER, costs=costs, as_of=small_market.as_of,
        preparation=candidate.preparation,
    )  # fmt: skip
    assert bid_form(small_market, car, costs, way="Hall").way.value == "hall"
    with pytest.raises(CostsError, match="no such way of buying"):
        bid_form(small_market, car, costs, way="by night")

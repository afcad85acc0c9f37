"""The walk-away bid: worked by hand, held against trying every bid, and never fooled by a cost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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
)
from valuation.bidding.deal import Deal
from valuation.bidding.outlay import bids_up_to, count_bids
from valuation.bidding.search import bids_above, broken_limits, kept_limits, walk_away
from valuation.bidding.spread import Spread
from valuation.errors import CostsError
from valuation.premium import PremiumSlice

D = Decimal
WHOLE = "on the whole price"


def percent(most: int) -> st.SearchStrategy[Decimal]:
    return st.integers(0, most * 4).map(lambda q: D(q) / 4)


@st.composite
def tiers(draw: st.DrawFn) -> tuple[PremiumSlice, ...]:
    applied = draw(st.sampled_from(["by slice", WHOLE]))
    edge = D(draw(st.integers(1, 60)) * 1000)
    first, second = draw(percent(30)), draw(percent(30))
    cap = draw(st.none() | st.integers(500, 9000).map(D))
    return (PremiumSlice(first, edge, applied, cap=cap), PremiumSlice(second, None, applied))


@st.composite
def lines(draw: st.DrawFn) -> CostLine:
    low = draw(st.integers(0, 4000))
    return CostLine("line", D(low), D(low + draw(st.integers(0, 3000))))


@st.composite
def deals(draw: st.DrawFn) -> Deal:
    abroad = draw(st.booleans())
    low = D(draw(st.integers(80, 140))) / 100
    way = WayOfBuying(
        "default",
        "GBP" if abroad else "USD",
        low if abroad else None,
        low + D(draw(st.integers(0, 10))) / 100 if abroad else None,
        (Increment(D(500), D(draw(st.integers(1, 40)) * 500)), Increment(D(1000))),
        draw(tiers()),
        Fee(draw(percent(3))),
        PurchaseTax(draw(percent(25)), draw(st.sampled_from(["premium", "price and premium"]))),
        (draw(lines()),),
        (LandingLine("duty", percent=draw(percent(10)), on="price"),) if abroad else (),
    )
    costs = Costs(
        "USD",
        {"default": way},
        Target(
            D(draw(st.integers(0, 8000))),
            D(draw(st.integers(0, 20))) / 100,
            D(draw(st.integers(0, 60))) / 100,
            draw(st.none() | st.integers(5000, 90_000).map(D)),
        ),
        Holding(20, 20 + draw(st.integers(0, 100)), draw(percent(15)), storage=D(100)),
        Selling(
            card_fee=Fee(draw(percent(3))),
            commission=Fee(draw(percent(8)), minimum=D(200)),
            tax=SaleTax(D(20), draw(st.sampled_from(["none", "margin", "price"]))),
        ),
        work=(draw(lines()),),
    )
    middle = draw(st.integers(5_000, 90_000))
    z = np.linspace(-2.2, 2.2, draw(st.sampled_from([1, 7, 40])))
    cents = np.round(100 * middle * np.exp(0.25 * z)).astype(np.int64)
    return Deal(way, costs, Spread.weighed(cents, np.ones(len(cents), dtype=np.int64)))


@given(deals())
@settings(max_examples=60, deadline=None)
def test_it_is_the_highest_bid_that_breaks_no_limit_and_lower_ones_are_named(deal: Deal) -> None:
    answer = walk_away(deal)
    kept = np.logical_and.reduce(list(kept_limits(deal, deal.bids).values()))
    good = deal.bids[kept].tolist()
    assert answer.bid == (max(good) if good else None)
    assert answer.binds
    if answer.bid is not None:
        assert answer.binds == broken_limits(deal, bids_above(deal, answer.bid))
        lower = [int(b) for b in deal.bids if b < answer.bid]
        named = {b for b in lower if any(a <= b <= z for a, z in answer.broken)}
        assert named == {b for b in lower if b not in good}


@given(deals(), st.data())
@settings(max_examples=60, deadline=None)
def test_a_higher_cost_rate_or_aversion_never_raises_the_bid(
    deal: Deal, data: st.DataObject
) -> None:
    costs, way = deal.costs, deal.way
    more = D(data.draw(st.integers(1, 2000)))
    selling, holding, target = costs.selling, costs.holding, costs.target
    line = costs.work[0]
    worse: dict[str, Any] = {
        "work": replace(costs, work=(replace(line, high=line.high + more),)),
        "both ends": replace(costs, work=(CostLine("w", line.low + more, line.high + more),)),
        "finance": replace(costs, holding=replace(holding, finance=holding.finance + 2)),
        "days": replace(costs, holding=replace(holding, days_high=holding.days_high + 30)),
        "storage": replace(costs, holding=replace(holding, storage=holding.storage + more)),
        "card": replace(
            costs, selling=replace(selling, card_fee=Fee(selling.card_fee.percent + 1))
        ),
        "margin": replace(costs, target=replace(target, margin=target.margin + more)),
        "risk": replace(
            costs, target=replace(target, loss_probability=target.loss_probability / 2)
        ),
        "surcharge": way_changed(costs, replace(way, surcharge=Fee(way.surcharge.percent + 1))),
        "transport": way_changed(
            costs, replace(way, lines=(*way.lines, CostLine("x", more, more)))
        ),
        "premium": way_changed(
            costs,
            replace(way, premium=tuple(replace(t, percent=t.percent + 1) for t in way.premium)),
        ),
    }
    if way.rate_high is not None:
        worse["rate"] = way_changed(costs, replace(way, rate_high=way.rate_high + D("0.1")))
    before = walk_away(deal).bid or 0
    name = data.draw(st.sampled_from(sorted(worse)))
    changed = worse[name]
    after = walk_away(replace(deal, costs=changed, way=changed.ways["default"])).bid or 0
    assert after <= before, name


def way_changed(costs: Costs, way: WayOfBuying) -> Costs:
    return replace(costs, ways={"default": way})


@given(deals())
@settings(max_examples=40, deadline=None)
def test_by_slice_a_higher_bid_never_raises_the_margin(deal: Deal) -> None:
    sliced = tuple(replace(t, applied="by slice") for t in deal.way.premium)
    fair = replace(deal, way=replace(deal.way, premium=sliced))
    margins = fair.expected(fair.bids)[1]
    assert (np.diff(margins) <= 0).all()
    assert not walk_away(fair).broken


def test_tiers_are_exact_at_their_edges(deal_of: Callable[..., Deal]) -> None:
    way = {"premium": (PremiumSlice(D(15), D(50_000), WHOLE), PremiumSlice(D(10), None, WHOLE))}
    deal = deal_of(way, [("90000", Fraction(1))])
    outlays = [deal.rung(b).outlay for b in (4_999_999, 5_000_000, 5_000_001)]
    assert outlays == [5_749_999, 5_750_000, 5_500_001]


def test_loss_and_quantiles_agree_with_the_whole_distribution(
    deal_of: Callable[..., Deal],
) -> None:
    points = [(str(20_000 + 700 * k), Fraction(1, 40)) for k in range(40)]
    way = {"lines": (CostLine("transport", D(300), D(900)),)}
    more = {"work": (CostLine("work", D(0), D(4000)),), "holding": Holding(10, 200, D(12))}
    deal = deal_of(way, points, selling=Selling(tax=SaleTax(D(19), "margin")), **more)
    margins = deal.margins(2_500_000)
    below = int(margins.weights[margins.values < 0].sum())
    rung = deal.rung(2_500_000)
    assert rung.loss == Fraction(below, margins.total)
    assert 0 < rung.loss < 1
    assert abs(rung.margin - float(margins.mean)) <= 1.5
    under = Fraction(int(margins.weights[margins.values < rung.margin_p10].sum()), margins.total)
    assert under < Fraction(1, 10)


def test_without_increments_amounts_are_round_where_they_are_large(
    deal_of: Callable[..., Deal],
) -> None:
    small = deal_of({}, [("90000.40", Fraction(1))])
    large = deal_of({}, [("53000017", Fraction(1))])
    assert walk_away(small).bid == 9_000_000
    assert walk_away(large).bid == 5_300_000_000
    assert len(large.bids) <= 200_000
    assert int(np.diff(large.bids)[0]) == 100_000


def test_increments_that_nobody_uses_are_refused_in_words(deal_of: Callable[..., Deal]) -> None:
    fine = deal_of({"increments": (Increment(D("0.01")),)}, [("90000", Fraction(1))])
    with pytest.raises(CostsError) as error:
        walk_away(fine)
    assert str(error.value) == (
        "costs: the increments of default are too fine: more than 2,000,000 bids would have to be "
        "tried (got: 0.01). State the steps in which bids really move."
    )


def test_a_band_that_ends_below_the_last_step_goes_on_in_the_next() -> None:
    steps = (Increment(D(300), D(1000)), Increment(D(500)))
    assert (bids_up_to(steps, 250_000) // 100).tolist() == [300, 600, 900, 1500, 2000, 2500]
    assert count_bids(steps, 250_000) == 6
    assert bids_up_to(steps, 0).tolist() == []

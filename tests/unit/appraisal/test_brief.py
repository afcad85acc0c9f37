"""What a bid needs to know of a car: the same numbers as a valuation, and never a halt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from valuation.appraisal import batch
from valuation.appraisal.appraise import appraise_all
from valuation.appraisal.brief import Brief, EarlierSale, NoBrief, brief_all
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError
from valuation.models.ranges import GRID
from valuation.money import log_mean
from valuation.records import Car, OpenFact, SalesBook, Value
from valuation.synthetic.market import SyntheticMarket

GT: dict[str, Value] = {
    "make": "Torvane", "model": "GT", "generation": "Series 2", "year": 1966.0, "body": "coupe",
    "engine_size": 3.2, "condition_grade": 70.0, "transmission": "manual",
}  # fmt: skip
UNSEEN = Car(
    {k: v for k, v in GT.items() if k != "transmission"},
    title="1966 Torvane GT",
    not_looked_at=frozenset({"engine_originality", "documents"}),
    open=(OpenFact("transmission", ("manual", "automatic")),),
)
ODD = Car({"make": "Nobody's", "model": "GT", "year": 1966.0})
NEVER_SEEN = Car({**GT, "model": "Never Seen", "year": 1967.0})


def only(market: MarketModel, car: Car, **options: object) -> Brief:
    (found,) = brief_all(market, [car], **options)
    assert isinstance(found, Brief)
    return found


@pytest.fixture
def some(sold_cars: list[Car]) -> list[Car]:
    """Return sold cars, one about which much is open, and two that no sale is like."""
    return [*sold_cars, UNSEEN, ODD, NEVER_SEEN]


@pytest.mark.parametrize("later", [0, 150])
def test_it_has_the_numbers_of_a_valuation(
    small_market: MarketModel, some: list[Car], later: int
) -> None:
    assert small_market.as_of is not None
    day = small_market.as_of + timedelta(later)
    briefs = brief_all(small_market, some, as_of=day)
    for brief, whole in zip(briefs, appraise_all(small_market, some, as_of=day), strict=True):
        assert isinstance(brief, Brief)
        assert brief.name == whole.car
        assert (brief.as_of, brief.currency) == (whole.as_of, whole.currency)
        assert (brief.basis, brief.estimand) == (whole.basis, whole.estimand)
        assert (brief.evidence, brief.checks) == (whole.evidence, whole.checks)
        assert np.exp(brief.central) == pytest.approx(whole.central, abs=0.51)
        assert bool(brief.outside) == whole.evidence.outside
        assert len(brief.offsets) == (len(GRID) if whole.ranges else 0)
        for r in whole.ranges:
            tail = (1.0 - r.level) / 2
            ends = np.exp(brief.base + np.interp([tail, 1.0 - tail], GRID, brief.offsets))
            assert ends == pytest.approx([r.lower, r.upper])


def test_the_base_is_the_fitted_price_and_what_the_closest_sales_add(
    small_market: MarketModel,
) -> None:
    brief = only(small_market, Car(GT))
    (whole,) = appraise_all(small_market, [Car(GT)])
    (added,) = [c.exact for c in whole.contributions if c.attribute == "closest sales"]
    step = added / log_mean(whole.start, whole.central)
    assert brief.base - brief.fitted == pytest.approx(step, rel=1e-3)
    assert abs(step) > 1e-3


def test_a_car_without_year_or_make_stops_no_other(small_market: MarketModel) -> None:
    nameless, gt = Car({"model": "GT"}, title="a red one"), Car(GT)
    first, none, second = brief_all(small_market, [gt, nameless, UNSEEN])
    assert isinstance(first, Brief)
    assert isinstance(second, Brief)
    assert (first.car, second.car) == (gt, UNSEEN)
    assert none == NoBrief(
        nameless,
        "GT",
        "A car can't be valued without year and make: state year and make, or a title that "
        "holds them.",
    )


@pytest.mark.parametrize(
    ("values", "missing"),
    [
        ({"make": "Torvane"}, "year"),
        ({"make": "Torvane", "year": float("nan")}, "year"),
        ({"make": "Torvane", "year": "1966"}, "year"),
        ({"year": 1966.0}, "make"),
        ({"make": " ", "year": 1966.0}, "make"),
    ],
)
def test_a_blank_or_no_number_is_nothing_stated(
    small_market: MarketModel, values: dict[str, Value], missing: str
) -> None:
    (found,) = brief_all(small_market, [Car(values)])
    assert isinstance(found, NoBrief)
    assert found.reason.startswith(f"A car can't be valued without {missing}: state {missing},")


def test_a_year_between_two_is_a_year(small_market: MarketModel) -> None:
    open_year = OpenFact("year", low=1965.0, high=1968.0)
    kept = {k: v for k, v in GT.items() if k != "year"}
    assert only(small_market, Car(kept, open=(open_year,))).name == "Torvane GT"


def test_cars_keep_their_order_over_several_batches(
    small_market: MarketModel, some: list[Car], monkeypatch: pytest.MonkeyPatch
) -> None:
    cars = [*some[:5], Car({"year": 1966.0}), *some[5:]]
    together = brief_all(small_market, cars)
    monkeypatch.setattr(batch, "TOGETHER", 4)
    apart = brief_all(small_market, cars)
    assert [b.car for b in apart] == cars
    for one, other in zip(together, apart, strict=True):
        if isinstance(one, NoBrief) or isinstance(other, NoBrief):
            assert one == other
        else:
            assert (one.central, one.base) == (other.central, other.base)
            assert one.evidence == other.evidence
            assert one.offsets.tolist() == other.offsets.tolist()


def test_no_cars_give_no_briefs(small_market: MarketModel) -> None:
    assert brief_all(small_market, []) == []


def test_outside_the_evidence_there_is_a_reason_and_no_distribution(
    small_market: MarketModel,
) -> None:
    brief = only(small_market, ODD)
    assert brief.outside == ("No sale of this make is in the evidence",)
    assert brief.evidence.outside
    assert len(brief.offsets) == 0


def test_the_sale_asked_for_stands_in_place_of_the_cars_own(small_market: MarketModel) -> None:
    channel = next(iter(small_market.fitted.spec.seen_levels["channel"]))
    own = Car(GT, sale={"venue": "a house", "basis": "asking price"})
    sale = {"channel": channel, "basis": "hammer price plus buyer's premium"}
    asked = only(small_market, own, sale=sale)
    assert asked.basis == "hammer price plus buyer's premium"
    assert asked.car is own
    assert asked.central == only(small_market, replace(own, sale=sale)).central
    assert asked.central != only(small_market, own).central


def test_a_sale_has_no_other_facts(small_market: MarketModel) -> None:
    with pytest.raises(SettingsError) as error:
        brief_all(small_market, [Car(GT)], sale={"house": "x", "colour": "red", "channel": "y"})
    assert str(error.value) == (
        "sale: these are no facts of a sale (got: colour, house). Name only channel, venue, "
        "region, basis, outcome, reserve."
    )


def test_earlier_sales_of_the_very_car_are_named(small_market: MarketModel) -> None:
    told = small_market.frame[small_market.frame["chassis"].notna()]
    twice = told["chassis"].value_counts().index[0]
    rows = told[told["chassis"] == twice]
    assert len(rows) > 1
    brief = only(small_market, Car(GT, chassis=f" {str(twice).lower()}  "))
    assert brief.earlier == tuple(
        EarlierSale(row["sale_date"].date(), row["price"], "EUR", row["sale_id"], row["outcome"])
        for _, row in rows.sort_values("sale_date", kind="stable").iterrows()
    )
    assert only(small_market, Car(GT)).earlier == ()
    assert only(small_market, Car(GT, chassis="never seen")).earlier == ()


def test_an_undated_list_has_no_day(
    small_world: SyntheticMarket, undate: Callable[[SalesBook], SalesBook], lean: ModelSettings
) -> None:
    market = fit_market(undate(small_world.book()), settings=lean)
    chassis = market.frame["chassis"].dropna().iloc[0]
    brief = only(market, Car(GT, chassis=chassis))
    assert brief.as_of is None
    assert {e.sale_date for e in brief.earlier} == {None}
    assert " on " not in brief.summary()
    with pytest.raises(SettingsError, match="an undated list has no day"):
        brief_all(market, [Car(GT)], as_of=date(2024, 1, 1))


def test_it_says_itself_in_a_line_and_in_plain_values(small_market: MarketModel) -> None:
    brief = only(small_market, UNSEEN)
    (whole,) = appraise_all(small_market, [UNSEEN])
    shown = brief.summary()
    assert shown.startswith(f"1966 Torvane GT on 2024-12-30: {whole.central:,} EUR (market bid")
    assert f"evidence {whole.evidence.strength}, {whole.evidence.sales} sales" in shown
    plain = brief.to_dict()
    assert plain["central"] == whole.central
    assert plain["as_of"] == "2024-12-30"
    assert len(plain["offsets"]) == len(GRID)
    assert [c["attribute"] for c in plain["checks"]] == [c.attribute for c in whole.checks]
    assert plain["evidence"]["warnings"] == list(whole.evidence.warnings)


def test_the_facts_are_those_of_the_checks(small_market: MarketModel) -> None:
    brief = only(small_market, UNSEEN)
    named = {f.fact.attribute for f in brief.facts}
    assert named == {"engine_originality", "documents", "transmission"}
    assert named.issuperset(c.attribute for c in brief.checks)
    for fact in brief.facts:
        assert float(fact.shares @ fact.steps) == pytest.approx(0.0, abs=2e-6)

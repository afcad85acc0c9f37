"""What the evidence has not seen: a model, a level, nearly everything."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.contrast import contrast
from valuation.appraisal.market import MarketModel
from valuation.records import Car
from valuation.results.valuation import PriceRange

LAST = date(2024, 12, 30)
"""Day of the newest sale of the small market."""
GT = {"make": "Torvane", "model": "GT", "generation": "Series 2", "year": 1966.0}


def test_an_unseen_model_starts_from_its_make(small_market: MarketModel) -> None:
    valuation = appraise(
        small_market, Car({"make": "Torvane", "model": "Farthingale", "year": 1966.0})
    )
    sales = int((small_market.frame["make"] == "Torvane").sum())
    assert valuation.start_label == f"Typical Torvane of any model ({sales} sales)"
    e = valuation.evidence
    assert (e.level, e.sales, e.strength, e.outside) == ("make", sales, "thin", False)
    assert e.warnings[0] == "No sale of this model is in the evidence: its make speaks for it."
    assert isinstance(valuation.range, PriceRange)
    for sale in valuation.comparables:
        row = small_market.frame.loc[small_market.frame["sale_id"] == sale.sale_id].iloc[0]
        assert row["make"] == "Torvane"


def test_a_seen_model_starts_from_its_line(small_market: MarketModel) -> None:
    valuation = appraise(small_market, Car(GT))
    frame = small_market.frame
    same = (frame["model"] == "GT") & (frame["generation"] == "Series 2")
    assert valuation.start_label == f"Typical Torvane GT Series 2 ({same.sum()} sales)"
    assert valuation.evidence.level == "model line"
    assert valuation.evidence.sales == same.sum()


def test_year_and_make_alone_are_enough(small_market: MarketModel) -> None:
    valuation = appraise(small_market, Car({"make": "Torvane", "year": 1966.0}))
    assert isinstance(valuation.range, PriceRange)
    assert valuation.evidence.level == "make"
    assert valuation.car == "1966 Torvane"
    assert valuation.comparables


def test_a_make_is_the_same_in_any_case_of_its_letters(small_market: MarketModel) -> None:
    one = appraise(small_market, Car(GT))
    other = appraise(small_market, Car({**GT, "make": "TORVANE", "model": "gt"}))
    assert one.central == other.central


@pytest.mark.parametrize(
    ("name", "word", "label"),
    [("colour", "puce", "Colour"), ("restorer", "Nobody & Sons", "Restorer")],
)
def test_an_unseen_level_is_said(
    small_market: MarketModel, name: str, word: str, label: str
) -> None:
    valuation = appraise(small_market, Car({**GT, name: word}))
    assert (
        f'{label} "{word.casefold()}" is in no sale, so it moves nothing: its model line speaks '
        "for it."
    ) in valuation.evidence.warnings


@pytest.mark.parametrize("name", ["colour", "body", "engine_layout", "interior_colour"])
def test_an_unseen_level_moves_nothing(small_market: MarketModel, name: str) -> None:
    unsaid = appraise(small_market, Car(GT))
    odd = appraise(small_market, Car({**GT, name: "never heard of"}))
    assert odd.central == unsaid.central
    day = small_market.fitted.last_day
    two = [Car({**GT, name: word}) for word in ("never heard of", "nor of this")]
    assert contrast(small_market.fitted, *two, day=day).effect == 0.0


@pytest.mark.parametrize("make", ["Tarquelle", "Vessamir", "Ystrix", "Pellandro", "Gorlimar"])
def test_what_a_make_always_has_does_not_lead_away_from_it(
    small_market: MarketModel, make: str
) -> None:
    # These makes have one model line each here, so engine and layout are one with the make.
    year = float(small_market.frame.loc[small_market.frame["make"] == make, "year"].median())
    valuation = appraise(small_market, Car({"make": make, "model": "Never Seen", "year": year}))
    moved = [c for c in valuation.contributions if c.attribute in ("engine_layout", "engine_size")]
    assert sum(abs(c.exact) for c in moved) < 0.1 * valuation.start
    assert 0.4 < valuation.central / valuation.start < 1.2


def test_the_age_of_the_evidence_is_said(small_market: MarketModel) -> None:
    assert appraise(small_market, Car(GT), as_of=LAST + timedelta(60)).evidence.warnings == ()
    assert appraise(small_market, Car(GT), as_of=LAST + timedelta(61)).evidence.warnings == (
        "The newest sale is 61 days older than the day of the valuation: the market is taken as "
        "unchanged since, and the range is wider for it.",
    )
    assert appraise(small_market, Car(GT), as_of=LAST - timedelta(1)).evidence.warnings == (
        "The evidence holds sales made after the day of the valuation.",
    )


def test_a_clouded_title_and_remarks_are_said(small_market: MarketModel) -> None:
    car = Car({**GT, "title_status": "lien"}, notes=("Body is read from the title: coupe",))
    assert appraise(small_market, car).evidence.warnings == (
        "More assumption than evidence: Title. The sales say little about it; see the share of "
        "evidence of each line.",
        "Title: lien. Cure it before any money moves; some states of the title stop a purchase.",
        "Body is read from the title: coupe.",
    )


def test_what_stops_the_purchase_is_said_once(small_market: MarketModel) -> None:
    told = ("Two numbers differ.", "No key.")
    car = Car(GT, notes=(told[0],), stops=told)
    assert appraise(small_market, car).evidence.warnings == told


def test_what_rests_on_assumption_is_said(small_market: MarketModel) -> None:
    branded = (small_market.frame["title_status"] == "number differs").sum()
    assert branded < 8  # too few to say anything
    valuation = appraise(small_market, Car({**GT, "title_status": "number differs"}))
    line = next(c for c in valuation.contributions if c.attribute == "title_status")
    assert line.evidence_share < 0.3
    assert line.amount < -0.1 * valuation.central
    assert (
        "More assumption than evidence: Title. The sales say little about it; see the share of "
        "evidence of each line."
    ) in valuation.evidence.warnings


def test_the_cautions_go_with_every_valuation(small_market: MarketModel) -> None:
    assert appraise(small_market, Car(GT)).cautions == (
        "An estimate from past sales is not an appraisal by a licensed or certified appraiser; "
        "insurance, lending, estate, divorce, donation and tax uses need one under local law.",
        "It is no guarantee of roadworthiness, authenticity or title. Have brakes, steering, "
        "tyres, fuel lines and seat belts passed by a qualified mechanic before the car is driven.",
        "Odometer, title and number-stamping law differs by place: check locally, and never "
        "restamp or alter a number.",
    )


def test_a_car_whose_model_is_not_named_is_told_so(small_market: MarketModel) -> None:
    warnings = appraise(small_market, Car({"year": 1967.0, "make": GT["make"]})).evidence.warnings
    assert "The model is not named: the make speaks for it." in warnings
    assert "No sale of this model is in the evidence: its make speaks for it." not in warnings

from __future__ import annotations

from datetime import date

import pytest

from valuation.appraisal.wordings import car_cells, label_of, sale_title, say
from valuation.records import Car

CAR = Car(
    {
        "make": "Torvane",
        "model": "GT",
        "year": 1967.0,
        "engine_size": 2.6,
        "mileage": 48_200.0,
        "modifications": ("brakes/reversible/later", "paint/permanent/period"),
        "documents": (),
    },
    not_looked_at=frozenset({"engine_originality", "condition_grade"}),
    cannot_be_told=frozenset({"colour_origin"}),
)
CELLS = car_cells(CAR, date(2025, 9, 12), {"channel": "live auction", "venue": ""})


@pytest.mark.parametrize(
    ("attribute", "said"),
    [
        ("year", "1967"),
        ("engine_size", "2.6 litres"),
        ("mileage", "48,200 miles"),
        ("modifications", "brakes (reversible, later); paint (permanent, period)"),
        ("documents", "none"),
        ("engine_originality", "not looked at"),
        ("condition_grade", "not looked at"),
        ("colour_origin", "cannot be told"),
        ("body", "not stated"),
        ("market", "2025-09-12"),
        ("model", "Torvane GT"),
        ("channel", "live auction"),
        ("venue", ""),
        ("channel and year", "live auction, 1967"),
        ("specification", "2.6 litres"),
    ],
)
def test_values_are_said_in_words(attribute: str, said: str) -> None:
    assert say(attribute, CELLS) == said


def test_labels_are_for_people() -> None:
    assert label_of("engine_size") == "Engine size"
    assert label_of("channel and basis") == "Channel and Price basis"
    assert label_of("correction") == "Forecast correction"
    assert label_of("unheard of") == "unheard of"


def test_a_sale_without_a_title_is_named_by_what_is_known() -> None:
    assert sale_title({"title": "1967 Torvane GT"}) == "1967 Torvane GT"
    known = {"year": 1967.0, "make": "Torvane", "model": "GT", "variant": "High output"}
    assert sale_title(known) == "1967 Torvane GT High output"
    assert sale_title({}) == "sale"

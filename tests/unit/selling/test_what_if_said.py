"""What is said beside an answer: what to mind, the sales behind it, and nothing private."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace

import pytest
from asking import asked, busy_car

from valuation.appraisal.market import MarketModel
from valuation.records import Car
from valuation.results.valuation import NoRange
from valuation.selling.questions import default_questions
from valuation.selling.what_if import what_ifs


@pytest.fixture(scope="module")
def car(small_market: MarketModel) -> Car:
    """Return a car of the model line with most sales, well described."""
    return busy_car(small_market)


def test_to_state_what_was_silent_is_knowledge(small_market: MarketModel, car: Car) -> None:
    silent = replace(car, values={n: v for n, v in car.values.items() if n != "engine_originality"})
    answer = asked(small_market, silent, "engine_originality=numbers-matching")
    (said,) = [w for w in answer.warnings if "knowledge, not work" in w]
    assert "To state what such cars usually state would by itself make" in said
    later = asked(small_market, silent, "engine_originality=later replacement")
    part = said.split("make ")[1].split(" of the change")[0]
    assert part.startswith("+")
    assert later.effect < answer.effect


def test_an_engine_does_not_come_back_by_work(small_market: MarketModel, car: Car) -> None:
    back = asked(small_market, car, "engine_originality=numbers-matching")
    assert any(w.startswith("No work brings back the engine") for w in back.warnings)
    lost = asked(
        small_market,
        replace(car, values={**car.values, "engine_originality": "numbers-matching"}),
        "engine_originality=later replacement",
    )
    assert not any("No work" in w for w in lost.warnings)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("mileage=100", "an odometer is never turned back"),
        ("mileage=1900000", "is outside what was seen"),
        ("colour_origin=as it left the works", "Only if data plate or build record shows"),
        ("documents=+ownership chain", "Papers are found and not made"),
        ("title_status=clear", "A title is cured by papers"),
        ("restorer=Nobody & Sons", "is in no sale, so its model line speaks for it"),
        ("engine_size=6.9", "no sale of this model line has 6.9 litres"),
        ("originality_score=95", "Originality is what a car was born with"),
    ],
)
def test_what_must_be_said_is_said(
    small_market: MarketModel, car: Car, text: str, said: str
) -> None:
    answer = asked(small_market, car, text)
    assert any(said in w for w in answer.warnings), answer.warnings


def test_a_size_that_the_model_line_has_rests_on_it(small_market: MarketModel, car: Car) -> None:
    frame = small_market.frame
    line = frame[(frame["make"] == car.values["make"]) & (frame["model"] == car.values["model"])]
    size = float(line["engine_size"].dropna().iloc[0])
    answer = asked(small_market, car, f"engine_size={size}")
    assert not any("no sale of this model line has" in w for w in answer.warnings)


def test_a_mileage_that_nobody_believes_moves_nothing(small_market: MarketModel, car: Car) -> None:
    doubted = replace(car, values={**car.values, "mileage_status": "unknown"})
    answer = asked(small_market, doubted, "mileage=+10000")
    assert answer.change == 0
    assert answer.steps == ()
    assert any("counts for nothing" in w for w in answer.warnings)
    assert "Nothing the sales show tells the two apart" in answer.summary()


def test_sides_count_sales_and_name_some(small_market: MarketModel, car: Car) -> None:
    answer = asked(small_market, car, "engine_originality=numbers-matching")
    frame = small_market.frame
    line = (
        frame[["make", "model", "generation"]]
        == [car.values[n] for n in ("make", "model", "generation")]
    ).all(axis=1)
    for side, value in zip(answer.sides, ("later replacement", "numbers-matching"), strict=True):
        rows = frame["engine_originality"] == value
        assert side.value == value
        assert side.sales == int(rows.sum())
        assert side.of_model_line == int((rows & line).sum())
        assert 1 <= len(side.examples) <= 3
        assert all("quarter" in e for e in side.examples)


def test_the_car_itself_is_no_example(
    small_market: MarketModel, as_car: Callable[..., Car]
) -> None:
    frame = small_market.frame
    row = frame[(frame["documents"].map(bool)) & frame["chassis"].notna()].iloc[-1]
    car = as_car(row)
    answer = asked(small_market, car, "documents=none")
    before = answer.sides[0]
    assert before.sales >= 1
    others = frame[frame["chassis"] != row["chassis"]]
    title = " ".join(
        str(v) for v in (int(row["year"]), row["make"], row["model"], row["variant"]) if v
    )
    if not others["title"].str.contains(title, regex=False).any():
        assert not any(e.startswith(title) for e in before.examples)


def test_a_car_outside_what_was_seen_gets_no_range(small_market: MarketModel, car: Car) -> None:
    answer = asked(small_market, car, "engine_size=25")
    assert isinstance(answer.range_after, NoRange)
    assert any("lies outside the evidence" in w for w in answer.warnings)


def test_nothing_of_the_advert_and_the_firm_is_told(small_market: MarketModel, car: Car) -> None:
    secret = replace(
        car,
        label="Barn find of Mr Osk",
        title="Cheap one, seller desperate",
        description="Ask for Osk. Matching numbers.",
        chassis="XK77-31990",
        notes=("Bought at 11,111",),
        asking=12_345.0,
        sale={"venue": "Harbour Rooms", "channel": "live auction"},
        stops=("Two numbers.",),
    )
    found = what_ifs(small_market, secret, default_questions())
    told = json.dumps(found.to_dict()) + found.summary()
    for word in ("Osk", "desperate", "XK77", "11,111", "12345", "12,345", "Harbour", "Two numbers"):
        assert word not in told
    assert found.to_dict()["format"] == 1
    for title in small_market.frame["title"].dropna().unique()[:400]:
        assert title not in told or len(title) < 25

"""Hand-made sheets for customers, of an invented car: with everything in them, and with little."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from PIL import Image

from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import (
    AdjustedSale,
    AskingPrice,
    CarFact,
    CarPicture,
    GridSale,
    GridStep,
    LineCourse,
    LineMonth,
    LineQuarter,
    NoCourse,
    OpenQuestion,
    PriceLine,
    SheetEvidence,
)
from valuation.results.valuation import NoRange, PriceRange

__all__ = ["ALL", "bare", "full", "offers", "photograph", "without_asking"]

DAY = date(2025, 9, 12)

_LINES = (
    PriceLine("body", "Body", "convertible", 9_450, 7_900, 11_020, 214, 0.97),
    PriceLine("condition_grade", "Condition", "81 of 100 points", 6_120, 3_300, 8_900, 96, 0.71),
    PriceLine("engine_originality", "Engine, original or replaced", "later replacement",
              -5_240, -8_100, -2_300, 41, 0.46),
    PriceLine("sale", "Way of selling", "by a dealer instead of at a live auction", 2_310, -900,
              3_700, 188, 0.0),
    PriceLine("silent", "What is not stated of this car", "colour, history", -905, -1_700, -100,
              260, 0.88),
    PriceLine("smaller", "Smaller differences together", "3 lines", 64, -210, 338, 305, None),
    PriceLine("closest sales", "What the closest sales brought beyond that",
              "more than the lines above explain", 1_133, None, None, 6, 1.0),
    PriceLine("correction", "What we learned from our past estimates",
              "estimates of past sales, held against what was paid", -233, None, None, 410, 1.0),
)  # fmt: skip

_SALES = (
    ("1967 Torvane GT convertible", "17 May 2025", "sold by a dealer, the price paid", 51_500,
     False, (("17 May 2025", 620), ("78 of 100 points", 780), ("manual", -2_540), ("", -37))),
    ("1966 Torvane GT convertible", "4th quarter 2024", "sold by us, price rounded", 58_000, True,
     (("4th quarter 2024", 1_180), ("93 of 100 points", -3_910), ("automatic", 0), ("", 205))),
    ("1968 Torvane GT coupe", "29 Mar 2025", "sold at a live auction, the hammer price plus "
     "buyer's premium", 34_800, False,
     (("29 Mar 2025", 510), ("58 of 100 points", 6_890), ("not stated", -1_130), ("", 9_260))),
    ("1967 Torvane GT convertible", "8 Jun 2024", "sold privately, the price paid", 41_000, False,
     (("8 Jun 2024", 1_640), ("81 of 100 points", 0), ("manual", -2_050), ("", 61))),
)  # fmt: skip

_ROWS = (
    ("market", "Market since then", "12 Sep 2025"),
    ("condition_grade", "Condition", "81 of 100 points"),
    ("transmission", "Transmission", "automatic"),
    ("smaller", "Smaller differences together", ""),
)


def _grid() -> tuple[GridSale, ...]:
    made = []
    for number, (title, when, how, price, ours, cells) in enumerate(_SALES, start=1):
        steps = tuple(
            GridStep(*row[:2], theirs, row[2], amount)
            for row, (theirs, amount) in zip(_ROWS, cells, strict=True)
        )
        adjusted = price + sum(s.amount for s in steps)
        net = 100.0 * (adjusted - price) / price
        gross = 100.0 * sum(abs(s.amount) for s in steps) / price
        sale = GridSale(number, title, when, how, price, adjusted, net, gross, ours, steps)
        made.append(sale)
    return tuple(made)


def _points(grid: Sequence[GridSale]) -> tuple[AdjustedSale, ...]:
    days = (date(2025, 5, 17), date(2024, 11, 16), date(2025, 3, 29), date(2024, 6, 8))
    shown = [
        AdjustedSale(day, s.adjusted, s.ours, s.number) for day, s in zip(days, grid, strict=True)
    ]
    others = [(date(2023, 2, 1), 44_850), (date(2023, 9, 20), 61_002), (date(2024, 1, 9), 52_100)]
    plain = [AdjustedSale(day, amount, False, 0) for day, amount in others]
    return tuple(sorted([*shown, *plain], key=lambda p: p.on or date.min))


def _course() -> LineCourse:
    months = [f"{2023 + i // 12}-{i % 12 + 1:02d}" for i in range(8, 33)]
    amounts = [39_100 + 70 * i for i in range(len(months))]
    halves = [20 * (len(months) - 1 - i) for i in range(len(months))]
    return LineCourse(
        "Torvane GT",
        tuple(
            LineMonth(m, a, a - h, a + h + h // 9)
            for m, a, h in zip(months, amounts, halves, strict=True)
        ),
        tuple(LineQuarter(f"{2023 + q // 4}-Q{q % 4 + 1}", (7 * q) % 5) for q in range(2, 11)),
    )


def photograph() -> CarPicture:
    """Return a small picture of nothing in particular."""
    out = io.BytesIO()
    Image.linear_gradient("L").resize((60, 40)).convert("RGB").save(out, "JPEG", quality=60)
    return CarPicture(out.getvalue(), 60, 40)


def full() -> CustomerSheet:
    """Return a sheet with everything in it."""
    grid, start = _grid(), 40_780
    points = _points(grid)
    central = start + sum(line.amount for line in _LINES)
    asked = 55_900
    lower = sum(p.adjusted < asked for p in points)
    return CustomerSheet(
        heading="1967 Torvane GT convertible",
        basics=(
            CarFact("Engine", "2.6 litres, inline-6", "checked"),
            CarFact("Mileage", "61,400 miles, as stated", "stated"),
            CarFact("Colour", "red", "recorded"),
        ),
        picture=photograph(),
        as_of=DAY,
        currency="EUR",
        meaning="sold by a dealer, the price paid",
        offers=False,
        central=central,
        range=PriceRange(0.8, 44_120.0, 64_390.0),
        asking=AskingPrice(asked, asked - central, True, lower, len(points) - lower, 0),
        start_label="Typical Torvane GT (214 sales), sold at a live auction",
        start=start,
        lines=_LINES,
        points=points,
        far=2,
        sales=grid,
        course=_course(),
        papers=(
            CarFact("Build record", "with the car", "checked"),
            CarFact("Bills", "said to be with the car, not seen", "stated"),
            CarFact("Ownership chain", "not settled", "unknown"),
        ),
        findings=(
            CarFact("Condition", "81 of 100 points (sharp)", "checked"),
            CarFact("Papers of ownership", "clear", "recorded"),
        ),
        questions=(
            OpenQuestion("Engine, original or replaced", "contradicted",
                         "date-correct or correct type", "numbers-matching", 46_100, 54_350),
            OpenQuestion("Restoration", "open", "older restoration or fresh restoration", "",
                         51_000, 55_005),
            OpenQuestion("Documents", "not looked at", "", "", None, None),
        ),
        evidence=SheetEvidence("fair", "model line", 214, 5_749, False),
        notes=("The highest bid on a car that did not sell counts as what the market bid for it.",),
        version="2025-09-12-1a2b3c4d",
        cautions=("An estimate from past sales is not an appraisal.",),
    )  # fmt: skip


def without_asking() -> CustomerSheet:
    """Return the same without an asking price and a picture."""
    return replace(full(), asking=None, picture=None)


def bare() -> CustomerSheet:
    """Return a sheet of a car that the evidence can't carry, from an undated list."""
    return replace(
        full(),
        basics=(),
        picture=None,
        as_of=None,
        range=NoRange("Only 2 sales of this make are known."),
        asking=AskingPrice(55_900, 55_900 - full().central, None, 0, 0, 0),
        points=(),
        far=0,
        sales=(),
        course=NoCourse("The sales have no dates, so the market over time can't be shown."),
        papers=(),
        findings=(),
        questions=(),
        evidence=SheetEvidence("none", "market", 2, 2, True),
        notes=(),
        version="",
    )


def offers() -> CustomerSheet:
    """Return a sheet whose evidence is of asking prices."""
    sheet = full()
    evidence = replace(sheet.evidence, level="make", sales=1)
    return replace(
        sheet, offers=True, meaning="offered by a dealer, the price asked", evidence=evidence, far=7
    )


ALL = {"full": full, "without asking": without_asking, "bare": bare, "offers": offers}
"""Every sheet by its name."""

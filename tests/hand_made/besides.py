"""Hand-made comparisons of two invented cars."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from valuation.results.beside import Beside
from valuation.results.beside_parts import (
    BesideCar,
    BesidePrice,
    DifferenceLine,
    LeftOut,
    PriceGap,
    WorthTelling,
)
from valuation.results.valuation import NoRange, PriceRange

OURS = BesideCar(
    "1968 Torvane GT coupe", 62_000, PriceRange(0.8, 51_300, 75_400), "fair", "model line", 64
)
THEIRS = BesideCar(
    "1969 Torvane GT convertible", 54_500, PriceRange(0.8, 40_100, 71_900), "thin", "model line", 64
)

LINES = (
    DifferenceLine("condition_grade", "Condition", "not stated", "78 of 100 points", 9_400, 9_400.3,
                   6_100.0, 12_700.0, 0.81),
    DifferenceLine("body", "Body", "convertible", "coupe", -4_900, -4_900.2, -6_300.0, -3_500.0,
                   1.0),
    DifferenceLine("documents", "Documents", "none", "bills; build record", 2_150, 2_149.9, 900.0,
                   3_400.0, 0.0),
    DifferenceLine("smaller", "Smaller differences together", "", "", 310, 310.2, -700.0, 1_320.0,
                   0.6),
    DifferenceLine("closest sales", "What the closest sales brought beyond that", "+0.4%", "+1.3%",
                   540, 539.8, None, None, None),
)  # fmt: skip

LEFT_OUT = (
    LeftOut("condition_grade", "Condition", "78 of 100 points", 54_500, 64_700, 41_200,
            "31 points or less", 0.13, "How is it, zone by zone?", "Mark every zone."),
    LeftOut("restorer", "Restorer", "Weir & Daughters", 54_500, 55_900, None, "", None,
            "Who restored it, and may I call them?", "Ask the restorer."),
)  # fmt: skip


def beside_of(**changes: object) -> Beside:
    """Return the example with some fields changed."""
    example = Beside(
        as_of=date(2025, 9, 12),
        currency="EUR",
        meaning="sold by a dealer, the price paid",
        ours=OURS,
        theirs=THEIRS,
        lines=LINES,
        lower=4_100,
        upper=10_900,
        our_price=BesidePrice(61_500, "asking"),
        their_price=BesidePrice(49_000, "sold", date(2024, 3, 4), 700, 1_900),
        gap=PriceGap(61_500 - 51_600, 7_500, 4_100, 10_900),
        left_out=LEFT_OUT,
        all_as_ours=66_100,
        told=WorthTelling("open", 0.58),
        notes=("Both cars are valued for the same day.",),
        cautions=("An estimate is not an appraisal.",),
    )
    return replace(example, **changes)


def without_prices() -> Beside:
    """Return two cars of which no price is known, the other outside the evidence."""
    outside = replace(
        THEIRS,
        range=NoRange("The year 1969 lies outside the evidence. A range would pretend to know."),
        strength="none",
        level="market",
    )
    return beside_of(
        as_of=None,
        theirs=outside,
        our_price=None,
        their_price=None,
        gap=None,
        told=None,
        left_out=(),
    )

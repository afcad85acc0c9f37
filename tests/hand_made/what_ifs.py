"""Hand-made answers to what-if questions about an invented car."""

from __future__ import annotations

from datetime import date

from valuation.results.valuation import NoRange, PriceRange
from valuation.results.what_if import TOGETHER, WhatIf, WhatIfs
from valuation.results.what_if_parts import (
    AskedCar,
    AttributeStep,
    ChangedFact,
    NotAsked,
    PayBack,
    StatedSide,
)

OF = AskedCar(
    "1968 Torvane <GT> coupe",
    date(2025, 9, 12),
    "EUR",
    "price paid",
    "price if sold",
    "dealer",
    "sold by a dealer, the price paid",
    50_000,
    PriceRange(0.8, 41_000.0, 61_000.0),
)

ENGINE = WhatIf(
    name="original engine",
    ask="What if it had the engine it was born with?",
    of=OF,
    facts=(
        ChangedFact(
            "engine_originality", "Engine originality", "later replacement", "numbers-matching"
        ),
    ),
    after=56_000,
    lower=2_400.0,
    upper=9_900.0,
    effect=0.1133,
    sd=0.04,
    range_after=PriceRange(0.8, 45_900.0, 68_300.0),
    evidence_share=0.62,
    steps=(
        AttributeStep("engine_originality", "Engine originality", 6_000, 2_400.0, 9_900.0, 0.62),
    ),
    sides=(
        StatedSide(
            "engine_originality", "Engine originality", "as it is", "later replacement", 41, 3,
            ("1967 Torvane GT coupe (2025, quarter 1)",),
        ),
        StatedSide(
            "engine_originality", "Engine originality", "as it would be", "numbers-matching", 1, 0,
            (),
        ),
    ),
    warnings=("Only one sale is as it would be in engine originality (numbers-matching).",),
    notes=("A note & more.",),
    cautions=("No appraisal.",),
)  # fmt: skip

COLOUR = WhatIf(
    name="first colour",
    ask="What if it wore the colour it left the works in?",
    of=OF,
    facts=(ChangedFact("colour_origin", "Colour origin", "not stated", "as it left the works"),),
    after=50_400,
    lower=-300.0,
    upper=1_100.0,
    effect=0.008,
    sd=0.0085,
    range_after=NoRange("It lies outside."),
    evidence_share=0.0,
    steps=(AttributeStep("colour_origin", "Colour origin", 400, -300.0, 1_100.0, 0.0),),
)

SAME = WhatIf(
    name="better brakes",
    ask="What if it had better brakes?",
    of=OF,
    facts=(),
    after=50_000,
    lower=0.0,
    upper=0.0,
    effect=0.0,
    sd=0.0,
    range_after=OF.range,
    evidence_share=0.0,
)

BOTH = WhatIf(
    name=TOGETHER,
    ask="What if all of it were so together?",
    of=OF,
    facts=(*ENGINE.facts, *COLOUR.facts),
    after=56_450,
    lower=2_700.0,
    upper=10_400.0,
    effect=0.1213,
    sd=0.041,
    range_after=PriceRange(0.8, 46_200.0, 68_900.0),
    evidence_share=0.58,
    steps=(
        AttributeStep("engine_originality", "Engine originality", 6_020, 2_400.0, 9_900.0, 0.62),
        AttributeStep("colour_origin", "Colour origin", 430, -300.0, 1_100.0, 0.0),
    ),
)

PAID = PayBack(2_000.0, 4_000.0, 3_000, -800.0, 7_100.0, 0.913)


def many() -> WhatIfs:
    """Return three questions, all together, and one that can't be asked."""
    refused = NotAsked("more miles", "What if it had run more?", "Today's is not settled.")
    return WhatIfs(OF, (ENGINE, COLOUR, SAME), BOTH, "", (refused,), ("No appraisal.",))

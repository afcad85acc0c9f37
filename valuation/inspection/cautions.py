"""Cautions that go with an inspection, wherever its results are shown."""

from __future__ import annotations

__all__ = [
    "APPEARS_ORIGINAL",
    "LOCAL_LAW",
    "NO_ROADWORTHINESS_TEST",
    "NUMBER_LAW",
    "ORIGINALITY_CAUTIONS",
    "SAFETY",
    "VARIANT_AND_ENGINE",
]

NO_ROADWORTHINESS_TEST = (
    "This sheet is no roadworthiness test: have brakes, steering, tyres, fuel lines and seat belts "
    "passed by a qualified mechanic under local rules before the car is driven."
)
"""What an inspection is not."""

SAFETY: tuple[str, ...] = (
    "Use rated stands or a lift by its instructions; never get under a car held by a jack.",
    "Ventilate when an engine runs: exhaust gas kills.",
    "Fuel, battery acid and old brake dust are hazardous: no flame, gloves on, blow no dust.",
    NO_ROADWORTHINESS_TEST,
)
"""Stands on every inspection sheet."""

NUMBER_LAW = (
    "Never restamp, alter or remove a number, and clean it with a soft brush and solvent only: "
    "grinding or scratching it destroys evidence and is a crime in many places."
)
"""Goes with every number that is to be read."""

LOCAL_LAW = (
    "Odometer, title-brand and number-stamping law differs by place: check it locally before you "
    "buy, move or register the car."
)
"""Goes with every contradiction between numbers."""

APPEARS_ORIGINAL = (
    "A stamp or finish that looks right only appears original: looks alone never show that it is."
)
"""Goes with every part of which only its looks speak."""

VARIANT_AND_ENGINE = (
    "Whether the car is the variant it is sold as and whether its engine is the one it was born "
    "with are two questions: a genuine car with another engine is no tribute."
)
"""Keeps two facts apart."""

ORIGINALITY_CAUTIONS: tuple[str, ...] = (
    NUMBER_LAW,
    APPEARS_ORIGINAL,
    VARIANT_AND_ENGINE,
    LOCAL_LAW,
)
"""Go with every originality score."""

"""Hand-made sales to look at and screens of batches, for everything that shows them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from valuation.results.look import Change, LookList, LookPattern, LookReason, SaleToLookAt
from valuation.results.screens import BatchScreen, ScreenDoubt

__all__ = ["HELD", "LOOKED", "PASSED", "WARNED", "keyless"]

MISTYPED = SaleToLookAt(
    "0c1d2e3f4a5b:41",
    "L-1042",
    "sales_2024-06.csv",
    41,
    "0c1d2e3f4a5b",
    "1967 Torvane GT convertible, 4-speed",
    date(2024, 6, 8),
    "Harbour Rooms",
    "hammer price",
    "sold",
    415_000,
    40_850,
    0.04,
    (
        LookReason(
            "price off by a factor",
            "About 10 times what such cars bring: 97% likely mistyped rather than unusual.",
            0.97,
        ),
        LookReason(
            "odd",
            "at 10 times what the others say of it, 9.8 times the usual spread; by chance fewer "
            "than one of 1,500 would lie so far off.",
        ),
    ),
    Change("its own estimate", 42_000, 41_100, -2.14),
    Change("the typical Torvane GT", 39_400, 39_050, -0.89),
    Change("such a car for its line “Body”", 42_000, 41_700, -0.71),
)

INFLUENTIAL = SaleToLookAt(
    "0c1d2e3f4a5b:7",
    "",
    "sales_2024-06.csv",
    7,
    "0c1d2e3f4a5b",
    "1965 Skarnholt Grankott sedan <b>",
    date(2024, 5, 2),
    "",
    "price paid",
    "sold",
    23_500,
    35_000,
    0.9,
    (
        LookReason(
            "influential",
            "without it its own estimate would be 44.7% higher; it bears 93% of its estimate.",
        ),
    ),
    Change("its own estimate", 24_200, 35_019, 44.71),
    Change("the typical Skarnholt Grankott Series 1", 25_500, 36_850, 44.51),
    None,
)

CONTRADICTORY = SaleToLookAt(
    "aa00bb11cc22:112",
    "77",
    "sales_2024-05.csv",
    112,
    "aa00bb11cc22",
    "1968 Obrastel Canzon coupe",
    date(2024, 4, 20),
    "Evening Lots",
    "hammer price",
    "sold",
    31_000,
    30_100,
    0.99,
    (
        LookReason(
            "contradictory",
            "The same chassis sold on 2021-09-11: mileage first 88,000 miles, then 41,000 miles, "
            "which goes backwards.",
        ),
    ),
    Change("its own estimate", 30_300, 30_250, -0.17),
    Change("the typical Obrastel Canzon", 28_000, 27_990, -0.04),
    Change("such a car for its line “Mileage”", 30_300, 30_180, -0.4),
)

PATTERN = LookPattern(
    "wrong basis",
    "Harbour Rooms in 0c1d2e3f4a5b",
    "Harbour Rooms",
    "0c1d2e3f4a5b",
    1.15,
    1.08,
    1.24,
    38,
    "its 38 sales lie 15% above what the others say of them (95% interval +8 to +24%), as if the "
    "amounts held a buyer's premium or a tax, or were in another currency, against what is stated.",
)

LOOKED = LookList(
    "EUR",
    date(2024, 6, 30),
    1500,
    (INFLUENTIAL, MISTYPED, CONTRADICTORY),
    (PATTERN,),
    {"price off by a factor": 1, "contradictory": 1, "odd": 1, "influential": 1},
    2,
    ("Errors of 24% are usual here.",),
)

PASSED = BatchScreen("aa00bb11cc22", 84, 80, 78, 1.2, -3.1, 5.7, 0.06, 0.08, ())

WARNED = BatchScreen(
    "bb11cc22dd33",
    40,
    30,
    8,
    None,
    None,
    None,
    None,
    None,
    (
        ScreenDoubt(
            "rows set aside",
            "warn",
            "10 of 40 rows could not be used: is the file read as it is meant?",
            {"share": 0.25, "count": 10},
        ),
    ),
)

HELD = BatchScreen(
    "0c1d2e3f4a5b",
    90,
    90,
    89,
    102.5,
    90.1,
    115.7,
    0.02,
    0.08,
    (
        ScreenDoubt(
            "whole batch off",
            "hold",
            "Its prices lie 102.5% above estimates in the middle, 21.0 standard errors: more than "
            "a market moves in a month (the largest move of a month on record is 1.3%). Were "
            "amounts counted twice, or halved?",
            {"per cent": 102.5, "standard errors": 21.0},
        ),
    ),
)


def keyless(looked: LookList = LOOKED) -> LookList:
    """Return the list as it is of a model that was fitted to files, without a workspace."""
    return replace(looked, sales=tuple(replace(s, key="", batch="") for s in looked.sales))

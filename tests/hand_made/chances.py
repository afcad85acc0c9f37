"""Hand-made chances of a sale beside the sales that came."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from valuation.results.chance_check import ChanceCheck, ChanceGroups, ChanceRow

WHOLE = ChanceRow("all times on offer", 774, 18_100, 115.9, 100, 97, 136, 84, 152)

CHANCES = (
    ChanceRow("3% to 13%", 257, 6_900, 23.2, 29, 15, 33, 12, 37),
    ChanceRow("13% to 17%", 158, 4_000, 23.2, 17, 15, 33, 12, 36),
    ChanceRow("17% to 21%", 130, 2_950, 23.4, 14, 15, 33, 12, 36),
    ChanceRow("21% to 28%", 99, 2_200, 23.3, 8, 15, 32, 12, 35),
    ChanceRow("28% to 65%", 130, 2_050, 22.8, 32, 15, 31, 12, 35),
)

KINDS = (
    ChanceRow("grand tourers", 394, 9_400, 61.0, 38, 48, 75, 42, 82),
    ChanceRow("small sports", 320, 7_700, 52.9, 61, 40, 66, 36, 71),
    ChanceRow("<exotics> & others", 60, 1_000, 2.0, 1, 0, 5, 0, 6),
)

AHEAD = (
    replace(WHOLE, name="1 month"),
    ChanceRow("2 months", 711, 16_900, 111.5, 93, 93, 131, 80, 146),
)

NOTE = "Each chance counts for the days on which the car stood at its price."


def checked() -> ChanceCheck:
    """Return a check with groups inside, doubtful, outside, and too thin to tell."""
    return ChanceCheck(
        date(2024, 1, 1),
        date(2024, 12, 31),
        12,
        2,
        WHOLE,
        (
            ChanceGroups("chance", "By the chance foretold", CHANCES),
            ChanceGroups("kind", "By kind of car", KINDS),
            ChanceGroups("ahead", "By months ahead", AHEAD),
        ),
        0.004,
        (NOTE,),
    )


def bare() -> ChanceCheck:
    """Return a check of a ledger from which nothing was on offer."""
    return ChanceCheck(date(2024, 12, 1), date(2024, 12, 31), 0, 0, None, notes=(NOTE,))

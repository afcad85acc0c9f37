"""Hand-made run lists of invented lots, for everything that shows one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from valuation.results.run_list import RunLine, RunList, UnpricedLot

FIRST = RunLine(
    number="12",
    day="2025-09-13",
    order=1,
    car="1967 Torvane GT convertible",
    estimate_low=Decimal(34_000),
    estimate_high=Decimal(40_000),
    reserve=Decimal(36_000),
    no_reserve=False,
    currency="USD",
    central=Decimal(50_000),
    lower=Decimal(40_000),
    upper=Decimal(60_000),
    answer="bid",
    walk_away=Decimal(38_000),
    binds=("margin",),
    at=Decimal(36_000),
    outlay=Decimal(42_600),
    expected_margin=Decimal(7_400),
    loss_probability=1 / 3,
    evidence="fair",
    first_check="Engine originality: read the casting date on the stamped pad",
    warnings=("contradiction: the block was cast after the car was built",),
    reasons=("The margin binds.",),
    plan="pursue",
    changed=("reserve 36,000 instead of none stated",),
    notes="ask for bills",
)
LINES = (
    FIRST,
    replace(FIRST, number="12A", order=2, car="1971 Obrastel Lagune coupé, 4-speed manual, "
            "restored between 2009 and 2014, one of a small number with the long tail",
            estimate_low=Decimal(90_000), estimate_high=Decimal(120_000), reserve=None,
            no_reserve=True, walk_away=Decimal(88_000), binds=("risk",), at=Decimal(90_000),
            outlay=Decimal(101_000), expected_margin=Decimal(-1_200), loss_probability=0.547,
            central=Decimal(104_000), lower=Decimal(82_000), upper=Decimal(131_000),
            evidence="strong", first_check="", warnings=(), plan="left out", changed=(), notes=""),
    replace(FIRST, number="14", order=3, car="1959 Skarnholt Nordic saloon", estimate_low=None,
            estimate_high=None, reserve=None, walk_away=Decimal("950.50"), at=Decimal("950.50"),
            outlay=Decimal("2045.55"), expected_margin=Decimal("5000.25"), loss_probability=0.0,
            central=Decimal(8_000), lower=Decimal(6_000), upper=Decimal(10_500), warnings=(
                "outside the evidence", "same chassis sold on 2 Mar 2024 for 7,900 EUR"),
            evidence="thin", plan="won", changed=("new lot",), notes="won at 900"),
    replace(FIRST, number="15", order=4, car="1964 Torvane GT coupé, tribute",
            answer="no bid until cured", walk_away=None, binds=(), at=Decimal(36_000),
            warnings=("tribute", "title: the number on the title differs"), plan="no bid",
            reasons=("The number on the title differs from the one on the car.",), changed=(),
            first_check="Title: see the papers", notes=""),
    replace(FIRST, number="16", order=5, car="1978 Quorrel Runner", answer="no bid makes sense",
            walk_away=None, binds=("margin", "risk"), at=Decimal(34_000), reserve=None,
            outlay=Decimal(93_000), expected_margin=Decimal(-43_000), loss_probability=1.0,
            warnings=(), plan="no bid", reasons=("Even the lowest bid breaks a limit.",),
            first_check="", changed=(), notes=""),
    replace(FIRST, number="17", order=6, car="1931 Pellandro Tourer", central=None, lower=None,
            upper=None, answer="evidence too thin to bid on", walk_away=None, binds=(), at=None,
            outlay=None, expected_margin=None, loss_probability=None, evidence="none",
            first_check="", warnings=(), reasons=("Only 2 sales of this make are known.",),
            plan="no bid", changed=(), notes=""),
)  # fmt: skip
UNPRICED = (
    UnpricedLot("18", "2025-09-13", 9, "Two crates of brightwork", "No year is stated. Add one."),
    UnpricedLot("", "", 14, "withdrawn", "No car is named. Name make and year."),
)


def run_list(**changes: object) -> RunList:
    """Return a list with every kind of line, with some fields changed."""
    made = RunList(
        source="autumn_sale.csv",
        as_of=date(2025, 9, 12),
        resale_currency="EUR",
        lines=tuple(sorted(LINES, key=lambda line: -float(line.expected_margin or -99_999))),
        unpriced=UNPRICED,
        sorted_by="margin",
        budget=Decimal(60_000),
        planned=Decimal("44645.55"),
        notes=("2 lots state no estimate.",),
        changes=("Lot 14 is new.", "Lot 9 was withdrawn."),
        cautions=("These are estimates from past sales, not appraisals.",),
    )
    return replace(made, **changes)


def long_list(lots: int) -> RunList:
    """Return a list of many lots."""
    lines = tuple(
        replace(LINES[i % len(LINES)], number=str(101 + i), order=i + 1) for i in range(lots)
    )
    return run_list(lines=lines, sorted_by="running order")


def bare() -> RunList:
    """Return a list without a date, a budget, an earlier list or any lot."""
    return run_list(as_of=None, lines=(), unpriced=(), budget=None, planned=None, notes=(),
                    changes=(), cautions=())  # fmt: skip

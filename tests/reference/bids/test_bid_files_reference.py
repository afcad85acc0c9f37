"""Worked bids: the decimals of derive.py are the published ones, and the files say the same."""

from __future__ import annotations

import json
import runpy
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from valuation.bidding.costs import Increment, PurchaseTax, SaleTax, Target
from valuation.bidding.costs_file import read_costs
from valuation.bidding.resale_points import read_resale_points
from valuation.premium import PremiumSlice

HERE = Path(__file__).parent
CASES = ("case_1a", "case_1b", "case_2", "case_3", "case_4")

PUBLISHED: dict[str, dict[str, Any]] = {
    "case_1a": {"bid": 38_000, "outlay": "44800.00", "margin": "5200.00", "losing": [1, 3]},
    "case_1b": {"bid": 33_500, "outlay": "39850.00", "losing": [0, 3]},
    "case_2": {
        "bid": 90_000, "premium": "11500.00", "tax": "2300.00", "outlay": "107800.00",
        "margin": "12200.00",
    },
    "case_3": {"bid": 43_500, "tax_on_resale": "1880.00", "margin": "6400.00"},
    "case_4": {"bid": 50_500, "outlay": "55550.00"},
}  # fmt: skip

NEXT: dict[str, dict[str, Any]] = {
    "case_1a": {"bid": 38_500, "margin": "4650.00", "breaks": ["margin"]},
    "case_1b": {"bid": 34_000, "outlay": "40400.00", "breaks": ["risk"]},
    "case_2": {"bid": 91_000, "outlay": "108920.00", "margin": "11080.00", "breaks": ["margin"]},
    "case_3": {
        "bid": 44_000, "tax_on_resale": "1786.67", "margin": "5933.33", "breaks": ["margin"],
    },
    "case_4": {"bid": 51_000, "breaks": ["outlay"]},
}  # fmt: skip


def expected(case: str) -> Any:
    return json.loads((HERE / case / "expected.json").read_text(encoding="utf-8"))["values"]


def derivation() -> dict[str, Any]:
    return runpy.run_path(str(HERE / "derive.py"))


@pytest.mark.parametrize("case", CASES)
def test_the_published_figures(case: str) -> None:
    found = expected(case)
    for name, value in PUBLISHED[case].items():
        assert found["walk_away"][name] == value
    for name, value in NEXT[case].items():
        assert found["next"][name] == value
    assert found["walk_away"]["breaks"] == []


def test_where_a_higher_bid_is_cheaper_lower_ones_break_the_limit() -> None:
    assert expected("case_4")["broken_below"] == [49_000, 49_500, 50_000]
    assert all(expected(case)["broken_below"] == [] for case in CASES[:-1])
    derive = derivation()
    costs = [derive["figures"](derive["CASES"]["case_4"], b)["outlay"] for b in (49_000, 50_000)]
    assert costs == ["56350.00", "57500.00"]


def test_the_files_are_what_the_derivation_gives() -> None:
    derive = derivation()
    for case in CASES:
        assert derive["answer"](derive["CASES"][case]) == expected(case)


@pytest.mark.parametrize("case", CASES)
def test_the_resale_of_the_files_is_that_of_the_derivation(case: str) -> None:
    points = read_resale_points(HERE / case / "resale.csv")
    resale = derivation()["CASES"][case].resale
    assert points == tuple((Decimal(r), Fraction(1, len(resale))) for r in resale)


def test_the_settings_of_the_files_are_those_of_the_cases() -> None:
    """Targets and the parts of an outlay, as the cases state them in words."""
    read = {case: read_costs(HERE / case / "costs.toml") for case in CASES}
    assert [read[case].target for case in CASES] == [
        Target(margin=Decimal(5000), loss_probability=Decimal("0.4")),
        Target(margin=Decimal(5000), loss_probability=Decimal("0.2")),
        Target(share=Decimal("0.1")),
        Target(margin=Decimal(6000)),
        Target(outlay=Decimal(56_000)),
    ]
    ways = {case: costs.ways["default"] for case, costs in read.items()}
    steps = [500, 500, 1000, 500, 500]
    assert [ways[case].increments for case in CASES] == [(Increment(Decimal(s)),) for s in steps]
    ten, twelve = PremiumSlice(Decimal(10)), PremiumSlice(Decimal(12))
    tiers = (PremiumSlice(Decimal(15), Decimal(50_000)), ten)
    whole = tuple(replace(tier, applied="on the whole price") for tier in tiers)
    assert [ways[c].premium for c in CASES] == [(ten,), (ten,), tiers, (twelve,), whole]
    assert ways["case_2"].tax == PurchaseTax(Decimal(20), "premium")
    assert read["case_3"].selling.tax == SaleTax(Decimal(20), "margin")
    other = [sum(n.low for n in (*ways[c].lines, *read[c].work)) for c in CASES]
    assert other == [3000, 3000, 4000, 3000, 0]
    assert all(n.low == n.high for c in CASES for n in (*ways[c].lines, *read[c].work))

"""The split of a price difference into money, against exact decimals and against other ways."""

from __future__ import annotations

import json
import math
from itertools import permutations
from pathlib import Path

import pytest

from valuation.money import log_mean, split_in_money, whole_units

HERE = Path(__file__).parent
CASE = json.loads((HERE / "case.json").read_text(encoding="utf-8"))
EXPECTED = json.loads((HERE / "expected.json").read_text(encoding="utf-8"))["values"]
START = float(CASE["start"])
FACTORS = {name: float(f) for name, f in CASE["factors"].items()}


def split() -> dict[str, float]:
    amounts = split_in_money(START, [math.log(f) for f in FACTORS.values()])
    return dict(zip(FACTORS, amounts, strict=True))


def test_the_printed_table() -> None:
    """Worked by hand to the cent."""
    assert [round(v, 2) for v in split().values()] == [8143.45, 9966.78, -4705.96, -3724.27]
    assert EXPECTED["end"] == 49_680
    assert [round(v, 2) for v in EXPECTED["by_shapley"].values()] == [
        8185.33, 10010.67, -4754.67, -3761.33,
    ]  # fmt: skip
    assert list(EXPECTED["by_first"].values()) == [8000, 10000, -4000, -3200]
    assert [round(v, 6) for v in EXPECTED["by_last"].values()] == [8280, 9936, -5520, -4320]


def test_against_exact_decimals() -> None:
    assert log_mean(START, EXPECTED["end"]) == pytest.approx(EXPECTED["log_mean"], rel=1e-13)
    assert split() == pytest.approx(EXPECTED["by_log_mean"], rel=1e-12)


def test_it_adds_up_where_other_ways_do_not() -> None:
    whole = EXPECTED["end"] - START
    assert sum(split().values()) == pytest.approx(whole, abs=1e-9)
    assert sum(EXPECTED["by_shapley"].values()) == pytest.approx(whole, abs=1e-9)
    assert sum(EXPECTED["by_first"].values()) - whole == pytest.approx(1120)
    assert sum(EXPECTED["by_last"].values()) - whole == pytest.approx(-1304)


def test_it_stays_close_to_shapley_and_between_the_orders() -> None:
    for name, amount in split().items():
        assert amount == pytest.approx(EXPECTED["by_shapley"][name], rel=0.0106)
        assert EXPECTED["least"][name] < amount < EXPECTED["most"][name]


def test_the_order_of_the_lines_does_not_matter() -> None:
    for order in permutations(FACTORS):
        amounts = split_in_money(START, [math.log(FACTORS[n]) for n in order])
        assert dict(zip(order, amounts, strict=True)) == pytest.approx(split(), rel=1e-12)


def test_whole_units_still_add_up() -> None:
    assert whole_units(list(split().values())) == [8143, 9967, -4706, -3724]

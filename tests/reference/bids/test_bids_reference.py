"""The worked bids: what the package finds, to the cent, from Python and from the command."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from valuation.bidding.costs_file import read_costs
from valuation.bidding.prospect import stated_prospect
from valuation.bidding.resale_points import read_resale_points
from valuation.bidding.sheet import bid_sheet
from valuation.cli.command import main
from valuation.results.bid_parts import Rung
from valuation.results.bid_sheet import BidSheet

HERE = Path(__file__).parent
CASES = ("case_1a", "case_1b", "case_2", "case_3", "case_4")


def expected(case: str) -> Any:
    return json.loads((HERE / case / "expected.json").read_text(encoding="utf-8"))["values"]


def found(case: str) -> BidSheet:
    costs = read_costs(HERE / case / "costs.toml")
    points = read_resale_points(HERE / case / "resale.csv")
    way = costs.ways["default"]
    return bid_sheet(stated_prospect(points), car=case, way=way, costs=costs)


def held(rung: Rung, wanted: dict[str, Any]) -> None:
    assert rung.outlay == Decimal(wanted["outlay"])
    assert rung.expected_margin == Decimal(wanted["margin"])
    assert rung.loss_probability == float(Fraction(*wanted["losing"]))
    assert list(rung.breaks) == wanted["breaks"]


@pytest.mark.parametrize("case", CASES)
def test_the_bid_and_the_next_one_to_the_cent(case: str) -> None:
    sheet, wanted = found(case), expected(case)
    assert sheet.walk_away == wanted["walk_away"]["bid"]
    rungs = {rung.bid: rung for rung in sheet.ladder}
    held(rungs[Decimal(wanted["walk_away"]["bid"])], wanted["walk_away"])
    held(rungs[Decimal(wanted["next"]["bid"])], wanted["next"])
    assert list(sheet.binds) == wanted["next"]["breaks"]
    below = [bid for bid in wanted["broken_below"] if any(a <= bid <= z for a, z in sheet.broken)]
    assert below == wanted["broken_below"]
    assert bool(sheet.broken) == bool(below)


@pytest.mark.parametrize("case", CASES)
def test_premium_and_taxes_to_the_cent(case: str) -> None:
    account, wanted = {x.what: x.expected for x in found(case).account}, expected(case)["walk_away"]
    names = {"premium": "buyer's premium", "tax": "tax", "tax_on_resale": "tax on the margin"}
    for key, what in names.items():
        assert -account.get(what, Decimal(0)) == Decimal(wanted.get(key, "0"))


@pytest.mark.parametrize("case", CASES)
def test_the_command_says_the_same(case: str, capsys: pytest.CaptureFixture[str]) -> None:
    costs, points = HERE / case / "costs.toml", HERE / case / "resale.csv"
    words = ["bid", "--costs", str(costs), "--resale-points", str(points), "--json"]
    assert main(words) == 0
    told, wanted = json.loads(capsys.readouterr().out), expected(case)
    assert told["walk_away"] == wanted["walk_away"]["bid"]
    assert told["binds"] == " and ".join(wanted["next"]["breaks"])
    assert told["currency"] == "USD"
    rung = next(r for r in told["ladder"] if r["bid"] == told["walk_away"])
    assert rung["outlay"] == float(wanted["walk_away"]["outlay"])
    assert rung["expected_margin"] == float(wanted["walk_away"]["margin"])

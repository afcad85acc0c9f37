"""The run list: the synthetic catalogue line by line, the plan, and what bad lots can't do."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.bidding.costs import Costs
from valuation.bidding.costs_file import read_costs
from valuation.bidding.from_market import market_prospects
from valuation.bidding.run_list import RunSettings, run_list
from valuation.bidding.sheet import bid_sheet
from valuation.bidding.ways import way_for
from valuation.errors import CostsError, SettingsError
from valuation.importing.lot_list import LotList
from valuation.importing.lots import read_lots
from valuation.importing.sales import read_sales
from valuation.results.run_list import RunLine, RunList
from valuation.running.runner import Runner

DATA = Path(__file__).parents[3] / "data_synthetic"
DAY = date(2025, 1, 10)


@pytest.fixture(scope="module")
def market(lean: ModelSettings) -> MarketModel:
    return fit_market(read_sales([DATA / "sales.csv"]), settings=lean)


@pytest.fixture(scope="module")
def costs() -> Costs:
    return read_costs(DATA / "costs.toml")


@pytest.fixture(scope="module")
def lots(market: MarketModel) -> LotList:
    return read_lots(DATA / "lots.xlsx", known_makes=market.makes)


@pytest.fixture(scope="module")
def found(market: MarketModel, lots: LotList, costs: Costs) -> RunList:
    return run_list(market, lots, costs, as_of=DAY)


def test_every_line_of_the_catalogue_comes_to_what_it_was_made_for(
    found: RunList, lots: LotList
) -> None:
    with (DATA / "expected_lots.csv").open(encoding="utf-8", newline="") as file:
        expected = list(csv.DictReader(file))
    assert len(expected) == 200
    lines = {lot.row: line for lot, line in zip(lots.lots, _in_order(found), strict=True)}
    assert len(lines) == len(lots)
    unpriced = {lot.row: lot for lot in found.unpriced}
    for case in expected:
        row = int(case["row"])
        if case["outcome"] == "priced":
            line = lines[row]
            assert line.number == case["lot"]
            assert case["reason"] in " ".join((*line.warnings, *line.reasons, *found.notes))
        else:
            assert unpriced[row].number == case["lot"]
            for reason in case["reason"].split("; "):
                assert reason in unpriced[row].reason
    assert len(lines) + len(unpriced) == 200


def _in_order(found: RunList) -> list[RunLine]:
    return sorted(found.lines, key=lambda line: line.order)


def test_what_the_firm_asks_is_said(found: RunList) -> None:
    assert found.settings[0] == (
        "Asked of each car: a margin of 2,500 EUR, a margin of 8% of the resale, a risk of "
        "loss of at most 25%, an outlay of at most 120,000 EUR."
    )


def test_special_lots_are_warned_of(found: RunList) -> None:
    with (DATA / "expected_lots.csv").open(encoding="utf-8", newline="") as file:
        cases = {c["lot"]: c["case"] for c in csv.DictReader(file) if c["case"]}
    lines = {line.number: line for line in found.lines}
    sold = [n for n, case in cases.items() if case == "sold before" and n != "221"]
    assert len(sold) >= 3
    for number in sold:
        assert any("This chassis was offered before on" in w for w in lines[number].warnings)
    (tribute,) = [n for n, case in cases.items() if case == "a tribute"]
    assert "Genuineness: tribute." in lines[tribute].warnings
    (unknown,) = [n for n, case in cases.items() if case == "a maker nobody knows"]
    assert lines[unknown].answer == "evidence too thin to bid on"
    outside = "Outside the evidence: No sale of this make"
    assert any(w.startswith(outside) for w in lines[unknown].warnings)


def test_each_lot_gets_the_bid_that_its_own_sheet_says(
    market: MarketModel, lots: LotList, costs: Costs, found: RunList
) -> None:
    some = lots.lots[::17]
    candidates = market_prospects(market, [lot.car for lot in some], costs, as_of=DAY)
    lines = {lot.row: line for lot, line in zip(lots.lots, _in_order(found), strict=True)}
    for lot, candidate in zip(some, candidates, strict=True):
        sheet = bid_sheet(
            candidate.prospect,
            car=lot.car.name,
            way=way_for(costs, lot.car, lot.venue),
            costs=costs,
            preparation=candidate.preparation,
        )
        line = lines[lot.row]
        assert (line.answer, line.walk_away) == (sheet.answer, sheet.walk_away)
        assert line.binds == sheet.binds
        if sheet.resale is not None:
            assert (line.lower, line.central, line.upper) == (
                sheet.resale.lower,
                sheet.resale.central,
                sheet.resale.upper,
            )


def test_amounts_of_another_currency_are_told_and_not_compared(found: RunList) -> None:
    line = next(line for line in found.lines if line.number == "204")
    assert line.currency == "EUR"
    assert (line.estimate_low, line.reserve) == (None, None)
    assert any("Bids are in EUR: not compared." in r for r in line.reasons)


def test_margins_stand_at_the_reserve_or_low_estimate(found: RunList) -> None:
    for line in found.lines:
        least = line.reserve if line.reserve is not None else line.estimate_low
        if line.expected_margin is not None and least:
            assert line.at == least
        if line.answer == "bid" and least and line.walk_away is not None:
            above = any("lies above the walk-away bid" in r for r in line.reasons)
            assert above == (least > line.walk_away)


def test_the_order_is_what_was_asked_for(
    market: MarketModel, lots: LotList, costs: Costs, found: RunList
) -> None:
    reachable = [x for x in found.lines if x.walk_away and x.at and x.at <= x.walk_away]
    stated = [x for x in reachable if x.reserve is not None or x.estimate_low is not None]
    margins = [x.expected_margin or Decimal(0) for x in stated]
    assert margins == sorted(margins, reverse=True)
    assert list(found.lines[: len(stated)]) == stated
    short = replace(lots, lots=lots.lots[:30])
    by_place = run_list(
        market, short, costs, as_of=DAY, settings=RunSettings("running order")
    ).lines
    assert [x.order for x in by_place] == sorted(x.order for x in by_place)
    by_capital = run_list(
        market, short, costs, as_of=DAY, settings=RunSettings("margin per capital")
    ).lines
    shares = [x.margin_per_capital or 0.0 for x in by_capital if x.walk_away is not None]
    assert shares == sorted(shares, reverse=True)


def test_a_budget_holds_and_what_was_won_plans_the_rest(
    market: MarketModel, lots: LotList, costs: Costs
) -> None:
    budget = Decimal(150_000)
    first = run_list(market, lots, costs, as_of=DAY, settings=RunSettings(budget=budget))
    assert first.planned is not None
    assert 0 < first.planned <= budget
    chosen = [x for x in first.lines if x.plan == "pursue"]
    assert chosen
    assert {x.plan for x in first.lines} <= {"pursue", "left out", "too dear", "no bid"}
    assert all(x.at is not None and x.walk_away is not None and x.at <= x.walk_away for x in chosen)
    lot = sorted(chosen, key=lambda x: x.order)[0]
    assert lot.walk_away is not None
    won = RunSettings(budget=budget, won={lot.number: lot.walk_away})
    then = run_list(market, lots, costs, as_of=DAY, settings=won)
    plans = {x.order: x.plan for x in then.lines}
    assert plans[lot.order] == "won"
    assert {plan for order, plan in plans.items() if order < lot.order} <= {"past"}
    assert then.planned is not None
    assert then.planned <= budget


def test_a_lot_that_is_not_in_the_list_can_t_be_won(
    market: MarketModel, lots: LotList, costs: Costs
) -> None:
    few = replace(lots, lots=lots.lots[:2])
    with pytest.raises(SettingsError, match=r"no such lot in the list.*\(got: 9999\)"):
        run_list(market, few, costs, settings=RunSettings(won={"9999": Decimal(100)}))


def test_costs_in_another_currency_are_refused(
    market: MarketModel, lots: LotList, costs: Costs
) -> None:
    with pytest.raises(CostsError, match="another currency than the market model, EUR"):
        run_list(market, lots, replace(costs, currency="USD"))


def test_progress_is_told_and_the_list_is_the_same_every_time(
    market: MarketModel, lots: LotList, costs: Costs, found: RunList
) -> None:
    told: list[tuple[int, int, str]] = []

    def tell(done: int, of: int, what: str) -> None:
        told.append((done, of, what))

    again = run_list(market, lots, costs, as_of=DAY, progress=tell)
    assert again.to_dict() == found.to_dict()
    assert told[-1] == (len(lots), len(lots), "pricing lots")


def test_two_processes_make_the_same_list(
    market: MarketModel, lots: LotList, costs: Costs, found: RunList
) -> None:
    told: list[tuple[int, int, str]] = []
    with Runner(workers=2) as run:
        again = run_list(
            market, lots, costs, as_of=DAY, run=run, progress=lambda *step: told.append(step)
        )
    assert again == found
    assert told == [(n, len(lots), "pricing lots") for n in (100, len(lots))]


def test_each_lot_is_bid_on_its_own_day(market: MarketModel, lots: LotList, costs: Costs) -> None:
    few = replace(lots, lots=lots.lots[:2])
    assert few.lots[0].sale_date == date(2025, 3, 14)
    by_day = run_list(market, few, costs)
    assert by_day.as_of == date(2025, 3, 14)
    assert by_day.lines == run_list(market, few, costs, as_of=date(2025, 3, 14)).lines
    early = run_list(market, few, costs, as_of=DAY)
    assert early.as_of == DAY
    assert early.lines != by_day.lines

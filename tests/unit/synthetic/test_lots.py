"""The catalogue: deterministic, readable, of this world, and bad only where it has to be."""

from __future__ import annotations

import csv
import io

import numpy as np
import openpyxl
import pytest

from valuation.synthetic.lot_cells import COLUMNS
from valuation.synthetic.lot_drawing import SOLD_BEFORE, draw_lots, sale_days
from valuation.synthetic.lot_slips import SLIPS, SPECIAL
from valuation.synthetic.lots import FIRST_ROW, LOTS, ON_FRIDAY, lot_files
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings


@pytest.fixture(scope="module")
def files(market: SyntheticMarket) -> dict[str, bytes]:
    return lot_files(market)


def rows_of(content: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(content.decode())))


def test_the_same_market_gives_the_same_catalogue(
    market: SyntheticMarket, files: dict[str, bytes]
) -> None:
    assert lot_files(market) == files
    other = lot_files(make_market(MarketSettings(sales=60), seed=3))
    assert {n for n in files if files[n] != other[n]} >= {"lots.xlsx", "lots_revised.csv"}


def test_drawing_a_catalogue_changes_nothing_in_the_market(market: SyntheticMarket) -> None:
    before = {n: v.copy() for n, v in market.truth.state.items()}
    table = market.table.copy()
    draw_lots(market, 40, on_friday=10)
    assert table.equals(market.table)
    assert all(np.array_equal(before[n], v) for n, v in market.truth.state.items())


def test_cars_sold_before_carry_the_chassis_of_their_sale(market: SyntheticMarket) -> None:
    drawn = draw_lots(market, LOTS, on_friday=ON_FRIDAY)
    known = set(market.table["chassis"].dropna())
    told = drawn.table["chassis"]
    assert len(drawn.before) == SOLD_BEFORE
    assert {i for i in range(LOTS) if told[i] in known} == drawn.before
    for i in drawn.before:
        sold = market.table[market.table["chassis"] == told[i]].iloc[-1]
        lot = drawn.table.iloc[i]
        assert (lot["make"], lot["model"], lot["year"]) == (
            sold["make"], sold["model"], sold["year"],
        )  # fmt: skip


def test_estimates_lie_around_what_the_lots_would_bring(market: SyntheticMarket) -> None:
    drawn = draw_lots(market, LOTS, on_friday=ON_FRIDAY)
    assert all(low < high for low, high in zip(drawn.low, drawn.high, strict=True))
    middle = np.log([(a + b) / 2 for a, b in zip(drawn.low, drawn.high, strict=True)])
    logs = np.log(drawn.table["price"].to_numpy(dtype=float))
    gap = (middle - logs)[(drawn.table["basis"] == "hammer price").to_numpy()]
    assert len(gap) > 30
    assert abs(float(np.median(gap))) < 0.1
    assert float(np.std(gap)) < 0.35


def test_the_sale_is_a_friday_and_the_day_after(market: SyntheticMarket) -> None:
    friday, saturday = sale_days(market.settings.end)
    assert (friday.weekday(), saturday.weekday()) == (4, 5)
    assert 70 <= (friday - market.settings.end).days < 77


def test_the_workbook_holds_text_and_no_formula(files: dict[str, bytes]) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(files["lots.xlsx"])).active
    assert sheet is not None
    assert [c.value for c in sheet[FIRST_ROW - 1]] == list(COLUMNS)
    assert sheet.max_row == FIRST_ROW + LOTS - 1
    cells = [c for row in sheet.iter_rows() for c in row]
    assert not [c.coordinate for c in cells if c.data_type == "f"]
    assert any(str(c.value).startswith("=SUM") for c in cells)
    lows = [c.value for c in sheet["Q"][FIRST_ROW - 1 :]]
    assert sum(isinstance(v, int) for v in lows) > 0.9 * LOTS


def test_every_bad_lot_is_bad_in_another_way(files: dict[str, bytes]) -> None:
    expected = rows_of(files["expected_lots.csv"])
    assert [int(r["row"]) for r in expected] == list(range(FIRST_ROW, FIRST_ROW + LOTS))
    assert len({s.case for s in SLIPS.values()}) == len(SLIPS) == 15
    cases = [r["case"] for r in expected if r["case"]]
    for case in [*(s.case for s in SLIPS.values()), *(s.case for s in SPECIAL.values())]:
        assert cases.count(case) == 1, case
    assert cases.count("sold before") == SOLD_BEFORE
    aside = [r for r in expected if r["outcome"] == "set aside"]
    assert len(aside) == sum(bool(s.aside) for s in SLIPS.values()) == 6
    assert all(r["reason"] for r in aside)


def test_the_revised_list_differs_in_five_lots(files: dict[str, bytes]) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(files["lots.xlsx"])).active
    assert sheet is not None
    old = [
        ["" if v is None else str(v) for v in row]
        for row in sheet.iter_rows(min_row=FIRST_ROW, values_only=True)
    ]
    new = [list(r.values()) for r in rows_of(files["lots_revised.csv"])]
    gone = [r for r in old if r not in new]
    came = [r for r in new if r not in old]
    assert (len(gone), len(came)) == (4, 4)
    assert len(new) == len(old) == LOTS
    changed = {r[0] for r in gone} & {r[0] for r in came}
    assert len(changed) == 3

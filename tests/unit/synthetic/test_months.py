"""A market month by month: files that are read as planned, and a truth beside them."""

from __future__ import annotations

import io
import json
import runpy
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from valuation.importing.ledger import read_ledger_data
from valuation.importing.sales import read_sales
from valuation.synthetic.months import JUMP, MonthlyFiles, monthly_files
from valuation.synthetic.poison import chased, doubled, in_other_currency

FOLDER = Path(__file__).parents[3] / "data_synthetic"


@pytest.fixture(scope="module")
def made() -> MonthlyFiles:
    return monthly_files(seed=3)


@pytest.fixture(scope="module")
def table(made: MonthlyFiles) -> pd.DataFrame:
    return made.sales_of("2024-07")


def read(made: MonthlyFiles, month: str, name: str, folder: Path) -> tuple[pd.DataFrame, dict]:
    """Read a file as an import does: its sales, and how many rows were set aside by code."""
    path = folder / name
    path.write_bytes(made.months[month][name])
    book = read_sales([path], currency="EUR")
    codes = pd.Series([f.code for row in book.set_aside for f in row.faults], dtype=object)
    return book.table, codes.value_counts().to_dict()


def test_the_same_seed_gives_the_same_bytes(made: MonthlyFiles) -> None:
    assert monthly_files(seed=3).files() == made.files()
    assert monthly_files(seed=4).history != made.history


def test_every_sale_of_two_years_stands_in_the_file_of_its_month(
    made: MonthlyFiles, tmp_path: Path
) -> None:
    for plan in made.plans:
        found = []
        for name in plan.files:
            sales, codes = read(made, plan.month, name, tmp_path)
            again = codes.pop("re-offer", 0)
            assert codes == plan.set_aside.get(name, {}), (plan.month, name)
            late = name.count("_")
            whole = made.sales_of(name[-11:-4] if late else plan.month)
            assert set(sales["sale_id"]) <= set(whole["sale_id"])
            if not late:
                found.append(len(sales) + again + codes.get("no rate", 0))
        assert sum(found) == len(made.sales_of(plan.month)), plan.month


def test_a_list_of_dealers_says_the_same_as_the_market(made: MonthlyFiles, tmp_path: Path) -> None:
    sales, _ = read(made, "2023-02", "dealers.csv", tmp_path)
    true = made.sales_of("2023-02").set_index("sale_id").loc[sales["sale_id"]]
    for name in ("price", "sale_date", "basis", "outcome", "channel", "make", "model", "year"):
        assert sales[name].tolist() == true[name].tolist(), name


def test_what_is_wrong_in_one_month_is_put_right_in_the_next(
    made: MonthlyFiles, tmp_path: Path
) -> None:
    factors = {"2023-06": 7.46, "2024-01": 2.0}
    for (month, factor), after in zip(factors.items(), ("2023-07", "2024-02"), strict=True):
        wrong, _ = read(made, month, "sales.csv", tmp_path)
        right, _ = read(made, after, f"sales_{month}.csv", tmp_path)
        ratio = wrong.set_index("sale_id")["price"] / right.set_index("sale_id")["price"]
        assert ratio.to_numpy() == pytest.approx(factor, rel=1e-3)
    assert read(made, "2023-10", "dealers.csv", tmp_path)[0].empty
    again, _ = read(made, "2023-11", "dealers_2023-10.csv", tmp_path)
    assert len(again) >= 10


def test_levels_are_those_that_made_the_prices(made: MonthlyFiles) -> None:
    before, after = made.plans[JUMP - 1].levels, made.plans[JUMP].levels
    steps = np.array([after[s] - before[s] for s in after])
    assert steps == pytest.approx(-0.22, abs=0.06)
    truth = made.market.truth
    day = truth.sale["day"].astype("datetime64[D]").astype("datetime64[M]").astype(str)
    told = {plan.month: plan.levels for plan in made.plans}
    rows = np.flatnonzero(np.isin(day, list(told)))
    segment = [truth.world.lines.specs[k].segment for k in truth.state["line"][rows]]
    expected = [told[month][s] for month, s in zip(day[rows], segment, strict=True)]
    # A level moves within its month, by a few per cent at most.
    assert truth.parts["market level"].to_numpy()[rows] == pytest.approx(
        np.array(expected), abs=0.05
    )


def test_the_truth_names_every_file(made: MonthlyFiles) -> None:
    truth = json.loads(made.truth())
    assert truth["format"] == 1
    named = {f"{m['month']}/{name}" for m in truth["months"] for name in m["files"]}
    assert named | {"history.csv", "truth.json", "ledger/stock.xlsx"} == set(made.files())
    assert [m["month"] for m in truth["months"] if m["jump"]] == ["2024-03"]
    lines = made.market.truth.lines_table()
    assert sum(len(models) for models in truth["segments"].values()) == len(lines)


def test_the_ledger_is_read_whole(made: MonthlyFiles) -> None:
    ledger = read_ledger_data("stock.xlsx", made.ledger, today=date(2025, 6, 1))
    assert ledger.set_aside == ()
    kinds = [event.event for _, event in ledger.entries]
    bought, sold = kinds.count("bought"), kinds.count("sold")
    assert (bought, sold, ledger.currency) == (24, 23, "EUR")


def test_a_list_that_repeats_estimates_repeats_those_it_is_given(
    made: MonthlyFiles, table: pd.DataFrame
) -> None:
    estimates = dict.fromkeys(table["sale_id"][::2], 12345.0)
    out = pd.read_csv(io.BytesIO(made.chasing("2024-07", estimates)["sales.csv"]))
    near = np.abs(out["price"] / 12_345 - 1) <= 0.011
    given = out["sale_id"].isin(estimates)
    assert 0.4 < near[given].mean() < 0.95
    assert (out["price"][~given] == table["price"][~given]).all()


def test_poisons_change_the_price_and_nothing_else(table: pd.DataFrame) -> None:
    others = [c for c in table.columns if c not in ("price", "currency")]
    for wrong in (
        in_other_currency(table, per_unit=7.46, named="DKK"),
        doubled(table),
        chased(table, {}, share=0.7, seed=1),
    ):
        pd.testing.assert_frame_equal(wrong[others], table[others])
    assert (doubled(table)["price"] == 2 * table["price"]).all()
    assert (chased(table, {}, share=1.0, seed=1)["price"] == table["price"]).all()
    assert set(in_other_currency(table, per_unit=7.46, named="DKK")["currency"]) == {"DKK"}
    assert set(in_other_currency(table, per_unit=7.46)["currency"]) == {"EUR"}


def test_the_script_writes_the_months(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = runpy.run_path(str(FOLDER / "generate.py"))
    script["main"](["--seed", "3", "--months", str(tmp_path)])
    assert (tmp_path / "2024-12" / "sales.csv").is_file()
    assert len(capsys.readouterr().out.splitlines()) == sum(1 for p in tmp_path.rglob("*.*"))

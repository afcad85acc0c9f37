"""Past sales priced from what was known before them, and counted fairly."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError, TooFewSalesError
from valuation.records import SalesBook
from valuation.study.backtest import BacktestResult, backtest
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

COUNTED = [
    "tested", "median_abs_pct_error", "within_10_pct", "within_20_pct", "median_ratio",
    "coverage_80", "median_width_80_pct", "share_priced",
]  # fmt: skip
COLUMNS = [
    "sale_id", "sale_date", "price", "central", "lower", "upper", "lower_50", "upper_50",
    "lower_95", "upper_95", "outside", "months_ahead", "make", "year", "channel", "basis",
    "outcome",
]  # fmt: skip


@pytest.fixture(scope="module")
def book() -> SalesBook:
    """Return two years of sales of six model lines."""
    asked = MarketSettings(sales=800, lines=6, start=date(2023, 1, 1))
    return make_market(asked, seed=21).book()


@pytest.fixture(scope="module")
def full(book: SalesBook) -> BacktestResult:
    """Return the backtest with the default settings."""
    return backtest(book)


@pytest.fixture(scope="module")
def monthly(book: SalesBook, lean: ModelSettings) -> BacktestResult:
    return backtest(book, settings=lean)


def test_the_range_holds_about_as_often_as_it_says(full: BacktestResult) -> None:
    assert full.overall.tested > 200
    assert full.overall.coverage_80 is not None
    assert 70.0 <= full.overall.coverage_80 <= 90.0
    assert full.overall.share_priced is not None
    assert full.overall.share_priced > 95.0
    assert full.overall.median_ratio == pytest.approx(1.0, abs=0.08)
    assert full.overall.median_abs_pct_error is not None
    assert full.overall.median_abs_pct_error < 25.0


def test_predictions_have_the_named_columns(full: BacktestResult, book: SalesBook) -> None:
    p = full.predictions
    assert list(p.columns) == COLUMNS
    assert len(p) == full.overall.tested
    assert p["sale_id"].is_unique
    assert p["sale_date"].is_monotonic_increasing
    prices = book.table.set_index("sale_id")["price"]
    assert (prices.loc[p["sale_id"]].to_numpy() == p["price"].to_numpy()).all()
    ranged = p["lower"].notna()
    assert (p["lower"] < p["central"])[ranged].mean() > 0.99
    assert (p["lower"] < p["upper"])[ranged].all()
    assert not p.loc[ranged, "outside"].any()


def test_the_machine_readable_form_has_the_named_keys(full: BacktestResult) -> None:
    out = full.to_dict()
    assert list(out) == ["format", "fitted_on", *COUNTED, "inside", "outside", "ranges", "by"]
    assert (out["format"], out["fitted_on"]) == (1, 560)
    assert list(out["by"]) == ["make", "era", "estimate_band", "month", "months_ahead"]
    for groups in [
        out["inside"],
        out["outside"],
        *(s for g in out["by"].values() for s in g.values()),
    ]:
        assert list(groups) == COUNTED
    json.dumps(out, allow_nan=False)


@pytest.mark.parametrize("name", ["make", "era", "estimate_band", "month", "months_ahead"])
def test_groups_add_up(full: BacktestResult, name: str) -> None:
    assert sum(s.tested for s in full.by[name].values()) == full.overall.tested
    assert full.inside.tested + full.outside.tested == full.overall.tested


def test_groups_are_named_for_people(full: BacktestResult, book: SalesBook) -> None:
    assert list(full.by["estimate_band"]) == [
        "1 lowest fifth", "2 second fifth", "3 middle fifth", "4 fourth fifth", "5 top fifth",
    ]  # fmt: skip
    assert set(full.by["make"]) <= set(book.table["make"])
    assert all(era.endswith("0s") and len(era) == 5 for era in full.by["era"])
    assert list(full.by["month"]) == sorted(full.by["month"])
    assert "2024-12" in full.by["month"]


def test_groups_count_what_they_name(full: BacktestResult) -> None:
    p = full.predictions
    of_month = p[p["sale_date"].dt.strftime("%Y-%m") == "2024-11"]
    found = full.by["month"]["2024-11"]
    assert found.tested == len(of_month)
    error = 100 * (of_month["central"] - of_month["price"]).abs() / of_month["price"]
    assert found.median_abs_pct_error == pytest.approx(error.median())
    assert found.within_20_pct == pytest.approx(100 * (error <= 20).mean())
    inside = of_month["price"].between(of_month["lower"], of_month["upper"])
    assert found.coverage_80 == pytest.approx(100 * inside[of_month["lower"].notna()].mean())


def test_the_summary_says_what_was_done(full: BacktestResult) -> None:
    text = full.summary().splitlines()
    assert text[0] == (
        f"Backtest: {full.overall.tested} sales priced from what was known before them (560 "
        "sales before the first)"
    )
    assert text[1] == f"  median absolute error   {full.overall.median_abs_pct_error:.1f}%"
    held = full.ranges.held_pct
    assert text[7] == (
        f"  held                    {held[80]:.1f}% of the 80% ranges, {held[50]:.1f}% of the 50% "
        f"ranges, {held[95]:.1f}% of the 95% ranges"
    )
    assert text[8].startswith("  80% ranges, by months   ")
    assert "  by era:" in text
    assert "  by months ahead:" in text
    assert "nan" not in full.summary().lower().split()


def _with_prices(book: SalesBook, change: Callable[[pd.DataFrame], Any]) -> SalesBook:
    return SalesBook(book.table.assign(price=change), book.currency, book.dated)


def test_later_prices_change_no_earlier_prediction(
    book: SalesBook, monthly: BacktestResult, lean: ModelSettings
) -> None:
    first = monthly.predictions["sale_date"].min()
    turn = first + pd.Timedelta(days=60)
    wild = _with_prices(
        book, lambda t: np.where(t["sale_date"] >= turn, 1e3 + 1e4 * (t.index % 7), t["price"])
    )
    other = backtest(wild, settings=lean).predictions
    early = monthly.predictions["sale_date"] < turn
    assert 20 < early.sum() < len(other)
    pd.testing.assert_frame_equal(other[early], monthly.predictions[early])
    late = ~early & (other["sale_date"] >= turn + pd.Timedelta(days=60))
    moved = np.log(other.loc[late, "central"] / monthly.predictions.loc[late, "central"]).abs()
    assert moved.median() > 0.02


def test_a_chassis_seen_before_leaves_the_test(book: SalesBook, monthly: BacktestResult) -> None:
    table = book.table.sort_values("sale_date", kind="stable").set_index("sale_id")
    before = set(table["chassis"].iloc[: monthly.fitted_on].dropna())
    tested = table.loc[monthly.predictions["sale_id"], "chassis"].dropna()
    assert not before & set(tested)
    assert monthly.overall.tested < len(table) - monthly.fitted_on


def test_the_same_sales_give_the_same_result(
    book: SalesBook, monthly: BacktestResult, lean: ModelSettings
) -> None:
    again = backtest(book, settings=lean)
    pd.testing.assert_frame_equal(again.predictions, monthly.predictions)
    assert again.to_dict() == monthly.to_dict()


def test_how_often_the_model_is_fitted_again(
    book: SalesBook, monthly: BacktestResult, lean: ModelSettings
) -> None:
    never = backtest(book, settings=lean, refit="never").predictions
    fortnightly = backtest(book, settings=lean, refit="fortnight").predictions
    p = monthly.predictions
    assert never["sale_id"].tolist() == p["sale_id"].tolist() == fortnightly["sale_id"].tolist()
    start = p["sale_date"].min()
    # Until the first new fit all are one; afterwards they differ.
    same = p["sale_date"] < start + pd.Timedelta(days=14)
    assert np.array_equal(never.loc[same, "central"], fortnightly.loc[same, "central"])
    month = p["sale_date"] < start + pd.Timedelta(days=30)
    assert np.array_equal(never.loc[month, "central"], p.loc[month, "central"])
    assert not np.allclose(never.loc[~month, "central"], p.loc[~month, "central"])


def test_months_choose_the_test_by_date(book: SalesBook, lean: ModelSettings) -> None:
    result = backtest(book, settings=lean, months=3, refit="never")
    last = book.table["sale_date"].max()
    start = last + pd.Timedelta(days=1) - pd.Timedelta(days=90)
    assert result.predictions["sale_date"].min() >= start
    assert result.fitted_on == (book.table["sale_date"] < start).sum()


def test_cheap_sales_can_be_left_out(book: SalesBook, lean: ModelSettings) -> None:
    floor = float(book.table["price"].quantile(0.1))
    result = backtest(book, settings=lean, refit="never", least_price=floor)
    assert result.predictions["price"].min() > floor


def test_bounds_are_not_tested(book: SalesBook, lean: ModelSettings) -> None:
    settings = replace(lean, unsold="as bounds")
    result = backtest(book, settings=settings, refit="never")
    outcome = book.table.set_index("sale_id")["outcome"]
    assert (outcome.loc[result.predictions["sale_id"]] != "not sold").all()
    assert (outcome == "not sold").any()


def test_an_undated_list_is_split_by_its_seed(
    book: SalesBook, lean: ModelSettings, undate: Callable[[SalesBook], SalesBook]
) -> None:
    listed = undate(book.subset(np.arange(300)))
    one, again = (backtest(listed, settings=lean, undated_seed=4) for _ in range(2))
    other = backtest(listed, settings=lean, undated_seed=5)
    pd.testing.assert_frame_equal(one.predictions, again.predictions)
    assert set(one.predictions["sale_id"]) != set(other.predictions["sale_id"])
    assert one.fitted_on == 210
    assert list(one.by["month"]) == ["undated"]
    assert one.predictions["sale_date"].isna().all()
    chassis = listed.table.set_index("sale_id")["chassis"]
    tested = set(chassis.loc[one.predictions["sale_id"]].dropna())
    # Every sale of a tested car is in the test: none of them was there to learn from.
    assert set(chassis.index[chassis.isin(tested)]) <= set(one.predictions["sale_id"])
    assert one.overall.share_priced is not None
    assert one.overall.share_priced > 80


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            {"test_share": 0.0},
            "backtest: the test share must lie between 0 and 1 (got: 0). Give a share such as 0.3.",
        ),
        (
            {"test_share": 1.5},
            "backtest: the test share must lie between 0 and 1 (got: 1.5). Give a share such as "
            "0.3.",
        ),
    ],
)
def test_a_share_out_of_range_is_refused(
    book: SalesBook, change: dict[str, Any], sentence: str
) -> None:
    with pytest.raises(SettingsError) as caught:
        backtest(book, **change)
    assert str(caught.value) == sentence


def test_too_few_sales_are_refused(book: SalesBook, lean: ModelSettings) -> None:
    with pytest.raises(TooFewSalesError) as caught:
        backtest(book.subset(np.arange(80)), settings=lean)
    assert str(caught.value) == (
        "backtest: at least 60 sales before the test and one in it are needed (got: 56 before, "
        "23 in it). Add sales or test a smaller share."
    )
    with pytest.raises(TooFewSalesError) as caught:
        backtest(book.subset(np.arange(20)), settings=lean)
    assert str(caught.value) == (
        "the sales: at least 30 sales are needed to fit a market (got: 20). Add sales, or look "
        "at the rows that were set aside."
    )


def test_more_months_than_there_are_leave_too_few(book: SalesBook, lean: ModelSettings) -> None:
    with pytest.raises(TooFewSalesError, match="at least 60 sales before the test"):
        backtest(book, settings=lean, months=99)


def test_progress_runs_to_the_end(book: SalesBook, lean: ModelSettings) -> None:
    told: list[tuple[int, int, str]] = []
    backtest(book, settings=lean, refit="never", progress=lambda *step: told.append(step))
    assert told == [
        (0, 1, "fitting on the sales before the test"),
        (1, 3, "forecasting the past"),
        (2, 3, "forecasting the past"),
        (3, 3, "forecasting the past"),
        (1, 1, "pricing the test"),
    ]

"""The benchmark tests the very sales that the backtest tests."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Literal

import numpy as np
import pandas as pd
import pytest
from accuracy_splits import (
    LEAST_PRICE,
    REFIT,
    UNDATED_SEED,
    data_of,
    folds_by_chassis,
    held_out,
    share_of,
    stretches,
)

from valuation.appraisal.data import MarketData
from valuation.appraisal.settings import ModelSettings
from valuation.records import SalesBook
from valuation.study.backtest import backtest
from valuation.synthetic.market import SyntheticMarket


def backtested(book: SalesBook, schedule: str, settings: ModelSettings) -> pd.DataFrame:
    return backtest(
        book,
        test_share=share_of(book),
        refit=REFIT[schedule],
        undated_seed=UNDATED_SEED,
        least_price=LEAST_PRICE,
        settings=settings,
    ).predictions


@pytest.mark.parametrize("schedule", ["frozen", "month"])
def test_the_same_sales_are_priced_in_the_same_order(
    small_world: SyntheticMarket, lean: ModelSettings, schedule: Literal["frozen", "month"]
) -> None:
    book = small_world.book()
    late = book.table["sale_date"] >= book.table["sale_date"].quantile(0.6)
    book = book.subset(late.to_numpy())
    data = data_of(book)
    plan = stretches(data, share_of(book), schedule)
    rows = np.concatenate([s.priced for s in plan])
    expected = backtested(book, schedule, lean)
    assert data.frame["sale_id"].iloc[rows].tolist() == expected["sale_id"].tolist()
    assert len(plan) == 1 if schedule == "frozen" else len(plan) > 1


def test_the_same_sales_of_an_undated_list_are_priced(
    small_world: SyntheticMarket, lean: ModelSettings, undate: Callable[[SalesBook], SalesBook]
) -> None:
    book = undate(small_world.book())
    data = data_of(book)
    (only,) = stretches(data, share_of(book), "month")
    expected = backtested(book, "month", lean)
    assert data.frame["sale_id"].iloc[only.priced].tolist() == expected["sale_id"].tolist()
    assert len(only.known) == int(0.8 * len(data))


def test_later_stretches_know_all_that_was_sold_before_them(dated_sales: MarketData) -> None:
    plan = stretches(dated_sales, 0.3, "month")
    for earlier, later in pairwise(plan):
        assert set(earlier.known) | set(earlier.priced) <= set(later.known)
        assert later.known.max() < later.priced.min()


def test_cheap_sales_are_left_out(small_world: SyntheticMarket) -> None:
    book = small_world.book()
    table = book.table.copy()
    table.loc[:9, "price"] = [500.0, 1.0] * 5
    table.loc[10, "price"] = 500.01
    data = data_of(SalesBook(table, book.currency, book.dated))
    assert len(data) == len(table) - 10
    assert data.frame["price"].min() == 500.01


def test_tuning_looks_only_at_the_end_of_what_is_known(dated_sales: MarketData) -> None:
    parts = held_out(dated_sales, 3, 0.3)
    chassis = dated_sales.table.factors["chassis"].codes
    assert len(parts) == 3
    for p in parts:
        assert p.known.max() < p.priced.min()
        known = chassis[p.known]
        assert not set(chassis[p.priced]) & set(known[known >= 0])
    assert parts[0].known.max() == int(0.7 * len(dated_sales)) - 1


def test_undated_sales_are_held_out_at_random(
    small_world: SyntheticMarket, undate: Callable[[SalesBook], SalesBook]
) -> None:
    data = data_of(undate(small_world.book()))
    (only,) = held_out(data, 1, 0.2)
    assert len(only.priced) == pytest.approx(0.2 * len(data), rel=0.15)
    assert not set(only.known) & set(only.priced)
    (again,) = held_out(data, 1, 0.2)
    np.testing.assert_array_equal(only.priced, again.priced)


def test_a_chassis_is_in_one_fold(worded_sales: MarketData) -> None:
    fold = folds_by_chassis(worded_sales, 5, seed=0)
    chassis = worded_sales.table.factors["chassis"].codes
    assert set(fold.tolist()) == set(range(5))
    for c in np.unique(chassis):
        assert len(set(fold[chassis == c].tolist())) == 1

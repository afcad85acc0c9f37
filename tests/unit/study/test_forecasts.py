"""Forward forecasts use nothing that was not known at the start of their month."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError, TooFewSalesError
from valuation.records import SalesBook
from valuation.study.forecasts import (
    COLUMNS,
    ForwardForecasts,
    forecasts_of_model,
    forward_forecasts,
)
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

MONTHS = ("2024-09", "2024-10", "2024-11", "2024-12")
PLAIN = [name for name in COLUMNS if name not in ("sale_key", "batch")]
SAID = ["central", "lower", "upper", "lower_50", "upper_50", "lower_95", "upper_95"]


@pytest.fixture(scope="module")
def book() -> SalesBook:
    """Return two years of sales of four model lines in which cars come back."""
    asked = MarketSettings(sales=400, lines=4, start=date(2023, 1, 1), repeat_share=0.6)
    return make_market(asked, seed=6).book()


@pytest.fixture(scope="module")
def found(book: SalesBook, lean: ModelSettings) -> ForwardForecasts:
    return forward_forecasts(book, months=4, settings=lean)


@pytest.fixture(scope="module")
def market(book: SalesBook, lean: ModelSettings) -> MarketModel:
    """Return the market as it was known when December began."""
    known = book.subset((book.table["sale_date"] < "2024-12-01").to_numpy())
    return fit_market(known, as_of=date(2024, 12, 1), settings=lean)


def _month(found: ForwardForecasts, month: str) -> pd.DataFrame:
    rows = found.frame[found.frame["month"] == month]
    return rows.reset_index(drop=True)


def _priced(book: SalesBook, price: np.ndarray) -> SalesBook:
    return replace(book, table=book.table.assign(price=price))


def test_each_sale_of_the_months_is_told_as_the_book_has_it(
    found: ForwardForecasts, book: SalesBook
) -> None:
    assert list(found.frame.columns) == PLAIN
    assert found.months == MONTHS
    assert tuple(found.frame["month"].unique()) == MONTHS
    table = book.table.set_index("sale_id").loc[found.frame["sale_id"]]
    assert found.frame["sale_date"].is_monotonic_increasing
    assert (found.frame["month"] == found.frame["sale_date"].dt.strftime("%Y-%m")).all()
    for name in ("price", "basis", "outcome", "channel", "venue", "make", "model", "year", "body"):
        told, known = found.frame[name], table[name].reset_index(drop=True)
        assert told.equals(known.astype(told.dtype)), name
    assert found.fitted_on == (book.table["sale_date"] < "2024-09-01").sum()
    assert (found.as_of, found.currency) == (book.table["sale_date"].max().date(), "EUR")


def test_ranges_hold_the_centre_and_each_other(found: ForwardForecasts) -> None:
    p = found.frame[~found.frame["outside"]]
    assert len(p) > 40
    assert (p["lower_95"] <= p["lower"]).all()
    assert (p["lower"] <= p["lower_50"]).all()
    assert (p["lower_50"] < p["upper_50"]).all()
    assert (p["upper_50"] <= p["upper"]).all()
    assert (p["upper"] <= p["upper_95"]).all()
    assert p["central"].between(p["lower"], p["upper"]).mean() > 0.99
    assert found.frame.loc[found.frame["outside"], SAID[1:]].isna().all(axis=None)
    assert set(found.frame["months_ahead"]) <= {0.0, 1.0}


def test_a_car_sold_before_the_month_is_left_out_and_counted(
    found: ForwardForecasts, book: SalesBook
) -> None:
    table = book.table
    kept, left_out = [], 0
    for month in MONTHS:
        of_month = table["sale_date"].dt.strftime("%Y-%m") == month
        before = table.loc[table["sale_date"] < f"{month}-01", "chassis"].dropna()
        seen = of_month & table["chassis"].isin(before)
        left_out += int(seen.sum())
        kept += table.loc[of_month & ~seen, "sale_id"].tolist()
    assert left_out >= 2
    assert found.seen_before == left_out
    assert sorted(kept) == sorted(found.frame["sale_id"])


def test_later_prices_change_no_earlier_forecast(
    found: ForwardForecasts, book: SalesBook, lean: ModelSettings
) -> None:
    late = book.table["sale_date"] >= "2024-11-01"
    wild = _priced(book, np.where(late, book.table["price"] * 3, book.table["price"]))
    other = forward_forecasts(wild, months=4, settings=lean)
    early = found.frame["month"] < "2024-11"
    pd.testing.assert_frame_equal(other.frame[early], found.frame[early], check_exact=True)
    # The prices of a month are no part of its own centres; those of the month before are.
    november, changed = _month(found, "2024-11"), _month(other, "2024-11")
    assert (november[SAID] == changed[SAID]).all(axis=None)
    assert not np.allclose(_month(found, "2024-12")["central"], _month(other, "2024-12")["central"])


def test_a_month_is_forecast_as_a_model_of_its_eve_would(
    book: SalesBook, market: MarketModel, lean: ModelSettings
) -> None:
    forward = forward_forecasts(book, months=1, settings=lean).frame
    model = forecasts_of_model(market, book, start=date(2024, 12, 1), end=date(2024, 12, 31))
    assert len(model) > 8
    pd.testing.assert_frame_equal(model, forward, check_exact=True)


def test_a_model_is_asked_of_any_days_after_its_sales(book: SalesBook, market: MarketModel) -> None:
    whole = forecasts_of_model(market, book, start=date(2024, 12, 1), end=date(2024, 12, 31))
    half = forecasts_of_model(market, book, start=date(2024, 12, 16), end=date(2024, 12, 31))
    later = whole[whole["sale_date"] >= "2024-12-16"].reset_index(drop=True)
    assert 0 < len(half) < len(whole)
    pd.testing.assert_frame_equal(half, later, check_exact=True)
    none = forecasts_of_model(market, book, start=date(2025, 3, 1), end=date(2025, 3, 31))
    assert len(none) == 0
    assert list(none.columns) == list(whole.columns)


def test_sales_after_the_day_count_for_nothing(book: SalesBook, lean: ModelSettings) -> None:
    day = date(2024, 11, 20)
    found = forward_forecasts(book, months=2, as_of=day, settings=lean)
    assert found.months == ("2024-10", "2024-11")
    assert found.as_of == day
    until = book.subset((book.table["sale_date"] <= pd.Timestamp(day)).to_numpy())
    other = forward_forecasts(until, months=2, as_of=day, settings=lean)
    pd.testing.assert_frame_equal(found.frame, other.frame, check_exact=True)


def test_months_with_little_before_them_are_left_out(book: SalesBook, lean: ModelSettings) -> None:
    found = forward_forecasts(book, months=3, as_of=date(2023, 6, 30), settings=lean)
    before = [
        (book.table["sale_date"] < f"{m}-01").sum() for m in ("2023-04", "2023-05", "2023-06")
    ]
    assert before[0] < 60 < before[2]
    assert found.months == tuple(
        m for m, n in zip(("2023-04", "2023-05", "2023-06"), before, strict=True) if n >= 60
    )


def test_a_bound_is_not_tested(book: SalesBook, lean: ModelSettings) -> None:
    bounds = replace(lean, unsold="as bounds")
    found = forward_forecasts(book, months=2, settings=bounds)
    plain = forward_forecasts(book, months=2, settings=lean)
    unsold = plain.frame["outcome"] == "not sold"
    assert unsold.any()
    assert not (found.frame["outcome"] == "not sold").any()
    assert found.frame["sale_id"].tolist() == plain.frame.loc[~unsold, "sale_id"].tolist()
    model = fit_market(book, as_of=date(2024, 11, 30), settings=bounds)
    said = forecasts_of_model(model, book, start=date(2024, 12, 1), end=date(2024, 12, 31))
    assert said["sale_id"].tolist() == _month(found, "2024-12")["sale_id"].tolist()


def test_keys_and_batches_of_the_evidence_come_along(book: SalesBook, lean: ModelSettings) -> None:
    keys = [f"0a1b2c3d4e5f:{i}" for i in range(len(book))]
    kept = replace(book, table=book.table.assign(sale_key=keys, batch="0a1b2c3d4e5f"))
    found = forward_forecasts(kept, months=1, settings=lean)
    assert list(found.frame.columns) == list(COLUMNS)
    assert set(found.frame["batch"]) == {"0a1b2c3d4e5f"}
    by_id = dict(zip(kept.table["sale_id"], keys, strict=True))
    assert found.frame["sale_key"].tolist() == [by_id[s] for s in found.frame["sale_id"]]
    plain = forward_forecasts(book, months=1, settings=lean)
    assert (found.frame[SAID] == plain.frame[SAID]).all(axis=None)


def test_it_is_counted_as_a_backtest_counts(found: ForwardForecasts) -> None:
    price, central = found.frame["price"], found.frame["central"]
    error = 100 * (central - price).abs() / price
    assert found.result.overall.tested == len(found.frame)
    assert found.result.overall.median_abs_pct_error == pytest.approx(error.median())
    assert list(found.result.by["month"]) == list(MONTHS)
    out = found.to_dict()
    assert list(out)[:5] == ["format", "months", "as_of", "currency", "seen_before"]
    assert (out["format"], out["as_of"]) == (1, found.as_of.isoformat())
    assert out["tested"] == len(found.frame)
    json.dumps(out, allow_nan=False)
    text = found.summary().splitlines()
    assert text[0] == (
        f"Forward forecasts: {len(found.frame)} sales of 2024-09 to 2024-12, each priced from what "
        f"was known at the start of its month ({found.fitted_on} sales before the first)"
    )
    assert text[1] == f"  left out                {found.seen_before} cars sold before"
    assert text[2].startswith("  median absolute error   ")


def test_what_cannot_be_forecast_is_said(
    book: SalesBook, lean: ModelSettings, undate: Callable[[SalesBook], SalesBook]
) -> None:
    with pytest.raises(SettingsError) as found:
        forward_forecasts(undate(book), settings=lean)
    assert str(found.value) == (
        "forward forecasts: an undated list has no months. Give sales with their dates."
    )
    with pytest.raises(SettingsError, match=r"at least one month is tested \(got: 0\)"):
        forward_forecasts(book, months=0, settings=lean)
    with pytest.raises(TooFewSalesError) as few:
        forward_forecasts(book, months=1, as_of=date(2023, 3, 31), settings=lean)
    n = (book.table["sale_date"] <= "2023-03-31").sum()
    assert str(few.value) == (
        "forward forecasts: at least 60 sales before a month and one in it are needed (got: "
        f"{n} sales up to 2023-03). Add sales."
    )


def test_a_model_is_not_asked_of_what_it_knows(
    book: SalesBook, market: MarketModel, undate: Callable[[SalesBook], SalesBook]
) -> None:
    days = {"start": date(2024, 12, 1), "end": date(2024, 12, 31)}
    last = market.frame["sale_date"].max().date()
    with pytest.raises(SettingsError) as found:
        forecasts_of_model(market, book, start=last, end=date(2024, 12, 31))
    assert str(found.value) == (
        "forward forecasts: the model knows sales of the days that it is to forecast (got: sales "
        f"up to {last}). Forecast days after its last sale."
    )
    with pytest.raises(SettingsError, match=r"another currency than the sales, USD \(got: EUR\)"):
        forecasts_of_model(market, replace(book, currency="USD"), **days)
    with pytest.raises(SettingsError, match="an undated list has no days to forecast"):
        forecasts_of_model(market, undate(book), **days)

"""Checks of whole rows: price, year, make, date, and prices that are out of scale."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.importing.faults import FaultList
from valuation.reading.text import word_set
from valuation.reading.years import FIRST_YEAR

__all__ = ["check_rows", "check_scale", "is_token_price"]

_SMALL_UNITS = word_set(
    "JPY KRW IDR VND HUF CLP COP ISK IRR IQD LBP UGX TZS PYG RSD NGN KZT UZS MMK LAK KHR"
)
_TOKEN_BELOW = 50.0
_TYPED = frozenset({1234, 12345, 123456, 1234567, 12345678})
_ALWAYS_POSSIBLE = 2026
"""Years up to here are in the past whatever a list without dates holds."""
_BEYOND_BULK = 20
_FACTOR = 50.0
_SDS = 8.0
_LEAST_SD = 0.25
_LEAST_GROUP = 6
_NOT_JUDGED = (
    "subtotal row",
    "repeated header",
    "too many cells",
    "token price",
    "no rate",
    "rate too old",
    "impossible year",
)


def is_token_price(price: float, currency: str, *, dated: bool = False) -> bool:
    """Tell whether a price is only there because the form wanted one.

    Parameters
    ----------
    price : float
        Amount.
    currency : str
        ISO 4217 code; 50 units of most currencies are no price of a car.
    dated : bool
        Whether it comes from dated sales: people do bid 11,111, but only those who ask a price
        type 12345 to fill a field.

    Examples
    --------
    >>> is_token_price(1, "EUR"), is_token_price(12345, "EUR"), is_token_price(450, "EUR")
    (True, True, False)
    """
    least = _TOKEN_BELOW * (100 if currency in _SMALL_UNITS else 1)
    if not 0 < price < math.inf:
        return False
    digits = f"{price:.0f}"
    same = len(set(digits)) == 1 and len(digits) >= (4 if digits[0] == "1" else 7)
    typed = price in _TYPED or (same and price == int(price))
    return price < least or (typed and not dated)


def _texts(values: Sequence[object]) -> list[str]:
    return [f"{v:g}" if isinstance(v, float) else str(v) for v in values]


def check_rows(table: pd.DataFrame, faults: FaultList, *, dated: bool, currency: str) -> None:
    """Note what every row lacks to be a sale.

    Parameters
    ----------
    table : pandas.DataFrame
        All rows of all files.
    faults : FaultList
        Is added to.
    dated : bool
        Whether every row has to have a date.
    currency : str
        Currency of the prices.
    """
    price = table["price"].to_numpy(dtype=float)
    shown = [f"{p:.10g}" for p in price]
    unread = _has(faults, len(table), ("no price", "unreadable price"))
    faults.add_where(np.isnan(price) & ~unread, "no price")
    faults.add_where(price <= 0, "price not above zero", "", shown)
    token = np.array([is_token_price(p, currency, dated=dated) for p in price], dtype=bool)
    faults.add_where(token, "token price", "", shown)
    _check_years(table, faults, dated=dated)
    faults.add_where(table["make"].isna().to_numpy(), "no make")
    if dated:
        undated = table["sale_date"].isna().to_numpy()
        known = _has(faults, len(table), ("no date", "unreadable date", "ambiguous date"))
        faults.add_where(undated & ~known, "no date")


def _has(faults: FaultList, n: int, codes: Sequence[str]) -> NDArray[np.bool_]:
    mask = np.zeros(n, dtype=bool)
    for row, found in faults.by_row.items():
        mask[row] = any(f.code in codes for f in found)
    return mask


def _check_years(table: pd.DataFrame, faults: FaultList, *, dated: bool) -> None:
    year = table["year"].to_numpy(dtype=float)
    shown = [f"{y:.0f}" for y in year]
    unread = _has(faults, len(table), ("unreadable year",))
    faults.add_where(np.isnan(year) & ~unread, "no year")
    stated = year[~np.isnan(year)]
    if not len(stated):
        return
    last = table["sale_date"].max()
    if dated and not pd.isna(last):
        limit = last.year + 1.0
    else:
        bulk = float(np.quantile(stated, 0.99))
        limit = max(bulk + _BEYOND_BULK, float(_ALWAYS_POSSIBLE))
    faults.add_where((year < FIRST_YEAR) | (year > limit), "impossible year", "", shown)


def _deviations(
    logs: NDArray[np.float64], keys: pd.Series[str]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the deviation of each log price from its group's median, in logs and in robust sd."""
    series = pd.Series(logs, index=keys.index)
    grouped = series.groupby(keys)
    gap = series - grouped.transform("median")
    spread = 1.4826 * gap.abs().groupby(keys).transform("median")
    size = grouped.transform("size")
    sds = gap / np.maximum(spread, _LEAST_SD)
    small = (size < _LEAST_GROUP).to_numpy()
    return (
        np.where(small, np.nan, gap.to_numpy()),
        np.where(small, np.nan, sds.to_numpy()),
    )


def check_scale(table: pd.DataFrame, faults: FaultList) -> None:
    """Note prices that are wrong by a large factor, as a lost decimal sign makes them.

    Parameters
    ----------
    table : pandas.DataFrame
        All rows of all files, prices in one currency.
    faults : FaultList
        Rows without a usable price are not judged; is added to.

    Notes
    -----
    A price is out of scale when its logarithm lies more than log 50 *and* more than eight robust
    standard deviations (1.4826 × median absolute deviation) from the median of the same make,
    model and ten years of building; groups of fewer than six rows give way to make and model,
    to the make, then to all.
    """
    price = table["price"].to_numpy(dtype=float)
    unusable = _has(faults, len(table), _NOT_JUDGED)
    good = np.flatnonzero((price > 0) & ~unusable & table["year"].notna().to_numpy())
    if len(good) < _LEAST_GROUP:
        return
    part = table.iloc[good].reset_index(drop=True)
    logs = np.log(part["price"].to_numpy(dtype=float))
    make = part["make"].fillna("").astype(str)
    line = make + "|" + part["model"].fillna("").astype(str)
    decade = line + "|" + (part["year"] // 10).astype(str)
    gap, sds = _deviations(logs, decade)
    for keys in (line, make, make.str.slice(0, 0)):
        wider = _deviations(logs, keys)
        open_ = np.isnan(gap)
        gap = np.where(open_, wider[0], gap)
        sds = np.where(open_, wider[1], sds)
    odd = (np.abs(gap) > math.log(_FACTOR)) & (np.abs(sds) > _SDS)
    for i in np.flatnonzero(odd):
        usual = math.exp(float(logs[i] - gap[i]))
        faults.add(
            int(good[i]),
            "price out of scale",
            "",
            f"{part['price'].iloc[i]:.10g}, where {usual:,.0f} is usual",
        )

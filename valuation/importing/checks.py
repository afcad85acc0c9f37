"""Checks of whole rows: price, year, make, date, and prices that are out of scale."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.importing.faults import FaultList
from valuation.reading.text import word_set
from valuation.reading.years import FIRST_YEAR

__all__ = ["check_rows", "check_scale", "check_years", "is_token_price"]

_SMALL_UNITS = word_set(
    "JPY KRW IDR VND HUF CLP COP ISK IRR IQD LBP UGX TZS PYG RSD NGN KZT UZS MMK LAK KHR"
)
_TOKEN_BELOW = 50.0
_TYPED = frozenset({1234, 12345, 123456, 1234567, 12345678})
_ALWAYS_POSSIBLE = 2026
"""Years up to here are in the past whatever a list without dates holds."""
_BEYOND_BULK = 20
_FACTOR = 50.0
_SDS = 6.0
_SDS_WIDE = 8.0
_LEAST_SD = 0.25
_LEAST_GROUP = 6
_NEIGHBOURS = 9
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
    check_years(table, faults, dated=dated)
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


def check_years(table: pd.DataFrame, faults: FaultList, *, dated: bool) -> None:
    """Note years that are missing or can't be.

    Parameters
    ----------
    table : pandas.DataFrame
        All rows, with ``year`` and ``sale_date``.
    faults : FaultList
        Is added to.
    dated : bool
        Whether the dates tell the last year that a car can have.
    """
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
    logs: NDArray[np.float64], years: NDArray[np.float64], keys: pd.Series[str]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return how far each log price is from its neighbours of the group, in logs and robust sd.

    Neighbours are the four next in year on either side, so that a cheap old car among dear new
    ones is compared with the old ones.
    """
    codes = pd.factorize(keys)[0]
    order = np.lexsort((years, codes))
    line = pd.Series(logs[order])
    of = pd.Series(codes[order])
    middle = line.groupby(of).rolling(_NEIGHBOURS, center=True, min_periods=5).median()
    gap = line - middle.to_numpy()
    spread = 1.4826 * gap.abs().groupby(of).transform("median")
    enough = (line.groupby(of).transform("size") >= _LEAST_GROUP).to_numpy()
    out = np.full((2, len(logs)), np.nan)
    out[0, order] = np.where(enough, gap.to_numpy(), np.nan)
    out[1, order] = np.where(enough, (gap / np.maximum(spread, _LEAST_SD)).to_numpy(), np.nan)
    return out[0], out[1]


def _groups(part: pd.DataFrame) -> Iterator[tuple[pd.Series[str], float]]:
    """Return the groups in which a price is compared, the closest first, and the limit in sd."""
    make, model, variant = (part[c].fillna("").astype(str) for c in ("make", "model", "variant"))
    # Rows without a model are no group of their own: each gets a key that nobody shares.
    alone = pd.Series([f"?{i}" for i in range(len(part))], dtype=object).astype(str)
    line = (make + "|" + model).where(model != "", alone)
    yield (line + "|" + variant).where(variant != "", alone), _SDS
    yield line, _SDS
    yield make, _SDS_WIDE
    yield make.str.slice(0, 0), _SDS_WIDE


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
    A price is out of scale when its logarithm lies more than log 50 *and* more than six robust
    standard deviations (1.4826 × median absolute deviation) from the median of its neighbours in
    year within the same model and variant, or the same model.  Where these have fewer than six
    rows, the make and then all rows take their place with eight standard deviations: a rare model
    is not a mistake.
    """
    price = table["price"].to_numpy(dtype=float)
    unusable = _has(faults, len(table), _NOT_JUDGED)
    good = np.flatnonzero((price > 0) & ~unusable & table["year"].notna().to_numpy())
    if len(good) < _LEAST_GROUP:
        return
    part = table.iloc[good].reset_index(drop=True)
    logs = np.log(part["price"].to_numpy(dtype=float))
    years = part["year"].to_numpy(dtype=float)
    gap, sds, limit = np.full(len(logs), np.nan), np.zeros(len(logs)), np.zeros(len(logs))
    for keys, most in _groups(part):
        found, in_sds = _deviations(logs, years, keys)
        new = np.isnan(gap) & ~np.isnan(found)
        gap = np.where(new, found, gap)
        sds = np.where(new, in_sds, sds)
        limit = np.where(new, most, limit)
    odd = (np.abs(gap) > math.log(_FACTOR)) & (np.abs(sds) > limit)
    for i in np.flatnonzero(odd):
        usual = math.exp(float(logs[i] - gap[i]))
        faults.add(
            int(good[i]),
            "price out of scale",
            "",
            f"{part['price'].iloc[i]:.10g}, where {usual:,.0f} is usual",
        )

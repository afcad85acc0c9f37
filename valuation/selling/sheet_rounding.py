"""What may be told of a sale to a former customer: a rounded price and a quarter.

The firm's own sales are evidence like any other, but what one customer paid is nobody else's
business.  So the price is rounded, the day is the middle of its quarter, and everything that is
shown with it is worked out anew from those two.
"""

from __future__ import annotations

import math
from datetime import date

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import market_data
from valuation.appraisal.market import MarketModel
from valuation.features.table import day_number
from valuation.records import SalesBook

__all__ = ["mid_quarter", "rounded_effects", "rounded_price"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SHARE = 0.05
"""A price is rounded to steps of at most this share of it, so by at most half as much: less than
the noise of any single sale, and more than anyone needs who wants to tell what was paid."""


def rounded_price(price: float) -> int:
    """Round a price to the largest step of 1, 2 or 5 times a power of ten within 5 % of it.

    Parameters
    ----------
    price : float
        Above zero.

    Examples
    --------
    >>> rounded_price(41_230), rounded_price(98_700), rounded_price(7_940)
    (42000, 98000, 8000)
    """
    most = max(SHARE * price, 1.0)
    power = 10.0 ** math.floor(math.log10(most))
    step = max(m * power for m in (1, 2, 5) if m * power <= most * (1 + 1e-12))
    return round(math.floor(price / step + 0.5) * step)


def mid_quarter(day: date) -> date:
    """Return the day that stands for a quarter.

    Examples
    --------
    >>> mid_quarter(date(2025, 4, 3)), mid_quarter(date(2025, 12, 31))
    (datetime.date(2025, 5, 16), datetime.date(2025, 11, 16))
    """
    return date(day.year, 3 * ((day.month - 1) // 3) + 2, 16)


def rounded_effects(market: MarketModel, rows: Ints, days: list[date]) -> Floats:
    """Return the log effects of sales as if each had been made on another day.

    Parameters
    ----------
    market : MarketModel
        Fitted and dated.
    rows : ndarray of int, shape (n,)
        Positions of the sales.
    days : list of datetime.date
        The days, one a sale.

    Returns
    -------
    ndarray, shape (n, n_attributes)
        The market's line is the level of the market alone: what the sales of the very days of a
        sale share would tell the day again.
    """
    fitted, spec = market.fitted, market.fitted.spec
    when = np.array(days, dtype="datetime64[s]")
    order = np.argsort(when, kind="stable")
    frame = market.frame.iloc[rows[order]].assign(sale_date=when[order])
    book = SalesBook(frame.reset_index(drop=True), market.currency, market.dated)
    data = market_data(book, unsold="as bids", least=1)
    made = fitted.by_attribute(spec.transform(data.table).X)
    out = np.empty_like(made)
    out[order] = made
    at = spec.attributes.index("market") if "market" in spec.attributes else None
    if at is not None:
        make, line = data.table.factors["make"].text(), data.table.factors["line"].text()
        for i, row in enumerate(order.tolist()):
            day = np.array([day_number(days[row])])
            out[row, at] = float(market.levels.of(make[i], line[i]).at(day)[0])
    return out

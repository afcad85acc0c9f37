"""What an index tells beside the level: lots sold of those offered, and days to sell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.evidence.known_sales import own_sales
from valuation.features.columns import key
from valuation.records import SalesBook
from valuation.results.index import DaysToSell, SellThrough
from valuation.results.ledger import StockCar

__all__ = [
    "AUCTIONS",
    "days_of_sales",
    "days_to_sell_by_month",
    "ledger_days",
    "sell_through_by_month",
]

Floats = NDArray[np.float64]

AUCTIONS = ("live auction", "online auction")

FEWEST_LOTS = 10
"""Fewest lots of which the share sold is told."""

FEWEST_CARS = 5
"""Fewest cars of which the days to sell are told."""

_STRETCHES = (("month", 1), ("quarter", 3), ("year", 12))
"""Stretches of a calendar and their lengths in months."""

_Z95 = 1.959963984540054


def sell_through_by_month(frame: pd.DataFrame, months: Sequence[str]) -> dict[str, SellThrough]:
    """Return the share of the lots that were sold, by month.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales of a segment.
    months : sequence of str
        Months asked for.

    Returns
    -------
    dict of str to SellThrough
        For each month with enough lots in itself, its quarter or its year; empty where no lot is
        recorded as not sold, because such records say nothing of what was offered.
    """
    at_auction = frame["channel"].isin(AUCTIONS) & frame["outcome"].isin(("sold", "not sold"))
    lots = frame[at_auction]
    sold = (lots["outcome"] == "sold").to_numpy()
    if not len(lots) or sold.all():
        return {}
    found = {}
    for month, over, chosen in _by_month(lots["sale_date"], months, FEWEST_LOTS):
        k, n = int(sold[chosen].sum()), int(chosen.sum())
        found[month] = SellThrough(k, n, *_wilson(k, n), over)
    return found


def days_to_sell_by_month(
    frame: pd.DataFrame, days: Floats, months: Sequence[str]
) -> dict[str, DaysToSell]:
    """Return how long the cars that were sold had stood, by month of the sale.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales of a segment.
    days : ndarray, shape (n_sales,)
        Days from offer to sale, NaN where nobody knows.
    months : sequence of str
        Months asked for.

    Returns
    -------
    dict of str to DaysToSell
        For each month with enough cars in itself, its quarter or its year.
    """
    told = ~np.isnan(days) & (frame["outcome"] != "not sold").to_numpy()
    waited = days[told]
    found = {}
    for month, over, chosen in _by_month(frame.loc[told, "sale_date"], months, FEWEST_CARS):
        low, median, high = np.quantile(waited[chosen], [0.25, 0.5, 0.75]).tolist()
        found[month] = DaysToSell(int(chosen.sum()), median, low, high, over)
    return found


def days_of_sales(frame: pd.DataFrame, days: Mapping[str, float]) -> Floats:
    """Return the days to sell of each sale.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales.
    days : mapping of str to float
        Days by ``sale_key``, ``sale_id`` or chassis; the first that is named counts.

    Returns
    -------
    ndarray, shape (n_sales,)
        NaN where none of them is named.
    """
    keyed = {key(name): float(value) for name, value in days.items()}
    out = np.full(len(frame), np.nan)
    for name in ("chassis", "sale_id", "sale_key"):
        if name in frame:
            words = frame[name].fillna("").astype(str)
            found = np.array([keyed.get(key(word), np.nan) if word else np.nan for word in words])
            out = np.where(np.isnan(found), out, found)
    return out


def ledger_days(frame: pd.DataFrame, currency: str, cars: Sequence[StockCar]) -> dict[str, float]:
    """Return how long the firm's own cars stood, by the sale of each in the evidence.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales with ``sale_key``, as a model of the evidence has them.
    currency : str
        Currency of their prices.
    cars : sequence of StockCar
        Of the stock ledger.

    Returns
    -------
    dict of str to float
        Days from the first listing to the sale by ``sale_key``; empty for sales without keys.
    """
    stood = {c.mark.stock or c.mark.chassis: c.days_to_sell for c in cars}
    days = {name: float(n) for name, n in stood.items() if n is not None}
    if not days or "sale_key" not in frame:
        return {}
    linked = own_sales(SalesBook(frame, currency, True), cars)
    found = {o.sale_key: days[o.stock] for o in linked if o.event == "sold" and o.stock in days}
    for car in cars:
        name = car.mark.stock or car.mark.chassis
        if car.sold is not None and name in days:
            found.setdefault(f"{car.sold.batch}:{car.sold.row}", days[name])
    return found


def _by_month(
    dates: pd.Series[pd.Timestamp], months: Sequence[str], fewest: int
) -> Iterator[tuple[str, str, NDArray[np.bool_]]]:
    """Yield each month with the rows of it, of its quarter or of its year if it has too few."""
    number = dates.to_numpy().astype("datetime64[M]").astype(int)
    for asked in months:
        month = int(np.datetime64(asked, "M").astype(int))
        for over, length in _STRETCHES:
            chosen = number // length == month // length
            if chosen.sum() >= fewest:
                yield asked, over, chosen
                break


def _wilson(k: int, n: int) -> tuple[float, float]:
    """Return the 95 % interval of a share (Wilson 1927, JASA 22, 209-212)."""
    z2 = _Z95**2
    middle = (k + z2 / 2) / (n + z2)
    half = _Z95 / (n + z2) * float(np.sqrt(k * (n - k) / n + z2 / 4))
    return max(middle - half, 0.0), min(middle + half, 1.0)

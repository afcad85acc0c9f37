"""Sales that may be a purchase of the firm although no chassis number says so.

A list often gives no chassis number, or writes it otherwise than the firm does.  What is known of
a purchase finds it all the same: the car, the day, and about the price.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.reading.text import compact, fold

__all__ = ["LEAST_PART", "MOST_PART", "WITHIN_DAYS", "Bought", "like_purchase", "same_model"]

WITHIN_DAYS = 14
"""Days between the sale that a list dates and the purchase that the ledger dates, at most."""

LEAST_PART, MOST_PART = 0.8, 1.35
"""Price of the list over that of the purchase: one may be the hammer price and the other hold
premium and tax."""

_YEARS = 1.0
"""Model year and year of the papers may differ by one."""


@dataclass(frozen=True, slots=True)
class Bought:
    """What is known of a purchase.

    Parameters
    ----------
    make, model : str
        Of the car, as written.
    year : float
        Model year, NaN if not known.
    on : datetime.date
        Day.
    price : float or None
        In the currency of the sales; None if it is not known in that currency.
    """

    make: str
    model: str
    year: float
    on: date
    price: float | None = None


def like_purchase(columns: Mapping[str, NDArray[Any]], bought: Bought) -> NDArray[np.intp]:
    """Return the sales that match what is known of a purchase.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n_sales,)
        Sales in the contract's columns.
    bought : Bought
        The purchase.

    Returns
    -------
    ndarray of int
        Positions of sales of the same make, model and about the same year, at most
        :data:`WITHIN_DAYS` days away and at :data:`LEAST_PART` to :data:`MOST_PART` of the price.
        Another car that fits all this is among them; one that misses is not found.
    """
    apart = columns["sale_date"].astype("datetime64[D]") - np.datetime64(bought.on, "D")
    # A sale without a day is not-a-time apart, which is no number of days.
    near = np.abs(apart) <= np.timedelta64(WITHIN_DAYS, "D")
    if bought.year == bought.year:
        years = columns["year"].astype(np.float64)
        near &= np.isnan(years) | (np.abs(years - bought.year) <= _YEARS)
    if bought.price:
        part = columns["price"].astype(np.float64) / bought.price
        near &= (part >= LEAST_PART) & (part <= MOST_PART)
    found = [
        i
        for i in np.flatnonzero(near).tolist()
        if compact(str(columns["make"][i])) == compact(bought.make)
        and same_model(str(columns["model"][i] or ""), bought.model)
    ]
    return np.array(found, dtype=np.intp)


def same_model(one: str, other: str) -> bool:
    """Tell whether two names can mean one model: the same, or one says more than the other.

    Examples
    --------
    >>> same_model("GT", "gt coupe"), same_model("GT-4", "GT 4"), same_model("GT", "GTE")
    (True, True, False)
    """
    if not one or not other or compact(one) == compact(other):
        return True
    a, b = sorted((fold(one).split(), fold(other).split()), key=len)
    return b[: len(a)] == a

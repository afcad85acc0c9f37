"""The market that a customer may be shown: without the firm's own purchase of the car.

What the firm paid must not be on a customer's sheet, neither as a sale nor in any figure that it
can be derived from.  So the sales that may be the purchase are taken out of the fitted market
before anything is computed for a customer, and the sales at which the firm bought other cars are
never shown, though they speak in the fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.market import MarketModel
from valuation.appraisal.without import without_sales
from valuation.evidence.own_book import OWN
from valuation.records import Car
from valuation.selling.same_car import sales_of_car

__all__ = ["Purchase", "customers_market", "former_customers", "public_sales"]

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Purchase:
    """What the firm knows of its purchase of a car.

    Parameters
    ----------
    day : datetime.date
        Its day.
    price : float or None
        What it cost, in the currency of the market; None if only the day is known.
    """

    day: date
    price: float | None = None


def customers_market(
    market: MarketModel, car: Car, *, purchase: Purchase | None = None
) -> MarketModel:
    """Return the market as it would be without the firm's purchase of a car.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated, as it is on disk.
    car : Car
        The car that is offered to a customer.
    purchase : Purchase, optional
        What is known of its purchase beside what is marked in the model.

    Returns
    -------
    MarketModel
        The same object if no sale has to go.  Else what
        :func:`valuation.appraisal.without.without_sales` makes of it, which says what is kept of
        the fit of all sales: columns, penalties, noise, calibration.  They follow from all sales
        together, and what the firm paid cannot be told from them.

    Notes
    -----
    Which sales go is said at :func:`valuation.selling.same_car.sales_of_car`.  The rule can take
    another car's sale out with it, which costs a comparable sale and tells nothing.  It misses a
    purchase that stands in the evidence without a chassis number, unknown to ledger and caller,
    and that states neither mileage nor enough else to be told from others of its model and year.
    """
    known = [] if purchase is None else [(purchase.day, purchase.price)]
    return without_sales(market, sales_of_car(market.columns, car, known))


def public_sales(market: MarketModel) -> Mask:
    """Return which sales may be shown to a customer: all at which the firm did not buy.

    Parameters
    ----------
    market : MarketModel
        From :func:`customers_market`.

    Returns
    -------
    ndarray of bool, shape (n_sales,)
        In the order of its frame.  Only a model that was fitted from a workspace with a stock
        ledger knows the firm's purchases of other cars.
    """
    return ~_marked(market, "bought")


def former_customers(market: MarketModel) -> Mask:
    """Return which sales are the firm's own, to its customers of former times.

    Parameters
    ----------
    market : MarketModel
        From :func:`customers_market`.

    Returns
    -------
    ndarray of bool, shape (n_sales,)
        In the order of its frame.
    """
    return _marked(market, "sold")


def _marked(market: MarketModel, mark: str) -> Mask:
    if OWN not in market.frame:
        return np.zeros(len(market.frame), dtype=bool)
    return np.asarray(market.columns[OWN] == mark, dtype=bool)

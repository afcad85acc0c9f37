"""The prices of two cars, brought to one day and to the same terms."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from scipy import sparse

from valuation.appraisal.contrast import Contrast, contrast, variances
from valuation.appraisal.data import cars_table
from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.features.columns import key
from valuation.features.table import day_number
from valuation.records import Car
from valuation.results.beside_parts import PRICE_KINDS, BesidePrice

__all__ = ["ASKED", "LEAST", "Brought", "asked_against_sold", "brought", "check_prices"]

ASKED = "asking price"
"""Basis of a price that is only asked."""

LEAST = 10
"""Fewest sales of each kind in one channel that tell how far asked and paid lie apart."""


@dataclass(frozen=True)
class Brought:
    """A price brought to the day and the terms of a comparison.

    Parameters
    ----------
    price : BesidePrice
        The price.
    variance : float
        Variance of what it was moved and converted by, on the log scale.
    """

    price: BesidePrice
    variance: float = 0.0


def check_prices(
    our_price: float | None,
    their_price: float | None,
    price_kind: str,
    price_day: date | None,
    *,
    dated: bool,
) -> None:
    """Refuse prices that make no sense.

    Raises
    ------
    SettingsError
        If an amount is not above zero, a kind is unknown, or a day has no price or no market.
    """
    for name, amount in (("our_price", our_price), ("their_price", their_price)):
        if amount is not None and not 0 < amount < float("inf"):
            raise SettingsError(
                name, "a price is above zero", got=f"{amount:g}", remedy="State it in whole units"
            )
    if price_kind not in PRICE_KINDS:
        raise SettingsError(
            "price_kind",
            "a price is asked, or the car was sold for it",
            got=price_kind,
            remedy=f"Say {' or '.join(PRICE_KINDS)}",
        )
    if price_day is None:
        return
    if their_price is None:
        raise SettingsError(
            "price_day",
            "there is no price that this could be the day of",
            got=price_day.isoformat(),
            remedy="State the price of the other car too",
        )
    if not dated:
        raise SettingsError(
            "price_day",
            "the market comes from an undated list and moves no price",
            got=price_day.isoformat(),
            remedy="Leave it out",
        )


def asked_against_sold(market: MarketModel, car: Car, *, day: float) -> Contrast | None:
    """Return how much more a car is asked for than it sells for, by the evidence.

    Both have to be known within one channel: where dealers only ask and auctions only sell, no
    sale tells the two apart.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    car : Car
        The car with the sale it is valued for.
    day : float
        Day of the comparison, days since 1970-01-01.

    Returns
    -------
    Contrast or None
        Log of what is asked over what is paid; None where too few sales tell.
    """
    frame = market.frame
    mine = frame["channel"].map(lambda c: isinstance(c, str) and key(c) == key(car.sale["channel"]))
    bases = frame.loc[mine.to_numpy(dtype=bool), "basis"].dropna()
    asked = int((bases == ASKED).sum())
    paid = bases[~bases.isin([ASKED, "unknown"])].value_counts()
    if asked < LEAST or not len(paid) or paid.max() < LEAST:
        return None
    own = car.sale["basis"]
    sold = own if own in paid.index else min(paid.index[paid == paid.max()])
    sales = [{**car.sale, "basis": basis} for basis in (str(sold), ASKED)]
    return contrast(market.fitted, *(replace(car, sale=s) for s in sales), day=day)


def brought(
    market: MarketModel,
    car: Car,
    amount: float,
    kind: str,
    *,
    price_day: date | None,
    day: float,
    asked: bool,
) -> Brought:
    """Bring the price of a car to the day of a comparison, and to what is asked if that is wanted.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    car : Car
        The car with the sale it is valued for.
    amount : float
        Its price.
    kind : {"asking", "sold"}
        What that is.
    price_day : datetime.date or None
        Its day; that of the comparison if None.
    day : float
        Day of the comparison, days since 1970-01-01.
    asked : bool
        True if it is compared with a price that is asked.

    Returns
    -------
    Brought
        Not straight if it was paid, is compared with what is asked, and no sales tell how far
        these lie apart.
    """
    stated = round(amount)
    price = BesidePrice(stated, kind, price_day)
    variance = 0.0
    if price_day is not None:
        moved = _movement(market, car, day_number(price_day), day)
        price = replace(price, moved=round(stated * float(np.expm1(moved.effect))))
        variance += moved.sd**2
    if kind != "sold" or not asked:
        return Brought(price, variance)
    step = asked_against_sold(market, car, day=day)
    if step is None:
        return Brought(replace(price, straight=False), variance)
    until = price.amount + price.moved
    price = replace(price, converted=round(until * float(np.expm1(step.effect))))
    return Brought(price, variance + step.sd**2)


def _movement(market: MarketModel, car: Car, start: float, end: float) -> Contrast:
    """Return what the market did to such a car between two days: its level, and no other part.

    Neither the age of the car nor what the sales of a few days share as a selection counts.
    """
    spec = market.fitted.spec
    then, now = (spec.transform(cars_table([car], day)).X for day in (start, end))
    level = [t.name.startswith("market level") for t in spec.terms]
    columns = np.repeat(np.array(level), np.diff(spec.starts))
    step = sparse.csr_array(now - then) @ sparse.diags_array(columns.astype(np.float64))
    step = sparse.csr_array(step)
    effect = float((step @ market.fitted.coef)[0])
    return Contrast(effect, float(np.sqrt(variances(market.fitted, step)[0])))

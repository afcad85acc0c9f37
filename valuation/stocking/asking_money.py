"""What a sale of a stock car leaves, what keeping it costs, and what money earns elsewhere.

Costs of selling and the tax on the margin are those of a bid, worked out by the same code.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from valuation.bidding.costs import Costs, Fee
from valuation.bidding.deal import YEAR, Deal
from valuation.bidding.spread import Spread
from valuation.cents import Cents, in_cents
from valuation.errors import CostsError
from valuation.results.ledger import StockCar, StockEvent
from valuation.results.stock_ask import MoneyElsewhere
from valuation.stocking.settings import AuctionSettings
from valuation.stocking.spells import OfferedCar, at_auction

__all__ = [
    "MoneyIn",
    "PaidBelow",
    "auction_costs",
    "holding_a_day",
    "left_of_sales",
    "money_elsewhere",
    "money_in",
    "paid_below",
]

Floats = NDArray[np.float64]

_HIGHEST_SHARE = 0.5
_OFF_SD = 0.02
"""What customers pay less than asked is stated to so much, as one standard deviation."""

_SLOPE_SD = 0.25
"""By how much of what is asked over the estimate customers may beat a price down."""

_PAID_SD = 0.03
"""How far single sales lie from that."""

_SURE = float(norm.ppf(0.9))
"""Of what money earned the lower end of the 80 % interval counts: haste is not undone."""


@dataclass(frozen=True, slots=True)
class MoneyIn:
    """What the firm has put into a car.

    Parameters
    ----------
    paid : int
        Its purchase with premium and surcharge, in cents: what a tax on the margin is taken from.
    outlay : int
        That and everything spent on it since, in cents.
    bought : datetime.date or None
        Day of the purchase.
    """

    paid: int
    outlay: int
    bought: date | None


def money_in(car: StockCar, currency: str) -> MoneyIn | None:
    """Return what the ledger says of the money in a car, None if it states no purchase.

    Raises
    ------
    CostsError
        If amounts are in another currency.
    """
    events = [e for e in car.of("bought", "spent") if e.amount is not None]
    if car.bought is None or car.bought.amount is None:
        return None
    others = sorted({e.currency for e in events} - {currency})
    if others:
        raise CostsError(
            car.mark.stock or car.mark.name,
            "money was put into the car in another currency than that of the cost settings",
            got=", ".join(others),
            remedy=f"State its amounts in {currency}",
        )
    paid = sum(_cents(e) for e in events if e.event == "bought" or e.part == "purchase")
    return MoneyIn(paid, sum(map(_cents, events)), car.bought.on)


def _cents(event: StockEvent) -> int:
    return in_cents(event.amount or Decimal(0))


def left_of_sales(prices: Cents, paid: int, costs: Costs) -> Cents:
    """Return what sales leave after commission, fees, reserve and tax.

    Parameters
    ----------
    prices : ndarray of int, shape (n,)
        Prices received, in cents.
    paid : int
        What the car was bought for, in cents.
    costs : Costs
        Settings of the firm.
    """
    # A spread holds each price once, in order; the costs of a bid are worked out on one.
    points, place = np.unique(prices, return_inverse=True)
    way = next(iter(costs.ways.values()))
    deal = Deal(way, costs, Spread.weighed(points, np.ones_like(points)))
    left = deal.net
    if deal.taxes_margin:
        left = left - deal.sale_tax(points, np.full_like(points, paid))
    return np.asarray(left[place.ravel()], dtype=np.int64)


def auction_costs(costs: Costs, auction: AuctionSettings) -> Costs:
    """Return the settings for a sale at auction: its commission, no card fee and no reserve."""
    fee = Fee(percent=auction.commission_percent)
    return replace(
        costs, selling=replace(costs.selling, commission=fee, card_fee=Fee(), warranty=Fee())
    )


def holding_a_day(costs: Costs, outlay: int) -> float:
    """Return what a car costs a day while it stands: finance, insurance, storage; in cents."""
    held = costs.holding
    share = float(held.finance + held.insurance) / 100
    return (share * outlay + 12 * in_cents(held.storage)) / YEAR


@dataclass(frozen=True, slots=True)
class PaidBelow:
    """What customers pay less than asked, as a share of the asking price.

    Parameters
    ----------
    at_estimate : float
        For a car that is asked at its estimate or under it.
    of_excess : float
        Share of what the log asking price lies over the log estimate.
    sales : int
        Own sales it is learned from, 0 if the cost settings speak alone.
    """

    at_estimate: float
    of_excess: float = 0.0
    sales: int = 0

    def share(self, log_asks: Floats) -> Floats:
        """Return the share for log asking prices over the estimate."""
        off = self.at_estimate + self.of_excess * np.maximum(log_asks, 0.0)
        return np.clip(off, 0.0, _HIGHEST_SHARE)


def paid_below(cars: Iterable[OfferedCar], costs: Costs, *, as_of: date, least: int) -> PaidBelow:
    """Learn from own sales what customers pay less than asked.

    Parameters
    ----------
    cars : iterable of OfferedCar
        Of the ledger.
    costs : Costs
        What they state stands where own sales are few, and is weighed with them elsewhere.
    as_of : datetime.date
        Last day that is known.
    least : int
        Fewest own sales that are listened to.

    Returns
    -------
    PaidBelow
        Ridge regression of what was beaten down on what was asked over the estimate.
    """
    stated = float(costs.selling.below_asking) / 100
    pairs = [p for car in cars if (p := _beaten_down(car, costs.currency, as_of)) is not None]
    if len(pairs) < least:
        return PaidBelow(stated)
    over, off = np.array(pairs).T
    columns = np.column_stack([np.ones_like(over), np.maximum(over, 0.0)])
    precision = np.diag([_OFF_SD**-2, _SLOPE_SD**-2])
    weight = _PAID_SD**-2
    told = weight * columns.T @ (off - stated)
    found = np.linalg.solve(weight * columns.T @ columns + precision, told)
    # A higher asking price is not thought to be paid more fully.
    return PaidBelow(max(stated + float(found[0]), 0.0), max(float(found[1]), 0.0), len(pairs))


def _beaten_down(car: OfferedCar, currency: str, as_of: date) -> tuple[float, float] | None:
    """Return log asking price over estimate and the share by which less was paid."""
    sold, asks = car.stock.sold, car.stock.asking_prices
    if sold is None or sold.on is None or sold.on > as_of or at_auction(sold) or not asks:
        return None
    amounts = (sold.amount, asks[-1].amount)
    value = car.log_value(sold.on)
    if value is None or not all(amounts) or {sold.currency, asks[-1].currency} != {currency}:
        return None
    price, ask = (float(a or 0) for a in amounts)
    return float(np.log(ask)) - value, 1 - price / ask


def money_elsewhere(
    cars: Iterable[StockCar], costs: Costs, auction: AuctionSettings, *, as_of: date, least: int
) -> MoneyElsewhere:
    """Return what the firm's money earned in the cars it has sold.

    Parameters
    ----------
    cars : iterable of StockCar
        Of the ledger.
    costs : Costs
        Costs of selling and of keeping a car.
    auction : AuctionSettings
        Costs of those sold at auction.
    as_of : datetime.date
        Last day that is known.
    least : int
        Fewest sold cars that are listened to.

    Returns
    -------
    MoneyElsewhere
        The lower end of the 80 % interval of what all cars brought after every cost over money
        times days.  Those still in stock count with their days and the cost of holding so far:
        sold ones alone are the ones that went fast.
    """
    at_house = auction_costs(costs, auction)
    known = [k for car in cars if (k := _earned(car, costs, at_house, as_of)) is not None]
    sales = sum(sold for _, _, sold in known)
    if sales < max(least, 2):
        return MoneyElsewhere(None, sales)
    net, tied, _ = np.array(known, dtype=float).T
    earned = net.sum() / tied.sum()
    # Standard error of a ratio of sums (Cochran 1977).
    error = np.sqrt(len(net) / (len(net) - 1) * ((net - earned * tied) ** 2).sum()) / tied.sum()
    return MoneyElsewhere(max(float(earned - _SURE * error), 0.0), sales)


def _earned(
    car: StockCar, costs: Costs, at_house: Costs, as_of: date
) -> tuple[float, float, bool] | None:
    """Return what a car has brought after every cost, money times days, and whether it is sold."""
    sold, bought = car.sold, car.bought
    if bought is None or bought.on is None or bought.on >= as_of:
        return None
    if {code for code, _ in car.costs} != {costs.currency}:
        return None
    put_in = money_in(car, costs.currency)
    if put_in is None:
        return None
    if sold is None or sold.on is None or sold.on > as_of:
        tied = float(put_in.outlay) * (as_of - bought.on).days
        return -holding_a_day(costs, put_in.outlay) * (as_of - bought.on).days, tied, False
    if sold.amount is None or sold.currency != costs.currency:
        return None
    days = (sold.on - bought.on).days
    used = at_house if at_auction(sold) else costs
    left = left_of_sales(np.array([_cents(sold)]), put_in.paid, used)[0]
    net = float(left) - put_in.outlay - holding_a_day(costs, put_in.outlay) * days
    return net, float(put_in.outlay) * days, True

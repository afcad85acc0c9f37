"""What the ledger says of a car in stock: its money, its asking price, and what is missing."""

from __future__ import annotations

import calendar
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from valuation.appraisal.brief import Brief
from valuation.bidding.costs import Costs
from valuation.bidding.deal import YEAR
from valuation.cents import from_cents, in_cents
from valuation.results.ledger import StockCar
from valuation.stocking.asking_money import MoneyIn, money_in

__all__ = ["ask_of", "faults_of", "holding_so_far", "money_of", "month_before"]


def month_before(day: date) -> date:
    """Return the same day of the month before, or its last one.

    Examples
    --------
    >>> month_before(date(2025, 3, 31))
    datetime.date(2025, 2, 28)
    """
    year, month = (day.year, day.month - 1) if day.month > 1 else (day.year - 1, 12)
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def holding_so_far(car: StockCar, costs: Costs, as_of: date) -> Decimal:
    """Return what it cost to hold a car up to a day, by the cost settings.

    Finance and insurance run on each amount from the day on which it was paid, storage from the
    purchase.

    Parameters
    ----------
    car : StockCar
        With its purchase.
    costs : Costs
        Rates a year of what was paid, and storage a month.
    as_of : datetime.date
        The day.
    """
    held = costs.holding
    rate = (held.finance + held.insurance) / 100 / YEAR
    paid = [e for e in car.of("bought", "spent") if e.amount is not None and e.on is not None]
    on_money = sum(
        ((e.amount or Decimal(0)) * max((as_of - e.on).days, 0) for e in paid if e.on), Decimal(0)
    )
    start = car.bought.on if car.bought else None
    days = (as_of - start).days if start else 0
    return from_cents(in_cents(rate * on_money + held.storage * 12 * days / YEAR))


def money_of(car: StockCar, costs: Costs) -> MoneyIn | None:
    """Return the money in a car; None without a purchase or in another currency."""
    return None if _other_currency(car, costs.currency) else money_in(car, costs.currency)


def _other_currency(car: StockCar, currency: str) -> bool:
    return any(code != currency for code, _ in car.costs)


def ask_of(car: StockCar, currency: str) -> Decimal | None:
    """Return the asking price that stands, None if there is none in the currency."""
    asks = car.asking_prices
    if car.state != "listed" or not asks or asks[-1].currency != currency:
        return None
    return asks[-1].amount


def faults_of(car: StockCar, currency: str, brief: Brief | None) -> Iterator[str]:
    """Yield what can't be said of a car, and why."""
    if brief is None:
        yield "It can't be valued: the ledger states no make and year, and no car file does."
    elif brief.outside:
        yield " ".join(brief.outside)
    elif not len(brief.offsets):
        yield "It has no range: past forecasts are too few."
    if car.bought is None or car.bought.amount is None:
        yield "The ledger states no purchase with its amount."
    if _other_currency(car, currency):
        yield "Money was put into it in another currency: its costs are not counted."
    asks = car.asking_prices
    if car.state == "listed" and (not asks or asks[-1].amount is None):
        yield "It is on offer without an asking price."
    elif car.state == "listed" and asks[-1].currency != currency:
        yield "Its asking price is in another currency."
    elif car.state != "listed":
        yield f"It is not on offer ({car.state})."
    yield from car.remarks

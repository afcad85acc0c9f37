"""Cars of the ledger as they were offered: their kind, their condition, and what was known then.

A chance to sell is learned from asking prices over estimates, so the estimates of the past may know
nothing of how the cars went: an estimate that has seen a car's own sale says that every car sold at
about its value.  So counts what was said of a car before it was offered; else today's model without
the firm's own sales, moved back by the level of the market.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.brief import Brief, brief_all
from valuation.appraisal.data import make_and_line
from valuation.appraisal.levels import LevelPath
from valuation.appraisal.market import MarketModel
from valuation.appraisal.without import without_sales
from valuation.evidence.own_book import OWN
from valuation.features.columns import key
from valuation.features.table import day_number
from valuation.importing.repeats import chassis_key
from valuation.reading.text import compact
from valuation.records import Car
from valuation.results.ledger import CarMark, StockCar
from valuation.results.said import KINDS, Said
from valuation.selling.selling_sale import customers_sale
from valuation.stocking.kinds import kinds_of
from valuation.stocking.spells import LogValue, OfferedCar
from valuation.study.replay_lots import car_of_sale
from valuation.study.segments import Segment

__all__ = ["cars_of_ledger", "offered_cars", "without_own_sales"]

Ints = NDArray[np.intp]

SAID_DAYS = 180
"""What was said of a car longer before it was offered says little of what it was then asked for."""

_SAME_DAYS = 7
"""A sale that the evidence dates so many days from that of the ledger at most is the same."""


def offered_cars(
    market: MarketModel,
    stock: Sequence[StockCar],
    *,
    cars: Mapping[str, Car] | None = None,
    segments: Sequence[Segment] = (),
    said: Sequence[Said] = (),
) -> tuple[OfferedCar, ...]:
    """Return cars of the ledger with what their chance to sell depends on.

    Parameters
    ----------
    market : MarketModel
        Dated, of sales up to the day that is known.
    stock : sequence of StockCar
        Of the ledger.
    cars : mapping of str to Car, optional
        What is known of cars by their stock numbers; of others what the evidence states of their
        chassis, else what the ledger does.
    segments : sequence of Segment
        Kinds of cars; each make is one by default.
    said : sequence of Said
        What was said of cars.

    Returns
    -------
    tuple of OfferedCar
        In the order of the ledger.  The estimate is that of a sale by the firm.
    """
    known = cars_of_ledger(market, stock, cars or {})
    reduced = without_own_sales(market, stock)
    briefs = _briefs(reduced, known)
    kinds = kinds_of(known, segments)
    out = []
    for car, facts, kind, brief in zip(stock, known, kinds, briefs, strict=True):
        grade = facts.values.get("condition_grade")
        path = market.levels.of(*make_and_line(facts))
        value = _value(market, car, facts, brief, path, said)
        out.append(OfferedCar(car, kind, float(grade) if isinstance(grade, float) else None, value))
    return tuple(out)


def _briefs(market: MarketModel | None, cars: Sequence[Car]) -> list[Brief | None]:
    if market is None:
        return [None] * len(cars)
    sale = customers_sale(market, Car({}))
    made = brief_all(market, cars, sale=sale)
    return [b if isinstance(b, Brief) else None for b in made]


def _value(
    market: MarketModel,
    car: StockCar,
    facts: Car,
    brief: Brief | None,
    path: LevelPath,
    said: Sequence[Said],
) -> LogValue:
    """Return the log estimate of a car by day."""
    told = _told_before(market, car, facts, said)
    if told is not None and told.central:
        return _moved(math.log(float(told.central)), told.for_day or told.said_on, path)
    if brief is None or brief.as_of is None:
        return _unknown
    return _moved(brief.central, brief.as_of, path)


def _unknown(_: date) -> None:
    return None


def _moved(log_value: float, on: date, path: LevelPath) -> LogValue:
    """Return an estimate that moves with the level of the market."""

    def value(day: date) -> float:
        now, then = path.at(np.array([day_number(day), day_number(on)]))
        return log_value + float(now - then)

    return value


def _told_before(
    market: MarketModel, car: StockCar, facts: Car, said: Sequence[Said]
) -> Said | None:
    """Return the last estimate of a car that was given before it was offered."""
    listed = car.first_listed
    if listed is None:
        return None
    channel = key(customers_sale(market, facts)["channel"])
    fitting = [
        s
        for s in said
        if s.kind == KINDS[0]
        and s.central
        and s.currency == market.currency
        and key(s.channel) == channel
        and timedelta() <= listed - s.said_on <= timedelta(days=SAID_DAYS)
        and _same(s, car.mark)
    ]
    return max(fitting, key=lambda s: s.said_at, default=None)


def _same(said: Said, mark: CarMark) -> bool:
    if said.car.stock and mark.stock:
        return compact(said.car.stock) == compact(mark.stock)
    chassis = chassis_key(mark.chassis, mark.make)
    return bool(chassis) and chassis_key(said.car.chassis, said.car.make) == chassis


def without_own_sales(market: MarketModel, stock: Sequence[StockCar]) -> MarketModel | None:
    """Return a market that has not seen how the firm's cars went.

    Parameters
    ----------
    market : MarketModel
        Fitted.
    stock : sequence of StockCar
        Of the ledger.

    Returns
    -------
    MarketModel or None
        Without the sales that are marked as the firm's own, and without those of a chassis of the
        ledger about the day on which the firm sold it; None if no other sale is left.
    """
    own = market.columns.get(OWN, np.zeros(0, dtype=object)) == "sold"
    rows = sorted({*np.flatnonzero(own).tolist(), *_sold_rows(market, stock)})
    if len(rows) == len(market.frame):
        return None
    return without_sales(market, np.array(rows, dtype=np.intp))


def _sold_rows(market: MarketModel, stock: Sequence[StockCar]) -> list[int]:
    at = _rows_by_chassis(market)
    days = market.columns["sale_date"].astype("datetime64[D]")
    within = np.timedelta64(_SAME_DAYS, "D")
    out = []
    for car in stock:
        sold = car.sold
        if sold is not None and sold.on is not None:
            rows = at.get(chassis_key(car.mark.chassis, car.mark.make), [])
            out += [i for i in rows if abs(days[i] - np.datetime64(sold.on, "D")) <= within]
    return out


def _rows_by_chassis(market: MarketModel) -> dict[str, list[int]]:
    out: dict[str, list[int]] = {}
    pairs = zip(market.columns["chassis"], market.columns["make"], strict=True)
    for i, (chassis, make) in enumerate(pairs):
        if isinstance(chassis, str) and (found := chassis_key(chassis, make)):
            out.setdefault(found, []).append(i)
    return out


def cars_of_ledger(
    market: MarketModel, stock: Sequence[StockCar], cars: Mapping[str, Car]
) -> tuple[Car, ...]:
    """Return what is known of cars of the ledger.

    Parameters
    ----------
    market : MarketModel
        Whose sales are looked through.
    stock : sequence of StockCar
        Of the ledger.
    cars : mapping of str to Car
        What is known by stock number.

    Returns
    -------
    tuple of Car
        That of `cars`, else that of the last sale of the chassis in the evidence before the car was
        offered, else make, model and year of the ledger.
    """
    at = _rows_by_chassis(market)
    given = {compact(number): car for number, car in cars.items()}
    return tuple(
        given.get(compact(c.mark.stock)) or _from_evidence(market, c, at) or _from_mark(c.mark)
        for c in stock
    )


def _from_evidence(market: MarketModel, car: StockCar, at: Mapping[str, list[int]]) -> Car | None:
    until = np.datetime64(car.first_listed or car.as_of, "D")
    days = market.columns["sale_date"].astype("datetime64[D]")
    rows = [i for i in at.get(chassis_key(car.mark.chassis, car.mark.make), []) if days[i] <= until]
    if not rows:
        return None
    row = max(rows, key=lambda i: days[i])
    return car_of_sale({name: column[row] for name, column in market.columns.items()})


def _from_mark(mark: CarMark) -> Car:
    year = {} if mark.year is None else {"year": float(mark.year)}
    names = {n: v for n, v in (("make", mark.make), ("model", mark.model)) if v}
    return Car({**year, **names}, title=mark.title, chassis=mark.chassis)

"""Two cars side by side: why one is dearer, and which is the better buy at its price."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np

from valuation.appraisal.appraise import appraise_all
from valuation.appraisal.batch import Batch, batches, lacking, sure_of_day
from valuation.appraisal.market import MarketModel
from valuation.appraisal.named_variant import with_named_variant
from valuation.appraisal.outlook import ahead_variance, level_variance, outlook_of
from valuation.appraisal.wordings import car_cells
from valuation.errors import CarFileError
from valuation.features.table import day_number
from valuation.importing.repeats import chassis_key
from valuation.records import Car
from valuation.results.beside import Beside
from valuation.results.beside_parts import BesideCar, BesidePrice, PriceGap, WorthTelling
from valuation.results.valuation import Valuation
from valuation.running.threads import one_thread
from valuation.selling.beside_lines import in_money, steps_between, total_interval
from valuation.selling.beside_notes import notes_on, stopped_words
from valuation.selling.beside_prices import ASKED, Brought, brought, check_prices
from valuation.selling.beside_silence import Silence, what_is_left_out
from valuation.selling.better_buy import NOT_STRAIGHT, Spread, chance_of_other, worth_telling
from valuation.selling.customers_market import Purchase, customers_market, public_sales
from valuation.selling.private_words import private_words
from valuation.selling.selling_sale import customers_sale
from valuation.selling.sheet_words import heading_of, sale_words

__all__ = ["beside"]

OURS, THEIRS = 0, 1
NAMES = ("this car", "the other car")


@dataclass(frozen=True)
class _Prices:
    """Both prices in the terms in which they are compared."""

    ours: BesidePrice | None
    theirs: Brought | None

    @property
    def apart(self) -> int | None:
        """Price of this car less that of the other; None without both in the same terms."""
        if self.ours is None or self.theirs is None or not self.theirs.price.straight:
            return None
        return self.ours.compared - self.theirs.price.compared


def beside(
    market: MarketModel,
    ours: Car,
    theirs: Car,
    *,
    our_price: float | None = None,
    their_price: float | None = None,
    price_kind: str = "asking",
    price_day: date | None = None,
    as_of: date | None = None,
    channel: str = "",
    purchase: Purchase | None = None,
) -> Beside:
    """Say why one car is dearer than another, and which is the better buy at its price.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated; the firm's purchase of this car may be in it.
    ours, theirs : Car
        This car and the other one; year and make of both must be known.
    our_price : float, optional
        What this car is offered for, in the model's currency.
    their_price : float, optional
        Price of the other car.
    price_kind : {"asking", "sold"}
        Whether the other car is offered for that or was sold for it.
    price_day : datetime.date, optional
        Day of that price, if it is another than the day of the comparison.
    as_of : datetime.date, optional
        Day for which both are valued; the day of the model by default.
    channel : str, optional
        A channel of the evidence in which both are valued; that of a dealer by default.
    purchase : Purchase, optional
        What the ledger knows of the firm's purchase of this car.

    Returns
    -------
    Beside
        The difference line by line, the prices, what the other advert leaves out, and what that
        makes of the question which one to buy.

    Raises
    ------
    CarFileError
        If year or make of a car is missing.
    SettingsError
        If a price, its kind, a day or a channel can't be used.
    """
    _check_cars(ours, theirs)
    check_prices(our_price, their_price, price_kind, price_day, dated=market.dated)
    as_of = sure_of_day(market, as_of)
    ours, theirs = (with_named_variant(market, car) for car in (ours, theirs))
    hide = private_words(market, ours)
    market = _without_purchases(market, ours, theirs, purchase)
    sale = customers_sale(market, ours, channel)
    # What stops a purchase of this car was the firm's own business.
    ours = replace(ours, stops=())
    cars = [replace(car, sale=sale, label="", notes=(), asking=None) for car in (ours, theirs)]
    valued = appraise_all(market, cars, as_of=as_of)
    with one_thread():
        (batch,) = batches(market, cars, as_of=as_of)
        day = day_number(as_of) if as_of else float("nan")
        central = batch.outlooks[THEIRS].central
        silence = what_is_left_out(market, *cars, central=central, day=day)
        # What a fact can turn out to be is in the words of other sales.
        named = [replace(x, if_bad=hide.masked(x.if_bad)) for x in silence.left_out]
        silence = replace(silence, left_out=tuple(named))
        prices = _prices(market, cars[THEIRS], our_price, their_price, price_kind, price_day, day)
        return _beside(batch, valued, silence, prices, day)


def _without_purchases(
    market: MarketModel, ours: Car, theirs: Car, purchase: Purchase | None
) -> MarketModel:
    """Take out what the firm paid for this car, and for the other if it was the firm's once."""
    market = customers_market(market, ours, purchase=purchase)
    number = chassis_key(theirs.chassis, theirs.values.get("make"))
    bought = np.flatnonzero(~public_sales(market))
    pairs = zip(*(market.columns[n][bought].tolist() for n in ("chassis", "make")), strict=True)
    if number and any(chassis and chassis_key(chassis, make) == number for chassis, make in pairs):
        return customers_market(market, theirs)
    return market


def _check_cars(ours: Car, theirs: Car) -> None:
    for name, car in zip(NAMES, (ours, theirs), strict=True):
        if missing := lacking(car):
            what = " and ".join(missing)
            raise CarFileError(
                name,
                f"it can't be valued without {what}",
                got="nothing",
                remedy=f"State {what}, or a title or first line of an advert that holds them",
            )


def _prices(
    market: MarketModel,
    theirs: Car,
    our_price: float | None,
    their_price: float | None,
    kind: str,
    price_day: date | None,
    day: float,
) -> _Prices:
    mine = None if our_price is None else BesidePrice(round(our_price), "asking")
    if their_price is None:
        return _Prices(mine, None)
    asked = mine is not None or theirs.sale["basis"] == ASKED
    other = brought(market, theirs, their_price, kind, price_day=price_day, day=day, asked=asked)
    return _Prices(mine, other)


def _beside(
    batch: Batch, valued: Sequence[Valuation], silence: Silence, prices: _Prices, day: float
) -> Beside:
    market, fitted, X = batch.market, batch.market.fitted, batch.forecast.design.X
    ours, theirs = (_car(batch, i, v) for i, v in enumerate(valued))
    cells = [_cells(batch, i) for i in (OURS, THEIRS)]
    at = [float(np.exp(out.central)) for out in batch.outlooks]
    lines = in_money(
        steps_between(fitted, X, batch.starts.mean, cells, batch.outlooks),
        at[THEIRS],
        at[OURS],
        ours.central - theirs.central,
    )
    lower, upper = total_interval(fitted, X, at[THEIRS], at[OURS])
    gap = None
    if prices.apart is not None:
        gap = PriceGap(prices.apart, ours.central - theirs.central, lower, upper)
    all_as_ours = at[THEIRS] * float(np.exp(silence.all_as_ours))
    told = _told(batch, (ours, theirs), silence, prices, day)
    return Beside(
        batch.as_of,
        market.currency,
        sale_words(batch.sales[OURS], offered=market.estimand == ASKED),
        ours,
        theirs,
        lines,
        lower,
        upper,
        prices.ours,
        prices.theirs.price if prices.theirs else None,
        gap,
        silence.left_out,
        round(all_as_ours) if silence.left_out else theirs.central,
        told,
        tuple(notes_on(batch, prices.ours, prices.theirs, told, silence)),
        valued[OURS].cautions,
    )


def _car(batch: Batch, i: int, valued: Valuation) -> BesideCar:
    return BesideCar(
        heading_of(_cells(batch, i)),
        valued.central,
        valued.range,
        valued.evidence.strength,
        valued.evidence.level,
        valued.evidence.sales,
        stopped_words(NAMES[i], batch.cars[i]),
    )


def _cells(batch: Batch, i: int) -> Mapping[str, Any]:
    car = batch.cars[i]
    return {**car_cells(car, batch.as_of, batch.sales[i]), "chassis": car.chassis}


def _told(
    batch: Batch,
    cars: tuple[BesideCar, BesideCar],
    silence: Silence,
    prices: _Prices,
    day: float,
) -> WorthTelling | None:
    if prices.ours is None or prices.theirs is None:
        return None
    if prices.apart is None:
        return WorthTelling("open", None, NOT_STRAIGHT)
    more = (0.0, silence.variance + prices.theirs.variance)
    ours, theirs = (_spread(batch, i, day, extra) for i, extra in enumerate(more))
    return worth_telling(*cars, chance_of_other(ours, theirs, prices.apart))


def _spread(batch: Batch, i: int, day: float, more: float) -> Spread:
    """Return what a car would bring, without what moves both cars alike."""
    out, forecast = batch.outlooks[i], batch.forecast
    base = out.fitted + out.deviation
    if batch.outside[i]:
        return Spread(base, np.zeros(0))
    around = forecast.around[i]
    alone = outlook_of(
        batch.market.calibration,
        out.fitted,
        around.deviation,
        (around.own, around.own_share),
        forecast.difficulty[i],
        batch.unsettled[i].variance + more + _apart_ahead(batch, day),
    )
    return Spread(base, alone.offsets)


def _apart_ahead(batch: Batch, day: float) -> float:
    """Return by how much the two cars may drift apart after the last sale of the evidence.

    The level of the market moves both alike.  So does that of the make and of the model line if
    they have them in common.
    """
    fitted, line = batch.market.fitted, batch.forecast.design.line
    if line[OURS] == line[THEIRS] and line[OURS] >= 0:
        return 0.0
    ahead = ahead_variance(fitted, batch.market.calibration, day)
    return max(ahead - level_variance(fitted, day), 0.0)

"""Cars that are valued together: encoded, forecast and set against the evidence in one go."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from scipy import sparse

from valuation.appraisal.assumed import assumed_labels
from valuation.appraisal.data import cars_table
from valuation.appraisal.fitting import Forecast
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import Outlook, outlook
from valuation.appraisal.starts import Starts, starts_of
from valuation.appraisal.strength import outside_reasons
from valuation.appraisal.unsettled import Unsettled, unsettle
from valuation.errors import SettingsError
from valuation.features.table import SALE_FACTORS, FeatureTable, day_number
from valuation.features.terms import Design
from valuation.records import Car

__all__ = ["Batch", "batches", "lacking", "sure_of_day"]

TOGETHER = 500
"""Cars that are encoded and forecast in one go."""


@dataclass(frozen=True)
class Batch:
    """Some cars with all that is worked out for them together.

    Parameters
    ----------
    market : MarketModel
        The market.
    as_of : datetime.date or None
        Day of the valuations, None for an undated list.
    cars : sequence of Car
        The cars as they were given.
    sales : sequence of dict
        The sale each is valued for, complete.
    unsettled : sequence of Unsettled
        The cars as they are priced, and what is still to be found out.
    table : FeatureTable
        The cars as they are priced.
    forecast : Forecast
        What the market says of them.
    starts : Starts
        Where their explanations start.
    outlooks : sequence of Outlook
        The predictive distribution of each.
    outside : sequence of tuple of str
        Why each lies outside the evidence, in sentences; empty if it doesn't.
    assumed : sequence of tuple of str
        Labels of the lines of each that rest on assumption more than on evidence.
    """

    market: MarketModel
    as_of: date | None
    cars: Sequence[Car]
    sales: Sequence[Mapping[str, str]]
    unsettled: Sequence[Unsettled]
    table: FeatureTable
    forecast: Forecast
    starts: Starts
    outlooks: Sequence[Outlook]
    outside: Sequence[tuple[str, ...]]
    assumed: Sequence[tuple[str, ...]]


def lacking(car: Car) -> list[str]:
    """Return what a car can't be valued without and doesn't state: ``year``, ``make``."""
    narrowed = {f.attribute for f in car.open if f.low is not None}
    year, make = car.values.get("year"), car.values.get("make")
    stated = {
        "year": isinstance(year, float | int) and math.isfinite(year),
        "make": isinstance(make, str) and bool(make.strip()),
    }
    return [name for name, said in stated.items() if not said and name not in narrowed]


def sure_of_day(market: MarketModel, as_of: date | None) -> date | None:
    """Return the day of a valuation: the given one, else that of the model.

    Raises
    ------
    SettingsError
        If a day is given for an undated list.
    """
    if as_of is not None and not market.dated:
        raise SettingsError(
            "as_of", "an undated list has no day", got=as_of.isoformat(), remedy="Leave it out"
        )
    return (as_of or market.as_of) if market.dated else None


def batches(
    market: MarketModel,
    cars: Sequence[Car],
    *,
    as_of: date | None,
    sale: Mapping[str, str] | None = None,
) -> Iterator[Batch]:
    """Work out cars some hundred at a time.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    cars : sequence of Car
        Cars that lack nothing.
    as_of : datetime.date or None
        Day of the valuations, None for an undated list.
    sale : mapping of str to str, optional
        The sale all cars are valued for, in place of the one each names.

    Yields
    ------
    Batch
        The cars in their order.

    Raises
    ------
    SettingsError
        If `sale` names anything that is no fact of a sale.
    """
    unknown = sorted(set(sale or ()) - set(SALE_FACTORS))
    if unknown:
        raise SettingsError(
            "sale",
            "these are no facts of a sale",
            got=", ".join(unknown),
            remedy=f"Name only {', '.join(SALE_FACTORS)}",
        )
    for start in range(0, len(cars), TOGETHER):
        yield _batch(market, cars[start : start + TOGETHER], as_of, sale)


def _batch(
    market: MarketModel, cars: Sequence[Car], as_of: date | None, sale: Mapping[str, str] | None
) -> Batch:
    day = day_number(as_of) if as_of else float("nan")
    fitted, typical = market.fitted, market.typical
    sales = [market.sale_of(car.sale if sale is None else sale) for car in cars]
    sold = [replace(c, sale=s) for c, s in zip(cars, sales, strict=True)]
    unsettled = unsettle(market, sold, day)
    table = cars_table([u.car for u in unsettled], day)
    forecast = fitted.forecast(table, design=_mixed(fitted.spec.transform(table), unsettled))
    usual = forecast.design.X
    if any(s != market.usual for s in sales):
        ordinary = cars_table([replace(u.car, sale=market.usual) for u in unsettled], day)
        usual = fitted.spec.transform(ordinary).X
    starts = starts_of(fitted.spec, typical, table, forecast.design, usual)
    outlooks = [
        outlook(fitted, market.calibration, forecast, day=day, extra=u.variance, row=i)
        for i, u in enumerate(unsettled)
    ]
    outside = [
        tuple(outside_reasons(typical, int(row), level, table, i))
        for i, (row, level) in enumerate(zip(starts.rows, starts.levels, strict=True))
    ]
    assumed = assumed_labels(fitted, typical, starts)
    return Batch(
        market, as_of, cars, sales, unsettled, table, forecast, starts, outlooks, outside, assumed
    )


def _mixed(design: Design, unsettled: Sequence[Unsettled]) -> Design:
    """Put the columns of mixtures in place of those of the cars that stand for them."""
    if all(u.row is None for u in unsettled):
        return design
    X = design.X
    cuts = list(zip(X.indptr[:-1].tolist(), X.indptr[1:].tolist(), strict=True))
    columns = [
        X.indices[a:b] if u.row is None else u.row.indices
        for u, (a, b) in zip(unsettled, cuts, strict=True)
    ]
    values = [
        X.data[a:b] if u.row is None else u.row.data
        for u, (a, b) in zip(unsettled, cuts, strict=True)
    ]
    ends = np.cumsum([0, *(len(c) for c in columns)])
    made = (np.concatenate(values), np.concatenate(columns), ends)
    return Design(sparse.csr_array(made, shape=X.shape), design.line)
